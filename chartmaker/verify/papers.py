"""Printed sheets beside a set, which are told apart by their tags, and a pattern's picture for a projector.

The sheets are figures, a dye order, bundles, a revision or a carver's guide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.verify.carvings import is_carving, told_carving_differences
from chartmaker.verify.expected import Expected
from chartmaker.verify.figuresheets import figure_differences, kind_of
from chartmaker.verify.patterns import ExpectedPattern
from chartmaker.verify.projections import SIGNATURE, projection_differences
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.revisedscripts import is_rows_revision, rows_revision_differences
from chartmaker.verify.revisions import is_revision, revision_differences
from chartmaker.verify.sheets import Paper


@dataclass(frozen=True, eq=False)
class Known:
    """What printed sheets are compared with; `pattern` gives what a tufter follows, `before` a revision's old map."""

    expected: Expected
    again: Recount
    figures: Figures
    cost: Mapping[str, Any] | None
    pattern: Callable[[], ExpectedPattern]
    before: MapFile | None = None


def paper_differences(data: bytes, known: Known) -> Iterator[str]:
    """Yield how printed sheets differ from the map of a set, whichever of the kinds they are.

    Raises
    ------
    ValueError
        If it is not a PDF of the kind that chartmaker writes, or a picture that does not say how it was drawn.
    """
    if data.startswith(SIGNATURE):
        yield from projection_differences(data, known.pattern(), known.expected.code)
        return
    first = next(Paper(data, known.expected.knots.size).sheets(), None)
    if first is not None and is_revision(first):
        yield from revision_differences(data, known.expected, known.before)
    elif first is not None and is_rows_revision(first):
        yield from rows_revision_differences(data, known.expected, known.before)
    elif first is not None and kind_of(first):
        yield from figure_differences(data, known.expected, known.again, known.figures, known.cost)
    elif first is not None and is_carving(first):
        expected = known.expected
        knot_map = KnotMap(expected.knots, expected.yarns, expected.rug)
        yield from told_carving_differences(data, knot_map, known.again.workshop)
    else:
        yield say("it is not a sheet of figures, of a dye order, of bundles, of a revision or of a carver's guide")
