"""The thin strokes of flat artwork, with their middle and their width, column by column or row by row."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, Whole
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.runs import Bits, Index, Runs, counted_from

#: Strokes up to this many knots wide are drawn; wider ones are kept anyway by the majority in each cell.
WIDEST = 1.6
#: A run through a slanting stroke is longer than the stroke is wide, by up to the square root of two.
LONGEST_RUN = round(2.3 * KNOT)
#: The direction of a stroke is measured over this many knots on either side.
REACH = KNOT
#: The width of a stroke is averaged over this many knots on either side.
WIDTH_REACH = 4 * KNOT
#: Whether a stroke is a hairline is decided by its width over this many knots.
LINE_REACH = 12 * KNOT
#: The middle of a stroke is averaged over this much of its length on either side.
MIDDLE_REACH = KNOT
#: A spike, which joins something at only one end, is drawn as far as it is this wide, and only if it is this long.
SPIKE_WIDTH, SPIKE_LENGTH = round(0.25 * KNOT), 2 * KNOT
#: Both ends of a spike are nearer than this.
SPIKE_REACH = 10 * KNOT
#: A stretch shorter than this is brief.
BRIEF_LENGTH = 3 * KNOT
#: A lone stroke has this much free room beside it.
ROOM = round(1.2 * KNOT)

#: A stretch ends with the stroke, where the stroke turns away from the lines' direction, or where it joins something.
FREE, TURNS, JOINS = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Stretches:
    """Stretches of strokes that run across the lines of `runs`, at an angle of at least 45 degrees.

    `run` holds the runs of all stretches, one stretch after another, and `stretch` the number of each one's stretch.
    `bounds`, shape (stretches + 1,), says where each stretch begins, and `ends`, shape (stretches, 2), how it ends on
    either side. `width` is the stroke's own width at each run, in KNOT units. The stroke's direction there is `rise`
    along the line for `over` across.
    """

    runs: Runs
    run: Index
    stretch: Index
    bounds: Index
    ends: NDArray[np.int8]
    width: Whole
    rise: Whole
    over: Whole

    def __len__(self) -> int:
        return len(self.bounds) - 1


@dataclass(frozen=True, eq=False)
class Crossings:
    """Where stretches cross the middle of a row or column of knots, whose number is `across`.

    `twice` is double the averaged place of the stroke's middle, so that halves are whole numbers. `width` is the width
    averaged along the stroke, `own_width` the width just here, and `line_width` that of the line over a long stretch.
    `stretch` is the stretch's number, and `low` and `high` are the run's own ends. `lone` says whether the stroke has
    room on both sides, `at_joint` whether the stretch joins something within a knot, and `spike` whether it joins
    something at only one end, because spikes give way to strokes. A `brief` one is what is left of a gap or a stroke
    between two things.
    """

    yarn: Index
    stretch: Index
    run: Index
    across: Index
    twice: Whole
    width: Whole
    own_width: Whole
    line_width: Whole
    low: Whole
    high: Whole
    lone: Bits
    at_joint: Bits
    spike: Bits
    brief: Bits

    def __len__(self) -> int:
        return len(self.run)

    def chosen(self, which: Bits) -> Crossings:
        """Return only some of the crossings."""
        return Crossings(*(getattr(self, field.name)[which] for field in fields(self)))


def stretches_of(runs: Runs, one: Index, other: Index) -> Stretches:
    """Return the stretches of thin strokes across the lines of `runs`, of which the pairs `one`, `other` touch."""
    thin = (runs.high - runs.low <= LONGEST_RUN) & (runs.yarn != OUTSIDE)
    onward, back = np.bincount(one, minlength=len(runs)), np.bincount(other, minlength=len(runs))
    chained = thin[one] & thin[other] & (onward[one] == 1) & (back[other] == 1)
    following = np.full(len(runs), -1, dtype=np.intp)
    following[one[chained]] = other[chained]
    run, start, stop = _in_order(following, np.flatnonzero(thin))
    rise, over = _direction(runs, run, start, stop)
    width = _across(runs.high[run] - runs.low[run], rise, over)
    kept = (np.abs(rise) <= over) & (width <= WIDEST * KNOT)
    place = np.arange(len(run))
    opens = kept & ((place == start) | ~np.append(False, kept[:-1]))
    closes = kept & ((place == stop - 1) | ~np.append(kept[1:], False))
    line, within, last = runs.line[run], width <= WIDEST * KNOT, len(runs.of_pixel) - 1
    ends = np.stack(
        [
            _ending(place == start, back[run], line == 0, opens, np.append(False, within[:-1])),
            _ending(place == stop - 1, onward[run], line == last, closes, np.append(within[1:], False)),
        ],
        axis=1,
    )
    number = np.cumsum(opens) - 1
    bounds = np.append(np.searchsorted(np.flatnonzero(kept), np.flatnonzero(opens)), kept.sum())
    end = np.stack([ends[opens, 0], ends[closes, 1]], axis=1)
    return Stretches(runs, run[kept], number[kept], bounds, end, width[kept], rise[kept], over[kept])


def _ending(at_end: Bits, touches: Index, at_rim: Bits, here: Bits, thin_beyond: Bits) -> NDArray[np.int8]:
    """Return how stretches end `here`; a stroke that leaves the part at hand is taken to go on."""
    ends = np.where(at_rim, TURNS, np.where(touches > 0, JOINS, FREE))
    return np.asarray(np.where(here, np.where(at_end, ends, np.where(thin_beyond, TURNS, JOINS)), FREE), dtype=np.int8)


def _in_order(following: Index, thin: Index) -> tuple[Index, Index, Index]:
    """Return runs chain by chain, each after the one that it follows, and where each one's chain starts and stops."""
    head = np.arange(len(following))
    head[following[following >= 0]] = np.flatnonzero(following >= 0)
    while True:
        further = head[head]
        if np.array_equal(further, head):
            break
        head = further
    run = thin[np.argsort(head[thin], kind="stable")]
    first = np.flatnonzero(np.diff(head[run], prepend=-1))
    size = np.diff(np.append(first, len(run)))
    return run, np.repeat(first, size), np.repeat(first + size, size)


def _direction(runs: Runs, run: Index, start: Index, stop: Index) -> tuple[Whole, Whole]:
    """Return how far the middle moves along the line from REACH before each run to REACH after it, and over what."""
    lines = len(runs.of_pixel)
    near, far = np.zeros(lines, dtype=np.int64), np.zeros(lines, dtype=np.int64)
    near[runs.line], far[runs.line] = runs.near, runs.far
    middle = near + far  # doubled, so that halves are whole numbers
    before = np.clip(np.searchsorted(2 * far, middle - 2 * REACH, side="right"), 0, lines - 1)
    after = np.clip(np.searchsorted(2 * near, middle + 2 * REACH, side="left") - 1, 0, lines - 1)
    line, place = runs.line[run], np.arange(len(run))
    a = run[np.maximum(place - (line - before[line]), start)]
    b = run[np.minimum(place + (after[line] - line), stop - 1)]
    rise = (runs.low[b] + runs.high[b]) - (runs.low[a] + runs.high[a])
    over = (runs.near[b] + runs.far[b]) - (runs.near[a] + runs.far[a])
    return rise, over


def _across(length: Whole, rise: Whole, over: Whole) -> Whole:
    """Return the width of a stroke, which is the `length` of a run through it times the cosine of its slant."""
    square = rise.astype(np.float64) ** 2 + over.astype(np.float64) ** 2
    return np.asarray(np.rint(length * np.where(square > 0, over / np.sqrt(np.maximum(square, 1)), 1)), dtype=np.int64)


def crossings_of(stretches: Stretches) -> Crossings:
    """Return where the stretches cross the middles of rows or columns of knots."""
    runs, half = stretches.runs, KNOT // 2
    near, far = runs.near[stretches.run], runs.far[stretches.run]
    first = -((half - near) // KNOT)
    count = np.maximum((far - half) // KNOT - first + 1, 0)
    at = np.repeat(np.arange(len(stretches.run)), count)
    across = counted_from(first, count)
    # Both pixels meet a middle on the edge between them, and then both count alike.
    new = np.diff(across, prepend=-1) != 0
    new |= np.diff(stretches.stretch[at], prepend=-1) != 0
    twin = at.copy()
    twin[np.flatnonzero(~new) - 1] = at[~new]
    at, twin, across = at[new], twin[new], across[new]
    start, stop = (stretches.bounds[side:][stretches.stretch[at]] for side in (0, 1))
    place = across * KNOT + half
    run, other = stretches.run[at], stretches.run[twin]
    span = (near[start], far[stop - 1])
    length = runs.high[stretches.run] + runs.low[stretches.run]
    twice = _mean(length, near, far, (at, twin), place, span, (start, stop), MIDDLE_REACH)
    width = _mean(stretches.width, near, far, (at, twin), place, span, (start, stop), WIDTH_REACH, even=False)
    line_width = _mean(stretches.width, near, far, (at, twin), place, span, (start, stop), LINE_REACH, even=False)
    joins = stretches.ends[stretches.stretch[at]] == JOINS
    at_joint = (joins[:, 0] & (place - span[0] < KNOT)) | (joins[:, 1] & (span[1] - place < KNOT))
    free = stretches.ends[stretches.stretch[at]] == FREE
    near_by = np.stack([place - span[0], span[1] - place], axis=1) < SPIKE_REACH
    spike = (joins & near_by).any(axis=1) & (free & near_by).any(axis=1)
    own_width = (stretches.width[at] + stretches.width[twin]) // 2
    drawn = ~spike | ((span[1] - span[0] >= SPIKE_LENGTH) & (own_width >= SPIKE_WIDTH))
    return Crossings(
        runs.yarn[run].astype(np.intp),
        stretches.stretch[at],
        run,
        across,
        twice,
        width,
        own_width,
        line_width,
        np.minimum(runs.low[run], runs.low[other]),
        np.maximum(runs.high[run], runs.high[other]),
        _lone(runs, run) & _lone(runs, other),
        at_joint,
        spike,
        span[1] - span[0] < BRIEF_LENGTH,
    ).chosen(drawn)


def _lone(runs: Runs, run: Index) -> Bits:
    """Return which runs have room on both sides, as there is beyond the end of a line."""
    size, last = runs.high - runs.low, len(runs) - 1
    before, after = np.maximum(run - 1, 0), np.minimum(run + 1, last)
    room = [
        (runs.line[beside] != runs.line[run]) | (beside == run) | (size[beside] >= ROOM) for beside in (before, after)
    ]
    return np.asarray(room[0] & room[1])


def _mean(
    values: Whole,
    near: Whole,
    far: Whole,
    at: tuple[Index, Index],
    place: Whole,
    span: tuple[Whole, Whole],
    bounds: tuple[Index, Index],
    reach: int,
    *,
    even: bool = True,
) -> Whole:
    """Return the mean of `values`, one for each run, up to `reach` on either side of each place within its stretch.

    With `even`, it reaches no further to one side than to the other, so that a slant does not move it.
    """
    total = np.append(0, np.cumsum(values * (far - near)))
    back, onward = (np.minimum(reach, room) for room in (place - span[0], span[1] - place))
    if even:
        back = onward = np.minimum(back, onward)
    sums = []
    for aim in (place - back, place + onward):
        # The lines of a stretch follow each other in order, so the one at the aim can be found by halving.
        key = _line_at(near, far, aim, bounds)
        sums.append(total[key] + values[key] * (aim - near[key]))
    size = back + onward
    mean = np.where(size > 0, (sums[1] - sums[0]) / np.maximum(size, 1), (values[at[0]] + values[at[1]]) / 2)
    return np.asarray(np.rint(mean), dtype=np.int64)


def _line_at(near: Whole, far: Whole, aim: Whole, bounds: tuple[Index, Index]) -> Index:
    """Return the run between the bounds that holds each aim, found for all of them at once by halving."""
    low, high = bounds[0].copy(), bounds[1] - 1
    while (low < high).any():
        middle = (low + high) // 2
        beyond = aim > far[middle]
        low, high = np.where(beyond & (low < high), middle + 1, low), np.where(beyond, high, middle)
    return low
