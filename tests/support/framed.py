"""Framed designs drawn at random, with nested borders, repeats, corners, and a medallion on some ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork

Picture = NDArray[np.uint8]
COLOURS = np.array(
    [[150, 30, 34], [24, 40, 92], [236, 224, 196], [96, 120, 60], [204, 150, 60], [40, 30, 28]], dtype=np.uint8
)
RIM, GROUND, MOTIF, FIELD, GOLD, BLACK = range(6)
#: Pixels to a knot, in a square density.
KNOT_PX = 6


@dataclass(frozen=True)
class BorderDrawn:
    """A border: its width and its repeat in pixels (0 if it is plain), the repeats across and along, their ends.

    Its `corner` is plain ground, a block with lines of its own, or drawn to the diagonal as a frame is mitred.
    """

    width: int
    period: float
    times: tuple[int, int]
    end: int
    corner: str = "plain"


@dataclass(frozen=True)
class Framed:
    """A design with its true measures: `borders` from the rim inwards, and the field's size, down and across."""

    picture: Picture
    borders: tuple[BorderDrawn, ...]
    field: tuple[int, int]
    kind: str

    @property
    def artwork(self) -> Artwork:
        return Artwork(COLOURS[self.picture])

    @property
    def knots(self) -> tuple[float, float]:
        """The height and width of the design in knots."""
        return self.picture.shape[0] / KNOT_PX, self.picture.shape[1] / KNOT_PX


def _motif(deep: int, period: float, length: int, end: int) -> Picture:
    """Return a side of a border, `deep` x `length` pixels, with a lozenge with a heart in the middle of each repeat."""
    y, x = np.mgrid[:deep, :length] + 0.5
    end += (length - 2 * end) % period / 2 if (length - 2 * end) % period < period - 2 else 0
    along = np.abs((x - end) % period - period / 2)
    across = np.abs(y - deep / 2)
    reach = along / (0.36 * period) + across / (0.36 * deep)
    made = np.full((deep, length), GROUND, dtype=np.uint8)
    made[reach < 1] = MOTIF
    made[reach < 0.45] = GOLD
    outside = (x < end) | (x > length - end)
    made[outside] = GROUND
    return np.asarray(np.where(np.arange(length) < (length + 1) // 2, made, made[:, ::-1]), np.uint8)


def _ring(picture: Picture, first: int, border: BorderDrawn) -> None:
    """Draw a border into a picture, `first` pixels from its rim, with a guard line on either side."""
    height, width = picture.shape
    last = first + border.width
    picture[first : height - first, first : width - first] = BLACK
    inner = first + KNOT_PX, last - KNOT_PX
    picture[inner[0] : height - inner[0], inner[0] : width - inner[0]] = GROUND
    deep = border.width - 2 * KNOT_PX
    across = _motif(deep, border.period, width - 2 * last, border.end)
    along = _motif(deep, border.period, height - 2 * last, border.end)
    picture[inner[0] : inner[1], last : width - last] = across
    picture[height - inner[1] : height - inner[0], last : width - last] = across[::-1]
    picture[last : height - last, inner[0] : inner[1]] = along.T
    picture[last : height - last, width - inner[1] : width - inner[0]] = along.T[:, ::-1]
    _corners(picture, inner, border.corner)
    picture[last - KNOT_PX : height - last + KNOT_PX, last - KNOT_PX : width - last + KNOT_PX] = BLACK
    picture[last : height - last, last : width - last] = FIELD


def _corners(picture: Picture, inner: tuple[int, int], kind: str) -> None:
    """Draw all four corners of a border as mirror images of the lower left one."""
    if kind == "plain":
        return
    deep = inner[1] - inner[0]
    block = np.full((deep, deep), GROUND, dtype=np.uint8)
    if kind == "block":
        block[KNOT_PX:-KNOT_PX, KNOT_PX:-KNOT_PX] = BLACK
        block[2 * KNOT_PX : -2 * KNOT_PX, 2 * KNOT_PX : -2 * KNOT_PX] = GROUND
        block[deep // 3 : -(deep // 3), deep // 3 : -(deep // 3)] = RIM
    else:
        y, x = np.mgrid[:deep, :deep]
        block[abs(y - x) < KNOT_PX] = GOLD
        block[np.maximum(y, x) < deep // 3] = MOTIF
    low, high = slice(inner[0], inner[1]), slice(-inner[1], -inner[0])
    picture[low, low], picture[low, high] = block, block[:, ::-1]
    picture[high, low], picture[high, high] = block[::-1], block[::-1, ::-1]


def _medallion(field: Picture, radius: float) -> None:
    y, x = np.mgrid[: field.shape[0], : field.shape[1]] + 0.5
    away = np.hypot(y - field.shape[0] / 2, x - field.shape[1] / 2)
    field[away < radius] = MOTIF
    field[away < 0.6 * radius] = RIM
    for corner in ((0, 0), (0, field.shape[1]), (field.shape[0], 0), field.shape):
        field[np.hypot(y - corner[0], x - corner[1]) < 0.8 * radius] = GOLD


def _strewn(field: Picture, period: int) -> None:
    y, x = np.mgrid[: field.shape[0], : field.shape[1]] + 0.5
    down, across = (
        np.abs((each - size / 2) % period - period / 2) for each, size in ((y, field.shape[0]), (x, field.shape[1]))
    )
    field[down + across < 0.3 * period] = MOTIF
    field[np.maximum(down, across) < 0.1 * period] = RIM


def _outlined(field: Picture, radius: float) -> None:
    """Draw a medallion with two pendants, and corner pieces, each inside a black outline of two knots."""
    height, width = field.shape
    y, x = np.mgrid[:height, :width] + 0.5
    middles = (0.5, 1.0), (0.5 - 1.3 * radius / height, 0.35), (0.5 + 1.3 * radius / height, 0.35)
    away = np.full(field.shape, np.inf)
    for share, size in middles:
        away = np.minimum(away, np.hypot(y - share * height, x - width / 2) - size * radius)
    corners = np.hypot(np.minimum(y, height - y), np.minimum(x, width - x)) - 0.9 * radius
    for reach, own in ((away, MOTIF), (corners, GOLD)):
        field[reach < 2 * KNOT_PX] = BLACK
        field[reach < 0] = own
    field[away < -0.5 * radius] = FIELD


def _scattered(field: Picture) -> None:
    """Strew dots of two sizes without any repeat, with halves that mirror each other both ways."""
    height, width = field.shape
    chance = np.random.default_rng(7)
    y, x = np.mgrid[:height, :width] + 0.5
    down, across = np.abs(y - height / 2), np.abs(x - width / 2)
    for row in range(int(height / 2 / 16) + 1):
        for column in range(int(width / 2 / 16) + 1):
            at = 16 * row + 8 + chance.integers(-2, 3), 16 * column + 8 + chance.integers(-2, 3)
            size = float(chance.choice([4.5, 6.0]))
            if at[0] + size < height / 2 and at[1] + size < width / 2:
                field[np.hypot(down - at[0], across - at[1]) < size] = (MOTIF, RIM, GOLD)[int(chance.integers(3))]


@st.composite
def framed(draw: st.DrawFn) -> Framed:
    """Return a design that mirrors both ways: bands round a border whose repeat is of any length, and a field.

    The bands outside are plain, or have a repeat of another length and corners of another kind.
    """
    corners = st.sampled_from(["plain", "block", "mitred"])
    pitch = st.integers(500, 950).map(lambda tenths: tenths / 10)
    period, times = draw(pitch), (draw(st.integers(3, 5)), draw(st.integers(5, 7)))
    width, end = KNOT_PX * draw(st.integers(9, 14)), KNOT_PX * draw(st.integers(1, 4))
    inner = BorderDrawn(width, period, times, end, draw(corners))
    outer = [BorderDrawn(KNOT_PX * width, 0, (0, 0), 0) for width in draw(st.lists(st.integers(3, 8), max_size=2))]
    if draw(st.booleans()):
        outer.append(BorderDrawn(KNOT_PX * draw(st.integers(9, 12)), draw(pitch), (0, 0), KNOT_PX, draw(corners)))
    field = [round(number * period) + 2 * inner.end for number in reversed(times)]
    kind = draw(st.sampled_from(["medallion", "strewn", "plain"]))
    return drawn_of((*outer, inner), (field[0], field[1]), kind)


@st.composite
def patterned(draw: st.DrawFn) -> Framed:
    """Return a design whose medallion, pendants and corner pieces lie on a pattern that repeats, or on strewn dots."""
    period, times = draw(st.sampled_from([60, 66, 72])), (draw(st.integers(5, 6)), draw(st.integers(7, 8)))
    border = BorderDrawn(KNOT_PX * draw(st.integers(9, 12)), float(period), times, KNOT_PX * draw(st.integers(1, 3)))
    field = times[1] * period + 2 * border.end, times[0] * period + 2 * border.end
    return drawn_of((border,), field, draw(st.sampled_from(["overlaid", "scattered"])))


def fixed(kind: str) -> Framed:
    """Return a small design of one border round a field of that kind, the same each time."""
    border = BorderDrawn(9 * KNOT_PX, 60.0, (3, 5), KNOT_PX)
    return drawn_of((border,), (5 * 60 + 2 * KNOT_PX, 3 * 60 + 2 * KNOT_PX), kind)


def drawn_of(borders: tuple[BorderDrawn, ...], field: tuple[int, int], kind: str) -> Framed:
    """Return the design of borders, plain or with their repeats, and a field."""
    around = 2 * sum(border.width for border in borders)
    picture = np.full([each + around for each in field], RIM, dtype=np.uint8)
    first = 0
    for number, border in enumerate(borders):
        if border.period:
            _ring(picture, first, border)
        else:
            inside = picture[first : picture.shape[0] - first, first : picture.shape[1] - first]
            inside[:] = (RIM, GOLD)[number % 2]
        first += border.width
    inside = picture[first : picture.shape[0] - first, first : picture.shape[1] - first]
    if kind == "medallion":
        _medallion(inside, 0.22 * min(field))
    elif kind in ("strewn", "overlaid"):
        _strewn(inside, 5 * KNOT_PX)
    elif kind == "scattered":
        _scattered(inside)
    if kind in ("overlaid", "scattered"):
        _outlined(inside, 0.22 * min(field))
    return Framed(picture, borders, field, kind)
