"""Of all ways to draw the repeats of a strip alike, on whole knots, the best is chosen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, PIXEL, Edges, Whole
from chartmaker.artwork.lattices import LEAST_BUT_RIMS, Period
from chartmaker.convert.flat.knotting import EMPTY
from chartmaker.convert.flat.trueness import LEAST_SHOWN
from chartmaker.convert.repeats.rhythm import (
    LEAST_KNOTS,
    LEAST_REPEATS,
    MOST_KNOTS,
    Rhythm,
    Row,
    Seam,
    rhythms_of,
    seams_of,
)
from chartmaker.convert.repeats.strips import Inks, Strip
from chartmaker.convert.repeats.wholes import exact_period

#: A repeat is unlike the others if more than this share of its cells differ by more than that, in KNOTths.
MOST_UNLIKE_CELLS, MOST_UNLIKE = 0.03, KNOT * 2 // 5
#: Repeats mirror if no more than this share of what covers them does not; and they look the same when turned by a
#: quarter if no more than this share of their pixels, and so many lines of them, do not.
MIRRORED, TURNED, TURNED_PX = 0.03, 0.05, 2
#: Pieces that cover less than this many knots are dust.
DUST_KNOTS = 0.2
#: A drawing made by plain majority, or a skewed one, must show this share more of the artwork than another.
LEAST_GAIN = 0.01
#: This share of knots may be invented.
MOST_INVENTED = 0.002
#: A repeat of which a larger share would be invented is left as it lies, as where the grid is uneven.
MOST_INVENTED_IN_ONE = 0.03
#: Where nothing but ground is drawn between two repeats, no more than this of the artwork, in knots, may be missing.
MOST_MISSING = 0.25
#: So many rhythms are tried, those whose knots are purest.
MOST_TRIED = 2
#: Drawings are made for about so many repeats in the middle of a row.
MOST_SEEN = 9
#: A repeat that does not mirror is drawn so many quarters of a knot off the middle of its knots.
PHASES = (0, -1, 1)

_ALL_ROUND = np.ones((3, 3), dtype=bool)


@dataclass(frozen=True, eq=False)
class Drawn:
    """What the repeats of a strip become: how they stand, the drawing of each that is `alike`, the `ground` between.

    Of each ink two repeats should have as many pieces as `wanted` says, and `faults` counts those that they have too
    many or too few. `skewed` says that it does not look the same turned by a quarter although the artwork does.
    `unlike` is how much of the artwork, as it lies under the drawing, its knots do not show, and `lost` how much less
    they show than they could, both in KNOTths, for the repeats that were `seen`. So many of their knots are
    `invented`: their ink is nearly absent from their cell of the rug. A `plain` drawing was made by majority.
    """

    rhythm: Rhythm
    tile: Inks
    ground: Inks
    alike: NDArray[np.bool_]
    wanted: dict[int, int]
    faults: int
    skewed: bool
    unlike: int
    lost: int
    invented: int
    seen: int
    plain: bool

    @property
    def times(self) -> int:
        """How many whole repeats have the drawing."""
        return int((self.alike & self.rhythm.whole).sum())

    @property
    def ranks(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """What is least in the best drawing, if it must stand as evenly as can be and if a knot makes no difference."""
        area = self.tile.size * self.seen
        unlike = self.unlike + (self.plain + self.skewed) * round(LEAST_GAIN * KNOT * area)
        bad, unsteady = (self.faults, self.invented > MOST_INVENTED * area), self.rhythm.unsteady
        return (*bad, unsteady, unlike), (*bad, unsteady > 1, unlike)

    def same(self, other: Drawn) -> bool:
        """Return whether another one makes the same knots."""
        return np.array_equal(self.tile, other.tile) and np.array_equal(self.rhythm.starts, other.rhythm.starts)

    def faults_of(self, tile: Inks) -> int:
        """Return how many pieces a drawing on the same knots has too many or too few."""
        return faults_of(tile, self.ground, self.rhythm, self.wanted)


@dataclass(frozen=True, eq=False)
class _Case:
    """A rhythm with what covers the knots of `some` of its repeats, added up over those of them that are `voting`.

    Ground is drawn `between` them, which does not show that much of the artwork, in KNOTths.
    """

    rhythm: Rhythm
    some: Rhythm
    voting: NDArray[np.bool_]
    total: Whole
    ground: Inks
    between: int

    @property
    def mirrors(self) -> bool:
        """Whether a repeat is its own mirror image."""
        return int(np.abs(self.total - self.total[:, ::-1]).sum()) <= MIRRORED * int(self.total.sum())

    @property
    def unlike(self) -> int:
        """How much of the artwork the best knots could not show, in KNOTths."""
        area = KNOT * self.total[..., 0].size * int(self.voting.sum())
        return self.between + area - int(self.total.max(axis=2).sum())


def drawings(strip: Strip, near: Period, knots: Inks, first: int) -> Iterator[Drawn]:
    """Yield the best drawings for the repeats of a strip: that of those that stand most evenly, then that of all.

    Parameters
    ----------
    strip : Strip
    near : Period
        About how long a repeat is. One that is only said, and not found, is as long as that.
    knots : ndarray of int16, shape (rows of the strip, any)
        The inks of the knots as they are, from the column `first` of the rug on.
    """
    pixels = strip.pixels
    period = exact_period(pixels.T, near.length)
    if period is None and near.agreement < LEAST_BUT_RIMS:
        period = Fraction(round(near.length * PIXEL), PIXEL)
    if period is None:
        return
    row = Row(pixels, strip.box.window[1].start, period, strip.drawing.cells.across)
    if not LEAST_KNOTS < row.most_knots <= MOST_KNOTS:
        return
    cases = [case for seam in seams_of(row) for case in _cases(strip, row, seam)]
    least = sorted(case.unlike for case in cases)[:MOST_TRIED]
    found = [one for case in cases if case.unlike <= least[-1] for one in _drawings(strip, row, case, knots, first)]
    for which in range(2):
        best = _only_best(found, which)
        own = None if best is None else _for_all(strip, row, best)
        if own is not None:
            yield own


def _cases(strip: Strip, row: Row, seam: Seam) -> Iterator[_Case]:
    """Yield what covers the repeats between a seam, for each rhythm that they can have.

    Those that mirror are drawn round the middle of their knots, and others a little off it as well.
    """
    for knots in (row.most_knots, row.most_knots - 1):
        for phase in PHASES:
            tried = [_case(strip, row, rhythm) for rhythm in rhythms_of(row, seam, knots, phase)]
            cases = [case for case in tried if case is not None and (case.rhythm.calm or case.mirrors)]
            yield from cases
            if not cases or (phase == 0 and cases[0].mirrors):
                break


def faults_of(tile: Inks, ground: Inks, rhythm: Rhythm, wanted: dict[int, int]) -> int:
    """Return how many pieces of any ink two neighbours have too many or too few, as near and as far as they stand."""
    faults, gaps = 0, np.diff(rhythm.starts) - rhythm.knots
    for gap in {int(gaps.min()), int(gaps.max())}:
        found = _pieces(np.column_stack([ground, tile, *[ground] * gap, tile, ground]))
        faults += sum(abs(found.get(ink, 0) - wanted.get(ink, 0)) for ink in {*found, *wanted})
    return faults


def _only_best(found: list[Drawn], which: int) -> Drawn | None:
    """Return the drawing of the first rank, of `which` ranks; none of those that share one without being the same."""
    for rank in sorted({one.ranks[which] for one in found}):
        best = [one for one in found if one.ranks[which] == rank]
        if all(one.same(best[0]) for one in best):
            return best[0]
    return None


def _case(strip: Strip, row: Row, rhythm: Rhythm) -> _Case | None:
    """Return what covers some repeats in the middle of a row, if enough of them are alike."""
    whole = np.flatnonzero(rhythm.whole)
    beside = max(len(whole) - MOST_SEEN, 0) // 2
    whole = whole[beside : len(whole) - beside]
    some = rhythm.only(np.arange(max(whole[0] - 1, 0), min(whole[-1] + 2, len(rhythm.whole))))
    share, alike = _shares(strip, row, some)
    voting = alike & some.whole
    if int(voting.sum()) < LEAST_REPEATS:
        return None
    ground = _ground(strip, row, some)
    edges = some.edges(row.knot_px)
    gaps = np.arange(some.knots, len(edges), some.knots + 1)
    shown = np.take_along_axis(strip.shares(edges)[:, gaps], ground[:, None, None].astype(np.intp), axis=2)[..., 0]
    width = np.diff(edges.at)[gaps] / (row.knot_px * PIXEL)
    missing = float(((KNOT - shown) * width).sum()) / max(len(gaps), 1)
    if missing > MOST_MISSING * KNOT:
        return None
    between = round(missing * int(voting.sum()))
    return _Case(rhythm, some, voting, share[voting].sum(axis=0), ground, between)


def _shares(strip: Strip, row: Row, rhythm: Rhythm) -> tuple[Whole, NDArray[np.bool_]]:
    """Return what covers the knots of each repeat, shape (repeats, rows, knots, inks), and which repeats are alike."""
    share, columns = strip.shares(rhythm.edges(row.knot_px))[:, rhythm.drawn].swapaxes(0, 1), rhythm.columns
    return share, _alike(share, rhythm.whole, (columns >= strip.columns.start) & (columns < strip.columns.stop))


def _for_all(strip: Strip, row: Row, best: Drawn) -> Drawn | None:
    """Return a drawing that was made for some repeats, for all of them that are alike."""
    alike = _shares(strip, row, best.rhythm)[1]
    alike &= _invented(strip, best.rhythm.columns, best.tile) <= max(1.0, MOST_INVENTED_IN_ONE * best.tile.size)
    found = replace(best, alike=alike)
    return found if found.times >= LEAST_REPEATS else None


def _alike(share: Whole, whole: NDArray[np.bool_], inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which repeats are like most others; `share` has shape (repeats, rows, knots, inks).

    Of repeats that are cut off, only the knots `inside` the row count, shape (repeats, knots).
    """
    usual = np.median(share[whole], axis=0)
    unlike = (np.abs(share - usual).max(axis=3) > MOST_UNLIKE) & inside[:, None]
    return np.asarray(unlike.sum(axis=(1, 2)) <= MOST_UNLIKE_CELLS * share.shape[1] * inside.sum(axis=1))


def _drawings(strip: Strip, row: Row, case: _Case, knots: Inks, first: int) -> Iterator[Drawn]:
    """Yield the drawings that all repeats of a rhythm could have."""
    total, ground, seen = case.total, case.ground, int(case.voting.sum())
    wanted, turns = _wanted(strip, row, case)
    most, area = int(total.max(axis=2).sum()), KNOT * total[..., 0].size * seen
    for number, tile in enumerate(_tiles(strip, row, case, knots, first)):
        shown = int(np.take_along_axis(total, tile[..., None].astype(np.intp), axis=2).sum())
        faults, skewed = faults_of(tile, ground, case.rhythm, wanted), turns and not _is_turned(tile, ground)
        invented = int(_invented(strip, case.some.columns[case.voting], tile).sum())
        yield Drawn(
            case.rhythm,
            tile,
            ground,
            case.rhythm.whole,
            wanted,
            faults,
            skewed,
            case.between + area - shown,
            case.between + most - shown,
            invented,
            seen,
            plain=number == 0,
        )


def _invented(strip: Strip, columns: NDArray[np.intp], tile: Inks) -> NDArray[np.intp]:
    """Return how many knots of each repeat would have an ink that covers too little of their cell of the rug."""
    cover = strip.cover[:, np.clip(columns, 0, strip.cover.shape[1] - 1)]
    own = np.take_along_axis(cover, tile[:, None, :, None].astype(np.intp), axis=3)[..., 0]
    return np.asarray((own < LEAST_SHOWN).sum(axis=(0, 2)))


def _ground(strip: Strip, row: Row, rhythm: Rhythm) -> Inks:
    """Return the ink of each row of knots between two repeats."""
    between = replace(rhythm, knots=1, starts=rhythm.starts[:-1], middles=rhythm.middles[:-1] + float(row.period) / 2)
    share = strip.shares(between.edges(row.knot_px))[:, between.drawn[:, 0]]
    return np.asarray(share.sum(axis=1).argmax(axis=1), dtype=np.int16)


def _tiles(strip: Strip, row: Row, case: _Case, knots: Inks, first: int) -> list[Inks]:
    """Return drawings to choose from: that by plain majority, those made anew, and those that repeats have already."""
    total = case.total
    mirrors = case.mirrors
    found = [(total + total[:, ::-1] if mirrors else total).argmax(axis=2).astype(np.int16)]
    made = list(_made(strip, row, case))
    for own in case.some.columns[case.voting] - first:
        if own[0] >= 0 and own[-1] < knots.shape[1]:
            made += [knots[:, own]]
    for tile in made:
        if (tile != EMPTY).all():
            found += _mirrored(tile) if mirrors else [tile]
    return [found[0], *({tile.tobytes(): tile for tile in found[1:]}).values()]


def _made(strip: Strip, row: Row, case: _Case) -> Iterator[Inks]:
    """Yield the drawing of the repeat in the middle, or of both in the middle, each made between its neighbours."""
    knots, count = case.some.knots, len(case.voting)
    at = case.some.edges(row.knot_px).at.reshape(count, knots + 1)
    for number in sorted({(count - 1) // 2, count // 2}):
        if 0 < number < count - 1 and case.voting[number]:
            edges = np.concatenate([at[number - 1, :-1], at[number, :-1], at[number + 1]])
            if (np.diff(edges) > 0).all():
                yield strip.woven(Edges(edges))[:, knots : 2 * knots]


def _mirrored(tile: Inks) -> list[Inks]:
    """Return a drawing whose halves are made images of each other, either of which may be the first."""
    half = tile.shape[1] // 2
    left, right = tile.copy(), tile.copy()
    left[:, tile.shape[1] - half :] = tile[:, :half][:, ::-1]
    right[:, :half] = tile[:, tile.shape[1] - half :][:, ::-1]
    return [left, right]


def _pieces(knots: Inks | ByteArray, least: float = 0.0) -> dict[int, int]:
    """Return how many pieces, which may hang together at corners, each ink falls into, without those that are dust."""
    from scipy.ndimage import label

    found = {}
    for ink in np.unique(knots).tolist():
        number, many = label(knots == ink, _ALL_ROUND)
        found[ink] = int((np.bincount(number.ravel())[1:] >= least).sum()) if least else int(many)
    return found


def _wanted(strip: Strip, row: Row, case: _Case) -> tuple[dict[int, int], bool]:
    """Return how many pieces of each ink two repeats have in the artwork, and whether one looks the same turned.

    Only on a grid of square knots can anything that is turned be drawn the same.
    """
    half, width, high = float(row.period) / 2, row.inks.shape[1], strip.knot_height_px
    middles = case.some.middles[case.voting].tolist()
    pairs, repeats = (
        [row.inks[:, max(round(m - half) - row.left, 0) : min(round(m + far) - row.left, width)] for m in some]
        for far, some in ((3 * half, middles[:-1]), (half, middles))
    )
    met = Counter(tuple(sorted(_pieces(two, DUST_KNOTS * row.knot_px * high).items())) for two in pairs)
    most = max(met.values())
    wanted = dict(min(kind for kind, times in met.items() if times == most))
    return wanted, strip.drawing.square and all(_is_turned(one, one[:, 0], TURNED_PX) for one in repeats)


def _is_turned(tile: Inks | ByteArray, ground: Inks | ByteArray, reach: int = 0) -> bool:
    """Return whether what is not ground looks the same when rows are columns; its sides may differ by `reach`."""
    rows, columns = (np.flatnonzero((tile != ground[:, None]).any(axis=axis)) for axis in (1, 0))
    if not len(rows):
        return False
    own = tile[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    if abs(own.shape[0] - own.shape[1]) > reach:
        return False
    side = min(own.shape)
    own = own[:side, :side]
    return bool((own != own.T).mean() <= (TURNED if reach else 0))
