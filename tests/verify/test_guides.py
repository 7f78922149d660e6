"""The tufter's guide says what is to be settled, in which order and by whom; one that does not is found."""

from __future__ import annotations

import io
import re
import subprocess
from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
from support.making import SettledMap, as_file, make_map, make_rug, settled

from chartmaker.figures.heights import is_loop
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.findings import Finding
from chartmaker.jobs.drawn import drawing_of_map, pattern_figures, tufter_settles
from chartmaker.order.workshop import Workshop
from chartmaker.sheets.pattern import guide
from chartmaker.techniques.crafts import spoken_of
from chartmaker.verify.folder import inlay_expected
from chartmaker.verify.guides import guide_differences
from chartmaker.verify.patterns import expected_pattern

#: A dark yarn stands for a colour that it misses; a remark of another kind is only a note.
REMARKS = (
    Finding("I-36 stands in for a colour that it misses, 6.4 away.", "yarn I-36", "warning"),
    Finding("It is 2 knots wider at the left.", "border", "warning"),
    Finding("One knot stands alone.", "row 3", "note"),
)


def rug(stock_g: float | None = None, **tables: Any) -> SettledMap:
    """Return a tufted rug whose ground, the second of its yarns, is all but a quarter of it."""
    knots = np.ones((60, 80), dtype=int)
    knots[:, :12], knots[:10, 40:] = 0, 2
    workshop = Workshop.model_validate({"pattern": {"paper": "A4"}, **tables})
    made = make_map(knots, make_rug(80, 60, "20x20 per dm", name="Pond", technique="tufted"), workshop)
    yarns = tuple(replace(yarn, stock_g=stock_g) for yarn in made.yarns)
    return SettledMap(made.knots, yarns, made.rug, made.workshop)


def guided(knot_map: SettledMap, remarks: tuple[Finding, ...] = ()) -> bytes:
    figures, stream = figures_of(*settled(knot_map)), io.BytesIO()
    with spoken_of(knot_map.rug):
        settle = tufter_settles(figures, remarks)
        tufted = pattern_figures(*settled(knot_map), figures)
        guide.write_guide_pdf(stream, drawing_of_map(as_file(knot_map)), tufted, settle)
    return stream.getvalue()


def words_of(data: bytes) -> str:
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pdfium.PdfDocument(data)).split())


def faults(data: bytes, knot_map: SettledMap, settle: tuple[str, ...] = ()) -> list[str]:
    return list(guide_differences(data, replace(expected_pattern(*settled(knot_map)), settle=settle)))


def test_the_guide_says_what_is_to_be_settled_before_tufting() -> None:
    settle = ("yarn I-36: " + REMARKS[0].what, "border: " + REMARKS[1].what)
    data = guided(rug(), REMARKS)
    assert f"To settle before tufting {' '.join(settle)} from the back" in words_of(data)
    assert faults(data, rug(), settle) == []
    for told, fault in (
        (REMARKS[:1], "does not say what is to be settled: border"),
        ((), "does not say what is to be settled: yarn I-36"),
        ((*REMARKS, replace(REMARKS[0], about="yarn I-33")), "more to settle than there are remarks"),
    ):
        assert any(fault in words for words in faults(guided(rug(), told), rug(), settle))


def test_many_remarks_take_their_share_of_the_sheet_and_the_rest_are_counted() -> None:
    many = tuple(replace(REMARKS[0], about=f"yarn {number}") for number in range(40))
    data = guided(rug(), many)
    assert "18 more: chartmaker check tells them" in words_of(data)
    assert len(pdfium.PdfDocument(data)) == 1
    assert faults(data, rug(), tuple(f"{each.about}: {each.what}" for each in many)) == []


def test_a_yarn_from_two_lots_is_remarked_on_once_and_in_the_guide_too() -> None:
    """The tufter mixes the lots; the dye house matches the new one."""
    figures = figures_of(*settled(rug(stock_g=5)))
    for code in (yarn.code for yarn in figures.knot_map.yarns):
        (said,) = (each for each in figures.findings if each.where == f"yarn {code}")
        assert "5 g are in stock" in said.what and "match it to the stock" in said.what
        assert f"yarn {code}: 5 g are in stock" in words_of(guided(rug(stock_g=5)))


def test_the_yarns_stand_in_the_order_of_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Small parts come before the ground that closes round them, the rarest first (design of the guide)."""
    words = words_of(guided(rug()))
    codes = [yarn.code for yarn in rug().yarns]
    places = [words.index(f" {code} ") for code in (codes[2], codes[0], codes[1])]
    assert places == sorted(places)
    first = rug(pattern={"paper": "A4", "ground": "first"})
    assert faults(guided(first), first) == []
    assert any("in the order of work" in fault for fault in faults(guided(first), rug()))
    monkeypatch.setattr(guide, "GROUND_SHARE", 0.0)
    assert any("in the order of work" in fault for fault in faults(guided(first), first))


@pytest.mark.parametrize(("side", "named"), [("back", "1 2 2 1"), ("front", "2 1 1 2")])
def test_the_guide_says_where_each_tufter_works(side: str, named: str) -> None:
    """Tufter 1 works at the left of the pattern as it hangs, and so at the right of the front if it hangs mirrored."""
    two = rug(loom={"weavers": 2}, pattern={"paper": "A4", "side": side})
    data = guided(two)
    laid_out = subprocess.run(["pdftotext", "-layout", "-", "-"], input=data, capture_output=True, check=True)
    assert re.findall(r"tufter (\d)", laid_out.stdout.decode()) == named.split()
    assert faults(data, two) == []
    assert faults(data, rug()) == faults(guided(rug()), two) == ["the guide does not say where each tufter works"]


def test_many_tufters_at_a_narrow_rug_are_told_by_their_numbers_alone() -> None:
    knots = np.arange(12 * 60).reshape(60, 12) % 3
    narrow = make_rug(12, 60, "20x20 per dm", technique="tufted")
    many = make_map(knots, narrow, Workshop.model_validate({"loom": {"weavers": 11}, "pattern": {"paper": "A4"}}))
    data = guided(many)
    assert "tufter 1" not in words_of(data)
    assert faults(data, many) == []


def test_what_is_tufted_into_a_rug_of_loops_is_left_in_loops() -> None:
    """A hand loom's loops are no loops of the pattern, but whoever tufts into them must know it."""
    knots = np.zeros((40, 40), dtype=int)
    knots[20:], knots[5:15, 5:15] = 1, 2
    for pile, end in (({"loops": True}, "loop"), ({}, "cut")):
        plain = make_map(knots, make_rug(40, 40, "20x20 per dm", technique="hand-loomed"), Workshop(pile=pile))
        data, inlay = guided(plain), inlay_expected(*settled(plain))
        assert inlay is not None and f"finished (assumed) {end} " in words_of(data)
        expected = expected_pattern(inlay, plain.workshop, whole=plain)
        assert list(guide_differences(data, expected)) == []
        other = replace(expected, loops=frozenset() if pile else frozenset(yarn.code for yarn in inlay.yarns))
        assert any("is cut or in loops" in fault for fault in guide_differences(data, other))
        assert is_loop(inlay.yarns[0].code, plain.rug, plain.workshop) is bool(pile)


def test_the_longest_heights_stand_clear_of_the_turn_beside_them() -> None:
    """Nothing that a tufter reads touches what stands beside it: at least 0.5 mm of air (common practice)."""
    tall = rug(pile={"cut": "38.88 mm"})
    page = pdfium.PdfDocument(guided(tall))[0].get_textpage()
    words = [page.get_text_bounded(*page.get_rect(each)) for each in range(page.count_rects())]
    left = min(page.get_rect(each)[0] for each, word in enumerate(words) if word == "turn")
    height = re.compile(r"3\d\.\d+ mm \w+( \(assumed\))?")
    ends = [page.get_rect(each)[2] for each, word in enumerate(words) if height.fullmatch(word)]
    assert len(ends) == 6 and max(ends) < left - 0.5 * 72 / 25.4


def test_heights_that_nobody_gave_are_marked_in_the_guide() -> None:
    """Common practice: the tufter sets the tool by the guide. Figures marked such heights, and the guide did not."""
    high = rug(pile={"heights": {"Y001": "16.5 mm"}})
    data = guided(high)
    assert "Tool at 10 mm (assumed); 2 at 16.5 mm." in words_of(data)
    assert "Tool at 12 mm for all yarns." in words_of(guided(rug(pile={"cut": "12 mm"})))
    assert faults(data, high) == []
    given = rug(pile={"cut": "10 mm", "heights": {"Y001": "16.5 mm"}})
    assert faults(data, given) == ["the guide does not mark the heights that nobody gave"]
