"""The pile's yarn is held against published costings, weighed samples and the ranges that textbooks give."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import make_rug, make_yarn

from chartmaker.figures.pile import PileFigures, knot_length, pile_figures
from chartmaker.ground.errors import RugError
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Pile, Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.foundation import foundation_of
from chartmaker.techniques.knotted import warp_pitch_mm
from chartmaker.yarns.yarn import Yarn


def stitch_mm(rug: Rug, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str) -> float:
    return craft_of(rug).stitch_mm(rug, Loom(), cut_mm, warp_tex, yarn_tex, fibre)


def one_yarn(rug: Rug, knots: int, **pile: Any) -> PileFigures:
    return pile_figures((make_yarn(0, (1, 2, 3)),), np.array([knots]), rug, Workshop(pile=Pile(**pile)))


def test_the_published_costing_of_40_raj() -> None:
    # Ahrari, iran-carpet.com 1705 and 1718: 104 x 156 cm at 40 raj of 6.5 cm is 640 x 960 = 614,400 knots. At 4 cm a
    # knot they take 24,576 m, which is 3,072 g of Nm 8 single or 6,144 g two-ply.
    rug = Rug(size="104x156 cm", density="40 raj (6.5 cm)")
    assert (rug.columns, rug.rows, rug.knots) == (640, 960, 614_400)
    single = one_yarn(rug, rug.knots, length_per_knot="4 cm", yarn="Nm 8", waste=0)
    assert single.length_m.best == pytest.approx(24_576)
    assert single.mass_g.best == pytest.approx(3_072)
    two_ply = one_yarn(rug, rug.knots, length_per_knot="4 cm", yarn="Nm 8 x2", waste=0)
    assert two_ply.length_m.best == pytest.approx(24_576)
    assert two_ply.mass_g.best == pytest.approx(6_144)


def test_the_model_by_hand() -> None:
    # By hand, for the symmetric knot: length = 2 x cut + 2 x pitch + pi x (warp + yarn diameter). 400 tex of wool is
    # 0.4 / (1.31 x 0.6) = 0.50891 mm2, or 0.80497 mm thick; 500 tex of cotton is 0.54825 mm2, or 0.83548 mm thick.
    rug = make_rug(40, 50, "40x50 per dm", knot="symmetric")
    assert warp_pitch_mm(rug) == 1.25
    expected_mm = 2 * 9 + 2 * 1.25 + math.pi * (0.80497 + 0.83548)
    assert stitch_mm(rug, 9, 500, 400, "wool") == pytest.approx(expected_mm, abs=1e-3)
    asymmetric = make_rug(40, 50, "40x50 per dm", knot="asymmetric")
    less_mm = math.pi * (0.80497 + 0.83548) / 4
    assert stitch_mm(asymmetric, 9, 500, 400, "wool") == pytest.approx(expected_mm - less_mm, abs=1e-3)


def test_a_tied_piece_is_about_two_inches() -> None:
    # Ellwanger, The Oriental Rug: the piece of yarn that is tied is about 2 inch long. The model's knot, cut at 20 mm
    # as on the loom before clipping (common practice), must come near that.
    rug = make_rug(40, 50, "9/60 indian")
    [line] = one_yarn(rug, 100, cut="20 mm").yarns
    assert line.length_per_knot_mm.best == pytest.approx(50.8, rel=0.15)


@pytest.mark.parametrize(
    ("quality", "pile_height", "low", "high"),
    # nepalcarpet.org, quality of carpets, gives kg a square metre, gross with the cotton. It does not give pile
    # heights; coarser qualities have a higher pile (common practice). Everything else is the default.
    [("60 knot", "13 mm", 4.5, 5.0), ("80 knot", "10 mm", 3.5, 4.25), ("100 knot", "8 mm", 2.5, 3.5)],
)
def test_published_masses_by_area(quality: str, pile_height: str, low: float, high: float) -> None:
    rug = Rug(size="100x100 cm", density=f"{quality} tibetan", knot="looped", pile=pile_height)
    pile = one_yarn(rug, rug.knots)
    foundation = foundation_of(rug, Workshop(loom=Loom(fringe="0 cm", kilim="0 cm", loom_waste="0 cm")))
    kg = (pile.mass_g.best + foundation.warp_mass_g + foundation.weft_mass_g.best) / 1000
    assert low <= kg <= high


def test_a_weighed_sample_overrides_the_model() -> None:
    # 100 knots that were unpicked weigh 3.1 g, which is 31 g a thousand; in proportion 768,000 knots weigh 23.808 kg.
    rug = make_rug(40, 50)
    pile = one_yarn(rug, 768_000, grams_per_1000_knots=31, yarn="Nm 2", waste=0)
    assert pile.mass_g.best == pytest.approx(23_808)
    assert pile.yarns[0].length_per_knot_mm.best == pytest.approx(62)  # 31 mg a knot at 2 m a gram
    assert pile.length_m.best == pytest.approx(23_808 * 2)


def test_waste_is_a_share_of_the_yarn_that_is_issued() -> None:
    pile = one_yarn(make_rug(40, 50), 1000, length_per_knot="50 mm", yarn="tex 400", waste="20%")
    assert pile.net_mass_g.best == pytest.approx(20)
    assert pile.mass_g.best == pytest.approx(25)


def test_fibres_counts_heights_and_strands_are_those_of_each_yarn() -> None:
    wool, silk = make_yarn(0, (1, 2, 3)), make_yarn(1, (9, 9, 9))
    silk = Yarn(silk.code, silk.name, silk.srgb, silk.lab, "silk", _count("Nm 10 x2"))
    workshop = Workshop(
        pile=Pile(yarn="Nm 5 x2", strands=2, cut="8 mm", heights={"Y001": "11 mm"}, length_per_knot="40 mm")
    )
    pile = pile_figures((wool, silk), np.array([1000, 1000]), make_rug(40, 50, "30x30 per dm"), workshop)
    plain, raised = pile.yarns
    assert (plain.cut_mm, raised.cut_mm) == (8, 11)
    assert plain.length_per_knot_mm.best == pytest.approx(40)
    assert raised.length_per_knot_mm.best == pytest.approx(46)  # both ends are 3 mm longer
    assert plain.net_length_m.best == pytest.approx(80)  # this knot has two strands
    assert raised.net_mass_g.best == pytest.approx(92 * 0.2)


def _count(text: str) -> Any:
    from chartmaker.ground.units import parse_yarn_count

    return parse_yarn_count(text)


@pytest.mark.parametrize("pile", [{}, {"length_per_knot": "44 mm"}, {"grams_per_1000_knots": 20}])
@given(knots=st.integers(1, 10_000_000))
def test_twice_the_knots_take_twice_the_yarn(pile: dict[str, Any], knots: int) -> None:
    rug = make_rug(40, 50)
    once, twice = one_yarn(rug, knots, **pile), one_yarn(rug, 2 * knots, **pile)
    assert twice.length_m.best == pytest.approx(2 * once.length_m.best)
    assert twice.mass_g.high == pytest.approx(2 * once.mass_g.high)


@pytest.mark.parametrize(
    ("pile", "length_spread", "mass_spread"),
    [
        ({}, 0.20, 0.45),
        ({"yarn": "Nm 5 x2"}, 0.20, 0.20),
        ({"yarn": "Nm 5 x2", "length_per_knot": "44 mm"}, 0.05, 0.05),
        ({"length_per_knot": "44 mm", "spread": "2%"}, 0.02, 0.27),
        ({"grams_per_1000_knots": 20}, 0.30, 0.05),
    ],
)
def test_each_thing_that_is_measured_narrows_the_range(
    pile: dict[str, Any], length_spread: float, mass_spread: float
) -> None:
    knot = knot_length(make_yarn(0, (1, 2, 3)), make_rug(40, 50), Workshop(pile=Pile(**pile)))
    assert knot.length_factor.high == pytest.approx(1 + length_spread)
    assert knot.mass_factor.high == pytest.approx(1 + mass_spread)
    line = one_yarn(make_rug(40, 50), 1000, **pile).yarns[0]
    assert line.mass_g.high == pytest.approx(line.mass_g.best * (1 + mass_spread))
    assert line.mass_g.low == pytest.approx(line.mass_g.best * (1 - mass_spread))


def test_every_default_is_listed_and_nothing_that_was_given() -> None:
    rug = make_rug(40, 50)
    assert {a.key for a in one_yarn(rug, 9).assumptions} == {
        "[pile] yarn",
        "fibre on the card",
        "[pile] cut",
        "[rug] pile",
        "[rug] knot",
        "[pile] strands",
        "[pile] waste",
    }
    rug = make_rug(40, 50, pile="8 mm", knot="asymmetric, open left")
    told = one_yarn(rug, 9, yarn="Nm 5 x2", cut="9 mm", strands=1, waste=0.15).assumptions
    assert {a.key for a in told} == {"fibre on the card"}
    high = one_yarn(make_rug(40, 50, pile="12 mm"), 9)
    # 12 x 1.15, rounded up to half a mm
    assert [a.value for a in high.assumptions if a.key == "[pile] cut"] == ["14 mm"]
    assert (high.yarns[0].cut_mm, high.yarns[0].pile_mm) == (14, 12)


@pytest.mark.parametrize(
    ("pile", "technique", "length", "spread"),
    [
        ({}, "knotted", "warp pitch", "20 % either way, because the knot is not"),
        ({"length_per_knot": "4 cm"}, "knotted", "as measured", "5 % either way for a measured knot"),
        ({"grams_per_1000_knots": 9, "spread": "3%"}, "knotted", "weighed sample", "[pile] spread, 3 % either way"),
    ],
)
def test_length_and_range_say_how_they_were_calculated(
    pile: dict[str, Any], technique: str, length: str, spread: str
) -> None:
    reached = {r.what: r.how for r in one_yarn(make_rug(40, 50, technique=technique), 9, **pile).reached}
    assert length in reached.get("length per knot", reached.get("length per tuft", ""))
    assert reached["range of yarn"].removeprefix("length ").startswith(spread)
    assert reached["range of yarn"].endswith("; 25 % more in mass for a yarn without a count")


def test_impossible_piles_are_refused_by_their_key() -> None:
    rug = make_rug(40, 50, "9/60 indian")
    with pytest.raises(RugError, match=r"\[pile\] yarn: .*thick"):
        one_yarn(rug, 9, yarn="tex 3000")
    with pytest.raises(RugError, match=r"\[pile\] yarn: .*thick"):
        one_yarn(rug, 9, yarn="tex 1000", strands=3)
    with pytest.raises(RugError, match=r"\[pile\] heights: .*Y000, shorn to 1 mm, leaves nothing"):
        one_yarn(rug, 9, length_per_knot="15 mm", cut="10 mm", heights={"Y000": "1 mm"})
    thick = Yarn("FAT", "Fat", (1, 1, 1), (1, 0, 0), count=_count("tex 4000"))
    with pytest.raises(RugError, match="the count of yarn FAT on the card"):
        pile_figures((thick,), np.array([1]), rug, Workshop())
    with pytest.raises(ValueError, match="give one of length_per_knot, grams_per_1000_knots"):
        Pile(length_per_knot="4 cm", grams_per_1000_knots=9)


def test_a_height_for_a_yarn_that_is_not_tied_is_reported() -> None:
    [finding] = one_yarn(make_rug(40, 50), 9, heights={"NOPE": "4 mm", "Y000": "5 mm"}).findings
    assert finding.what == "A height is given for NOPE, which this map does not tie."
    assert (finding.where, finding.severity) == ("[pile] heights", "note")


def test_a_map_without_a_knot_takes_no_yarn() -> None:
    pile = one_yarn(make_rug(40, 50), 0)
    assert (pile.knots, pile.mass_g.best, pile.yarns[0].share) == (0, 0, 0)


def carded(index: int, fibre: str | None = None, count: str | None = None) -> Yarn:
    return make_yarn(index, (1, 2, index), fibre=fibre, count=None if count is None else _count(count))


def test_each_default_is_listed_with_its_source() -> None:
    # The yarn is scaled from the published costing (Ahrari 1705), and the rest is common practice.
    rug = make_rug(40, 50)
    pile = one_yarn(rug, 9)
    assert [(a.key, a.value, a.why, a.basis) for a in pile.assumptions] == [
        (
            "[pile] yarn",
            pile.yarns[0].count.notation,
            "covers the ground as in a published costing (Ahrari 1705), scaled by the knot's area",
            "estimate",
        ),
        ("fibre on the card", "wool", "most pile is wool", "common practice"),
        ("[pile] cut", "10 mm", "a usual height", "common practice"),
        (
            "[rug] pile",
            "8.5 mm",
            "estimated as [pile] cut divided by 1.15 for shearing, down to the next half millimetre",
            "estimate",
        ),
        (
            "[rug] knot",
            "asymmetric",
            "the knot decides how much yarn it takes; all weavers of a rug tie one knot, open to one side",
            "common practice",
        ),
        ("[pile] strands", "1", "one strand of the yarn with this count", "common practice"),
        (
            "[pile] waste",
            "5 %",
            "clipped ends and handling; with shearing, which is in the cut, 10 to 20 % is usual",
            "estimate",
        ),
    ]
    [cut] = [a for a in one_yarn(make_rug(40, 50, pile="12.5 mm"), 9).assumptions if a.key == "[pile] cut"]
    assert (cut.value, cut.basis) == ("14.5 mm", "estimate")
    assert cut.why == "estimated as [rug] pile and 15 % for shearing, up to the next half millimetre"
    both = one_yarn(make_rug(40, 50, pile="12 mm"), 9, cut="14 mm")  # cut at 14 mm and clipped to 12 mm
    assert both.yarns[0].cut_mm == 14
    assert "[pile] cut" not in {a.key for a in both.assumptions}


def test_a_default_is_listed_where_only_one_of_two_yarns_rests_on_it() -> None:
    def told(*yarns: Yarn, **pile: Any) -> set[str]:
        figures = pile_figures(yarns, np.full(len(yarns), 9), make_rug(40, 50), Workshop(pile=Pile(**pile)))
        return {a.key for a in figures.assumptions} & {"[pile] yarn", "fibre on the card"}

    silk, bare = carded(0, "silk", "tex 200"), carded(1)
    assert told(silk) == set()
    assert told(silk, bare) == {"[pile] yarn", "fibre on the card"}
    assert told(silk, bare, yarn="tex 300") == {"fibre on the card"}


def test_a_yarn_counted_on_the_card_is_not_the_default_yarn() -> None:
    rug, workshop = make_rug(40, 50), Workshop()
    known, unknown = (knot_length(yarn, rug, workshop) for yarn in (carded(0, "wool", "tex 200"), carded(1)))
    assert (known.length_factor.high, known.mass_factor.high) == (pytest.approx(1.20), pytest.approx(1.20))
    assert (unknown.length_factor.high, unknown.mass_factor.high) == (pytest.approx(1.20), pytest.approx(1.45))
    assert known.count == _count("tex 200")


def test_a_knot_looped_over_a_rod_by_hand() -> None:
    # The looped knot goes once round the warp, as the symmetric one does: 2 x 9 + 2 x 1.25 + pi x 1.64045 (diameters as
    # above).
    looped = make_rug(40, 50, "40x50 per dm", knot="looped")
    assert stitch_mm(looped, 9, 500, 400, "wool") == pytest.approx(25.6536, abs=1e-3)


def test_a_knot_is_as_long_as_its_warp_and_all_its_strands_are_thick() -> None:
    # Two strands of 200 tex count as one of 400. The thicknesses are those above: 0.80497 mm of wool at 400 tex and
    # 0.83548 mm of cotton at 500; at four times the tex a warp is twice as thick.
    rug = make_rug(40, 50, "40x50 per dm", knot="symmetric")
    pile = Pile(cut="9 mm", yarn="tex 200", strands=2)
    for warp_tex, warp_mm in ((500, 0.83548), (2000, 1.67096)):
        workshop = Workshop(pile=pile, loom=Loom(warp=f"tex {warp_tex}"))
        knot = knot_length(carded(0, "wool"), rug, workshop)
        assert knot.length_mm == pytest.approx(2 * 9 + 2 * 1.25 + math.pi * (0.80497 + warp_mm), abs=0.0051)
    # A warp that is not given is the one that the loom has by default.
    plain = knot_length(carded(0, "wool"), rug, Workshop(pile=pile)).length_mm
    warp = foundation_of(rug, Workshop()).warp.notation
    assert plain == knot_length(carded(0, "wool"), rug, Workshop(pile=pile, loom=Loom(warp=warp))).length_mm


def test_a_sample_weighed_in_the_main_yarn_gives_the_length_of_every_yarn() -> None:
    # 48 g a thousand knots of two strands of 400 tex are 48 mg / (0.8 mg/mm) = 60 mm. The silk, 200 tex a strand, is as
    # long, but 4 mm shorter where it is cut 2 mm lower: 56 mm x 2 x 0.2 = 22.4 g a thousand.
    pile = Pile(grams_per_1000_knots=48, yarn="tex 400", strands=2, cut="9 mm", heights={"Y001": "7 mm"}, spread="10%")
    yarns = (carded(0), carded(1, "silk", "tex 200"))
    figures = pile_figures(yarns, np.array([3000, 1000]), make_rug(40, 50, "30x30 per dm"), Workshop(pile=pile))
    wool, silk = figures.yarns
    assert (wool.length_per_knot_mm.best, silk.length_per_knot_mm.best) == pytest.approx((60, 56))
    assert (wool.net_mass_g.best, silk.net_mass_g.best) == pytest.approx((144, 22.4))
    assert (silk.length_per_knot_mm.low, silk.length_per_knot_mm.high) == pytest.approx((50.4, 61.6))
    assert (wool.share, silk.share, wool.strands) == (0.75, 0.25, 2)
    # By default 5 % of what is issued is lost beyond the cut (estimate).
    assert (silk.net_length_m.low, silk.net_length_m.best, silk.net_length_m.high) == pytest.approx((100.8, 112, 123.2))
    assert (silk.length_m.low, silk.length_m.best, silk.length_m.high) == (
        pytest.approx((100.8 / 0.95, 112 / 0.95, 123.2 / 0.95))
    )
    assert (silk.mass_g.low, silk.mass_g.high) == pytest.approx((22.4 * 0.9 / 0.95, 22.4 * 1.1 / 0.95))
    assert (figures.knots, figures.net_mass_g.best, figures.length_m.best) == (
        4000,
        pytest.approx(166.4),
        pytest.approx(472 / 0.95),
    )


def test_each_figure_says_how_it_was_calculated() -> None:
    reached = [(r.what, r.how, r.basis) for r in one_yarn(make_rug(40, 50, knot="asymmetric"), 9).reached]
    assert reached == [
        ("knots", "counted on the knot map", "measured here"),
        (
            "length per knot",
            "2 x cut height + 2 x warp pitch + 0.75 x pi x (warp + yarn diameter) for the asymmetric knot, "
            "diameters from count and fibre density at 0.6 packing (Peirce)",
            "estimate",
        ),
        ("net metres", "knots x strands x length per knot, as tied", "arithmetic"),
        ("net grams", "net metres x tex / 1000 (ASTM D2260 counts)", "published"),
        ("with waste, metres and grams", "net / (1 - [pile] waste of 5 %)", "arithmetic"),
        (
            "pile as sheared",
            "net grams x (length per knot - 2 x (cut height - pile height)) / length per knot",
            "arithmetic",
        ),
        (
            "range of yarn",
            "length 20 % either way, because the knot is not measured; 25 % more in mass for a yarn without a count",
            "estimate",
        ),
    ]
    rug = make_rug(40, 50)
    measured = one_yarn(rug, 9, length_per_knot="4 cm").reached[1]
    assert (measured.how, measured.basis) == ("as measured: [pile] length_per_knot", "given")
    weighed = one_yarn(rug, 9, grams_per_1000_knots=20).reached[1]
    assert (weighed.how, weighed.basis) == (
        "the weighed sample ([pile] grams_per_1000_knots) by the count of [pile] yarn",
        "given",
    )
    tuft = one_yarn(make_rug(40, 50, technique="tufted"), 9).reached[1]
    assert (tuft.what, tuft.basis) == ("length per tuft", "estimate")
    assert tuft.how.startswith("200 g per square metre and millimetre x cut height x area of a tuft / tex")


def test_a_cut_that_leaves_no_yarn_in_the_knot_is_refused() -> None:
    # A knot takes 20 mm, cut at 12 mm. At 2 mm both ends are 10 mm shorter, so that nothing is left; at 2.25 mm half a
    # millimetre is left.
    rug, measured = make_rug(40, 50), {"length_per_knot": "20 mm", "cut": "12 mm"}
    [line] = one_yarn(rug, 9, heights={"Y000": "2.25 mm"}, **measured).yarns
    assert line.length_per_knot_mm.best == pytest.approx(0.5)
    with pytest.raises(RugError) as refused:
        one_yarn(rug, 9, heights={"Y000": "2 mm"}, **measured)
    assert str(refused.value) == (
        "[pile] heights: a cut height of 2 mm for yarn Y000, shorn to 2 mm, leaves nothing of the length per "
        "knot; the base cut height is 12 mm"
    )


def test_a_denser_fibre_may_be_heavier() -> None:
    # At 40 x 50 per dm a knot has 5 mm2, so a leg has 2.5 mm2: of wool 1.31 x 0.6 x 2.5 = 1.965 g/m, of cotton 1.52 x
    # 0.6 x 2.5 = 2.28 g/m (fibre densities: Morton and Hearle, from memory; packing: Peirce).
    rug = make_rug(40, 50, "40x50 per dm")
    pile_figures((carded(0, "cotton", "tex 2200"),), np.array([1]), rug, Workshop())
    with pytest.raises(RugError, match="below 1965 tex"):
        pile_figures((carded(0, "wool", "tex 2200"),), np.array([1]), rug, Workshop())


@pytest.mark.parametrize("count", ["tex 0.001", "tex 25000", "Nm 999999"])
def test_a_count_on_the_card_that_no_pile_yarn_has_is_refused(count: str) -> None:
    with pytest.raises(
        RugError, match=r"^the count of yarn Y000 on the card: .* must lie between 5 tex and 20,000 tex"
    ):
        pile_figures((carded(0, "wool", count),), np.array([9]), make_rug(40, 50), Workshop())
