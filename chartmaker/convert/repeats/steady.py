"""The repeats along each side of a border get one drawing, which stands on whole knots, where nothing is lost by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chartmaker.artwork.cells import KNOT, PIXEL, Window
from chartmaker.convert.flat.knotting import EMPTY
from chartmaker.convert.flat.tiles import FlatKnots
from chartmaker.convert.repeats.finding import BorderRepeat
from chartmaker.convert.repeats.frames import Side
from chartmaker.convert.repeats.oneforall import Drawn, drawings
from chartmaker.convert.repeats.strips import Drawing, Inks, Strip, strip_of

#: A drawing may show this share less of the artwork than the knots before did.
MOST_LOST = 0.004
#: So many rows at either side of a strip may be taken by the line of a frame.
MOST_LINED = 2


@dataclass(frozen=True)
class SteadySide:
    """A side of a border whose repeats were drawn alike: its band, counted from the rim from 0, and its side.

    A repeat is `drawn` so many knots long in the artwork. `repeats` of them have one drawing of `knots`, and each
    begins one of the numbers `steps` of knots after the one before.
    """

    band: int
    side: Side
    drawn: float
    knots: int
    repeats: int
    steps: tuple[int, ...]


def with_steady_sides(
    flat: FlatKnots, sides: Sequence[BorderRepeat], drawing: Drawing, window: Window
) -> tuple[FlatKnots, tuple[SteadySide, ...]]:
    """Return the flat knots of a window with one drawing for all repeats along a side of a border, and those sides.

    Parameters
    ----------
    flat : FlatKnots
    sides : sequence of BorderRepeat
    drawing : Drawing
        That of the whole rug.
    window : (slice, slice)
    """
    before = drawing.yarns.inks(flat.knots)
    after, told = before.copy(), list[SteadySide]()
    for side in sides:
        strip = strip_of(side, drawing)
        view, own = (after, window) if side.run.across else (after.T, window[::-1])
        first, end = strip.rows.start - own[0].start, strip.rows.stop - own[0].start
        if first >= 0 and end <= len(view):
            top, foot = _lined(strip, view[first:end], own[1].start)
            inner = view[first + top : end - foot]
            steady = strip.without(top, foot)
            found = drawings(steady, side.period, inner, own[1].start) if len(inner) else iter(())
            new = next((one for one in found if _loses_nothing(steady, inner, own[1].start, one)), None)
            if new is not None:
                inner[:] = _put(steady, inner, own[1].start, new)
                told.append(_told(side, steady, new))
                columns = slice(max(strip.columns.start - own[1].start, 0), max(strip.columns.stop - own[1].start, 0))
                for row in range(top):
                    _straighten(view[first + row : first + row + 1, columns], view[max(first - 1, 0), columns])
                for row in range(foot):
                    _straighten(view[end - 1 - row : end - row, columns], view[min(end, len(view) - 1), columns])
    changed = after != before
    return (flat.inked(changed, after, drawing.yarns) if changed.any() else flat), tuple(told)


def _told(side: BorderRepeat, strip: Strip, new: Drawn) -> SteadySide:
    """Return what there is to say about a side whose repeats were drawn alike."""
    whole = new.rhythm.starts[new.rhythm.whole]
    steps = tuple(np.unique(np.diff(whole)).tolist())
    across = strip.drawing.cells.across
    knot_px = float(across.at[-1] - across.at[0]) / PIXEL / len(across)
    return SteadySide(
        side.run.band, side.run.side, round(side.period.length / knot_px, 2), new.rhythm.knots, new.times, steps
    )


def _lined(strip: Strip, knots: Inks, first: int) -> tuple[int, int]:
    """Return how many rows, at the top and at the foot of a strip, the line of a frame takes from the ground."""
    cover = strip.cover[:, strip.columns].sum(axis=1).argmax(axis=1)
    own = knots[:, max(strip.columns.start - first, 0) : max(strip.columns.stop - first, 0)]
    lined = [_most(line) != ink for line, ink in zip(own, cover.tolist(), strict=True)]
    return next((row for row in range(MOST_LINED) if not lined[row]), MOST_LINED), next(
        (row for row in range(MOST_LINED) if not lined[-1 - row]), MOST_LINED
    )


def _most(line: Inks) -> int:
    """Return the ink that most of a line of knots has."""
    tied = line[line != EMPTY]
    return int(np.bincount(tied).argmax()) if len(tied) else EMPTY


def _straighten(line: Inks, beside: Inks) -> None:
    """Draw the line of a frame through where motifs have bent it on to the row beside it."""
    own, other = _most(line.ravel()), _most(beside)
    bent = (line[0] != own) & (beside == own) & (line[0] != EMPTY)
    if own != other:
        line[0, bent], beside[bent] = own, other


def _loses_nothing(strip: Strip, knots: Inks, first: int, new: Drawn) -> bool:
    """Return whether a drawing is at least as good as what the repeats have now, each where it lies on the grid."""
    faults, lost, times = 0, 0, 0
    for column in new.rhythm.columns[new.alike & new.rhythm.whole]:
        own, cover = knots[:, max(column[0] - first, 0) : column[-1] + 1 - first], strip.cover[:, column]
        if own.shape != new.tile.shape or (own == EMPTY).any():
            continue
        times += 1
        lost += int(cover.max(axis=2).sum() - np.take_along_axis(cover, own[..., None].astype(np.intp), axis=2).sum())
        faults += new.faults_of(own)
    true = new.lost * times <= (lost + MOST_LOST * KNOT * new.tile.size * times) * new.seen
    return times > 0 and new.faults * times <= faults and true


def _put(strip: Strip, knots: Inks, first: int, new: Drawn) -> Inks:
    """Return the knots of a strip with a drawing in all repeats that are alike, and with ground between them."""
    result, taken = knots.copy(), np.zeros(knots.shape[1], dtype=bool)
    low, high = max(strip.columns.start - first, 0), min(strip.columns.stop - first, knots.shape[1])
    beside = taken.copy()
    for column, alike in zip(new.rhythm.columns - first, new.alike, strict=True):
        met = (column >= low) & (column < high)
        if alike:
            result[:, column[met]] = new.tile[:, met]
            beside[[place for place in (column[0] - 1, column[-1] + 1) if low <= place < high]] = True
        taken[column[met]] = True
    free = np.flatnonzero(beside & ~taken)
    cover = strip.cover[:, free + first]
    ground = np.take_along_axis(cover, new.ground[:, None, None].astype(np.intp), axis=2)[..., 0]
    result[:, free] = np.where(2 * ground >= KNOT, new.ground[:, None], result[:, free])
    return np.asarray(np.where(knots == EMPTY, knots, result))
