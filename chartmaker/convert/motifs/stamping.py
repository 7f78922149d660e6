"""Drawings of motifs are put on the map where nothing round them suffers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.flat.cells import PIXEL, Cells
from chartmaker.convert.flat.labelling import OUTSIDE
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.motifs.drawing import Member, Pattern, Place
from chartmaker.convert.motifs.summing import sums

#: A place without a knot; maps of inks are signed, so that this is below all inks.
EMPTY = -1


@dataclass(frozen=True, eq=False)
class Stamp:
    """What a member asks for: the cells at the flat indices `cell` become `ink`, and the `own` ones are the motif's.

    `window` holds the knots that the change may affect.
    """

    cell: Index
    ink: NDArray[np.int16]
    own: Bits
    window: tuple[slice, slice]
    inks: tuple[int, ...]


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
    left = np.setdiff1d(drawn[:, 0] * shape[1] + drawn[:, 1], own)
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


def stamped(knots: NDArray[np.int16], stamps: Sequence[Stamp]) -> tuple[NDArray[np.int16], Bits]:
    """Return the map with the stamps that do no harm, and which of them those are.

    A stamp does harm if another stamp needs one of its knots in another ink. It also does harm if, with all stamps in
    place, some other ink round it falls into more or fewer pieces than before, or a motif touches one that it did not
    touch.
    """
    kept = np.ones(len(stamps), dtype=bool)
    while True:
        result, clash = _with(knots, stamps, kept)
        bad = clash.copy()
        for number in np.flatnonzero(kept & ~clash).tolist():
            bad[number] = not _is_harmless(stamps[number], knots, result)
        if not (bad & kept).any():
            return result, kept
        kept &= ~bad


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


def _is_harmless(stamp: Stamp, before: NDArray[np.int16], after: NDArray[np.int16]) -> bool:
    one, other = before[stamp.window], after[stamp.window]
    if (one == EMPTY).any():
        return False
    if np.array_equal(one, other):
        return True
    own = np.zeros(one.shape, dtype=bool)
    row, column = np.divmod(stamp.cell[stamp.own], before.shape[1])
    own[row - stamp.window[0].start, column - stamp.window[1].start] = True
    return (
        _takes_ground(stamp, one, own)
        and not _touches(stamp, one, other, own)
        and _pieces(one, stamp.inks) == _pieces(other, stamp.inks)
    )


def _takes_ground(stamp: Stamp, before: NDArray[np.int16], own: Bits) -> bool:
    """Return whether a stamp takes knots only from the commonest ink round it."""
    around = before[~np.isin(before, stamp.inks)]
    taken = before[own & ~np.isin(before, stamp.inks)]
    if not len(taken):
        return True
    counts = np.bincount(around)
    return bool((counts[taken] == counts.max()).all())


def _pieces(knots: NDArray[np.int16], but: tuple[int, ...]) -> list[int]:
    """Return how many pieces there are of each ink, leaving out the inks `but`."""
    from skimage.measure import label

    numbered = label(knots + 1, background=0, connectivity=2)
    _, first = np.unique(numbered, return_index=True)
    counts = np.bincount(knots.ravel()[first])
    counts[[ink for ink in but if ink < len(counts)]] = 0
    return [int(count) for count in np.trim_zeros(counts, "b")]


def _touches(stamp: Stamp, before: NDArray[np.int16], after: NDArray[np.int16], own: Bits) -> bool:
    """Return whether there are now knots of the motif's own inks round it where there were none."""
    beside = np.isin(after, stamp.inks) & ~own
    ring = np.zeros_like(own)
    ring[1:] |= own[:-1]
    ring[:-1] |= own[1:]
    ring[:, 1:] |= own[:, :-1]
    ring[:, :-1] |= own[:, 1:]
    return bool((beside & ring & ~np.isin(before, stamp.inks)).any() or (beside & ring & (before == after)).any())
