"""The artwork of a relaid rug, put together from parts of the drawing at a few pixels a knot.

Every part is taken over knot by knot: a stretch of the drawing becomes so many whole knots, each of the same number of
pixels. Thus a part looks the same under its knots wherever it lies, in every size, and is converted to the same knots.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.convert.repeats.frames import Side
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.language import say
from chartmaker.relay.counting import placed
from chartmaker.relay.parts import Band, BandSide, Parts
from chartmaker.relay.pieces import LOW, MIDDLE
from chartmaker.relay.planning import Plan, PlannedSide

Places = NDArray[np.intp]
#: So many pixels round a piece belong to it: where its edge is mixed with the ground.
RIM_PX = 2


@dataclass(frozen=True)
class Corners:
    """How corners are taken over: `turned` makes all four of the one at the foot on the left."""

    turned: bool
    module: bool


class Stretch:
    """Pixels of the drawing that some knots in one direction are drawn with, put together piece by piece."""

    def __init__(self, px_per_knot: int, size: int) -> None:
        self._px, self._size = px_per_knot, size
        self._places: list[Places] = []

    def add(self, first: float, end: float, knots: int) -> Stretch:
        """Draw so many knots with the pixels from `first` to `end`."""
        number = knots * self._px
        if number:
            at = first + (np.arange(number) + 0.5) * (end - first) / number
            # What falls between two pixels takes the one nearer to the middle, so that mirror images remain ones.
            at += np.sign((first + end) / 2 - at) * 1e-6
            self._places.append(np.clip(np.floor(at), 0, self._size - 1).astype(np.intp))
        return self

    def mirror_last(self, first: float, end: float) -> None:
        """Let the second half of what was added last be the mirror image of its first half.

        The drawing is its own mirror image from `first` to `end`, so that there are pixels which show that.
        """
        if not self._places:
            return
        places = self._places[-1]
        half = len(places) // 2
        places[len(places) - half :] = np.clip(round(first + end) - 1 - places[:half][::-1], 0, self._size - 1)

    def mirror_all(self, first: float, end: float) -> None:
        """Let the second half of all that was added be the mirror image of its first half, as `mirror_last` does."""
        self._places = [self.places]
        self.mirror_last(first, end)

    @property
    def places(self) -> Places:
        return np.concatenate(self._places) if self._places else np.empty(0, np.intp)


def composed(artwork: Artwork, parts: Parts, plan: Plan, px: int, corners: Corners, *, scaled: bool) -> Artwork:
    """Return the artwork of a relaid rug, `px` pixels a knot both ways.

    Parameters
    ----------
    artwork : Artwork
        The drawing.
    parts : Parts
        What it is drawn of.
    plan : Plan
        The knots of each part.
    px : int
    corners : Corners
    scaled : bool
        Whether a medallion is made larger with its field; otherwise it keeps its size.

    Raises
    ------
    ArtworkError
        If the pieces of the field do not find room in it.
    """
    canvas = _Canvas(artwork, plan.rows * px, plan.columns * px, px)
    top = left = 0
    bottom, right = plan.rows, plan.columns
    for band, own in zip(parts.bands, plan.bands, strict=True):
        widths = own.widths
        rows = top, top + widths["top"], bottom - widths["bottom"], bottom
        columns = left, left + widths["left"], right - widths["right"], right
        _lay_corners(canvas, band, rows, columns, corners)
        for side, into in _places_of(rows, columns).items():
            _lay_side(canvas, band, side, own.sides[side], into, corners)
        top, bottom, left, right = rows[1], rows[2], columns[1], columns[2]
    if bottom - top < 2 or right - left < 2:
        raise ArtworkError(say("the borders leave no field in this size; order a larger one, or give narrower borders"))
    _lay_field(canvas, parts, (slice(top, bottom), slice(left, right)), plan, scaled=scaled)
    return canvas.artwork


class _Canvas:
    """The picture that parts of the drawing are laid on, in knots."""

    def __init__(self, artwork: Artwork, height: int, width: int, px: int) -> None:
        self.drawing, self.px = artwork, px
        self._srgb = np.zeros((height, width, 3), dtype=np.uint8)
        self._coverage = None if artwork.coverage is None else np.zeros((height, width), dtype=np.uint8)

    @property
    def artwork(self) -> Artwork:
        return Artwork(self._srgb, self._coverage)

    def down(self) -> Stretch:
        return Stretch(self.px, self.drawing.height)

    def across(self) -> Stretch:
        return Stretch(self.px, self.drawing.width)

    def lay(
        self,
        into: tuple[slice, slice],
        rows: Places,
        columns: Places,
        turn: str = "",
        only: NDArray[np.bool_] | None = None,
    ) -> None:
        """Draw some knots with the pixels at `rows` and `columns` of the drawing.

        `turn` makes the top of a foot (``flip down``), a right side of a left one (``flip across``), and a left side
        of a foot (``turn``), which stands with its outer rim to the left then. Where `only` is not set, what is drawn
        already stays.
        """
        self._put(self.pixels(into), rows, columns, turn, only)

    def lay_pixels(self, into: tuple[Places, slice], rows: Places, columns: Places) -> None:
        """Draw some rows of pixels, over columns of knots."""
        first = slice(int(into[0][0]), int(into[0][-1]) + 1)
        across = slice(into[1].start * self.px, into[1].stop * self.px)
        self._put((first, across), rows, columns, "", None)

    def _put(
        self, at: tuple[slice, slice], rows: Places, columns: Places, turn: str, only: NDArray[np.bool_] | None
    ) -> None:
        planes: list[tuple[ByteArray, ByteArray]] = [(self._srgb, self.drawing.srgb)]
        if self._coverage is not None and self.drawing.coverage is not None:
            planes.append((self._coverage, np.broadcast_to(self.drawing.coverage, self.drawing.srgb.shape[:2])))
        for onto, of in planes:
            taken = of[np.ix_(rows, columns)]
            if "turn" in turn:
                taken = np.swapaxes(taken[::-1], 0, 1)
            if "flip across" in turn:
                taken = taken[:, ::-1]
            if "flip down" in turn:
                taken = taken[::-1]
            if only is None:
                onto[at] = taken
            else:
                onto[at][only] = taken[only]

    def fill(self, into: tuple[slice, slice], srgb: ByteArray) -> None:
        self._srgb[self.pixels(into)] = srgb
        if self._coverage is not None:
            self._coverage[self.pixels(into)] = 255

    def pixels(self, knots: tuple[slice, slice]) -> tuple[slice, slice]:
        """Return where knots lie on the picture."""
        rows, columns = knots
        return (
            slice(rows.start * self.px, rows.stop * self.px),
            slice(columns.start * self.px, columns.stop * self.px),
        )


def _places_of(rows: Sequence[int], columns: Sequence[int]) -> dict[Side, tuple[slice, slice]]:
    """Return where the four sides of a band lie, in knots."""
    inner_rows, inner_columns = slice(rows[1], rows[2]), slice(columns[1], columns[2])
    return {
        "top": (slice(rows[0], rows[1]), inner_columns),
        "bottom": (slice(rows[2], rows[3]), inner_columns),
        "left": (inner_rows, slice(columns[0], columns[1])),
        "right": (inner_rows, slice(columns[2], columns[3])),
    }


def _lay_corners(canvas: _Canvas, band: Band, rows: Sequence[int], columns: Sequence[int], corners: Corners) -> None:
    """Lay the four corner blocks of a band, each as it is drawn or all as the one at the foot on the left."""
    outer, inner = band.outer, band.inner
    down = {"top": (outer.top, inner.top), "bottom": (inner.bottom, outer.bottom)}
    across = {"left": (outer.left, inner.left), "right": (inner.right, outer.right)}
    into_rows = {"top": slice(rows[0], rows[1]), "bottom": slice(rows[2], rows[3])}
    into_columns = {"left": slice(columns[0], columns[1]), "right": slice(columns[2], columns[3])}
    for level in ("top", "bottom"):
        for upright in ("left", "right"):
            into = into_rows[level], into_columns[upright]
            turn = ""
            if corners.turned:
                turn = ("flip down " if level == "top" else "") + ("flip across" if upright == "right" else "")
            from_down = down["bottom" if corners.turned else level]
            from_across = across["left" if corners.turned else upright]
            high, wide = into[0].stop - into[0].start, into[1].stop - into[1].start
            canvas.lay(
                into, canvas.down().add(*from_down, high).places, canvas.across().add(*from_across, wide).places, turn
            )


def _lay_side(
    canvas: _Canvas, band: Band, side: Side, own: PlannedSide, into: tuple[slice, slice], corners: Corners
) -> None:
    """Lay a side of a band: its ends and its repeats one after another, or all of it pulled where nothing repeats."""
    upright = side in ("left", "right")
    drawn = band.sides["bottom" if corners.module else side]
    box = drawn.run.box
    long, deep = (into[0], into[1]) if upright else (into[1], into[0])
    lying = corners.module or not upright
    along = canvas.across() if lying else canvas.down()
    across = canvas.down() if lying else canvas.across()
    first = box.left if lying else box.top
    _add_run(along, first, drawn, own, long.stop - long.start)
    if drawn.mirrored:
        along.mirror_all(first, first + drawn.length)
    bounds = (box.top, box.bottom) if lying else (box.left, box.right)
    across.add(*bounds, deep.stop - deep.start)
    if not corners.module:
        rows, columns = (along.places, across.places) if upright else (across.places, along.places)
        canvas.lay(into, rows, columns)
        return
    turn = {"top": "flip down", "bottom": "", "left": "turn", "right": "turn flip across"}[side]
    canvas.lay(into, across.places, along.places, turn)


def _add_run(along: Stretch, first: float, drawn: BandSide, own: PlannedSide, knots: int) -> None:
    """Add the pixels along a side of a band, which begins at `first`."""
    repeating, count = drawn.repeating, own.count
    if repeating is None or count is None:
        along.add(first, first + drawn.length, knots)
        return
    start, period = first + repeating.end, repeating.period
    knot_px = period / own.period
    gaps, more = placed(count)
    along.add(first, start, own.end)
    for number in range(count.times):
        begin, end, length = start, start + period, own.period + more[number]
        before, behind = gaps[number], gaps[number + 1]
        if before > 0:
            along.add(start, start + 1, before)
        if behind < 0:  # the last knot of plain ground before the line is left out
            end, length = end - knot_px, length - 1
        if number == 0 and before < 0:
            begin, length = begin + knot_px, length - 1
        along.add(begin, end, length)
        if drawn.mirrored and (begin, end) == (start, start + period):
            along.mirror_last(first, first + drawn.length)
    if gaps[-1] > 0:
        along.add(start + period - 1, start + period, gaps[-1])
    along.add(first + drawn.length - repeating.end, first + drawn.length, own.end)


def _lay_field(canvas: _Canvas, parts: Parts, into: tuple[slice, slice], plan: Plan, *, scaled: bool) -> None:
    """Lay the field: as its repeat goes on, with its pieces where they belong, or pulled to its new size."""
    if parts.lattice is not None:
        _lay_lattice(canvas, parts, into, plan.knot_px)
        return
    field = parts.field
    if parts.pieces is None:
        high, wide = (each.stop - each.start for each in into)
        canvas.lay(
            into,
            canvas.down().add(field.top, field.bottom, high).places,
            canvas.across().add(field.left, field.right, wide).places,
        )
        return
    _lay_pieces(canvas, parts, into, plan.knot_px, scaled=scaled)


def _lay_lattice(canvas: _Canvas, parts: Parts, into: tuple[slice, slice], knot_px: tuple[float, float]) -> None:
    """Fill the field with its repeat, each of whole knots, from the middle outward: the border cuts it evenly."""
    assert parts.lattice is not None
    lattice, field = parts.lattice.lattice, parts.field
    high, wide = max(1, round(lattice.height / knot_px[0])), max(1, round(lattice.width / knot_px[1]))
    shift = round(lattice.shift / lattice.width * wide)
    if lattice.centred:
        wide, shift = 2 * max(1, round(lattice.width / knot_px[1] / 2)), max(1, round(lattice.width / knot_px[1] / 2))
    middle = (field.top + field.bottom) / 2, (field.left + field.right) / 2
    rows, row_cells = _in_cells(into[0], canvas.px, high, 0)
    down = _drawn_at(middle[0], rows, lattice.height / (high * canvas.px), (field.top, field.bottom), lattice.height)
    for cell in np.unique(row_cells):
        own = np.flatnonzero(row_cells == cell)
        columns, _ = _in_cells(into[1], canvas.px, wide, int(cell) * shift)
        across = _drawn_at(
            middle[1], columns, lattice.width / (wide * canvas.px), (field.left, field.right), lattice.width
        )
        canvas.lay_pixels((own + into[0].start * canvas.px, into[1]), down[own], across)


def _in_cells(knots: slice, px: int, period: int, shift: int) -> tuple[FloatArray, Places]:
    """Return for each pixel across the field where it lies in its repeat, in pixels, and which repeat it is in.

    Both count from the middle of the field; `period` and `shift` are in knots.
    """
    number = (knots.stop - knots.start) * px
    doubled = 2 * np.arange(number) + 1 - number - 2 * shift * px  # half pixels, so that all is whole
    cell, place = np.divmod(doubled, 2 * period * px)
    return place / 2, cell.astype(np.intp)


def _drawn_at(middle: float, places: FloatArray, scale: float, bounds: tuple[float, float], period: float) -> Places:
    """Return the pixels of the drawing at places in a repeat that begins in the middle of the field."""
    at = middle + places * scale
    at = np.where(at >= bounds[1], at - period, at)
    return np.asarray(np.clip(np.floor(at), bounds[0], bounds[1] - 1), np.intp)


def _lay_pieces(
    canvas: _Canvas, parts: Parts, into: tuple[slice, slice], knot_px: tuple[float, float], *, scaled: bool
) -> None:
    """Lay the ground of the field, then each of its pieces where it belongs; none may lie on another."""
    assert parts.pieces is not None
    pieces, field = parts.pieces, parts.field
    window = field.window
    own = canvas.drawing.srgb[window][pieces.mask == 0]
    colours, counts = np.unique(own[:: max(1, len(own) // 200_000)], axis=0, return_counts=True)
    canvas.fill(into, colours[counts.argmax()])
    sizes = tuple(each.stop - each.start for each in into)
    grown = min(size * px / drawn for size, px, drawn in zip(sizes, knot_px, (field.height, field.width), strict=True))
    taken = np.zeros((sizes[0] * canvas.px, sizes[1] * canvas.px), dtype=bool)
    for piece in pieces.pieces:
        scale = grown if scaled and piece.is_medallion else 1.0
        rows, down = _extent(piece.down, (piece.top, piece.bottom), field.height, sizes[0], knot_px[0] / scale)
        columns, across = _extent(piece.across, (piece.left, piece.right), field.width, sizes[1], knot_px[1] / scale)
        if min(rows.start, columns.start) < 0 or rows.stop > sizes[0] or columns.stop > sizes[1]:
            _no_room()
        at_rows = canvas.down().add(field.top + down[0], field.top + down[1], rows.stop - rows.start).places
        at_columns = canvas.across().add(field.left + across[0], field.left + across[1], columns.stop - columns.start)
        within = np.clip(at_rows - window[0].start, 0, pieces.mask.shape[0] - 1)
        beside = np.clip(at_columns.places - window[1].start, 0, pieces.mask.shape[1] - 1)
        own = pieces.mask[np.ix_(within, beside)] == piece.number
        there = taken[canvas.pixels((rows, columns))]
        if (there & own).any():
            _no_room()
        there |= own
        at = _moved(rows, into[0].start), _moved(columns, into[1].start)
        canvas.lay(at, at_rows, at_columns.places, only=ndimage.binary_dilation(own, iterations=RIM_PX))


def _extent(
    bound: str, own: tuple[int, int], drawn: float, knots: int, knot_px: float
) -> tuple[slice, tuple[float, float]]:
    """Return the knots of the field that a piece takes in one direction, and the pixels of the field behind them.

    Knots are counted from what the piece is bound to, so that it lies on the same knots in every size.
    """
    if bound == MIDDLE:
        half = knots % 2 / 2  # the middle of the field is in the middle of a knot, or between two
        first = math.floor((own[0] - drawn / 2) / knot_px + half) - half
        end = math.ceil((own[1] - drawn / 2) / knot_px + half) - half
        return (
            slice(int(knots / 2 + first), int(knots / 2 + end)),
            (drawn / 2 + first * knot_px, drawn / 2 + end * knot_px),
        )
    if bound == LOW:
        low, high = math.floor(own[0] / knot_px), math.ceil(own[1] / knot_px)
        return slice(low, high), (low * knot_px, high * knot_px)
    low, high = math.ceil((drawn - own[0]) / knot_px), math.floor((drawn - own[1]) / knot_px)
    return slice(knots - low, knots - high), (drawn - low * knot_px, drawn - high * knot_px)


def _moved(knots: slice, by: int) -> slice:
    return slice(knots.start + by, knots.stop + by)


def _no_room() -> NoReturn:
    raise ArtworkError(
        say(
            "the pieces of the field meet in this size: its medallion, corners or pendants have no room; order a "
            "larger size, or let the whole field be pulled with [layout] field = 'scale'"
        )
    )
