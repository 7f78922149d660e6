"""Motifs, tilings, borders and strokes as functions of the plane, in knots, that give the ink of every point."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Inks = NDArray[np.uint8]
#: Gives the ink of each point of a plane from its places across and down.
Paint = Callable[[Floats, Floats], Inks]
#: Gives the ink of each point round the middle of a motif of radius one, or 0 where it leaves the ground.
Motif = Callable[[Floats, Floats], Inks]


def star(u: Floats, v: Floats) -> Inks:
    """An eight-pointed star with an eye."""
    points = (np.maximum(abs(u), abs(v)) <= 0.7) | (abs(u) + abs(v) <= 1.0)
    return np.where(np.hypot(u, v) <= 0.3, 2, points).astype(np.uint8)


def diamond(u: Floats, v: Floats) -> Inks:
    """Two diamonds, one inside the other."""
    return ((abs(u) + abs(v) <= 1.0).astype(np.uint8) + (abs(u) + abs(v) <= 0.5)).astype(np.uint8)


def cross(u: Floats, v: Floats) -> Inks:
    long, short = np.maximum(abs(u), abs(v)), np.minimum(abs(u), abs(v))
    return ((long <= 0.95) & (short <= 0.28)).astype(np.uint8)


def leaf(u: Floats, v: Floats) -> Inks:
    """A leaf with its vein of another ink."""
    blade = (abs(v) <= 1) & (abs(u) <= 0.45 * np.cos(np.pi / 2 * np.clip(v, -1, 1)))
    return np.where(blade & (abs(u) <= 0.09) & (v > -0.4), 3, blade).astype(np.uint8)


def drop(u: Floats, v: Floats) -> Inks:
    """A drop that bends to one side, so that it neither mirrors nor looks the same when turned."""
    t = np.clip((v + 1) / 2, 0, 1)
    body = abs(u - 0.45 * (1 - t) ** 2) <= 0.55 * np.sqrt(t) * (1.02 - 0.45 * t)
    eye = np.hypot(u, v - 0.45) <= 0.2
    return np.where(eye, 2, body & (abs(v) <= 1)).astype(np.uint8)


def flower(u: Floats, v: Floats) -> Inks:
    """Six petals round an eye."""
    reach, angle = np.hypot(u, v), np.arctan2(v, u)
    return np.where(reach <= 0.25, 2, reach <= 0.68 + 0.3 * np.cos(6 * angle)).astype(np.uint8)


def hook(u: Floats, v: Floats) -> Inks:
    """An angular S."""
    bars = (abs(abs(v) - 0.8) <= 0.17) & (abs(u) <= 0.8) | (abs(v) <= 0.17) & (abs(u) <= 0.8)
    ends = (abs(u - 0.65) <= 0.17) & (v >= -0.1) & (v <= 0.9) | (abs(u + 0.65) <= 0.17) & (v <= 0.1) & (v >= -0.9)
    return (bars | ends).astype(np.uint8)


MOTIFS: dict[str, Motif] = {
    "star": star,
    "diamond": diamond,
    "cross": cross,
    "leaf": leaf,
    "drop": drop,
    "flower": flower,
    "hook": hook,
}


def tiling(motif: Motif, pitch: float, kind: str, stroke: float, dot: float = 0.0) -> Paint:
    """Return a motif repeated at a pitch in knots under a trellis of strokes, with dots at its joints.

    `kind` is how neighbours differ: square (not at all), centred (every second row half a pitch on), mirrored (every
    second column flipped), turned (a quarter turn from one to the next, over four).
    """

    def paint(x: Floats, y: Floats) -> Inks:
        row = np.floor(y / pitch).astype(int)
        x = x + np.where(row % 2 == 1, pitch / 2, 0.0) if kind == "centred" else x
        column = np.floor(x / pitch).astype(int)
        u, v = (x / pitch) % 1 * 2 - 1, (y / pitch) % 1 * 2 - 1
        trellis = abs(abs(u) + abs(v) - 1) * pitch / 2 / 2**0.5 <= stroke / 2
        if kind == "mirrored":
            u = np.where(column % 2 == 1, -u, u)
        elif kind == "turned":
            quarter = (column % 2 + 2 * (row % 2)) % 4
            u, v = np.choose(quarter, [u, -v, v, -u]), np.choose(quarter, [v, u, -u, -v])
        inks = motif(u / 0.62, v / 0.62)
        inks = np.where((inks == 0) & trellis, 4, inks)
        joint = np.hypot((abs(u) - 1), (abs(v) - 1)) * pitch / 2 <= dot / 2
        return np.where(joint, 3, inks).astype(np.uint8)

    return paint


def scattered(motif: Motif, places: Floats, radius: float, turns: NDArray[np.intp]) -> Paint:
    """Return a motif at places (n, 2) across and down, each in one of its eight turned and mirrored forms."""

    def paint(x: Floats, y: Floats) -> Inks:
        inks = np.zeros(np.broadcast(x, y).shape, dtype=np.uint8)
        xs, ys = x.ravel(), y.ravel()  # the places form a grid, where x is a row and y is a column
        for (across, down), turn in zip(places, turns, strict=True):
            columns = slice(*np.searchsorted(xs, [across - radius, across + radius]))
            rows = slice(*np.searchsorted(ys, [down - radius, down + radius]))
            u, v = np.broadcast_arrays((xs[None, columns] - across) / radius, (ys[rows, None] - down) / radius)
            u = -u if turn & 4 else u
            for _ in range(turn & 3):
                u, v = -v, u
            own = motif(u, v)
            inks[rows, columns] = np.where(own > 0, own, inks[rows, columns])
        return inks

    return paint


def framed(
    field: Paint, width: float, height: float, lines: list[tuple[float, int]], motif: Motif, pitch: float
) -> Paint:
    """Return a field in straight frames, listed from the rim inwards (width in knots, ink); ink 9 has motifs."""

    def paint(x: Floats, y: Floats) -> Inks:
        inks = field(x, y)
        x, y = np.broadcast_arrays(x, y)
        in_x, in_y = np.minimum(x, width - x), np.minimum(y, height - y)
        rim, start = np.minimum(in_x, in_y), 0.0
        for line, ink in lines:
            own = (rim >= start) & (rim < start + line)
            if ink == 9:
                along = np.where(in_y <= in_x, x, y)
                across = rim - start - line / 2
                length = np.where(in_y <= in_x, width, height)
                corner = np.maximum(in_x, in_y) < start + line
                u = ((along - length / 2) / pitch + 0.5) % 1 * 2 - 1
                band = motif(u * pitch / 2 / (0.42 * line), across / (0.42 * line))
                ink_of = np.where(corner, 0, band)
                inks = np.where(own, ink_of, inks)
            else:
                inks = np.where(own, ink, inks)
            start += line
        return inks.astype(np.uint8)

    return paint


def rays(width: float, height: float, strokes: list[float]) -> Paint:
    """Return slanting straight strokes and then rings, of given widths in knots."""

    def paint(x: Floats, y: Floats) -> Inks:
        x, y = np.broadcast_arrays(x, y)
        inks = np.zeros(x.shape, dtype=np.uint8)
        for number, stroke in enumerate(strokes):
            angle = np.pi * (number + 0.37) / (2 * len(strokes))
            across = (x - width * 0.02) * np.sin(angle) - (y - height * 0.02) * np.cos(angle)
            inks[(abs(across) <= stroke / 2) & (x + y > 0.2 * width)] = 1
            ring = np.hypot(x - width * 0.72, y - height * 0.72)
            inks[abs(ring - (number + 1.2) * 0.035 * width) <= stroke / 2] = 2
        return inks

    return paint


def nested(width: float, height: float, strokes: list[float], gap: float) -> Paint:
    """Return nested rectangles drawn by strokes of given widths with equal gaps between them, in knots."""

    def paint(x: Floats, y: Floats) -> Inks:
        rim = np.minimum(np.minimum(x, width - x), np.minimum(y, height - y))
        inks, start = np.zeros(rim.shape, dtype=np.uint8), gap
        for number, stroke in enumerate(strokes):
            inks[(rim >= start) & (rim < start + stroke)] = 1 + number % 2
            start += stroke + gap
        return inks

    return paint


def rendered(
    paint: Paint, width: float, height: float, shape: tuple[int, int], colours: NDArray[np.uint8], fine: int = 4
):  # type: ignore[no-untyped-def]
    """Return a plane as anti-aliased sRGB pixels of a shape, and the ink that covers most of each pixel."""
    srgb, labels = np.empty((*shape, 3), np.uint8), np.empty(shape, np.uint8)
    x = (np.arange(shape[1] * fine) + 0.5) * width / (shape[1] * fine)
    for top in range(0, shape[0], 128):
        rows = min(128, shape[0] - top)
        y = (np.arange(top * fine, (top + rows) * fine) + 0.5) * height / (shape[0] * fine)
        inks = paint(x[None], y[:, None]).reshape(rows, fine, shape[1], fine)
        share = np.stack([(inks == k).sum(axis=(1, 3)) for k in range(len(colours))], axis=-1) / fine**2
        labels[top : top + rows] = share.argmax(axis=-1)
        srgb[top : top + rows] = np.round(share @ colours.astype(float))
    return srgb, labels
