"""The pile is cut, shorn and carved to different heights, and each height takes its own share of the yarn."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from support.making import make_rug, make_yarn

from chartmaker.figures.carving import carving_of
from chartmaker.figures.heights import Heights, assumed_of, base_heights, heights_of
from chartmaker.figures.pile import PileFigures, pile_figures
from chartmaker.ground.errors import RugError
from chartmaker.order.pattern import Pattern
from chartmaker.order.workshop import Pile, Workshop
from chartmaker.reports.pileheights import origin_words
from chartmaker.verify.recount.pile import ungiven, yarn_heights


def figures(knots: tuple[int, ...], pile_mm: str | None, **pile: Any) -> PileFigures:
    rug = make_rug(40, 50, **({} if pile_mm is None else {"pile": pile_mm}))
    yarns = tuple(make_yarn(index, (index, 0, 0)) for index in range(len(knots)))
    return pile_figures(yarns, np.array(knots), rug, Workshop(pile=Pile(**pile)))


@pytest.mark.parametrize(
    ("cut", "pile", "cut_mm", "pile_mm"),
    # Clipping and shearing together take 10 to 20 % (common practice). One height is estimated from the other by the
    # factor 1.15, to the half millimetre: 9 x 1.15 = 10.35, 12 / 1.15 = 10.43, 5 x 1.15 = 5.75.
    [
        ("12 mm", "9 mm", 12, 9),
        (None, "9 mm", 10.5, 9),
        ("12 mm", None, 12, 10),
        (None, None, 10, 8.5),
        (None, "5 mm", 6, 5),
        ("9 mm", "9 mm", 9, 9),
    ],
)
def test_the_heights_that_are_given_hold_and_the_others_are_estimated(
    cut: str | None, pile: str | None, cut_mm: float, pile_mm: float
) -> None:
    rug = make_rug(40, 50, **({} if pile is None else {"pile": pile}))
    assert base_heights(rug, Workshop(pile=Pile(cut=cut))) == Heights(cut_mm, pile_mm)


@pytest.mark.parametrize(("pile_mm", "usual"), [("8 mm", True), ("10 mm", True), ("13 mm", True), ("20 mm", True)])
def test_the_defaults_lose_what_is_usual(pile_mm: str, usual: bool) -> None:
    # Clipping and shearing waste 10 to 20 % of the yarn that is issued (common practice).
    made = figures((1000,), pile_mm)
    assert 0.10 <= 1 - made.sheared_mass_g.best / made.mass_g.best <= 0.20
    assert made.findings == ()


def test_the_finished_height_of_a_yarn_that_is_cut_higher_is_told_as_assumed() -> None:
    """The rest loses 2 mm of 12 in the shears, and so does what is cut at 16; what is tied low is not shorn."""
    made = figures((10, 10, 10), None, cut="12 mm", heights={"Y001": "16 mm", "Y002": "6 mm"})
    told = {str(each.key): each.value for each in made.assumptions if str(each.key).endswith("finished")}
    assert told == {"Y001 finished": "14 mm"}


def test_tufts_left_in_loops_are_not_shorn() -> None:
    """A tuft that is shorn is no loop any more: it is tufted as high as it stays (common practice)."""
    rug = make_rug(40, 50, pile="12 mm", technique="tufted")
    shop = Workshop(pile=Pile(heights={"Y002": "9 mm"}), pattern=Pattern(loops=("Y001", "Y002")))
    codes = ("Y000", "Y001", "Y002")
    wanted = [Heights(14, 12), Heights(12, 12), Heights(9, 9)]
    assert [heights_of(code, rug, shop) for code in codes] == wanted
    assert [Heights(*yarn_heights(code, rug, shop)[:2]) for code in codes] == wanted
    assert heights_of("Y001", rug.model_copy(update={"technique": "knotted"}), shop) == Heights(14, 12)


def test_shearing_is_counted_once() -> None:
    # 1,000 knots of 30.47 mm are cut at 12 mm and shorn to 9: of the 30.47 mm, 6 come off and 24.47 stay. At 400 tex
    # they are 12.188 g as tied and 9.788 g as sheared. With 5 % waste beyond the cut, 12.188 / 0.95 = 12.829 g are
    # issued.
    made = figures((1000,), "9 mm", cut="12 mm", yarn="tex 400", length_per_knot="30.47 mm", waste="5%")
    assert made.net_mass_g.best == pytest.approx(12.188)
    assert made.sheared_mass_g.best == pytest.approx(9.788)
    assert made.mass_g.best == pytest.approx(12.829, abs=5e-4)
    assert made.findings == ()  # 24 % are lost in all, which is not remarked on


def test_shearing_counted_twice_is_remarked_on() -> None:
    # The same with 15 %: 1 - 9.788 / (12.188 / 0.85) = 31.7 % of what is issued is lost.
    [finding] = figures((1000,), "9 mm", cut="12 mm", yarn="tex 400", length_per_knot="30.47 mm", waste="15%").findings
    assert (finding.where, finding.severity) == ("[pile] waste", "warning")
    assert finding.what == (
        "Shearing from 12 mm to 9 mm is already in the yarn of the knots, and 15 % of waste comes on top: 32 % of the "
        "yarn issued is lost in all, where 10 to 20 % is usual. Is shearing counted twice?"
    )


def test_carved_takes_the_yarn_of_the_full_height_and_tied_low_does_not() -> None:
    # A knot takes 40 mm at a cut of 12 mm and is shorn to 10. Tied at 8 mm it takes 40 - 2 x 4 = 32 mm, which the
    # shears do not reach. Carved to 6 mm, 40 mm are tied, 2 x 6 come off and 28 stay. Tied at 15 mm it takes 46 mm and
    # is shorn by the same 2 mm, so that 42 stay.
    made = figures(
        (1000, 1000, 1000, 1000),
        "10 mm",
        cut="12 mm",
        yarn="tex 500",
        length_per_knot="40 mm",
        waste=0,
        heights={"Y001": "8 mm", "Y003": "15 mm"},
        carved={"Y002": "6 mm"},
    )
    assert [line.net_mass_g.best for line in made.yarns] == pytest.approx([20, 16, 20, 23])
    assert [line.sheared_mass_g.best for line in made.yarns] == pytest.approx([18, 16, 14, 21])
    assert [(line.cut_mm, line.pile_mm) for line in made.yarns] == [(12, 10), (8, 8), (12, 6), (15, 13)]
    assert made.uneven and not figures((9, 9), "10 mm").uneven


def test_impossible_heights_are_refused_by_their_key() -> None:
    with pytest.raises(RugError, match=r"^\[pile\] cut: the pile is cut at 8 mm, and after shearing it cannot be 9 mm"):
        base_heights(make_rug(40, 50, pile="9 mm"), Workshop(pile=Pile(cut="8 mm")))
    rug, workshop = make_rug(40, 50, pile="9 mm"), Workshop(pile=Pile(cut="12 mm", carved={"A": "9.5 mm"}))
    with pytest.raises(RugError, match=r"^\[pile\] carved: yarn A is 9 mm high .* cannot be carved to 9.5 mm"):
        heights_of("A", rug, workshop)


def test_loops_are_never_carved() -> None:
    """A loop that is cut pulls out of the cloth (common practice)."""
    rug = make_rug(40, 50, pile="12 mm", technique="tufted")
    shop = Workshop(pile=Pile(carved={"Y003": "8 mm"}), pattern=Pattern(loops=("Y003",)))
    with pytest.raises(RugError, match=r"^\[pile\] carved: the pile of yarn Y003 is left in loops, .* pulls out"):
        heights_of("Y003", rug, shop)


@pytest.mark.parametrize(
    ("pile", "wanted"),
    # The shears take 3 mm from what is cut at 12 or more and bring it to 9, do not reach 8, and what is carved was
    # shorn like the rest: 8 mm that is carved to 6 loses 2, not what is left of 8 less 3.
    [
        ({}, (12, 9, 9)),
        ({"heights": {"Y000": "15 mm"}}, (15, 12, 12)),
        ({"heights": {"Y000": "8 mm"}}, (8, 8, 8)),
        ({"heights": {"Y000": "8 mm"}, "carved": {"Y000": "6 mm"}}, (8, 8, 6)),
        ({"carved": {"Y000": "6 mm"}}, (12, 9, 6)),
    ],
)
def test_what_is_carved_is_told_from_what_was_tied_so(pile: Any, wanted: tuple[float, float, float]) -> None:
    rug, shop = make_rug(40, 50, pile="9 mm"), Workshop(pile=Pile(cut="12 mm", **pile))
    carving = carving_of((make_yarn(0, (0, 0, 0)),), rug, shop)
    assert (carving.cut_mm[0], carving.shorn_mm[0], carving.finished_mm[0]) == wanted
    assert carving.lowered == (wanted[1] > wanted[2],)


@pytest.mark.parametrize(
    ("pile_mm", "pile", "marks"),
    # Common practice: what a rug file gives is not marked; what is reckoned from it, or from nothing, is.
    [
        (None, {}, {"Y000": (True, True, True)}),
        ("9 mm", {}, {"Y000": (True, False, False)}),
        (None, {"cut": "12 mm"}, {"Y000": (False, True, True)}),
        ("9 mm", {"cut": "12 mm"}, {"Y000": (False, False, False)}),
        (
            "12 mm",
            {"heights": {"Y001": "16 mm", "Y002": "6 mm", "Y003": "15 mm"}, "carved": {"Y003": "8 mm"}},
            {"Y001": (False, True, True), "Y002": (False, False, False), "Y003": (False, True, False)},
        ),
        (None, {"cut": "12 mm", "heights": {"Y001": "11 mm", "Y002": "6 mm"}}, {"Y001": (False, True, True)}),
        # what is as high as it is cut is not shorn, and so is nothing that is cut higher beside it
        ("9 mm", {"cut": "9 mm", "heights": {"Y001": "12 mm", "Y002": "9 mm"}}, {"Y001": (False, False, False)}),
    ],
)
def test_a_height_that_nobody_gave_is_known(
    pile_mm: str | None, pile: dict[str, Any], marks: dict[str, tuple[bool, ...]]
) -> None:
    """W-01, tufted at 16 mm and shorn like the rest, stood at 14 mm, which is neither [rug] pile nor carved."""
    rug = make_rug(40, 50, technique="tufted", **({} if pile_mm is None else {"pile": pile_mm}))
    workshop = Workshop(pile=Pile(**pile), pattern=Pattern(loops=("Y004",)))
    for code, due in {**marks, "Y004": (pile_mm is None,) * 3}.items():
        found = assumed_of(code, rug, workshop)
        assert (found.cut, found.shorn, found.finished) == due == ungiven(code, rug, workshop)


def test_where_the_heights_come_from_is_said_of_the_yarns_that_the_rug_has() -> None:
    rug = make_rug(40, 50, technique="tufted", pile="12 mm")
    tall = Workshop(pile=Pile(cut="14 mm", heights={"Y001": "16 mm"}, carved={"Y000": "8 mm"}))
    assert origin_words(["Y000", "Y001"], rug, tall) == (
        "The pile is tied as high as [pile] cut; shorn, it is as high as [rug] pile. "
        "Y001: tied higher by [pile] heights, and shorn by 2 mm like the rest. Y000: carved down to [pile] carved. "
        "(assumed): reckoned, because the rug file does not give it."
    )
    plain = Workshop(pile=Pile(cut="14 mm"))
    assert origin_words(["Y000"], rug, plain).endswith("as high as [rug] pile.")
