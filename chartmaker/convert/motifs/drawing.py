"""A kind of motif has one drawing in knots, which is the one that suits all its members best."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, PIXEL, Cells, Edges
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.convert.flat.runs import Index
from chartmaker.convert.motifs.finding import Motif
from chartmaker.convert.motifs.likeness import Kind, Turn, back, shape_of, turned
from chartmaker.convert.motifs.strokes import Stroke, pieces_of
from chartmaker.convert.motifs.summing import Whole, sums

#: A pattern of knots, by the ink of each, or NOTHING where it leaves the ground.
Pattern = NDArray[np.int16]
NOTHING = -1
#: A pattern may be so many knots shorter than all members are drawn, half a knot at each end, if it suits more of them
#: by one of so many.
MOST_SHORT, SHORT_PART = 1, 8
#: This many of the drawings that the members already have are tried, the commonest first.
MOST_TRIED = 4
#: So many patterns, the best, are tried without the knots that some member hardly covers.
MOST_LEANER = 4
#: So many times, about, a pattern is held against a member.
MOST_WEIGHED = 1000


@dataclass(frozen=True, eq=False)
class Member:
    """A motif on the grid, which is the first of its kind turned by `turn`.

    `twice` is double its middle, and `extent` its size, down and across, in KNOT units. `share`, shape (rows, columns,
    inks), is how much of the cells from `row`, `column` on its inks cover, in KNOTths. `drawn` is how those cells are
    drawn so far, as numbers of `inks`. `strokes` are the strokes within it. It `bears` so many invented knots.
    """

    motif: Motif
    turn: Turn
    inks: tuple[int, ...]
    twice: tuple[int, int]
    extent: tuple[int, int]
    row: int
    column: int
    share: Whole
    drawn: Pattern
    strokes: tuple[Stroke, ...] = ()
    bears: int = 0

    @cached_property
    def hull(self) -> Whole:
        """How much of each cell the motif covers with all its inks, in KNOTths."""
        return np.asarray(self.share.sum(axis=2))

    @cached_property
    def area(self) -> int:
        """How much it covers, in KNOTths of a knot."""
        return int(self.hull.sum())

    @cached_property
    def full(self) -> int:
        """How many cells it covers all but whole."""
        return int(np.count_nonzero(self.hull > KNOT - LEAST_COVERAGE))

    @cached_property
    def worth(self) -> Whole:
        """What a knot of each ink is worth in each cell, and how many knots it invents, shape (rows, columns, inks, 2).

        Its worth is what its own ink and all inks cover, in KNOTths. A cell that is covered whole must not stay ground.
        """
        hull = self.hull[..., None]
        odd = (self.share < LEAST_COVERAGE).astype(np.int64) - (hull > KNOT - LEAST_COVERAGE)
        return np.stack([hull + self.share, odd], axis=3)

    @cached_property
    def pattern(self) -> Pattern | None:
        """How it is drawn so far, turned as the first of its kind is; None if none of it is drawn."""
        return trimmed(turned(self.drawn, back(self.turn))) if (self.drawn >= 0).any() else None

    @cached_property
    def spent(self) -> int:
        """What it costs as it is drawn so far."""
        return _tried(self, _inked(self.drawn), self.row, self.column).cost

    @cached_property
    def broken(self) -> int:
        """How many of its strokes are broken as it is drawn so far."""
        return self.breaks(self.drawn, self.row, self.column) if self.strokes else 0

    def breaks(self, pattern: Pattern, row: int, column: int) -> int:
        """Return how many of its strokes a pattern breaks or leaves, which begins at a row and a column."""
        start = row, column
        return sum(
            not stroke.is_followed(pieces_of(pattern, stroke.ink), start, self.twice, self.extent)
            for stroke in self.strokes
        )

    def suits(self, pattern: Pattern, place: Place | None) -> bool:
        """Return whether a pattern at a place invents no more than it bears and loses nothing where strokes are.

        Strokes have straight edges, which a drawing that is somewhat shorter would not keep.
        """
        if place is None or place.invented > self.bears:
            return False
        if not self.strokes:
            return True
        return self.lost(place) <= 0 and self.breaks(pattern, place.row, place.column) <= self.broken

    def lost(self, place: Place) -> int:
        """Return how much less of the cells, in KNOTths, has its own ink with a pattern at a place than before."""
        return place.cost - self.spent


@dataclass(frozen=True)
class Place:
    """Where a pattern lies best, by its first row and column, with its cost and the number of knots that it invents."""

    row: int
    column: int
    cost: int
    invented: int


def cells_under(edges: Edges, first: int, pixels: int) -> slice:
    """Return the cells that so many pixels, from `first` on, reach over."""
    start = int(np.searchsorted(edges.at, first * PIXEL, side="right")) - 1
    return slice(max(start, 0), min(int(np.searchsorted(edges.at, (first + pixels) * PIXEL, side="left")), len(edges)))


def member_of(
    motif: Motif,
    turn: Turn,
    inks: Sequence[int],
    cells: Cells,
    pixels: tuple[Whole, Whole],
    knots: NDArray[np.int16],
    strokes: Sequence[Stroke],
    *,
    bears: int,
) -> Member:
    """Return a motif as it lies on the grid and as it is drawn there; `strokes` are those of the first of its kind.

    `pixels` are the edges of the pixels under the cells, down and across, in KNOT units.
    """
    height, width = motif.inks.shape
    rows, columns = cells_under(cells.down, motif.top, height), cells_under(cells.across, motif.left, width)
    down, across = cells.down.at[rows.start : rows.stop + 1], cells.across.at[columns.start : columns.stop + 1]
    share = sums(motif.inks, inks, down - motif.top * PIXEL, across - motif.left * PIXEL, (PIXEL, PIXEL))
    share = share * KNOT // (np.diff(down)[:, None] * np.diff(across))[..., None]
    (top, bottom), (left, right) = (
        edges[[first, first + size]].tolist()
        for edges, first, size in (
            (pixels[0], motif.top - cells.down.first_pixel, height),
            (pixels[1], motif.left - cells.across.first_pixel, width),
        )
    )
    own = knots[rows, columns]
    drawn = np.full(own.shape, NOTHING, dtype=np.int16)
    for number, ink in enumerate(inks):
        drawn[(own == ink) & (share[..., number] > 0)] = number
    return Member(
        motif,
        turn,
        tuple(inks),
        (top + bottom, left + right),
        (bottom - top, right - left),
        rows.start,
        columns.start,
        share,
        drawn,
        tuple(stroke.turned(turn) for stroke in strokes),
        bears,
    )


def place_of(member: Member, pattern: Pattern) -> Place | None:
    """Return the place nearest to a member for a pattern, turned as the member is, or None if two are as good."""
    inked = _inked(pattern)
    places = [
        _tried(member, inked, row, column)
        for row in _nearest(member.twice[0], pattern.shape[0])
        for column in _nearest(member.twice[1], pattern.shape[1])
    ]
    places.sort(key=lambda place: (place.invented, place.cost))
    if len(places) > 1 and (places[0].invented, places[0].cost) == (places[1].invented, places[1].cost):
        return None
    return places[0]


def _nearest(twice: int, knots: int) -> Iterable[int]:
    """Return where so many knots begin if their middle is nearest to half of `twice`, with two places for a tie."""
    whole, rest = divmod(twice - knots * KNOT, 2 * KNOT)
    return (whole, whole + 1) if rest == KNOT else (whole + (rest > KNOT),)


def _inked(pattern: Pattern) -> tuple[Index, Index, Pattern]:
    """Return the rows, the columns and the inks of a pattern's knots."""
    down, across = np.nonzero(pattern >= 0)
    return down, across, pattern[down, across]


def _tried(member: Member, inked: tuple[Index, Index, Pattern], row: int, column: int) -> Place:
    """Return what the knots of a pattern cost that begins at a row and a column, and how many it invents."""
    (rows, columns), (down, across, ink) = member.hull.shape, inked
    tied = len(ink)
    down, across = down + (row - member.row), across + (column - member.column)
    if row < member.row or column < member.column or (tied and (down[-1] >= rows or across.max() >= columns)):
        within = (down >= 0) & (down < rows) & (across >= 0) & (across < columns)
        down, across, ink = down[within], across[within], ink[within]
    worth, odd = member.worth[down, across, ink].sum(axis=0).tolist()
    return Place(row, column, member.area - worth + tied * KNOT, tied - len(ink) + member.full + odd)


def drawing_of(
    kind: Kind, members: Sequence[Member], pieces: Counter[int], refused: Sequence[Pattern]
) -> Pattern | None:
    """Return the pattern, turned as the first of its kind is, that suits the members best, or None if there is none.

    The pattern is its own image if the motif is, and it has as many pieces of each ink as the motif.

    Parameters
    ----------
    kind : Kind
    members : sequence of Member
    pieces : Counter
        How many pieces of each ink, by its number among the members' inks, the motif has.
    refused : sequence of Pattern
        Patterns that must not be the one.
    """
    least = _least(members)
    short = [pattern for pattern in _candidates(kind, members) if _short(pattern, least) <= MOST_SHORT]
    merits = [_merit(pattern, members, least) for pattern in short]
    last = sorted(merits)[:MOST_LEANER][-1:]
    for merit, pattern in zip(tuple(merits), tuple(short), strict=True):
        leaner = _leaner(pattern, kind, members) if merit.odd and merit <= last[0] else None
        if leaner is not None and _short(leaner, least) <= MOST_SHORT:
            short.append(leaner)
            merits.append(_merit(leaner, members, least))
    # Of drawings that are images of each other and as good none is taken: which came first would hang on the way up.
    alike = dict[tuple[_Merit, tuple[tuple[int, int], bytes]], dict[bytes, Pattern]]()
    for merit, pattern in zip(merits, short, strict=True):
        alike.setdefault((merit, shape_of(pattern)), {})[_key(pattern)] = pattern
    single = (next(iter(own.values())) for _, own in sorted(alike.items()) if len(own) == 1)
    new = (own for own in single if not any(np.array_equal(own, old) for old in refused))
    return next((own for own in new if has_pieces(own, pieces)), None)


class _Merit(NamedTuple):
    """How many members a pattern does not suit, with a share of all for each knot that it is short, and its cost."""

    bad: int
    invented: int
    cost: int

    @property
    def odd(self) -> bool:
        return bool(self.bad or self.invented)


def _short(pattern: Pattern, least: tuple[int, int]) -> int:
    """Return how many rows or columns fewer than the `least` a pattern has."""
    high, wide = map(int, pattern.shape)
    return max(0, least[0] - high, least[1] - wide)


def _merit(pattern: Pattern, members: Sequence[Member], least: tuple[int, int]) -> _Merit:
    """Return the merit of a pattern; the less the better."""
    bad, invented, cost = 0, 0, 0
    views = {turn: turned(pattern, turn) for turn in {member.turn for member in members}}
    for member in members:
        place = place_of(member, views[member.turn])
        suits = member.suits(views[member.turn], place)
        bad, invented = bad + (not suits), invented + (place.invented if place is not None and suits else 0)
        cost += 0 if place is None else place.cost
    return _Merit(bad + _short(pattern, least) * len(members) // SHORT_PART, invented, cost)


def _leaner(pattern: Pattern, kind: Kind, members: Sequence[Member]) -> Pattern | None:
    """Return a pattern without the knots that some member hardly covers, or None if nothing is left of it.

    Members lie differently on the grid, and a tip that one of them has would be invented for another.
    """
    hardly = np.zeros(pattern.shape, dtype=bool)
    for member in members:
        mine = turned(pattern, member.turn)
        place = place_of(member, mine)
        if place is not None:
            hardly |= turned(_hardly_covered(member, mine, place), back(member.turn))
    for turn in kind.images:
        hardly |= turned(hardly, turn)
    left = np.where(hardly, NOTHING, pattern).astype(np.int16)
    return trimmed(left) if (left >= 0).any() else None


def _hardly_covered(member: Member, pattern: Pattern, place: Place) -> NDArray[np.bool_]:
    """Return which knots of a pattern a member does not cover enough with their ink."""
    hardly = pattern >= 0
    down, across = np.nonzero(hardly)
    rows, columns = down + (place.row - member.row), across + (place.column - member.column)
    within = (rows >= 0) & (rows < member.hull.shape[0]) & (columns >= 0) & (columns < member.hull.shape[1])
    down, across, rows, columns = down[within], across[within], rows[within], columns[within]
    hardly[down, across] = member.share[rows, columns, pattern[down, across]] < LEAST_COVERAGE
    return hardly


def _least(members: Sequence[Member]) -> tuple[int, int]:
    """Return the rows and columns that the smallest member takes as it is drawn, because fewer may cut off a tip."""
    sizes = [member.pattern.shape for member in members if member.pattern is not None]
    return min((size[0] for size in sizes), default=0), min((size[1] for size in sizes), default=0)


def are_equal(kind: Kind, members: Sequence[Member]) -> bool:
    """Return whether the members of a kind are already drawn equal, and each its own image if the motif is."""
    patterns = [member.pattern for member in members if member.pattern is not None]
    first = patterns[:1] * (len(members) + len(kind.images))
    patterns += [turned(pattern, turn) for pattern in patterns[:1] for turn in kind.images]
    return len(patterns) == len(first) and all(map(np.array_equal, patterns, first))


def _key(pattern: Pattern) -> bytes:
    return bytes(str(pattern.shape), "ascii") + pattern.tobytes()


def _candidates(kind: Kind, members: Sequence[Member]) -> list[Pattern]:
    """Return the drawings that may suit the members, each its own image if the motif is.

    They are the commonest that members have, or what becomes of these if one part of them is put in place of its
    images, and how the first member would be drawn at four even places.
    """
    counted: dict[tuple[tuple[int, int], bytes], list[Pattern]] = {}
    for member in members:
        if member.pattern is not None:
            counted.setdefault(shape_of(member.pattern, kind.images), []).append(member.pattern)
    # Of those as common that shape decides which is the same whichever way up the artwork lies.
    rank = {own: (-len(patterns), shape_of(patterns[0])) for own, patterns in counted.items()}
    tried = max(1, min(MOST_TRIED, MOST_WEIGHED // (len(members) * len(kind.images))))
    last = sorted(rank.values())[:tried][-1:]
    common = [own for own in sorted(counted, key=lambda own: rank[own]) if rank[own] <= last[0]]
    drawn = [image for own in common for image in _imaged(counted[own][0], kind.images)]
    drawn += [trimmed(pattern) for pattern in _evenly(kind, members[0]) if (pattern >= 0).any()]
    return list({_key(pattern): pattern for pattern in drawn}.values())


def _imaged(pattern: Pattern, images: Sequence[Turn]) -> list[Pattern]:
    """Return what becomes of a pattern if one part of it, each of them in turn, is put in place of all its images."""
    if pattern.shape[0] != pattern.shape[1] and any(turn[1] % 2 for turn in images):
        return []
    number = np.arange(pattern.size).reshape(pattern.shape)
    first = np.min([turned(number, turn) for turn in images], axis=0)
    found = [turned(pattern, turn).ravel()[first] for turn in images]
    return [trimmed(own) for own in found if (own >= 0).any()]


def trimmed(pattern: Pattern) -> Pattern:
    """Return a pattern without the empty rows and columns round it."""
    rows, columns = (np.flatnonzero((pattern >= 0).any(axis=axis)) for axis in (1, 0))
    return np.ascontiguousarray(pattern[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1])


def _evenly(kind: Kind, first: Member) -> list[Pattern]:
    """Return how the first of a kind would be drawn by majority at even places, averaged with its own images.

    At an even place the middle lies, down and across, on an edge of a knot or in the middle of one.
    """
    least = -(-max(first.extent) // KNOT) + 1
    patterns = []
    for rows in (least, least + 1):
        for columns in (least, least + 1):
            if rows != columns and any(turn[1] % 2 for turn in kind.images):
                continue
            own = _even_share(first, rows, columns)
            whole = np.sum([turned(own, turn) for turn in kind.images], axis=0)
            outside = len(kind.images) * KNOT - whole.sum(axis=2)
            pattern = whole.argmax(axis=2).astype(np.int16)
            pattern[outside > whole.max(axis=2)] = NOTHING
            patterns.append(pattern)
    return patterns


def _even_share(member: Member, rows: int, columns: int) -> Whole:
    """Return how much a motif, turned back, covers of so many even cells with the same middle, in KNOTths."""
    inks = turned(member.motif.inks, back(member.turn))
    extent = member.extent[::-1] if member.turn[1] % 2 else member.extent
    (high, wide), (tall, broad) = inks.shape, extent
    down, across = (
        (2 * np.arange(cells + 1) - cells) * KNOT * size + size * length
        for size, length, cells in ((high, tall, rows), (wide, broad, columns))
    )
    covered = sums(inks, member.inks, down, across, (2 * tall, 2 * broad))
    return np.asarray(covered * KNOT // ((2 * KNOT) ** 2 * high * wide))


def has_pieces(pattern: Pattern, pieces: Counter[int]) -> bool:
    """Return whether a pattern is one piece without a hole and has so many `pieces` of each of its inks.

    Knots that touch at a corner may count as one piece or as two.
    """
    from scipy import ndimage
    from skimage.measure import label

    padded = np.full((pattern.shape[0] + 2, pattern.shape[1] + 2), NOTHING, dtype=np.int16)
    padded[1:-1, 1:-1] = pattern
    if ndimage.label(padded >= 0, np.ones((3, 3)))[1] != 1 or ndimage.label(padded < 0)[1] != 1:
        return False
    if len(pieces) == 1 and max(pieces) == padded.max() == 0:
        return pieces[0] == 1
    counts = []
    for connectivity in (2, 1):
        numbered = label(padded + 1, background=0, connectivity=connectivity)
        _, first = np.unique(numbered, return_index=True)
        counts.append(Counter(padded.ravel()[first[1:]].tolist()))
    return all(counts[0][ink] <= pieces[ink] <= counts[1][ink] for ink in pieces | counts[0])
