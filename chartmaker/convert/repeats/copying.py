"""One drawing for all repeats: what most of them have at a place all of them get, where the artwork allows it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, PIXEL, Cells, Edges, Window, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import OUTSIDE, WHOLE_SHARE, Labels
from chartmaker.convert.flat.knotting import EMPTY, yarns_in_order
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.flat.tiles import FlatKnots
from chartmaker.convert.flat.trueness import LEAST_SHOWN
from chartmaker.convert.repeats.axial import along_axes
from chartmaker.convert.repeats.jointly import drawn_together
from chartmaker.convert.repeats.mirrored import mirrored
from chartmaker.convert.repeats.wholes import WholeLattice, class_of

#: So many knots along each rim have no say, because what is cut off there is drawn otherwise.
RIM = 2
#: A place is sure if at least this share of the repeats have one ink there.
SURE = 0.9
#: A knot takes the ink of the other repeats only if what covers its cell differs by no more than this from what covers
#: the others at its place, in KNOTths.
MOST_UNLIKE = KNOT // 4
#: Changed knots no further from each other than this lie together.
_TOGETHER = 2
#: Rows and cells that are looked at together.
_BAND_ROWS, _BAND_CELLS = 64, 4096
#: Rows within which knots are found at once that lie together.
GROW_ROWS = 512
#: So many repeats a side are drawn side by side to see their motifs whole.
SEEN = 3
#: Cells differ by no more than this, in PIXEL units, if only the rounding of their edges makes a difference.
_SAME = 2


#: Returns some knots of a map, which lie in a window, with their motifs evened.
Evened = Callable[[NDArray[np.int16], Window], NDArray[np.int16]]


def with_whole_repeats(
    flat: FlatKnots,
    labels: Labels,
    palette: ByteArray,
    yarn_of: NDArray[np.intp],
    placement: Placement,
    whole: WholeLattice,
    evened: Evened | None = None,
) -> FlatKnots:
    """Return flat knots in which all repeats are drawn alike.

    What most of them have is `evened` where motifs are their own mirror images, if anything does that.
    """
    yarns = yarns_in_order(palette, yarn_of)
    before, cells = yarns.inks(flat.knots), cells_of(placement)
    regular = _regular(cells.down, whole.down.knots), _regular(cells.across, whole.across.knots)
    after = _repeated(before, flat.held, labels, yarns.of_colour, cells, whole, regular, evened)
    changed = after != before
    del before  # a tenth of a gigabyte of a palace carpet
    if not changed.any():
        return flat
    refused = _refused(after, changed, labels, yarns.of_colour, cells, whole, regular)
    changed &= ~_beside(changed, refused, regular)
    return flat.inked(changed, after, yarns)


def _repeated(
    before: NDArray[np.int16],
    held: Bits,
    labels: Labels,
    ink_of_colour: NDArray[np.intp],
    cells: Cells,
    whole: WholeLattice,
    regular: tuple[Bits, Bits],
    evened: Evened | None,
) -> NDArray[np.int16]:
    """Return the inks of the knots if all repeats have one drawing; what lines have `held` counts as shown whole."""
    drawing, met = drawing_of(before, whole, regular)

    def shown(places: Index, inks: NDArray[np.int16]) -> NDArray[np.int64]:
        number, row, column = _in_the_middle(places, whole, regular)
        share = shares_at(labels, cells, row, column, ink_of_colour)[np.arange(len(number)), inks[number]]
        own = np.where(held[row, column] & (before[row, column] == inks[number]), KNOT, share)
        times = np.maximum(np.bincount(number, minlength=len(places)), 1)
        return np.bincount(number, own, len(places)).astype(np.int64) // times

    edges = cells.down.at / PIXEL, cells.across.at / PIXEL
    drawing = mirrored(along_axes(drawing, whole, edges, shown), whole, edges, shown)
    if evened and all(own.any() for own in regular):
        drawing = _evened(drawing, met, whole, regular, evened)
    return alike(before, drawing, met, whole, regular)


def _regular(edges: Edges, knots: int) -> Bits:
    """Return which cells are as wide as those a repeat further on; those are not that take up a rest at a rim."""
    width = np.diff(edges.at)
    usual = np.array([np.median(width[place::knots]) for place in range(min(knots, len(width)))])
    return np.asarray(np.abs(width - usual[np.arange(len(width)) % knots]) <= _SAME)


def drawing_of(
    knots: NDArray[np.int16], whole: WholeLattice, regular: tuple[Bits, Bits]
) -> tuple[NDArray[np.int16], Bits]:
    """Return the ink that most repeats have at each place, of equals the darkest, and at which places they have any.

    Parameters
    ----------
    knots : ndarray of int16, shape (rows, columns)
    whole : WholeLattice
    regular : (ndarray of bool, ndarray of bool)
        The rows and the columns that belong to repeats.
    """
    rows, columns = (np.flatnonzero(side) for side in regular)
    rows, columns = (
        lines[(lines >= RIM) & (lines < size - RIM)] for lines, size in zip((rows, columns), knots.shape, strict=True)
    )
    size, inks = whole.down.knots * whole.across.knots, int(knots.max()) + 1
    votes = np.zeros(size * inks, dtype=np.int64)
    for down in _bands(rows):
        own = knots[np.ix_(down, columns)]
        place = class_of(whole, down, columns)
        voting = own != EMPTY
        votes += np.bincount(place[voting] * inks + own[voting], minlength=size * inks)
    by_ink = votes.reshape(size, inks)
    drawing, most, all_votes = by_ink.argmax(axis=1).astype(np.int16), by_ink.max(axis=1), by_ink.sum(axis=1)
    drawing = drawn_together(knots, drawing, most < SURE * all_votes, whole, (rows, columns))
    return drawing, np.asarray(most > 0)


def alike(
    knots: NDArray[np.int16], drawing: NDArray[np.int16], met: Bits, whole: WholeLattice, regular: tuple[Bits, Bits]
) -> NDArray[np.int16]:
    """Return a map of inks in which each knot has the ink of the drawing at its place, where that has been met."""
    rows, columns = (np.flatnonzero(side) for side in regular)
    result = knots.copy()
    for band in _bands(rows):
        own = knots[np.ix_(band, columns)]
        place = class_of(whole, band, columns)
        result[np.ix_(band, columns)] = np.where((own != EMPTY) & met[place], drawing[place], own)
    return result


def _middle(size: int, most: int) -> slice:
    """Return at most so many lines in the very middle of a side, or one more so that it is the very middle."""
    first = max((size - most) // 2, 0)
    return slice(first, size - first)


def _evened(
    drawing: NDArray[np.int16], met: Bits, whole: WholeLattice, regular: tuple[Bits, Bits], evened: Evened
) -> NDArray[np.int16]:
    """Return the drawing of a repeat after a few repeats in the middle of the map were evened, side by side."""
    sizes = whole.down.knots, whole.across.knots
    lines = [np.flatnonzero(own)[[0, -1]].tolist() for own in regular]
    cut = [_middle(last + 1 - first, SEEN * knots) for (first, last), knots in zip(lines, sizes, strict=True)]
    rows, columns = (slice(first + own.start, first + own.stop) for (first, _), own in zip(lines, cut, strict=True))
    places = class_of(whole, np.arange(rows.start, rows.stop), np.arange(columns.start, columns.stop))
    if not met[places].all():
        return drawing
    inner = tuple(_middle(size, knots) for size, knots in zip(places.shape, sizes, strict=True))
    own, ink = places[inner].ravel(), evened(drawing[places], (rows, columns))[inner].ravel()
    result = drawing.copy()
    result[own] = ink
    unsure = own[result[own] != ink]  # a place that lies in it twice, and is not drawn the same
    result[unsure] = drawing[unsure]
    return result


def _bands(rows: Index) -> list[Index]:
    return [rows[first : first + _BAND_ROWS] for first in range(0, len(rows), _BAND_ROWS)]


def _in_the_middle(places: Index, whole: WholeLattice, regular: tuple[Bits, Bits]) -> tuple[Index, Index, Index]:
    """Return the knots at some places of the repeat that are not far from the middle of the grid.

    They come with the number of their place, their row and their column.
    """
    number = np.full(whole.down.knots * whole.across.knots, -1, dtype=np.intp)
    number[places] = np.arange(len(places))
    rows, columns = (
        lines[_middle(len(lines), 2 * knots)]
        for lines, knots in zip(map(np.flatnonzero, regular), (whole.down.knots, whole.across.knots), strict=True)
    )
    own = number[class_of(whole, rows, columns)]
    row, column = np.nonzero(own >= 0)
    return own[row, column], rows[row], columns[column]


def _refused(
    after: NDArray[np.int16],
    changed: Bits,
    labels: Labels,
    ink_of_colour: NDArray[np.intp],
    cells: Cells,
    whole: WholeLattice,
    regular: tuple[Bits, Bits],
) -> Bits:
    """Return which of the changed knots the artwork does not allow, because it differs there from the other repeats.

    Cells are looked at a band at a time: of all cells that have a place in the repeat with a changed knot, only the
    sums are kept, and of the changed knots what covers them.
    """
    rows, columns = np.flatnonzero(regular[0]), np.flatnonzero(regular[1])
    size, inks = whole.down.knots * whole.across.knots, int(ink_of_colour.max()) + 1
    bands = _bands(rows)
    met = np.zeros(size, dtype=bool)
    for band in bands:
        met[class_of(whole, band, columns)[changed[np.ix_(band, columns)]]] = True
    sums, times = np.zeros(size * inks), np.zeros(size, dtype=np.int64)
    own = list[tuple[Index, Index, Index, NDArray[np.int16]]]()
    for band in bands:
        places = class_of(whole, band, columns)
        down, across = np.nonzero(met[places])
        row, column, place = band[down], columns[across], places[down, across]
        share = shares_at(labels, cells, row, column, ink_of_colour)
        # Sums of whole numbers below 2 ** 53 are exact in floating point.
        at = place[:, None] * inks + np.arange(inks)
        sums += np.bincount(at.ravel(), share.ravel(), len(sums))
        times += np.bincount(place, minlength=size)
        mine = changed[row, column]
        own.append((row[mine], column[mine], place[mine], share[mine].astype(np.int16)))
    mean = sums.astype(np.int64).reshape(size, inks) // np.maximum(times, 1)[:, None]
    refused = np.zeros_like(changed)
    for row, column, place, share16 in own:
        unlike = np.abs(share16 - mean[place]).max(axis=1, initial=0) > MOST_UNLIKE
        refused[row, column] = unlike | (share16[np.arange(len(row)), after[row, column]] < LEAST_SHOWN)
    return refused


def shares_at(
    labels: Labels, cells: Cells, row: Index, column: Index, ink_of_colour: NDArray[np.intp]
) -> NDArray[np.int64]:
    """Return how much each ink covers of the cells at `row` and `column`, shape (cells, inks), in KNOTths."""
    inks = int(ink_of_colour.max()) + 1
    ink_of = np.full(OUTSIDE + 1, inks, dtype=np.int64)
    ink_of[: len(ink_of_colour)] = ink_of_colour
    result = np.empty((len(row), inks), dtype=np.int64)
    for first in range(0, len(row), _BAND_CELLS):
        part = slice(first, min(first + _BAND_CELLS, len(row)))
        (y, high), (x, wide) = (
            _pixels_of(edges, own[part], start, size)
            for edges, own, start, size in (
                (cells.down, row, labels.top, labels.first.shape[0]),
                (cells.across, column, labels.left, labels.first.shape[1]),
            )
        )
        at = y[:, :, None], x[:, None, :]
        area = high[:, :, None] * wide[:, None, :]
        second = labels.second_share[at].astype(np.int64)
        cell = np.broadcast_to(np.arange(len(y))[:, None, None] * (inks + 1), area.shape)
        total = np.zeros(len(y) * (inks + 1))
        for plane, share in ((labels.first, WHOLE_SHARE - second), (labels.second, second)):
            # Sums of whole numbers below 2 ** 53 are exact in floating point.
            total += np.bincount((cell + ink_of[plane[at]]).ravel(), (area * share).ravel(), len(total))
        whole = (high.sum(axis=1) * wide.sum(axis=1) * WHOLE_SHARE)[:, None]
        result[part] = total.astype(np.int64).reshape(len(y), inks + 1)[:, :inks] * KNOT // whole
    return result


def _pixels_of(edges: Edges, own: Index, first: int, size: int) -> tuple[Index, NDArray[np.int64]]:
    """Return the pixels under some cells, shape (cells, any), and how much of each lies in the cell."""
    low, high = edges.at[own], edges.at[own + 1]
    most = int((-(-high // PIXEL) - low // PIXEL).max())
    pixel = (low // PIXEL)[:, None] + np.arange(most)
    part = np.minimum(high[:, None], (pixel + 1) * PIXEL) - np.maximum(low[:, None], pixel * PIXEL)
    return np.clip(pixel - first, 0, size - 1), np.maximum(part, 0)


def _beside(changed: Bits, refused: Bits, regular: tuple[Bits, Bits]) -> Bits:
    """Return which of the changed knots lie together with one that is refused, or with a rim that is not regular.

    All of them or none become like the other repeats, so that no stroke breaks between them.
    """
    from scipy.ndimage import binary_dilation

    near = refused.copy()
    for axis, own in enumerate(regular):
        lines = binary_dilation(~own, iterations=_TOGETHER) & own
        if axis == 0:
            near[lines] |= changed[lines]
        else:
            near[:, lines] |= changed[:, lines]
    if not near.any():
        return near
    together = binary_dilation(changed, np.ones((_TOGETHER + 1, _TOGETHER + 1)))
    grow(near, together)
    near &= changed
    return near


def grow(near: Bits, together: Bits) -> None:
    """Let what is `near` grow over all of `together` that it touches, a band of rows at a time, which saves memory."""
    from scipy.ndimage import binary_propagation

    bands = [slice(max(first - 1, 0), first + GROW_ROWS) for first in range(0, len(near), GROW_ROWS)]
    reached = -1
    while reached != (reached := int(np.count_nonzero(near))):
        for band in (*bands, *bands[::-1]):
            near[band] = binary_propagation(near[band], np.ones((3, 3)), together[band])
