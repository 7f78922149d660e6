"""Cells of flat artwork become knots: each takes the yarn that covers most of it, then lines and dots are put right."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, Cells, Whole, Window
from chartmaker.colours.labelling import OUTSIDE, Labels, reached
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.dots import with_dots
from chartmaker.convert.flat.hairlines import NARROWEST, reported
from chartmaker.convert.flat.joints import tips_of
from chartmaker.convert.flat.lines import Line, draw_lines
from chartmaker.convert.flat.runs import Bits, Index, Pieces, Pixels, Runs, pieces_of, runs_of, touching
from chartmaker.convert.flat.strokes import Crossings, Stretches, crossings_of, stretches_of
from chartmaker.convert.flat.threads import Threads, names_of, threads_of
from chartmaker.convert.flat.tidying import tidied
from chartmaker.knots.knotmap import NO_KNOT

#: The ink of a place without a knot; inks are numbered from the darkest, in signed numbers, so that this is below all.
EMPTY = -1
#: Cells or pixels that are looked up at once.
_BAND_CELLS = 1_000_000

T = TypeVar("T", bound=np.generic)


@dataclass(frozen=True, eq=False)
class Tiled:
    """The knots of some cells (NO_KNOT outside), with what is known of each, all of shape (rows, columns).

    Besides the `knots` there are the palette colour of each, which were tidied, and which were drawn for lines. `faded`
    says where hairlines that are left out run, and `held` which knots lines and dots hold, whether or not they were
    drawn for them. Everything is in raster order.
    """

    knots: NDArray[np.uint16]
    colours: ByteArray
    tidied: Bits
    lined: Bits
    faded: Bits
    held: Bits
    threads: Threads | None = field(default=None, kw_only=True)

    def put(self, own: Window, other: Tiled, there: Window) -> None:
        """Copy the window `there` of another into the window `own` of this one."""
        for each in fields(self):
            if each.name != "threads":
                getattr(self, each.name)[own] = getattr(other, each.name)[there]


@dataclass(frozen=True, eq=False)
class Seat:
    """Where a tile lies in the whole grid, and the names of the crossings `judged` otherwise than by themselves.

    The tile's `own` cells are those of no other tile, and its first cell is at the `corner`.
    """

    own: Window
    corner: tuple[int, int]
    judged: Whole | None

    def left_out(self, crossings: tuple[Crossings, ...], faint: tuple[Bits, ...]) -> tuple[Bits, ...]:
        """Return which crossings are too faint, given which are so if each is judged by itself."""
        if self.judged is None:
            return faint
        names = [names_of(crossing, self.corner, upright) for upright, crossing in enumerate(crossings)]
        return tuple(np.asarray(out ^ np.isin(name, self.judged)) for name, out in zip(names, faint, strict=True))


@dataclass(frozen=True, eq=False)
class Yarns:
    """The yarns in use, in the order that decides between equal coverage, and the yarn of each palette colour.

    `of_colour` is an index into `used`, and `order` is the place of each palette colour in the order.
    """

    used: NDArray[np.intp]
    of_colour: NDArray[np.intp]
    order: NDArray[np.intp]

    def pixels(self, labels: Labels, cells: Cells) -> Pixels:
        """Return the yarns of the pixels that `cells` reach over."""
        pick = np.ix_(
            reached(cells.down, labels.top, labels.first.shape[0]),
            reached(cells.across, labels.left, labels.first.shape[1]),
        )
        first, second = (self.inks_of_pixels(plane[pick]) for plane in (labels.first, labels.second))
        return Pixels(first, second, np.where(first == second, 0, labels.second_share[pick]).astype(np.uint8))

    def sums(self, by_colour: Whole) -> Whole:
        """Return the sum of `by_colour` over the colours of each yarn in use, shape (..., yarns)."""
        member = self.of_colour[:, None] == np.arange(len(self.used))
        # Sums of whole numbers below 2 ** 53 are exact in floating point.
        return np.asarray((by_colour.astype(np.float64) @ member.astype(np.float64)).astype(np.int64))

    def inks(self, knots: NDArray[np.uint16]) -> NDArray[np.int16]:
        """Return the ink of each knot, which is its yarn's number from the darkest, or EMPTY where none is tied."""
        ink_of = np.full(NO_KNOT + 1, EMPTY, dtype=np.int16)
        ink_of[self.used] = np.arange(len(self.used))
        return _in_bands(ink_of, knots)

    def inks_of_pixels(self, plane: ByteArray) -> ByteArray:
        """Return the ink of each pixel, given its palette colour; OUTSIDE stays OUTSIDE."""
        ink_of = np.full(OUTSIDE + 1, OUTSIDE, dtype=np.uint8)
        ink_of[: len(self.of_colour)] = self.of_colour
        return _in_bands(ink_of, plane)

    def colours(self, knots: NDArray[np.uint16], by_colour: Whole) -> ByteArray:
        """Return the palette colour that each knot stands for, which is its yarn's that covers most of the cell."""
        rank = np.argsort(self.order)
        first = np.zeros(len(self.used), dtype=np.uint8)
        first[self.of_colour[rank[::-1]]] = rank[::-1]
        colours = first[knots]
        several = np.bincount(self.of_colour, minlength=len(self.used))[knots] > 1
        own = self.of_colour == knots[several][:, None]
        colours[several] = rank[np.where(own, by_colour[several] + 1, 0)[:, rank].argmax(axis=1)]
        return colours


def shares_of(areas: Whole, of: Whole) -> Whole:
    """Return the share of `of` that `areas` take, shape (rows, columns, any), in KNOTths rounded down."""
    of = np.maximum(of, 1)[..., None]
    if int(of.max()) * KNOT >= 1 << 53:
        return np.asarray(areas * KNOT // of)
    # Rounding cannot lift a quotient of whole numbers below 2 ** 53 to the next whole number, so this is exact.
    return np.asarray((areas * float(KNOT) / of).astype(np.int64))


def _in_bands(table: NDArray[T], numbers: NDArray[np.unsignedinteger[Any]]) -> NDArray[T]:
    """Return what a table has for each of some numbers, a few rows at a time, because numpy widens them to eight bytes.

    Parameters
    ----------
    table : ndarray, shape (any,)
    numbers : ndarray, shape (rows, columns)
    """
    found, step = np.empty(numbers.shape, dtype=table.dtype), max(1, _BAND_CELLS // max(numbers.shape[1], 1))
    for first in range(0, len(numbers), step):
        found[first : first + step] = table[numbers[first : first + step]]
    return found


def yarns_in_order(palette: ByteArray, yarn_of: NDArray[np.intp]) -> Yarns:
    """Return the yarns of the `palette` colours, the darkest first, and equally dark ones by the colours' own values.

    A yarn that stands for several colours goes by the first of them. Its place on the card makes no difference.
    """
    red, green, blue = palette.astype(np.int64).T
    order = np.argsort(np.lexsort((blue, green, red, 2126 * red + 7152 * green + 722 * blue)))
    used, number = np.unique(yarn_of, return_inverse=True)
    first = np.full(len(used), len(palette))
    np.minimum.at(first, number, order)
    rank = np.argsort(first)
    return Yarns(used[rank], np.argsort(rank)[number], order)


def knots_of(
    cells: Cells,
    labels: Labels,
    yarns: Yarns,
    outline: NDArray[np.bool_] | None,
    lines: bool,
    tidy: int,
    tied: bool = False,
    seat: Seat | None = None,
) -> Tiled:
    """Return the knots of some cells, as if the rug had no others.

    A cell is tied if half of it lies inside the artwork and it is within the `outline`, if there is one. With `tied`,
    all cells of the outline are. With a `seat` the knots are those of a tile, which come with its hairlines.
    """
    by_colour, outside = coverages(labels, cells, len(yarns.of_colour))
    inside = 2 * outside <= cell_areas(cells)
    if outline is not None:
        inside = outline if tied else inside & outline
    counts = yarns.sums(by_colour)
    share = shares_of(counts, cell_areas(cells))
    knots = counts.argmax(axis=2).astype(np.uint16)
    lined, faded, held, changed = (np.zeros(knots.shape, dtype=bool) for _ in range(4))
    threads = None
    if lines or tidy:
        pixels = yarns.pixels(labels, cells)
        rows = runs_of(pixels, cells.across, cells.down)
        pairs = touching(rows)
        pieces = pieces_of(rows, *pairs)
        if lines:
            knots, lined, faded, held, threads = _with_lines(share, knots, cells, (rows, pixels), pairs, pieces, seat)
        if tidy:
            shaped = np.where(inside, knots, NO_KNOT).astype(np.uint16)
            knots, changed = tidied(shaped, share, rows, pieces, cells, tidy)
            knots = np.where(inside, knots, 0).astype(np.uint16)
    colours = yarns.colours(knots, by_colour)
    full = np.where(inside, yarns.used[knots], NO_KNOT).astype(np.uint16)
    return Tiled(full, colours, changed & inside, lined & inside, faded & inside, held & inside, threads=threads)


def _with_lines(
    share: Whole,
    knots: NDArray[np.uint16],
    cells: Cells,
    across: tuple[Runs, Pixels],
    pairs: tuple[Index, Index],
    pieces: Pieces,
    seat: Seat | None,
) -> tuple[NDArray[np.uint16], Bits, Bits, Bits, Threads | None]:
    """Return the knots with lines and dots, which of them changed, where hairlines are left out, and which are held.

    If there is a seat, the hairlines come with them.
    """
    rows, pixels = across
    columns = runs_of(pixels.turned, cells.down, cells.across)
    stretches = stretches_of(rows, *pairs), stretches_of(columns, *touching(columns))
    crossings = crossings_of(stretches[0]), crossings_of(stretches[1])
    upright = rows.of_pixel[columns.first[crossings[1].run], columns.line[crossings[1].run]]
    own = pieces.number[crossings[0].run], pieces.number[upright]
    size = tuple(int(np.median(np.diff(edges.pixel_edges()))) for edges in (cells.across, cells.down))
    left_out = tuple(np.asarray(crossing.line_width < NARROWEST) for crossing in crossings)
    threads = None
    if seat is not None:
        threads = threads_of(stretches, crossings, left_out, seat.own, seat.corner)
        left_out = seat.left_out(crossings, left_out)
    hairlines = reported(crossings, left_out, own, pieces, (size[0], size[1]))
    drawn = tuple(
        _drawn(stretch, crossing, out) for stretch, crossing, out in zip(stretches, crossings, left_out, strict=True)
    )
    tips = (
        tips_of(stretches[0], drawn[0], cells.across, cells.down),
        tips_of(stretches[1], drawn[1], cells.down, cells.across),
    )
    faded = np.zeros(knots.shape, dtype=bool)
    for number, (crossing, whole) in enumerate(zip(crossings, hairlines, strict=True)):
        line, place = (
            crossing.across[whole],
            np.clip(crossing.twice[whole] // (2 * KNOT), 0, knots.shape[1 - number] - 1),
        )
        faded[(line, place) if number == 0 else (place, line)] = True
    lines = tuple(
        Line(crossing.chosen(~out), tip, upright=number == 1)
        for number, (crossing, out, tip) in enumerate(zip(crossings, left_out, tips, strict=True))
    )
    lined = draw_lines(share, knots, lines)
    dotted, dots = with_dots(lined.knots, share, rows, pieces, lined.lined)
    return dotted, (dotted != knots) | dots, faded, lined.lined | dots, threads


def _drawn(stretches: Stretches, crossings: Crossings, out: Bits) -> Bits:
    """Return which stretches are drawn, which are those of which not all crossings are left `out`."""
    met = np.bincount(crossings.stretch, minlength=len(stretches))
    return np.asarray((met == 0) | (np.bincount(crossings.stretch, out, len(stretches)) < met))
