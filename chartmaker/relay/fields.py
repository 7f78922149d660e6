"""The field of a relaid rug: its repeat goes on, its pieces keep their knots, or all of it is pulled."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.language import say
from chartmaker.relay.canvas import Canvas, Places
from chartmaker.relay.parts import Parts
from chartmaker.relay.pieces import LOW, MIDDLE
from chartmaker.relay.planning import Plan
from chartmaker.relay.strewing import Place, cut_motifs, places_of, strewn_of

#: So many pixels round a piece belong to it: where its edge is mixed with the ground.
RIM_PX = 2
#: A field has at least so many knots both ways.
LEAST_FIELD_KNOTS = 2
#: A field that is so many knots larger or smaller than it is drawn is pulled, and nobody sees it.
MOST_PULLED_KNOTS = 2.5


def lay_field(
    canvas: Canvas,
    parts: Parts,
    into: tuple[slice, slice],
    plan: Plan,
    *,
    scaled: bool,
    whole: bool = False,
    beyond: NDArray[np.bool_] | None = None,
) -> None:
    """Lay the field: as its repeat goes on, with its pieces where they belong, or pulled to its new size.

    A field that is laid as a `whole` keeps its proportions: what is over of it is left out at its edges. `beyond` tells
    which of its knots the border of a rug takes that is no rectangle.
    """
    from scipy import ndimage

    if parts.pieces is None:
        if parts.lattice is not None:
            _lay_lattice(canvas, parts, into, plan.knot_px)
        else:
            _lay_drawn(canvas, parts, into, plan.knot_px if whole else None)
        return
    standing = _standing(canvas, parts, into, plan.knot_px, scaled=scaled)
    if parts.tile is None:
        canvas.fill(into, _ground_of(canvas, parts))
    elif parts.tile.mirrored and is_as_drawn(parts, plan):
        _lay_drawn(canvas, parts, into)
    else:
        _lay_tile(canvas, parts, into, plan.knot_px)
        if parts.tile.mirrored:
            covered = np.zeros(plan_shape(into), dtype=bool) if beyond is None else beyond.copy()
            for piece in standing:
                covered[piece.knots(into)] |= piece.own[canvas.px // 2 :: canvas.px, canvas.px // 2 :: canvas.px]
            _mend(canvas, parts, into, plan.knot_px, covered)
    for piece in standing:
        only = piece.own if parts.tile is not None else ndimage.binary_dilation(piece.own, iterations=RIM_PX)
        canvas.lay(piece.at, piece.rows, piece.columns, only=only)


def has_room(drawing: Artwork, parts: Parts, plan: Plan, *, scaled: bool) -> bool:
    """Whether a plan leaves a field, and the pieces of the field do not meet in it."""
    if min(plan.field) < LEAST_FIELD_KNOTS:
        return False
    if parts.pieces is None:
        return True
    rows = sum(band.widths["top"] for band in plan.bands)
    columns = sum(band.widths["left"] for band in plan.bands)
    into = slice(rows, rows + plan.field[0]), slice(columns, columns + plan.field[1])
    try:
        _standing(Canvas(drawing, plan.rows, plan.columns, 1), parts, into, plan.knot_px, scaled=scaled)
    except ArtworkError:
        return False
    return True


def plan_shape(into: tuple[slice, slice]) -> tuple[int, int]:
    """Return how many knots a part takes, down and across."""
    return into[0].stop - into[0].start, into[1].stop - into[1].start


def is_as_drawn(parts: Parts, plan: Plan) -> bool:
    """Whether the field is as large as it is drawn, so that no other ground is wanted."""
    drawn = parts.field.height / plan.knot_px[0], parts.field.width / plan.knot_px[1]
    return all(abs(knots - its) <= MOST_PULLED_KNOTS for knots, its in zip(plan.field, drawn, strict=True))


def _lay_drawn(
    canvas: Canvas, parts: Parts, into: tuple[slice, slice], knot_px: tuple[float, float] | None = None
) -> None:
    """Lay the field as it is drawn, pulled to its new size; its middle in proportion, if pixels of a knot are given."""
    high, wide = (each.stop - each.start for each in into)
    field = parts.field
    trimmed = 0.0, 0.0
    if knot_px is not None:
        grown = max(high * knot_px[0] / field.height, wide * knot_px[1] / field.width)
        trimmed = field.height - high * knot_px[0] / grown, field.width - wide * knot_px[1] / grown
    rows = canvas.down().add(field.top + trimmed[0] / 2, field.bottom - trimmed[0] / 2, high)
    columns = canvas.across().add(field.left + trimmed[1] / 2, field.right - trimmed[1] / 2, wide)
    canvas.lay(into, rows.places, columns.places)


def _ground_of(canvas: Canvas, parts: Parts) -> ByteArray:
    """Return the one colour that the pieces of a field stand on."""
    assert parts.pieces is not None
    codes = _codes(canvas.drawing.srgb[parts.field.window])[parts.pieces.mask == 0]
    common, counts = np.unique(codes[:: max(1, len(codes) // 200_000)], return_counts=True)
    code = int(common[counts.argmax()])
    return np.array([code >> 16, code >> 8 & 255, code & 255], dtype=np.uint8)


def _evened(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return a mask with its mirror images both ways."""
    mask = mask | mask[::-1]
    return np.asarray(mask | mask[:, ::-1])


def _codes(srgb: ByteArray) -> NDArray[np.int64]:
    """Return each pixel's colour as one number."""
    wide = srgb.astype(np.int64)
    return np.asarray((wide[..., 0] << 16) | (wide[..., 1] << 8) | wide[..., 2])


def _mend(
    canvas: Canvas,
    parts: Parts,
    into: tuple[slice, slice],
    knot_px: tuple[float, float],
    covered: NDArray[np.bool_],
) -> None:
    """Leave out what the edges of a field and its pieces cut, and strew small motifs where it is bald then.

    The field mirrors both ways, and so does what is strewn.
    """
    from scipy import ndimage

    assert parts.pieces is not None
    codes = _codes(canvas.drawing.srgb[parts.field.window])
    _, inks = np.unique(codes, return_inverse=True)
    strewn = strewn_of(inks.reshape(codes.shape).astype(np.uint8), parts.pieces.mask, knot_px)
    ground = _ground_of(canvas, parts)
    standing = _evened((canvas.knots(into) != ground).any(axis=-1))  # the middle of a knot is half a pixel off
    covered = _evened(covered)
    cut = _evened(cut_motifs(standing, covered, strewn))
    gone = ndimage.binary_dilation(cut, np.ones((3, 3))) & ~(standing & ~cut)  # with rims of half a knot
    canvas.fill_knots(into, gone, ground)
    if strewn is None:
        return
    for place in places_of((standing & ~cut) | covered, strewn, knot_px):
        _strew(canvas, parts, into, place, (strewn.mask, knot_px))


def _strew(
    canvas: Canvas,
    parts: Parts,
    into: tuple[slice, slice],
    place: Place,
    of: tuple[NDArray[np.int32], tuple[float, float]],
) -> None:
    """Lay a small motif in each quarter of the field."""
    (mask, knot_px), filler, field = of, place.filler, parts.field
    stretches = []
    for own, knots, px, first, stretch, axis in (
        (filler.down, place.high, knot_px[0], field.top, canvas.down(), place.axis[0]),
        (filler.across, place.wide, knot_px[1], field.left, canvas.across(), place.axis[1]),
    ):
        middle, half = first + (own[0] + own[1]) / 2, knots * px / 2
        places = stretch.add(middle - half, middle + half, knots).places
        if axis:
            places[len(places) - len(places) // 2 :] = places[: len(places) // 2][::-1]
        stretches.append(places)
    rows, columns = stretches
    within = [
        np.clip(places - int(first), 0, size - 1)
        for places, first, size in zip(stretches, (field.top, field.left), mask.shape, strict=True)
    ]
    only = mask[np.ix_(*within)] == filler.number
    high, wide = plan_shape(into)
    for flip_down, row in (("", place.row), ("flip down", high - place.row - place.high)):
        for flip_across, column in (("", place.column), ("flip across", wide - place.column - place.wide)):
            own_rows = slice(into[0].start + row, into[0].start + row + place.high)
            own_columns = slice(into[1].start + column, into[1].start + column + place.wide)
            turned = only[:: -1 if flip_down else 1, :: -1 if flip_across else 1]
            canvas.lay((own_rows, own_columns), rows, columns, f"{flip_down} {flip_across}", only=turned)


def _lay_tile(canvas: Canvas, parts: Parts, into: tuple[slice, slice], knot_px: tuple[float, float]) -> None:
    """Lay the pattern that the pieces of a field lie on, in repeats of whole knots, from the middle outward."""
    assert parts.tile is not None
    tile, window = parts.tile, parts.field.window
    centred = bool(tile.shift) and abs(tile.shift - tile.width / 2) < 1
    high, wide, shift = _in_knots((tile.height, tile.width, tile.shift), knot_px, centred=centred)
    rows, cells = _in_cells(into[0], canvas.px, high, 0)
    down = _in_tile(rows, high * canvas.px, tile.places.shape[0])
    places = np.empty((len(rows), (into[1].stop - into[1].start) * canvas.px), dtype=np.intp)
    for cell in np.unique(cells):
        own = np.flatnonzero(cells == cell)
        columns, _ = _in_cells(into[1], canvas.px, wide, int(cell) * shift)
        across = _in_tile(columns, wide * canvas.px, tile.places.shape[1])
        places[own] = tile.places[np.ix_(down[own], across)]
    field_row, field_column = np.divmod(places, window[1].stop - window[1].start)
    canvas.paint(into, (field_row + window[0].start) * canvas.drawing.width + field_column + window[1].start)


def _in_tile(places: FloatArray, period: int, size: int) -> Places:
    """Return the pixels, of `size`, of a repeat at places in it; what falls between two takes the inner one."""
    at = places * size / period
    return np.clip(np.floor(at + np.sign(size / 2 - at) * 1e-6), 0, size - 1).astype(np.intp)


def _lay_lattice(canvas: Canvas, parts: Parts, into: tuple[slice, slice], knot_px: tuple[float, float]) -> None:
    """Fill the field with its repeat, each of whole knots, from the middle outward: the border cuts it evenly."""
    assert parts.lattice is not None
    lattice, field = parts.lattice.lattice, parts.field
    repeat = lattice.height, lattice.width, lattice.shift
    high, wide, shift = _in_knots(repeat, knot_px, centred=lattice.centred)
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


def _in_knots(
    repeat: tuple[float, float, float], knot_px: tuple[float, float], *, centred: bool
) -> tuple[int, int, int]:
    """Return the height, the width and the shift of a repeat in whole knots; centred, its width is twice the shift."""
    height, width, shift = repeat
    high = max(1, round(height / knot_px[0]))
    if centred:
        half = max(1, round(width / knot_px[1] / 2))
        return high, 2 * half, half
    wide = max(1, round(width / knot_px[1]))
    return high, wide, round(shift / width * wide)


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


@dataclass(frozen=True, eq=False)
class _Standing:
    """A piece where it belongs: its knots, the pixels of the drawing behind them, which of its pixels are its own."""

    at: tuple[slice, slice]
    rows: Places
    columns: Places
    own: NDArray[np.bool_]

    def knots(self, into: tuple[slice, slice]) -> tuple[slice, slice]:
        """Return its knots as counted in the field."""
        return _moved(self.at[0], -into[0].start), _moved(self.at[1], -into[1].start)


def _standing(
    canvas: Canvas, parts: Parts, into: tuple[slice, slice], knot_px: tuple[float, float], *, scaled: bool
) -> list[_Standing]:
    """Return each piece of the field where it belongs; none may lie on another.

    On a pattern a piece takes whole knots, those that it covers most of, so that it ends alike wherever the pattern
    lies under it.
    """
    assert parts.pieces is not None
    pieces, field, window = parts.pieces, parts.field, parts.field.window
    sizes = plan_shape(into)
    grown = min(size * px / drawn for size, px, drawn in zip(sizes, knot_px, (field.height, field.width), strict=True))
    taken = np.zeros((sizes[0] * canvas.px, sizes[1] * canvas.px), dtype=bool)
    found = []
    for piece in pieces.pieces:
        scale = grown if scaled else 1.0
        rows, down = _extent(piece.down, (piece.top, piece.bottom), field.height, sizes[0], knot_px[0] / scale)
        columns, across = _extent(piece.across, (piece.left, piece.right), field.width, sizes[1], knot_px[1] / scale)
        if min(rows.start, columns.start) < 0 or rows.stop > sizes[0] or columns.stop > sizes[1]:
            _no_room()
        at_rows = canvas.down().add(field.top + down[0], field.top + down[1], rows.stop - rows.start).places
        at_columns = canvas.across().add(field.left + across[0], field.left + across[1], columns.stop - columns.start)
        within = np.clip(at_rows - window[0].start, 0, pieces.mask.shape[0] - 1)
        beside = np.clip(at_columns.places - window[1].start, 0, pieces.mask.shape[1] - 1)
        own = pieces.mask[np.ix_(within, beside)] == piece.number
        if parts.tile is not None:
            own = _whole_knots(own, canvas.px)
        there = taken[canvas.pixels((rows, columns))]
        if (there & own).any():
            _no_room()
        there |= own
        at = _moved(rows, into[0].start), _moved(columns, into[1].start)
        found.append(_Standing(at, at_rows, at_columns.places, own))
    return found


def _whole_knots(own: NDArray[np.bool_], px: int) -> NDArray[np.bool_]:
    """Return the knots that a piece covers at least half of, as pixels."""
    rows, columns = own.shape[0] // px, own.shape[1] // px
    shares = own.reshape(rows, px, columns, px).mean(axis=(1, 3))
    return np.repeat(np.repeat(shares >= 0.5, px, axis=0), px, axis=1)


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
