"""Drawings of motifs are put on the map where nothing round them suffers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import PIXEL, Cells
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.knotting import EMPTY
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.motifs.drawing import Member, Pattern, Place
from chartmaker.convert.motifs.summing import sums

#: One of so many motifs of a kind at least takes its drawing, or else none does.
LEAST_KEPT = 3

_ALL_ROUND = np.ones((3, 3), dtype=bool)


@dataclass(frozen=True, eq=False)
class Stamp:
    """What a member asks for: the cells at the flat indices `cell` become `ink`, and the `own` ones are the motif's.

    `window` is the knots that may notice it. `lost` is how much less of the cells has the ink that covers it,
    `area` how much the motif covers, both in KNOTths. `invented` is how many knots have an ink that hardly covers them.
    """

    cell: Index
    ink: NDArray[np.int16]
    own: Bits
    window: tuple[slice, slice]
    inks: tuple[int, ...]
    lost: int
    area: int
    invented: int


def stamp_of(member: Member, pattern: Pattern, place: Place, plane: ByteArray, cells: Cells) -> Stamp | None:
    """Return what a pattern at a place asks for, or None if it reaches over the rim or there is no ground to restore.

    Parameters
    ----------
    member : Member
    pattern : ndarray, turned as the member is
    place : Place
    plane : ndarray of uint8, shape (height, width)
        The ink of each pixel.
    cells : Cells
    """
    shape = cells.shape
    inside = np.argwhere(pattern >= 0) + np.array([place.row, place.column])
    if (inside < 1).any() or (inside >= np.array(shape) - 1).any():
        return None
    ink = np.array(member.inks, dtype=np.int16)[pattern[pattern >= 0]]
    own = inside[:, 0] * shape[1] + inside[:, 1]
    drawn = np.argwhere(member.drawn >= 0) + np.array([member.row, member.column])
    before = drawn[:, 0] * shape[1] + drawn[:, 1]
    left = before[~np.isin(before, own, kind="sort")]
    ground = np.empty(0, dtype=np.int16)
    if len(left):
        ground = _ground(member, left, plane, cells)
        if (ground == EMPTY).any():
            return None
    both = np.concatenate([inside, drawn])
    low, high = both.min(axis=0) - 1, both.max(axis=0) + 2
    window = slice(max(int(low[0]), 0), int(high[0])), slice(max(int(low[1]), 0), int(high[1]))
    return Stamp(
        np.concatenate([own, left]),
        np.concatenate([ink, ground]),
        np.arange(len(own) + len(left)) < len(own),
        window,
        member.inks,
        member.lost(place),
        member.area,
        place.invented,
    )


def _ground(member: Member, cell: Index, plane: ByteArray, cells: Cells) -> NDArray[np.int16]:
    """Return the ink outside a motif that covers most of each cell, or EMPTY where there is none."""
    row, column = np.divmod(cell, cells.shape[1])
    top, left = member.row, member.column
    bottom, right = top + member.drawn.shape[0], left + member.drawn.shape[1]
    y, x = (
        (max(int(edges.at[a] // PIXEL), 0), int(-(-edges.at[b] // PIXEL)))
        for edges, a, b in ((cells.down, top, bottom), (cells.across, left, right))
    )
    around = plane[y[0] : y[1], x[0] : x[1]].copy()
    motif = member.motif
    high, wide = motif.inks.shape
    hole = around[motif.top - y[0] : motif.top - y[0] + high, motif.left - x[0] : motif.left - x[0] + wide]
    hole[motif.inks != OUTSIDE] = OUTSIDE
    inks = [int(ink) for ink in np.unique(around) if ink != OUTSIDE]
    if not inks:
        return np.full(len(cell), EMPTY, dtype=np.int16)
    down = cells.down.at[top : bottom + 1] - y[0] * PIXEL
    across = cells.across.at[left : right + 1] - x[0] * PIXEL
    cover = sums(around, inks, down, across, (PIXEL, PIXEL))
    own = cover[row - top, column - left]
    return np.where(own.max(axis=1) > 0, np.array(inks)[own.argmax(axis=1)], EMPTY).astype(np.int16)


def stands_well(stamp: Stamp, before: NDArray[np.int16], after: NDArray[np.int16]) -> bool:
    """Return whether a whole motif stands well on a map.

    It does not if some other ink falls into more or fewer pieces round it than before, or if it touches another motif
    that it did not touch.
    """
    one, other = before[stamp.window], after[stamp.window]
    if (one == EMPTY).any():
        return False
    changed = one != other
    if not changed.any():
        return True
    own = np.zeros(one.shape, dtype=bool)
    row, column = np.divmod(stamp.cell[stamp.own], before.shape[1])
    own[row - stamp.window[0].start, column - stamp.window[1].start] = True
    of_motif = np.zeros(int(max(one.max(), other.max(), *stamp.inks)) + 1, dtype=bool)
    of_motif[list(stamp.inks)] = True
    mine = of_motif[one]
    if not _takes_ground(one, mine, own) or _touches(mine, of_motif[other], changed, own):
        return False
    met = {*one[changed].tolist(), *other[changed].tolist()} - {*stamp.inks}
    return all(pieces_in(one == ink) == pieces_in(other == ink) for ink in met)


def stamped(
    knots: NDArray[np.int16],
    stamps: Sequence[Stamp],
    kind: Sequence[int],
    most: int,
    is_harmless: Callable[[Stamp, NDArray[np.int16], NDArray[np.int16]], bool] = stands_well,
) -> tuple[NDArray[np.int16], Bits]:
    """Return the map with those stamps that do no harm, with which of them those are.

    A stamp does harm if another wants one of its knots, or if the map before and the map with all stamps tell that
    it is not harmless. Together they may lose no more than `most` KNOTths, or nothing if that is less; else all of
    the `kind` that loses most for its area are left out, because some of a kind alone would be like neither each
    other nor the rest. For the same reason all of a kind are left out of which hardly any are harmless.
    """
    kept, unsure = np.ones(len(stamps), dtype=bool), np.ones(len(stamps), dtype=bool)
    lost = np.array([stamp.lost for stamp in stamps], dtype=np.int64)
    area = np.array([stamp.area for stamp in stamps], dtype=np.int64)
    while True:
        result, clash = _with(knots, stamps, kept)
        bad = clash.copy()
        for number in np.flatnonzero(kept & unsure & ~clash).tolist():
            bad[number] = not is_harmless(stamps[number], knots, result)
        bad &= kept
        if not bad.any() and lost[kept].sum() > max(most, 0):
            whole = np.bincount(kind, lost * kept) / np.maximum(np.bincount(kind, area * kept), 1)
            bad = kept & (whole == whole.max())[np.asarray(kind)]
        if not bad.any() and len(stamps):
            few = LEAST_KEPT * np.bincount(kind, kept) < np.bincount(kind)
            bad = kept & few[np.asarray(kind)]
        if not bad.any():
            return result, kept
        kept &= ~bad
        unsure = _beside(stamps, bad)


def _beside(stamps: Sequence[Stamp], changed: Bits) -> Bits:
    """Return which stamps may notice that some are no longer there."""
    windows = np.array([(w[0].start, w[0].stop, w[1].start, w[1].stop) for w in (stamp.window for stamp in stamps)])
    noticed = np.zeros(len(stamps), dtype=bool)
    for top, bottom, left, right in windows[changed].tolist():
        noticed |= (windows[:, 0] < bottom) & (windows[:, 1] > top) & (windows[:, 2] < right) & (windows[:, 3] > left)
    return noticed


def _with(knots: NDArray[np.int16], stamps: Sequence[Stamp], kept: Bits) -> tuple[NDArray[np.int16], Bits]:
    result = knots.copy().ravel()
    clash = np.zeros(len(stamps), dtype=bool)
    chosen = np.flatnonzero(kept).tolist()
    if chosen:
        who = np.repeat(chosen, [len(stamps[number].cell) for number in chosen])
        cell, ink, own = (
            np.concatenate([getattr(stamps[number], name) for number in chosen]) for name in ("cell", "ink", "own")
        )
        result[cell[~own]] = ink[~own]
        claims = np.zeros(result.size, dtype=np.int32)
        np.add.at(claims, cell[own], 1)
        clash[who[own & (claims[cell] > 1)]] = True
        result[cell[own]] = ink[own]
    return result.reshape(knots.shape), clash


def _takes_ground(before: NDArray[np.int16], mine: Bits, own: Bits) -> bool:
    """Return whether a stamp takes no knot but from the ink that most of what lies round it has."""
    taken = before[own & ~mine]
    if not len(taken):
        return True
    counts = np.bincount(before[~mine])
    return bool((counts[taken] == counts.max()).all())


def pieces_in(knots: Bits) -> int:
    """Return how many pieces some knots fall into, which touch at their corners too."""
    from scipy.ndimage import label

    return int(label(knots, _ALL_ROUND)[1])


def _touches(before: Bits, after: Bits, changed: Bits, own: Bits) -> bool:
    """Return whether knots of the motif's own inks lie beside it that did not before, or that stay as they were."""
    ring = np.zeros_like(own)
    ring[1:] |= own[:-1]
    ring[:-1] |= own[1:]
    ring[:, 1:] |= own[:, :-1]
    ring[:, :-1] |= own[:, 1:]
    return bool((ring & after & ~own & (~before | ~changed)).any())
