"""Where the repeats of a drawing lie best on the lines of the grid: some of it is drawn as knots, with each shift."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from chartmaker.artwork.cells import KNOT, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import OUTSIDE, Labels
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.knotting import Yarns, knots_of, shares_of
from chartmaker.convert.flat.tiles import labels_under
from chartmaker.convert.laying.axes import Axis
from chartmaker.convert.laying.periodic import Anchor
from chartmaker.ground.colour import FloatArray

#: Shifts down and across in knots, each with its mirror images; with them a slanting line runs through the middles of
#: knots, or between them.
SHIFTS = (
    (0.0, 0.0),
    *((way * 0.5, 0.0) for way in (-1, 1)),
    *((0.0, way * 0.5) for way in (-1, 1)),
    *((up * 0.25, left * 0.25) for up in (-1, 1) for left in (-1, 1)),
)
#: If a drawing mirrors one way, it is shifted only the other way.
ONE_WAY = (0.0, 0.25, -0.25, 0.5, -0.5)
#: Nothing is shifted for less than this share of the drawing.
LEAST_GAIN = 0.001
#: At most so many knots a side are drawn, and so many more round them.
MOST_DRAWN, AROUND = 32, 4

#: The edges of the rows, in raster order, and those of the columns.
Grid = tuple[FloatArray, FloatArray]


def anchors_of(
    mirrors_itself: tuple[bool, bool],
    axes: tuple[Axis | None, Axis | None],
    of_motifs: tuple[float | None, float | None] = (None, None),
) -> list[tuple[Anchor, Anchor]]:
    """Return the anchors, down and across, that leave a drawing its mirror images.

    The first of all are those that the image of the drawing has too: with nothing shifted, then with the axes of motifs
    held.

    Parameters
    ----------
    mirrors_itself : (bool, bool)
        Whether the drawing mirrors down, and across, in its middle, which then must not be shifted.
    axes : (Axis or None, Axis or None)
        Other places in which it mirrors down, and across.
    of_motifs : (float or None, float or None)
        Places in pixels in which motifs mirror, though the drawing does not.
    """
    if of_motifs != (None, None):
        down, across = (
            axis if place is None else Axis(place, True) for axis, place in zip(axes, of_motifs, strict=True)
        )
        plain, held = anchors_of(mirrors_itself, axes), anchors_of(mirrors_itself, (down, across))
        return [plain[0], *held, *plain[1:]]
    if not any(mirrors_itself) and axes == (None, None):
        return [(Anchor(down), Anchor(across)) for down, across in SHIFTS]
    free = [
        [Anchor()] if own else [*_held(axis), *([] if axis and axis.plain else map(Anchor, ONE_WAY))]
        for own, axis in zip(mirrors_itself, axes, strict=True)
    ]
    return [(down, across) for down in free[0] for across in free[1]]


def _held(axis: Axis | None) -> list[Anchor]:
    return [Anchor(axis=axis.place, astride=astride) for astride in (False, True)] if axis else []


def truest(labels: Labels, tried: Sequence[Grid], period: tuple[int, int]) -> Grid:
    """Return the grid with which knots are truest to the drawing, the first one if no other is plainly better.

    Parameters
    ----------
    labels : Labels
    tried : sequence of Grid
    period : (int, int)
        The rows and the columns of a repeat.
    """
    if len(tried) == 1:
        return tried[0]
    merit = [_trueness(labels, grid, period) for grid in tried]
    most = max(merit)
    best = [grid for grid, own in zip(tried, merit, strict=True) if own == most]
    alike = all(np.array_equal(one, other) for grid in best for one, other in zip(grid, best[0], strict=True))
    return best[0] if alike and most >= merit[0] + LEAST_GAIN else tried[0]


def _trueness(labels: Labels, grid: Grid, period: tuple[int, int]) -> float:
    """Return which share of a repeat in the middle has the ink of the knot that lies there."""
    rows, columns = grid
    down, across = (_middle(len(edges) - 1, knots) for edges, knots in zip(grid, period, strict=True))
    cells = cells_of(Placement(columns, rows[::-1]).raster_part(down, across))
    seen = labels_under(labels, cells)
    met = np.union1d(seen.first, seen.second)
    inks = int(met[met != OUTSIDE].max(initial=0)) + 1
    number = np.arange(inks)
    drawn = knots_of(cells, seen, Yarns(number, number, number), None, True, 1)
    share = shares_of(coverages(seen, cells, inks)[0], cell_areas(cells))[AROUND:-AROUND, AROUND:-AROUND]
    knots = np.minimum(drawn.knots, inks - 1)[AROUND:-AROUND, AROUND:-AROUND]
    own = np.take_along_axis(share, knots[..., None].astype(np.intp), axis=2)
    return round(int(own.sum()) / max(KNOT * own.size, 1), 6)


def _middle(size: int, period: int) -> slice:
    """Return the cells of a repeat in the very middle, with some round them."""
    knots = min(period, MOST_DRAWN)
    knots += (size - knots) % 2 + 2 * AROUND
    first = max((size - knots) // 2, 0)
    return slice(first, size - first)
