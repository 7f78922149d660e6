"""Knot maps of many kinds, each generated from a number."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.knots.knotmap import NO_KNOT, tied_only
from chartmaker.order.rug import LEAST_SIDE_MM, Rug
from chartmaker.order.workshop import Workshop
from chartmaker.paper.papers import SHEETS_MM
from chartmaker.yarns.yarn import Yarn
from support.making import SettledMap

#: Densities as the trade writes them, besides plain numbers per decimetre.
NAMED = (
    "9/60 indian",
    "12/60 indian",
    "8x8 per cm",
    "50 raj (7 cm)",
    "100 knot tibetan",
    "16/18 pakistani",
    "100 kpsi",
)
CODES = ("C{}", "WM-{:03}", "{}K", "A-{}Z")


def generated_map(seed: int, number: int, most: int = 40, large: float = 0.0) -> SettledMap:
    """Return map `number` of the sequence `seed`.

    At most `most` x `most` knots; with the chance `large` up to six times as many both ways.
    """
    rng = np.random.default_rng([seed, number])
    most = most * 6 if rng.random() < large else most
    density, columns, rows = _grid(rng, most)
    yarns = int(rng.integers(1, 15) if rng.random() < 0.7 else rng.integers(15, 251))
    knots = _mirrored(rng, _outlined(rng, _pattern(rng, rows, columns, yarns)))
    rug = _rug(density, columns, rows, shape="artwork" if (knots == NO_KNOT).any() else "rectangle")
    workshop = Workshop.model_validate({"chart": _chart(rng, rug)})
    return SettledMap(*tied_only(knots.astype(np.uint16), _card(rng, yarns)), rug, workshop)


def _rug(density: str, columns: int, rows: int, **more: Any) -> Rug:
    plain = Rug.model_validate({"width": "1 m", "length": "1 m", "density": density}).density
    size = {"width": columns * plain.knot_width_mm, "length": rows * plain.knot_height_mm}
    return Rug.model_validate({"name": "Trial", "density": density, **size, **more})


def _grid(rng: np.random.Generator, most: int) -> tuple[str, int, int]:
    """Return a density with numbers of columns and rows that make a rug no smaller than is allowed."""
    columns, rows = (int(n) for n in np.round(2 * (most / 2) ** rng.random(2)))
    if rng.random() < 0.3:
        density = str(rng.choice(NAMED))
        plain = Rug.model_validate({"width": "1 m", "length": "1 m", "density": density}).density
        least = (-(-LEAST_SIDE_MM // plain.knot_width_mm), -(-LEAST_SIDE_MM // plain.knot_height_mm))
        return density, max(columns, int(least[0])), max(rows, int(least[1]))
    across = int(rng.integers(4, min(60, 2 * columns) + 1))
    along = min(max(across * int(rng.integers(6, 21)) // 10, 4), 2 * rows)
    return f"{across}x{along} per dm", columns, rows


def _pattern(rng: np.random.Generator, rows: int, columns: int, yarns: int) -> np.ndarray:
    """Return a pattern of runs, blocks, repeats, rows like the row before, and single knots."""
    kind = rng.choice(["runs", "blocks", "repeats", "noise", "few"])
    if kind == "few":
        knots = np.where(rng.random((rows, columns)) < 0.1, rng.integers(0, yarns, (rows, columns)), 0)
    elif kind == "repeats":
        repeat = int(rng.integers(1, 13))
        knots = np.tile(rng.integers(0, yarns, (rows, repeat)), -(-columns // repeat))[:, :columns]
    else:
        tall = 1 if kind != "blocks" else int(rng.integers(1, 8))
        wide = 1 if kind == "noise" else int(rng.integers(2, 12))
        coarse = rng.integers(0, yarns, (-(-rows // tall), -(-columns // wide)))
        knots = np.kron(coarse, np.ones((tall, wide), dtype=np.int64))[:rows, :columns]
    if rng.random() < 0.3:  # rows that are woven alike
        knots = np.repeat(knots, int(rng.integers(2, 6)), axis=0)[:rows]
    return knots


def _outlined(rng: np.random.Generator, knots: np.ndarray) -> np.ndarray:
    """Return `knots`, in which some cells may lie outside an outline."""
    rows, columns = knots.shape
    y, x = np.mgrid[:rows, :columns]
    kind = rng.choice(["none", "ellipse", "holes", "corner", "band"], p=[0.5, 0.2, 0.1, 0.1, 0.1])
    outside = {
        "none": np.zeros(knots.shape, dtype=bool),
        "ellipse": ((y + 0.5) / rows * 2 - 1) ** 2 + ((x + 0.5) / columns * 2 - 1) ** 2 > 1.1,
        "holes": rng.random(knots.shape) < 0.2,
        "corner": x + y < rng.integers(1, rows + columns),
        "band": (y >= rows // 3) & (y < rows // 3 + 1 + rows // 8),
    }[str(kind)]
    knots = np.where(outside, NO_KNOT, knots)
    if (knots == NO_KNOT).all():
        knots[0, 0] = 0
    return knots


def _mirrored(rng: np.random.Generator, knots: np.ndarray) -> np.ndarray:
    """Return `knots`, which may be the same from left and right, or from both ends."""
    rows, columns = knots.shape
    if rng.random() < 0.35:
        knots[:, columns - columns // 2 :] = knots[:, : columns // 2][:, ::-1]
    if rng.random() < 0.35:
        knots[rows - rows // 2 :] = knots[: rows // 2][::-1]
    if (knots == NO_KNOT).all():
        knots[0, 0] = 0
    return knots


def _card(rng: np.random.Generator, yarns: int) -> tuple[Yarn, ...]:
    colours = rng.integers(0, 256, (yarns, 3))
    if yarns > 2 and rng.random() < 0.3:
        colours[1] = colours[0]  # the symbol alone distinguishes them
    labs = lab_from_srgb8(colours)
    code = str(rng.choice(CODES))
    card = [
        Yarn(code.format(i + 1), f"Colour number {i + 1}", tuple(map(int, rgb)), tuple(map(float, lab)))  # type: ignore[arg-type]
        for i, (rgb, lab) in enumerate(zip(colours, labs, strict=True))
    ]
    if rng.random() < 0.2:
        card[0] = replace(card[0], name='Écru <b>&amp;</b> "red", no. 1')
    return tuple(card)


def _chart(rng: np.random.Generator, rug: Rug) -> dict[str, Any]:
    """Return a [chart] table."""
    columns = rug.columns
    strips: int | tuple[int, ...] = int(rng.integers(1, min(4, columns) + 1))
    if rng.random() < 0.2:
        starts = rng.choice(np.arange(2, columns + 1), size=min(3, columns - 1), replace=False)
        strips = tuple(sorted(int(start) for start in starts))
    lengthened = rug.density.across_per_dm * 2 > rug.density.along_per_dm * 5
    return {
        "paper": str(rng.choice(sorted(SHEETS_MM))),
        "orientation": str(rng.choice(["auto", "portrait", "landscape"])),
        "cell": f"{int(rng.integers(20, 46)) / 10} mm",
        "square": bool(lengthened or rng.random() < 0.5),
        "marks": str(rng.choice(["both", "symbol", "colour"], p=[0.5, 0.25, 0.25])),
        "strips": strips,
        "reading": str(rng.choice(["left to right", "right to left"])),
        "bold_every": int(rng.integers(2, 13)),
        "whole": bool(rng.random() < 0.3),
        "counts": bool(rng.random() < 0.2),
    }
