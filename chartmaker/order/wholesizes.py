"""At which sizes of a rug, near the one that is ordered, the repeats of its borders are whole numbers of knots long."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from chartmaker.order.design import Design
from chartmaker.order.rug import MOST_PROPORTION_ERROR, Rug

#: Repeats along a side are whole if the last lies less than this, in knots, from where whole knots would put it.
MOST_ASTRAY = Fraction(1, 2)
#: Sizes that are smaller or larger by up to this share are looked at, whose proportion is that of the rug but for this.
MOST_CHANGE, MOST_SKEW = Fraction(1, 4), Fraction(MOST_PROPORTION_ERROR).limit_denominator(1000)


@dataclass(frozen=True)
class Pitch:
    """How far the repeats of a border, counted from the rim from 0, lie apart along its top and foot or its sides.

    It is given as a `share` of the width of the artwork, or of its height unless it goes `across`. There are that many
    repeats along a side.
    """

    band: int
    across: bool
    share: Fraction
    times: int

    def knots(self, grid: tuple[int, int]) -> Fraction:
        """Return how many knots a repeat takes on a grid of so many columns and rows."""
        return self.share * grid[not self.across]

    def astray(self, grid: tuple[int, int]) -> Fraction:
        """Return how far off whole knots all repeats along a side come, in knots."""
        knots = self.knots(grid)
        return abs(knots - round(knots)) * self.times


@dataclass(frozen=True)
class WholeGrid:
    """A grid of columns and rows on which all borders are whole, with its finished size.

    Its proportion differs from that of the rug by a share of `off_proportion`.
    """

    grid: tuple[int, int]
    width_mm: Fraction
    length_mm: Fraction
    off_proportion: float


@dataclass(frozen=True)
class BorderSizes:
    """The pitches of borders, and the nearest grids, smaller and larger, on which all are whole, if there are any.

    `grid` is that of the rug, the columns before the rows. The other two are None where it is whole itself. Of the
    `pitches` there is one for the top and foot and one for the sides of each border, the one that goes most astray.
    """

    grid: tuple[int, int]
    pitches: tuple[Pitch, ...]
    smaller: WholeGrid | None
    larger: WholeGrid | None

    @property
    def astray(self) -> tuple[Pitch, ...]:
        """The pitches that are not whole on the grid of the rug."""
        return tuple(pitch for pitch in self.pitches if pitch.astray(self.grid) > MOST_ASTRAY)


def border_sizes(pitches: Sequence[Pitch], rug: Rug, design: Design, picture: tuple[int, int]) -> BorderSizes | None:
    """Return the sizes of the rug at which borders are whole, or None if there is nothing to say of them.

    There is nothing of a rug that is no rectangle, nor of one whose artwork is cut or filled up to its size.

    Parameters
    ----------
    pitches : sequence of Pitch
        Those of all sides of borders along which something repeats.
    rug : Rug
        As it is ordered.
    design : Design
    picture : (int, int)
        The width and the height of the artwork as it is turned. Unless `design.fit` stretches it, it must fit the other
        sizes too.
    """
    if not pitches or rug.shape != "rectangle" or design.fit not in (None, "stretch"):
        return None
    grid = rug.columns, rug.rows
    kinds = sorted({(pitch.band, not pitch.across) for pitch in pitches})
    groups = [[pitch for pitch in pitches if (pitch.band, not pitch.across) == kind] for kind in kinds]
    told = tuple(max(group, key=lambda pitch: pitch.astray(grid)) for group in groups)
    if all(pitch.astray(grid) <= MOST_ASTRAY for pitch in told):
        return BorderSizes(grid, told, None, None)
    steep = Fraction(grid[1], grid[0])
    least, most = steep * (1 - MOST_SKEW), steep * (1 + MOST_SKEW)
    if design.fit is None:
        drawn = Fraction(picture[1], picture[0]) * rug.density.knot_width_mm / rug.density.knot_height_mm
        least, most = max(least, drawn / (1 + MOST_SKEW)), min(most, drawn * (1 + MOST_SKEW))
    smaller, larger = (
        None if found is None else _whole_grid(found, rug) for found in _whole_grids(pitches, grid, (least, most))
    )
    return BorderSizes(grid, told, smaller, larger)


def _whole_grid(grid: tuple[int, int], rug: Rug) -> WholeGrid:
    off = Fraction(grid[1] * rug.columns, grid[0] * rug.rows)
    width_mm, length_mm = grid[0] * rug.density.knot_width_mm, grid[1] * rug.density.knot_height_mm
    return WholeGrid(grid, width_mm, length_mm, float(max(off, 1 / off)) - 1)


def _whole_grids(
    pitches: Sequence[Pitch], grid: tuple[int, int], proportions: tuple[Fraction, Fraction]
) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
    """Return the nearest smaller and the nearest larger grid on which all pitches are whole.

    A grid is nearer if that of its sides which changes more does so by less; of equally near ones the one counts whose
    proportion is nearer to that of the rug. `proportions` are the least and the most rows that a column may have.
    """
    columns, rows = grid
    wide = _whole_counts(columns, lambda count: [pitch.astray((count, rows)) for pitch in pitches if pitch.across])
    high = _whole_counts(rows, lambda count: [pitch.astray((columns, count)) for pitch in pitches if not pitch.across])

    def fitting() -> Iterator[tuple[int, int]]:
        for count in wide:
            first = bisect_left(high, count * proportions[0])
            yield from ((count, other) for other in high[first : bisect_right(high, count * proportions[1])])

    def far(one: tuple[int, int]) -> tuple[int, ...]:
        change = max(abs(one[0] - columns) * rows, abs(one[1] - rows) * columns)
        return change, abs(one[1] * columns - one[0] * rows), *one

    found = sorted(fitting(), key=far)
    smaller = next((one for one in found if one[0] <= columns and one[1] <= rows), None)
    larger = next((one for one in found if one[0] >= columns and one[1] >= rows), None)
    return smaller, larger


def _whole_counts(number: int, astray: Callable[[int], list[Fraction]]) -> list[int]:
    """Return the numbers of knots, near that of the rug, with which nothing goes astray."""
    least, most = math.ceil(number * (1 - MOST_CHANGE)), math.floor(number * (1 + MOST_CHANGE))
    return [count for count in range(least, most + 1) if all(far <= MOST_ASTRAY for far in astray(count))]
