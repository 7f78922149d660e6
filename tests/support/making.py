"""Small rugs and knot maps for the tests."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.knots.knotmap import NO_KNOT, KnotMap, tied_only
from chartmaker.knots.knotpng import Description, read_knotpng
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Chart, Workshop
from chartmaker.yarns.yarn import Yarn

#: A density with as many knots across as along.
SQUARE = "10x10 per dm"


def make_yarn(index: int, srgb: tuple[int, int, int], **more: Any) -> Yarn:
    """Return a yarn with a code of its own."""
    lightness, a, b = (float(v) for v in lab_from_srgb8(np.array(srgb)))
    return Yarn(f"Y{index:03}", f"Yarn {index}", srgb, (lightness, a, b), **more)


def make_rug(columns: int, rows: int, density: str = "40x50 per dm", **more: Any) -> Rug:
    """Return a rug of exactly these columns and rows."""
    plain = Rug.model_validate({"width": "1 m", "length": "1 m", "density": density}).density
    size = {"width": columns * plain.knot_width_mm, "length": rows * plain.knot_height_mm}
    return Rug.model_validate({"name": "Test rug", "density": density, **size, **more})


@dataclass(frozen=True, eq=False)
class SettledMap(KnotMap):
    """A knot map that the tests pass around together with its settings."""

    workshop: Workshop


def settled(knot_map: SettledMap) -> tuple[SettledMap, Workshop]:
    """Return the map and, beside it, its settings, which most functions take."""
    return knot_map, knot_map.workshop


def opened(path: Path, rest: Description | None = None) -> SettledMap:
    """Return the knot map in the file at `path` with what it says of the workshop."""
    found = read_knotpng(path, rest)
    return with_settings(found.knot_map, found.workshop)


def with_settings(knot_map: KnotMap, workshop: Workshop) -> SettledMap:
    """Return a map that came without settings, joined with `workshop`."""
    return SettledMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop)


def as_file(knot_map: SettledMap) -> MapFile:
    """Return what the file of the map says."""
    return MapFile(knot_map, knot_map.workshop)


def make_map(knots: Any, rug: Rug | None = None, workshop: Workshop | None = None) -> SettledMap:
    """Return a map of `knots` with yarns in a fixed sequence of colours, without the unused ones."""
    cells = np.asarray(knots, dtype=np.uint16)
    used = int(cells.max(where=cells != NO_KNOT, initial=0)) + 1
    rng = np.random.default_rng(7)
    packed = rng.choice(256**3, size=used, replace=False)
    yarns = tuple(make_yarn(i, (int(p) >> 16, int(p) >> 8 & 255, int(p) & 255)) for i, p in enumerate(packed))
    rug = rug or make_rug(cells.shape[1], cells.shape[0])
    return SettledMap(*tied_only(cells, yarns), rug, workshop or Workshop())


def card_in(colours: NDArray[Any]) -> tuple[Yarn, ...]:
    """Return a yarn for each colour, shape (yarns, 3), 0..255, with codes from C1 upwards."""
    labs = lab_from_srgb8(colours)
    return tuple(
        Yarn(f"C{i + 1}", f"Colour number {i + 1}", tuple(map(int, rgb)), tuple(map(float, lab)))  # type: ignore[arg-type]
        for i, (rgb, lab) in enumerate(zip(colours, labs, strict=True))
    )


def coloured_map(
    knots: NDArray[Any],
    colours: NDArray[Any],
    name: str = "Trial",
    density: tuple[int, int] | None = None,
    **chart: object,
) -> SettledMap:
    """Return a map of `knots` in these colours, on a rug exactly as large as they need at `density` per dm."""
    rows, columns = knots.shape
    across, along = density or (min(40, 2 * columns), min(40, 2 * rows))
    rug = make_rug(columns, rows, f"{across}x{along} per dm", name=name)
    return SettledMap(knots.astype(np.uint16), card_in(colours), rug, Workshop(chart=Chart.model_validate(chart)))


@st.composite
def knot_maps(draw: st.DrawFn, most_columns: int = 60, most_rows: int = 60, most_yarns: int = 30) -> SettledMap:
    """Draw a knot map of any size up to a limit, with runs, and sometimes with cells outside the outline."""
    columns = draw(st.integers(13, most_columns))
    rows = draw(st.integers(13, most_rows))
    yarns = draw(st.integers(1, most_yarns))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    block = draw(st.integers(1, 7))
    coarse = rng.integers(0, yarns, (-(-rows // block), -(-columns // block)))
    cells = np.kron(coarse, np.ones((block, block), dtype=int))[:rows, :columns].astype(np.uint16)
    if draw(st.booleans()):
        cells[rng.random(cells.shape) < 0.2] = NO_KNOT
        cells[0, 0] = 0
    density = draw(st.sampled_from(["40x50 per dm", "9/60 indian", "8x8 per cm", "50 raj (7 cm)"]))
    return make_map(cells, make_rug(columns, rows, density))
