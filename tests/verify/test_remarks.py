"""Remarks that follow from a map are found anew, each as often as it is made, and averages must add up."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.findings import Finding
from chartmaker.verify.remarks import cost_faults, finding_faults, match_faults, record_of


def test_a_remark_is_recorded_with_its_places_counted_from_one() -> None:
    """Places are half open and from 0 in the program; a summary counts rows and columns as weavers do."""
    finding = Finding("It is odd.", "row 3", "note", places=((2, 5, 7, 9), (0, 1, 0, 1)))
    assert record_of(finding) == {
        "what": "It is odd.",
        "where": "row 3",
        "severity": "note",
        "places": [
            {"first_row": 3, "last_row": 5, "first_column": 8, "last_column": 9},
            {"first_row": 1, "last_row": 1, "first_column": 1, "last_column": 1},
        ],
    }


def test_each_remark_is_asked_for_as_often_as_it_is_made() -> None:
    knots = np.zeros((20, 20), dtype=int)
    knots[4, 4] = knots[12, 9] = 1
    made = make_map(knots, make_rug(20, 20))
    figures = figures_of(*settled(made))
    every = [*check_map(*settled(made)), *figures.findings]
    assert every
    told: list[Any] = [record_of(each) for each in every]
    assert list(finding_faults(told, figures)) == list(finding_faults(["x", None, *told[::-1], 7], figures)) == []
    first = f"it does not have the finding: {told[0]['what']}"
    assert list(finding_faults(told[1:], figures)) == [first]
    assert list(finding_faults([{**told[0], "severity": "none"}, *told[1:]], figures)) == [first]
    assert len(list(finding_faults(None, figures))) == len(list(finding_faults({}, figures))) == len(every)
    twice: Any = SimpleNamespace(knot_map=made, workshop=made.workshop, findings=(*figures.findings, every[0]))
    assert list(finding_faults(told, twice)) == [first]


YARNS = [
    {"knots": 30, "mean_de00": 1.0, "max_de00": 2.0, "p95_de00": 1.8},
    {"knots": 10, "mean_de00": 3.0, "max_de00": 4.0, "p95_de00": 3.0},
]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, None),
        ({"mean_de00": 1.6}, "the mean of the match is 1.6, and those of the yarns give 1.500"),
        ({"max_de00": 2.0}, "the greatest difference of the match is that of no yarn"),
        ({"p95_de00": 1.7}, "the match's 95th percentile does not lie between those of the yarns"),
        ({"p95_de00": 3.1}, "the match's 95th percentile does not lie between those of the yarns"),
    ],
)
def test_the_match_of_a_rug_follows_from_its_yarns(change: dict[str, float], said: str | None) -> None:
    """The mean of 30 knots of 1.0 and 10 of 3.0 is 1.5."""
    match = {"mean_de00": 1.5, "max_de00": 4.0, "p95_de00": 2.0, **change}
    assert list(match_faults(match, YARNS)) == ([] if said is None else [said])
    assert list(match_faults(match, [])) == []


def cost(**more: Any) -> dict[str, Any]:
    """Return what two square metres cost: 10 to 14 and 20 to 26, and a part that has no price."""
    parts = [(10.0, 12.0, 14.0), (20.0, 24.0, 26.0)]
    names = ("low", "best", "high")
    told: list[dict[str, Any]] = [{"what": "yarn", "amount": dict(zip(names, part, strict=True))} for part in parts]
    return {
        "parts": [*told, {"what": "dye", "amount": None}],
        "complete": False,
        "total": dict(zip(names, (30.0, 36.0, 40.0), strict=True)),
        "per_m2": dict(zip(names, (15.0, 18.0, 20.0), strict=True)),
        "per_ft2": dict(zip(names, (1.39, 1.67, 1.86), strict=True)),  # a foot is 0.3048 m
        **more,
    }


def test_a_cost_adds_up_at_its_lowest_its_best_and_its_highest() -> None:
    assert list(cost_faults(cost(), 2.0)) == list(cost_faults(None, 2.0)) == []
    for name in ("low", "best", "high"):
        for key, said in (
            ("total", f"the parts of the cost do not add up to its {name} total"),
            ("per_m2", "the cost of a square metre is not what the total comes to"),
            ("per_ft2", "the cost of a square foot is not what that of a square metre comes to"),
        ):
            wrong = cost()
            wrong[key][name] += 0.1
            assert said in list(cost_faults(wrong, 2.0)), (key, name)
    unsaid = ["the cost does not say whether every part is priced"]
    whole = cost(parts=cost()["parts"][:2])
    assert list(cost_faults(cost(complete=True), 2.0)) == list(cost_faults(whole, 2.0)) == unsaid
    assert list(cost_faults({**whole, "complete": True}, 2.0)) == []
    damaged = ["the cost is damaged and cannot be read"]
    for wrong in (7, {}, cost(parts=None), cost(total={"low": 30.0}), cost(per_m2=dict.fromkeys(("low",), "x"))):
        assert list(cost_faults(wrong, 2.0)) == damaged


def test_a_rug_without_area_costs_nothing_a_square_metre() -> None:
    free = {key: dict.fromkeys(("low", "best", "high"), 0.0) for key in ("total", "per_m2", "per_ft2")}
    assert list(cost_faults({"parts": [], "complete": True, **free}, 0.0)) == []
