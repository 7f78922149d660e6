"""Artwork on which the converter was not tuned, in families such as tilings, fields, borders and paintings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from support import ornament
from support.drawing_measures.placed import Drawing
from support.drawing_measures.repeats import Lattice, lattice_of
from support.drawings import COLOURS, drawing

Bytes = NDArray[np.uint8]
SQUARE, OBLONG = "10x10 per dm", "9/60 indian"
#: How high a row of knots is compared with the width of a knot.
HEIGHT_OF = {SQUARE: 1.0, OBLONG: 0.75}
INKS = np.array(
    [(236, 222, 190), (150, 28, 36), (30, 44, 92), (212, 158, 52), (20, 20, 22)], dtype=np.uint8
)  # the ground, madder, indigo, gold, and the outline


@dataclass(frozen=True, eq=False)
class Artwork:
    """One picture: its pixels, their true inks (None if it is shaded), the colours of its yarns, and its repeats."""

    srgb: Bytes
    labels: Bytes | None
    colours: Bytes
    lattices: tuple[Lattice, ...] = ()


@dataclass(frozen=True)
class HoldOut:
    """A picture to be woven in that many columns at a density; `quick` ones stand for their family."""

    family: str
    name: str
    columns: int
    density: str
    quick: bool
    made: Callable[[], Artwork]

    def __str__(self) -> str:
        return f"{self.name} {self.columns} {'square' if self.density == SQUARE else '9/60'}"


def rows_of(hold_out: HoldOut, srgb: Bytes) -> int:
    return round(hold_out.columns * srgb.shape[0] / srgb.shape[1] / HEIGHT_OF[hold_out.density])


def hold_outs() -> Iterator[HoldOut]:
    """Yield all hold-outs, one family after another."""
    yield from _drawings()
    yield from _tilings()
    yield from _fields()
    yield from _borders()
    yield from _scatterings()
    yield from _strokes()
    yield from _gradients()
    yield from _paintings()


def labels_among_neighbours(srgb: Bytes, colours: Bytes, reach: int = 3) -> Bytes:
    """Return for each pixel the nearest colour among those that surely occur near it.

    So a mixture on an edge never becomes a third colour that it resembles.
    """
    away = np.stack([np.abs(srgb.astype(int) - colour.astype(int)).max(axis=-1) for colour in colours])
    sure = away <= 8
    near = np.stack([ndimage.maximum_filter(mask, 2 * reach + 1) for mask in sure])
    away = np.where(near | ~near.any(axis=0), away, 1000)
    return np.asarray(away.argmin(axis=0), dtype=np.uint8)


def _drawings() -> Iterator[HoldOut]:
    sizes = [(80, OBLONG), (100, SQUARE), (137, SQUARE), (160, OBLONG), (250, SQUARE)]
    for name in COLOURS:

        def made(name: str = name) -> Artwork:
            srgb, colours = drawing(name), np.array(COLOURS[name][1], dtype=np.uint8)
            labels = labels_among_neighbours(srgb, colours)
            found = (
                lattice_of(Drawing(labels, 8, 8, len(colours))) if name in ("arches", "crosses", "harlequin") else None
            )
            return Artwork(srgb, labels, colours, (found,) if found else ())

        for columns, density in sizes:
            quick = columns == 100 and name in ("rosette_panel", "harlequin", "crosses")
            yield HoldOut("drawings", name, columns, density, quick, made)


def _drawn(paint: ornament.Paint, columns: int, height: float, scale: float, boxes: list[tuple[float, ...]]) -> Artwork:
    """Return a plane of `columns` x `height` knots at `scale` pixels a knot; `boxes` are lattices in knots."""
    shape = (round(height * scale), round(columns * scale))
    srgb, labels = ornament.rendered(paint, columns, height, shape, INKS)
    across, down = shape[1] / columns, shape[0] / height
    lattices = [
        Lattice((t * down, left * across, b * down, r * across), tall * down, wide * across, shift * across)
        for t, left, b, r, tall, wide, shift in boxes
    ]
    return Artwork(srgb, labels, INKS, tuple(lattices))


def _tilings() -> Iterator[HoldOut]:
    table = [
        ("star", 12.5, "square", 0.8, 1.0, 120, SQUARE, 8.3),
        ("drop", 12.5, "mirrored", 0.0, 1.3, 150, OBLONG, 7.1),
        ("leaf", 12.5, "turned", 0.5, 0.0, 100, SQUARE, 11.0),
        ("flower", 12.5, "centred", 0.0, 0.9, 120, OBLONG, 8.0),
        ("flower", 36.7, "square", 0.4, 1.2, 150, SQUARE, 7.4),
        ("drop", 36.7, "turned", 1.2, 0.0, 184, OBLONG, 6.3),
        ("hook", 36.7, "centred", 0.9, 1.6, 165, SQUARE, 6.9),
        ("leaf", 36.7, "mirrored", 0.3, 1.0, 200, SQUARE, 6.1),
        ("flower", 95.5, "square", 1.3, 2.0, 250, SQUARE, 5.7),
        ("star", 95.5, "centred", 0.6, 1.5, 240, OBLONG, 6.0),
        ("cross", 17.3, "square", 1.0, 1.0, 80, SQUARE, 12.3),
        ("diamond", 9.4, "centred", 0.0, 0.8, 90, SQUARE, 10.0),
    ]
    for name, pitch, kind, stroke, dot, columns, density, scale in table:
        paint, height = ornament.tiling(ornament.MOTIFS[name], pitch, kind, stroke, dot), round(columns * 0.8 / 3) * 3
        made = partial(_tiled, paint, kind, pitch, columns, height, scale)
        quick = (name, pitch) in (("star", 12.5), ("hook", 36.7), ("drop", 12.5))
        yield HoldOut("tilings", f"{name} {pitch} {kind}", columns, density, quick, made)


def _tiled(
    paint: ornament.Paint, kind: str, pitch: float, columns: int, height: float, scale: float, rim: float = 0.0
) -> Artwork:
    """Return a plane that repeats as tilings of its kind do, but for a rim of so many knots all round."""
    tall, wide, shift = {
        "square": (pitch, pitch, 0.0),
        "centred": (pitch, pitch, -pitch / 2),
        "mirrored": (pitch, 2 * pitch, 0.0),
        "turned": (2 * pitch, 2 * pitch, 0.0),
    }[kind]
    return _drawn(paint, columns, height, scale, [(rim, rim, height - rim, columns - rim, tall, wide, shift)])


def _fields() -> Iterator[HoldOut]:
    frames = [
        [(2.3, 1), (0.8, 4), (11.6, 9), (0.8, 4), (2.3, 3), (0.8, 4)],
        [(1.5, 2), (9.3, 9), (1.5, 2), (3.1, 1), (1.5, 2)],
        [(4.0, 1), (1.2, 4), (2.4, 3), (1.2, 4)],
    ]
    table = [
        ("star", 12.5, "square", 0.8, 1.0, 0, ("leaf", 11.6), 120, SQUARE, 8.3),
        ("flower", 14.3, "centred", 0.0, 0.9, 1, ("drop", 10.4), 150, OBLONG, 7.0),
        ("drop", 10.6, "square", 0.0, 1.3, 2, ("leaf", 9.0), 100, SQUARE, 9.0),
        ("hook", 23.4, "mirrored", 0.9, 1.4, 0, ("star", 12.5), 200, SQUARE, 6.4),
        ("leaf", 16.7, "turned", 0.6, 0.0, 2, ("drop", 10.0), 160, OBLONG, 7.0),
        ("diamond", 9.4, "centred", 0.0, 0.8, 1, ("flower", 12.5), 140, SQUARE, 8.0),
        ("cross", 17.3, "square", 1.0, 1.0, 1, ("hook", 15.5), 180, SQUARE, 6.1),
    ]
    for name, pitch, kind, stroke, dot, frame, (border, along), columns, density, scale in table:
        height, rim = round(columns * 1.3 / 3) * 3, sum(line for line, _ in frames[frame])
        field = ornament.tiling(ornament.MOTIFS[name], pitch, kind, stroke, dot)
        paint = ornament.framed(field, columns, height, frames[frame], ornament.MOTIFS[border], along)
        made = partial(_tiled, paint, kind, pitch, columns, height, scale, rim)
        yield HoldOut("fields", f"{name} {pitch} {kind} framed", columns, density, name == "drop", made)


def _places(seed: int, columns: float, height: float, margin: float, apart: float) -> NDArray[np.float64]:
    """Return places that are at least `apart` from each other and `margin` from the rim."""
    rng, found = np.random.default_rng(seed), np.empty((0, 2))
    for place in rng.uniform((margin, margin), (columns - margin, height - margin), (3000, 2)):
        if (abs(found - place).max(axis=1) >= apart).all():
            found = np.vstack([found, place])
    return found


def _borders() -> Iterator[HoldOut]:
    table = [
        ("star", 11.6, [(2.3, 1), (0.8, 4), (11.6, 9), (0.8, 4), (2.3, 3), (0.8, 4)], "diamond", 3.4, 150, SQUARE, 7.0),
        ("flower", 12.5, [(1.5, 2), (9.3, 9), (1.5, 2), (3.1, 1), (1.5, 2)], "star", 4.2, 120, OBLONG, 8.1),
        ("leaf", 8.3, [(3.6, 1), (1.0, 4), (7.7, 9), (1.0, 4), (1.7, 3)], "cross", 3.1, 100, SQUARE, 9.7),
        ("hook", 36.7, [(2.2, 2), (1.1, 3), (22.0, 9), (1.1, 3), (2.2, 2)], "flower", 5.3, 250, SQUARE, 5.3),
        (
            "drop",
            14.2,
            [(0.5, 4), (2.0, 1), (0.5, 4), (10.4, 9), (0.5, 4), (2.0, 1), (0.5, 4)],
            "leaf",
            4.6,
            200,
            OBLONG,
            6.2,
        ),
    ]
    for name, pitch, lines, inner, radius, columns, density, scale in table:

        def made(
            name: str = name,
            pitch: float = pitch,
            lines: list[tuple[float, int]] = lines,
            inner: str = inner,
            radius: float = radius,
            columns: int = columns,
            scale: float = scale,
        ) -> Artwork:
            height = round(columns * 0.9 / 3) * 3
            rim, band = sum(line for line, _ in lines), next(line for line, ink in lines if ink == 9)
            start = sum(line for line, _ in lines[: [ink for _, ink in lines].index(9)])
            places = _places(columns, columns, height, rim + radius + 1.5, 2 * radius + 1.5)
            field = ornament.scattered(ornament.MOTIFS[inner], places, radius, np.zeros(len(places), dtype=int))
            paint = ornament.framed(field, columns, height, lines, ornament.MOTIFS[name], pitch)
            far, boxes = start + band, []
            for count, upright in ((columns, False), (height, True)):
                # whole motifs only, counted from the middle of each side
                half = int((count / 2 - far - pitch / 2) / pitch)
                first, last = count / 2 - (half + 0.5) * pitch, count / 2 + (half + 0.5) * pitch
                for side in (start, (columns if upright else height) - far):
                    box = (first, side, last, side + band) if upright else (side, first, side + band, last)
                    boxes.append((*box, pitch if upright else band, band if upright else pitch, 0.0))
            return _drawn(paint, columns, height, scale, boxes)

        yield HoldOut("borders", f"{name} {pitch} border", columns, density, name in ("leaf", "flower"), made)


def _scatterings() -> Iterator[HoldOut]:
    table = [
        ("drop", 4.3, 100, SQUARE, 9.0, True),
        ("flower", 3.7, 150, OBLONG, 7.0, False),
        ("hook", 5.1, 200, SQUARE, 6.0, False),
        ("leaf", 2.6, 120, SQUARE, 8.0, False),
        ("star", 6.4, 170, OBLONG, 7.0, False),
        # What illustrators send has few pixels.
        ("star", 5.3, 140, OBLONG, 2.9, False),
        ("flower", 4.7, 160, SQUARE, 2.2, False),
    ]
    for name, radius, columns, density, scale, quick in table:

        def made(name: str = name, radius: float = radius, columns: int = columns, scale: float = scale) -> Artwork:
            height = round(columns * 0.7 / 3) * 3
            places = _places(columns + 1, columns, height, radius + 5, 2 * radius + 1.3)
            turns = np.random.default_rng(columns).integers(0, 8, len(places))
            field = ornament.scattered(ornament.MOTIFS[name], places, radius, turns)
            paint = ornament.framed(field, columns, height, [(1.4, 2), (0.7, 0), (1.4, 1)], ornament.cross, 9.0)
            return _drawn(paint, columns, height, scale, [])

        yield HoldOut("scatterings", f"{name} {radius} strewn", columns, density, quick, made)


def _strokes() -> Iterator[HoldOut]:
    table = [
        ("nested", [0.3, 0.5, 0.7, 0.9, 1.1, 1.3, 1.6, 2.0, 2.5, 3.0], 2.4, 100, SQUARE, 10.0),
        ("nested", [1.2] * 12, 2.7, 130, OBLONG, 8.0),
        ("nested", [0.6] * 9, 3.3, 80, SQUARE, 11.0),
        ("rays", [0.4, 0.6, 0.8, 1.0, 1.2, 1.4], 0, 100, SQUARE, 9.0),
        ("rays", [0.7] * 7, 0, 180, OBLONG, 7.0),
    ]
    for name, widths, gap, columns, density, scale in table:

        def made(
            name: str = name,
            widths: list[float] = widths,
            gap: float = gap,
            columns: int = columns,
            scale: float = scale,
        ) -> Artwork:
            height = round(columns * 0.9 / 3) * 3
            nested = name == "nested"
            paint = ornament.nested(columns, height, widths, gap) if nested else ornament.rays(columns, height, widths)
            return _drawn(paint, columns, height, scale, [])

        yield HoldOut("strokes", f"{name} {widths[0]}", columns, density, columns == 100, made)


def _gradients() -> Iterator[HoldOut]:
    """Yield drawings whose areas run from one colour to another, with yarns on the card that resemble the mixtures."""
    for name, columns, density, quick in (("discs", 100, SQUARE, True), ("panels", 160, OBLONG, False)):

        def made(name: str = name, columns: int = columns) -> Artwork:
            height, width = 660, 900
            y, x = np.mgrid[: height * 3, : width * 3] / 3.0
            ramp = ((x + 2 * y) / (width + 2 * height))[..., None]
            srgb = np.array((30, 40, 120)) * (1 - ramp) + np.array((70, 130, 200)) * ramp
            for number in range(12):
                cx, cy = 110 + 225 * (number % 4), 110 + 220 * (number // 4)
                u, v = (x - cx) / 85, (y - cy) / 85
                inside = np.hypot(u, v) <= 1 if name == "discs" else np.maximum(abs(u), abs(v)) <= 1
                light = np.clip(0.5 - 0.4 * u - 0.3 * v, 0, 1)[..., None]
                shade = np.array((170, 30, 30)) * (1 - light) + np.array((250, 210, 120)) * light
                srgb = np.where(inside[..., None], shade, srgb)
            pixels = srgb.reshape(height, 3, width, 3, 3).mean(axis=(1, 3))
            steps = np.linspace(0, 1, 8)[:, None]
            ground = np.array((30, 40, 120)) * (1 - steps) + np.array((70, 130, 200)) * steps
            shade = np.array((170, 30, 30)) * (1 - steps) + np.array((250, 210, 120)) * steps
            between = [(100, 40, 80), (140, 90, 130), (150, 130, 150), (120, 120, 120), (200, 170, 160), (90, 60, 60)]
            card = np.vstack([ground, shade, between])
            return Artwork(np.round(pixels).astype(np.uint8), None, np.round(card).astype(np.uint8))

        yield HoldOut("gradients", name, columns, density, quick, made)


def _paintings() -> Iterator[HoldOut]:
    for name in ("astronaut", "coffee", "chelsea"):

        def made(name: str = name) -> Artwork:
            from PIL import Image
            from skimage import data

            srgb = getattr(data, name)()
            palette = Image.fromarray(srgb).quantize(24, Image.Quantize.MEDIANCUT).getpalette()
            return Artwork(srgb, None, np.unique(np.array(palette, dtype=np.uint8).reshape(-1, 3)[:24], axis=0))

        for columns, density in ((100, SQUARE), (200, OBLONG)):
            yield HoldOut("paintings", name, columns, density, name == "astronaut" and columns == 100, made)
