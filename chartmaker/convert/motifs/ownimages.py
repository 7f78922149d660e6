"""A motif that is its own mirror image in the artwork becomes one where it lies, a few knots at a time.

Many motifs take no drawing that all of their kind share, because they are wedged in between others. Half a knot, or the
ink on the other side, then decides on which side of its axis such a motif has a knot more. Of what differs from its
image the side that shows more of the artwork is drawn on both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, PIXEL, Cells, Window
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.knotting import EMPTY
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.motifs.drawing import NOTHING, Member
from chartmaker.convert.motifs.finding import Motifs
from chartmaker.convert.motifs.likeness import FLIPS, Turn, after, back, turned
from chartmaker.convert.motifs.stamping import Stamp, pieces_in
from chartmaker.convert.motifs.summing import Whole, sums

_ALL_ROUND = np.ones((3, 3), dtype=bool)
#: A way with more even steps may show this much less of each knot, in KNOTths.
EVENER = KNOT // 5
#: Pieces are counted so many knots round what changes.
_ROUND = 2


def own_image(
    member: Member, images: Sequence[Turn], knots: NDArray[np.int16], found: Motifs, plane: ByteArray, cells: Cells
) -> Iterator[Stamp]:
    """Yield what a member asks for so that it is its own image, each time for knots that touch, with their images.

    An axis is taken to lie on the line, or in the middle of the knot, that is nearest to it. Nothing is asked for where
    two are as near, and nothing by which an ink would fall into other pieces, or be drawn where the artwork hardly has
    it.

    Parameters
    ----------
    member : Member
    images : sequence of (bool, int)
        The turns by which the first of its kind is its own image.
    knots : ndarray of int16, shape (rows, columns)
        The ink of each knot.
    found : Motifs
    plane : ndarray of uint8, shape (height, width)
        The ink of each pixel.
    cells : Cells
    """
    own = {after(after(back(member.turn), image), member.turn) for image in images}
    turns = [turn for turn in FLIPS if turn in own]
    seen = _Seen.of(member, turns, knots, found, plane, cells) if len(turns) > 1 else None
    if seen is not None:
        for places in seen.unlike():
            stamp = seen.stamp(places)
            if stamp is not None:
                yield stamp


@dataclass(frozen=True, eq=False)
class _Way:
    """A way to draw some knots: how much of the artwork it has `shown`, how uneven its steps are, and its inks.

    Of ways that are as good the darker is taken, whose inks add up to less as `dark` says.
    """

    shown: int
    uneven: int
    dark: int
    inks: NDArray[np.int16]

    def merit(self, most: int) -> tuple[bool, int, int, int]:
        """Return what puts ways in order, of which the first is the best, if one near the best has `most` shown."""
        return self.shown < most, self.uneven if self.shown >= most else 0, -self.shown, self.dark


@dataclass(frozen=True, eq=False)
class _Seen:
    """The knots in a `window` round the middle of a member, which all have images there.

    The other arrays have an entry for each of them: `drawn` is the member, as numbers of its inks or NOTHING, `knots`
    the inks of all knots, and `cover`, shape (knots, inks), how much each ink covers of their cells, in KNOTths. Those
    are `lined` that a line meets. `images` are the numbers of the images of each, shape (turns, knots), and `grid` how
    many rows and columns the map has.
    """

    member: Member
    window: Window
    grid: tuple[int, int]
    drawn: NDArray[np.int16]
    knots: NDArray[np.int16]
    cover: Whole
    lined: Bits
    images: Index

    @classmethod
    def of(
        cls,
        member: Member,
        turns: Sequence[Turn],
        knots: NDArray[np.int16],
        found: Motifs,
        plane: ByteArray,
        cells: Cells,
    ) -> _Seen | None:
        """Return what is seen round a member, or None if it is its own image, has no even middle, or is at the rim."""
        halves = [round(twice / KNOT) for twice in member.twice]
        if any(2 * abs(twice - half * KNOT) == KNOT for twice, half in zip(member.twice, halves, strict=True)):
            return None
        down, across = (
            slice(min(first, half - first - size) - 1, max(first + size, half - first) + 1)
            for half, first, size in zip(halves, (member.row, member.column), member.drawn.shape, strict=True)
        )
        rows, columns = knots.shape
        if min(down.start, across.start) < 0 or down.stop > rows or across.stop > columns:
            return None
        own = knots[down, across]
        drawn = np.full_like(own, NOTHING)
        high, wide = member.drawn.shape
        drawn[member.row - down.start :, member.column - across.start :][:high, :wide] = member.drawn
        number = np.arange(drawn.size).reshape(drawn.shape)
        images = np.array([turned(number, turn).ravel() for turn in turns])
        if (drawn.ravel()[images] == drawn.ravel()).all() or (own == EMPTY).any():
            return None
        cover, lined = _cover(found, plane, cells, (down, across), max(int(own.max()), *member.inks) + 1)
        return cls(member, (down, across), (rows, columns), drawn.ravel(), own.ravel(), cover, lined, images)

    @property
    def shape(self) -> tuple[int, int]:
        down, across = self.window
        return down.stop - down.start, across.stop - across.start

    def unlike(self) -> Iterator[Index]:
        """Yield the numbers of knots that touch and are not drawn as their images are, one side of them."""
        from scipy.ndimage import label

        numbered, count = label((self.drawn[self.images] != self.drawn).any(axis=0).reshape(self.shape), _ALL_ROUND)
        numbered = numbered.ravel()
        seen = np.zeros(count + 1, dtype=bool)
        for number in range(1, count + 1):
            if not seen[number]:
                places = np.flatnonzero(numbered == number)
                seen[numbered[self.images[:, places]]] = True
                astride = np.isin(self.images[:, places], places).all(axis=1)
                # Of knots that lie astride an axis, one side stands for both.
                yield places[(self.images[astride][:, places] >= places).all(axis=0)]

    def stamp(self, places: Index) -> Stamp | None:
        """Return what makes some knots and their images equal, or None if nothing does, or two ways are as good.

        Of ways that show nearly as much of the artwork that with the more even steps is taken.
        """
        ways = list[_Way]()
        orbit = self.images[:, places]
        for image in self.images:
            drawn = self.drawn[image[places]]
            inks = self._inks(orbit, drawn)
            if inks is not None and not any(np.array_equal(inks, way.inks) for way in ways):
                shown = int(self.cover[orbit, inks].sum())
                ways.append(_Way(shown, self._uneven(orbit, drawn), int(inks.sum(dtype=np.int64)), inks))
        most = max((way.shown for way in ways), default=0) - EVENER * orbit.size
        ways.sort(key=lambda way: way.merit(most))
        for way in ways:
            if [other.merit(most) for other in ways].count(way.merit(most)) > 1:
                return None
            stamp = self._asked(orbit, way.inks)
            if stamp is not None:
                return stamp
        return None

    def _uneven(self, orbit: Index, drawn: NDArray[np.int16]) -> int:
        """Return how uneven the steps of a member's outlines are if some of its knots are drawn in one way.

        This is the sum of the squares of their lengths, which is least if they are equal.
        """
        result = self.drawn.copy()
        result[orbit] = drawn
        total, plane = 0, result.reshape(self.shape).astype(np.int64)
        for own in (plane, plane.T):
            step = np.where(own[1:] != own[:-1], (own[1:] - NOTHING) << 16 | (own[:-1] - NOTHING), -1)
            flat = np.pad(step, ((0, 0), (0, 1)), constant_values=-1).ravel()  # no step goes on in the next line
            first = np.flatnonzero(np.diff(flat, prepend=-2))
            length = np.diff(first, append=len(flat))
            total += int((length[flat[first] >= 0] ** 2).sum())
        return total

    def _inks(self, orbit: Index, drawn: NDArray[np.int16]) -> NDArray[np.int16] | None:
        """Return the inks of some knots and their images, shape (turns, knots), if all are drawn in one way.

        None are returned if the artwork does not have them there.
        """
        member = self.member
        inks = self.knots[orbit]
        for at, number in enumerate(drawn.tolist()):
            if number != NOTHING:
                inks[:, at] = member.inks[number]
                continue
            for turn in np.flatnonzero(self.drawn[orbit[:, at]] != NOTHING).tolist():
                cover = self.cover[orbit[turn, at]].copy()
                cover[list(member.inks)] = 0
                inks[turn, at] = cover.argmax()
        changed = inks != self.knots[orbit]
        fits = (self.cover[orbit, inks] >= LEAST_COVERAGE) & ~self.lined[orbit]
        return inks if fits[changed].all() else None

    def _asked(self, orbit: Index, inks: NDArray[np.int16]) -> Stamp | None:
        """Return what changes if some knots have some inks, or None if an ink would fall into other pieces by that."""
        result = self.knots.copy()
        result[orbit] = inks
        changed = np.flatnonzero(result != self.knots)
        if not len(changed):
            return None
        row, column = np.divmod(changed, self.shape[1])
        around = _around(row, self.shape[0]), _around(column, self.shape[1])
        if not _like_pieces(self.knots.reshape(self.shape)[around], result.reshape(self.shape)[around]):
            return None
        row, column = row + self.window[0].start, column + self.window[1].start
        lost = int(self.cover[changed, self.knots[changed]].sum() - self.cover[changed, result[changed]].sum())
        return Stamp(
            row * self.grid[1] + column,
            result[changed],
            np.ones(len(changed), dtype=bool),
            (_around(row, self.grid[0]), _around(column, self.grid[1])),
            self.member.inks,
            lost,
            self.member.area,
            0,
        )


def _cover(found: Motifs, plane: ByteArray, cells: Cells, window: Window, inks: int) -> tuple[Whole, Bits]:
    """Return how much each ink covers of some cells, shape (cells, inks), in KNOTths, and which cells a line meets."""
    part, on_part = cells.part(window).under(plane)
    down, across = on_part.down.at, on_part.across.at
    met = np.array([ink for ink in np.unique(part).tolist() if ink != OUTSIDE and ink < inks], dtype=np.intp)
    area = (np.diff(down)[:, None] * np.diff(across))[..., None]
    share = sums(part, met.tolist(), down, across, (PIXEL, PIXEL)) * KNOT // area
    cover = np.zeros((share.shape[0] * share.shape[1], inks), dtype=np.int64)
    cover[:, met] = share.reshape(len(cover), -1)
    lines = found.thin[cells.part(window).under(found.areas.of_pixel)[0]].astype(np.uint8)
    return cover, sums(lines, (1,), down, across, (PIXEL, PIXEL)).ravel() > 0


def leaves_pieces(stamp: Stamp, before: NDArray[np.int16], after: NDArray[np.int16]) -> bool:
    """Return whether every ink falls into as many pieces round a stamp as before, all stamps being there."""
    return _like_pieces(before[stamp.window], after[stamp.window])


def _around(lines: Index, size: int) -> slice:
    return slice(max(int(lines.min()) - _ROUND, 0), min(int(lines.max()) + _ROUND + 1, size))


def _like_pieces(before: NDArray[np.int16], after: NDArray[np.int16]) -> bool:
    inks = np.union1d(before, after).tolist()
    return all(pieces_in(before == ink) == pieces_in(after == ink) for ink in inks)
