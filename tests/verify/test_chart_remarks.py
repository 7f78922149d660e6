"""Remarks on a chart: greys on a copy without colour, new lots, and what is to be settled before weaving."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug, settled

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import figures_of
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Text
from chartmaker.verify import remarked
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.remarks import record_of


def expected(marks: str = "colour", *lightness: float) -> Expected:
    made = make_map(np.arange(80).reshape(8, 10) % 8, make_rug(10, 8, SQUARE))
    known = expected_of(made, Workshop.model_validate({"chart": {"marks": marks}}))
    light = dict(enumerate(lightness))
    yarns = (replace(each, lab=(light.get(n, 10.0 * n), 0.0, 0.0)) for n, each in enumerate(known.yarns))
    return replace(known, yarns=tuple(yarns))


@pytest.mark.parametrize(
    ("lightness", "counts", "groups"),
    # Yarns nearer than 5 in CIELAB lightness are one grey on a copy, and so are those that hang together by others.
    [
        ((), [1] * 8, []),
        ((50.0, 54.9), [1] * 8, ["Y000, Y001"]),
        ((50.0, 55.0), [1, 1] + [0] * 6, []),
        ((50.0, 54.9), [1, 0] + [1] * 3 + [0] * 3, []),
        ((50.0, 46.0, 42.0), [1] * 3 + [0] * 5, ["Y002, Y001, Y000"]),
        ((50.0, 46.0, 90.0, 91.0), [1] * 4 + [0] * 4, ["Y001, Y000", "Y002, Y003"]),
        ((), [0] * 8, []),
    ],
)
def test_yarns_of_one_grey_are_grouped_from_the_darkest(
    lightness: tuple[float, ...], counts: list[int], groups: list[str]
) -> None:
    known = expected("colour", *lightness)
    if lightness:
        apart = (
            each if n < len(lightness) else replace(each, lab=(200.0 + 10 * n, 0.0, 0.0))
            for n, each in enumerate(known.yarns)
        )
        known = replace(known, yarns=tuple(apart))
    assert remarked.alike_in_grey(known, counts) == groups
    marked = replace(known, chart=known.chart.model_copy(update={"marks": "both"}))
    assert remarked.alike_in_grey(marked, counts) == []


def test_a_sheet_names_its_greys_or_counts_their_yarns() -> None:
    groups = ["A, B", "C, D, E"]
    wrong = ["it does not say which of its yarns are one grey on a copy without colour"]
    assert list(remarked.grey_faults({"one_grey": groups}, groups)) == []
    assert list(remarked.grey_faults({"alike": ["5"]}, groups)) == list(remarked.grey_faults({}, [])) == []
    for said in ({}, {"one_grey": groups[:1]}, {"alike": ["4"]}, {"one_grey": groups, "alike": ["5"]}):
        assert list(remarked.grey_faults(said, groups)) == wrong
    assert list(remarked.grey_faults({"one_grey": []}, [])) == wrong


LOTS = (
    {"lot_row": "3", "lot_section": "2", "lot_code": "Y001"},
    {"lot_row": "3", "lot_section": "2", "lot_code": "Y002"},
    {"lot_row": "7", "lot_section": "3", "lot_code": "Y003"},
)


@pytest.mark.parametrize(
    ("rows", "said", "right"),
    [
        (range(2), {}, True),
        (range(2, 4), {"lot_row": ["3"], "lot_code": ["Y001, Y002"]}, True),
        (range(2, 4), {"lot_row": ["3"], "lot_yarns": ["2"]}, True),
        (range(2, 4), {"lot_row": ["3"], "lot_code": ["Y001"]}, False),
        (range(2, 4), {"lot_row": ["3"], "lot_yarns": ["1"]}, False),
        (range(2, 4), {"lot_row": ["3"], "lot_code": ["Y001, Y002"], "lot_yarns": ["2"]}, False),
        (range(2, 4), {}, False),
        (range(3, 6), {}, True),
        (range(3, 6), {"lot_row": ["3"], "lot_code": ["Y001, Y002"]}, False),
        (range(8), {"lot_row": ["3", "7"], "lot_code": ["Y001, Y002", "Y003"]}, True),
        (range(8), {"lot_row": ["3", "7"], "lot_yarns": ["2", "1"]}, True),
        (range(8), {"lot_yarns": ["3"]}, True),
        (range(8), {"lot_yarns": ["2"]}, False),
        (range(6, 8), {"lot_row": ["7"], "lot_code": ["Y003"]}, True),
    ],
)
def test_a_sheet_says_which_new_lots_begin_on_it(rows: range, said: dict[str, list[str]], right: bool) -> None:
    known = replace(expected(), lots=LOTS)
    given = {**said, "other": ["1"]}
    wrong = [] if right else ["it does not say right which new lots of yarn begin on it"]
    assert list(remarked.lot_faults(given, rows, known)) == wrong
    assert given == {"other": ["1"]}


def test_a_sheet_of_a_mirrored_rug_names_the_lots_of_its_way_back() -> None:
    """Of eight rows the second is the seventh on the way back."""
    known = expected()
    mirrored = replace(known, knots=np.vstack([known.knots[:4], known.knots[3::-1]]), lots=LOTS[2:])
    told = {"lot_row": ["7"], "lot_code": ["Y003"]}
    assert list(remarked.lot_faults({**told}, range(1, 2), mirrored)) == []
    assert list(remarked.lot_faults({}, range(2, 4), mirrored)) == []
    assert list(remarked.lot_faults({**told}, range(1, 2), replace(known, lots=LOTS[2:]))) != []


def span(**fields: str) -> Block:
    letters = Text("", 0.0, 0.0, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))
    told: list[Any] = [Block(name, {}, [replace(letters, words=words)]) for name, words in fields.items()]
    return Block("settle", {}, told)


def test_what_is_to_be_settled_stands_whole_on_the_cover() -> None:
    wanted = ("row 3: It is odd.", "row 9: So is it.", "row 11: And this.")
    whole = [span(settle1="row 3: It is", settle2=wanted[1]), span(settle1="odd.", settle3=wanted[2])]
    assert list(remarked.settle_faults(whole, wanted)) == []
    assert list(remarked.settle_faults([span(settle1=wanted[0], settle_more="2")], wanted)) == []
    assert list(remarked.settle_faults([], ())) == []
    unsaid = [f"it does not say what is to be settled: {each}" for each in wanted]
    rest = ["it has more to settle than there are remarks, or does not count the rest"]
    assert list(remarked.settle_faults([], wanted)) == unsaid
    assert (
        list(remarked.settle_faults([span(settle1=wanted[0], settle2="x", settle3=wanted[2])], wanted)) == unsaid[1:2]
    )
    assert list(remarked.settle_faults([span(settle1=wanted[0], settle_more="1")], wanted)) == rest
    assert list(remarked.settle_faults([span(settle1=wanted[0], settle2="x")], wanted[:1])) == rest
    assert list(remarked.settle_faults([span(settle_more="1")], ())) == rest


def test_notes_and_what_follows_from_figures_are_not_settled_on_a_cover() -> None:
    knots = np.zeros((20, 20), dtype=int)
    knots[4, 4] = knots[12, 9] = 1
    wasteful = Workshop.model_validate({"pile": {"cut": "30 mm", "waste": 0.4}})
    made = make_map(knots, make_rug(20, 20, pile="6 mm"), wasteful)
    figures = figures_of(*settled(made))
    own = [record_of(each) for each in figures.findings]
    assert own
    told = [{"where": "row 3", "what": "It is odd.", "severity": each} for each in ("warning", "note", "error")]
    assert remarked.to_settle([*own, None, *told], figures) == ("row 3: It is odd.",) * 2
    assert remarked.to_settle(None, figures) == ()
    checked = [record_of(each) for each in check_map(made, made.workshop)]
    assert remarked.map_settles(figures) == remarked.serious(checked)
