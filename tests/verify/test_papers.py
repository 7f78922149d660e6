"""Each printed paper beside a set is read as what it is, against the set's own map, and others are refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import test_figuresheets
import test_revisedscripts
import test_revisions
from support.making import SettledMap, as_file, make_map, make_rug, settled
from support.repacking import repacked
from test_carvings import data_of

from chartmaker.figures.reckoning import figures_of
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.figures import summary_of
from chartmaker.verify.expected import expected_of
from chartmaker.verify.papers import Known, paper_differences
from chartmaker.verify.recount.whole import recount_of


def known(made: SettledMap, before: SettledMap | None = None, cost: Any = None) -> Known:
    """Return what papers beside the set of a map are compared with; a revision's cover tells no loom here."""
    again = recount_of(*settled(made))
    expected = expected_of(*settled(made), again if before is None else None)
    figures = replace(figures_of(*settled(made)), cost=None)  # a map holds no prices
    return Known(expected, again, figures, cost, NotImplemented, None if before is None else as_file(before))


def painted(made: SettledMap) -> SettledMap:
    """Return the map with one knot of another yarn."""
    knots = made.knots.copy()
    knots[7, 9] = (knots[7, 9] + 1) % len(made.yarns)
    return SettledMap(knots, made.yarns, made.rug, made.workshop)


def carved() -> SettledMap:
    knots = np.zeros((30, 50), dtype=np.uint16)
    knots[5:15, 10:30] = 1
    tables = {"pile": {"cut": "12 mm", "carved": {"Y001": "6 mm"}}}
    rug = make_rug(50, 30, "50x25 per dm", pile="10 mm", technique="tufted")
    return make_map(knots, rug, Workshop.model_validate(tables))


def of_revision() -> tuple[bytes, SettledMap, SettledMap]:
    now, before = test_revisions.CHANGES["one knot"]()
    return test_revisions.revision(now, before), now, before


def of_rows() -> tuple[bytes, SettledMap, SettledMap]:
    old, of = test_revisedscripts.CHANGES["some rows"]
    return test_revisedscripts.written(of(old), old), of(old), old


PAPERS: dict[str, Callable[[], tuple[bytes, SettledMap, SettledMap | None]]] = {
    "a dye order": lambda: (test_figuresheets.written(made := test_figuresheets.a_map(), "dye"), made, None),
    "a carver's guide": lambda: (data_of(made := carved(), lambda plain: plain), made, None),
    "a revision": of_revision,
    "rows told anew": of_rows,
}


@pytest.mark.parametrize("paper", PAPERS)
def test_a_paper_is_read_against_the_set_s_map(paper: str) -> None:
    data, made, before = PAPERS[paper]()
    assert list(paper_differences(data, known(made, before))) == []
    found = list(paper_differences(data, known(painted(made), before)))
    assert found and not any("it is not a sheet of" in words for words in found)
    if before is not None:
        (told,) = paper_differences(data, replace(known(made, before), before=None))
        assert told.endswith("with --since")


def test_figures_with_a_cost_are_held_to_that_of_the_set() -> None:
    made = test_figuresheets.a_map(cost=test_figuresheets.PRICES)
    figures = figures_of(*settled(made))
    data = test_figuresheets.written(made, "figures", figures=figures)
    assert list(paper_differences(data, known(made, cost=summary_of(figures)["cost"]))) == []
    assert any("it has the tables" in words for words in paper_differences(data, known(made)))


def test_a_paper_that_does_not_say_what_it_is_is_refused() -> None:
    data, made, before = of_revision()
    other = repacked(data, lambda text: text.replace("/kn-revision", "/kn-other"))
    refused = "it is not a sheet of figures, of a dye order, of bundles, of a revision or of a carver's guide"
    assert list(paper_differences(other, known(made, before))) == [refused]
