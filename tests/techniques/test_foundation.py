"""Warp and weft are held against published warpings and against examples from hand weaving."""

from __future__ import annotations

from typing import Any

import pytest
from support.making import make_rug

from chartmaker.ground.errors import RugError
from chartmaker.ground.ranges import Range
from chartmaker.ground.units import INCH_MM, YARD_MM
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.foundation import foundation_of, on_the_loom, weft_length_m


def test_the_published_warping_of_40_raj() -> None:
    # Ahrari, iran-carpet.com 1726 and 1804: 640 knots across have 1,280 ends of three-ply Nm 8 wool, 2 m long: 960 g.
    # By 1726 the warp is as long as the rug and up to 60 cm more, here 156 + 44 cm.
    rug = Rug(size="104x156 cm", density="40 raj (6.5 cm)")
    loom = Loom(selvedge=0, warp="Nm 8 x3", fringe="10 cm", kilim="0 cm", loom_waste="24 cm")
    foundation = foundation_of(rug, Workshop(loom=loom))
    assert foundation.warp_ends == 1_280
    assert foundation.warp_end_m == pytest.approx(2.0)
    assert foundation.warp_length_m == pytest.approx(2_560)
    assert foundation.warp_mass_g == pytest.approx(960)


def test_default_warp_takes_the_published_sixty_centimetres() -> None:
    # Ahrari 1726: the warp is "up to 60 cm" longer than the rug.
    rug = Rug(size="104x156 cm", density="40 raj (6.5 cm)")
    assert foundation_of(rug, Workshop()).warp_end_m == pytest.approx(1.56 + 0.6)


def test_the_published_weft_corrected() -> None:
    # Ahrari 1819 counts 1,440 rows, but 156 cm at 40 raj of 6.5 cm are 960 rows (an arithmetic slip in the source). 960
    # rows at 1.2 m are 1,152 m, and in twelve-ply cotton of Ne 10 816 g (590.541 x 12 / 10 tex).
    rug = Rug(size="104x156 cm", density="40 raj (6.5 cm)")
    take_up = 1.2 / 1.04 - 1
    foundation = foundation_of(rug, Workshop(loom=Loom(weft="Ne 10 x12", picks=1, take_up=take_up, kilim="0 cm")))
    assert foundation.weft_rows == 960
    assert foundation.weft_length_m.best == pytest.approx(1_152)
    assert foundation.weft_mass_g.best == pytest.approx(816, abs=1)
    assert foundation.weft_length_m.low == foundation.weft_length_m.high  # the value is given, so there is no range


def test_published_shrinkage_examples() -> None:
    # cnch.org, p=13821: to be 10 inch finished at 20 % it is woven at 12.5 inch, not 12. On the same page 8 inch wide,
    # 20 picks an inch and 65 inch long take 288.9 yards, and 317.8 yards with 10 %.
    assert on_the_loom(10, 0.20) == pytest.approx(12.5)
    wide_mm, yard_m = 8 * float(INCH_MM), float(YARD_MM) / 1000
    assert weft_length_m(20 * 65, 1, wide_mm, 0) / yard_m == pytest.approx(288.9, abs=0.05)
    assert weft_length_m(20 * 65, 1, wide_mm, 0.10) / yard_m == pytest.approx(317.8, abs=0.05)


def test_the_rug_is_set_wider_and_longer_for_what_it_loses() -> None:
    rug = make_rug(400, 500, "40x50 per dm")  # the rug is 100 x 100 cm
    foundation = foundation_of(rug, Workshop(loom=Loom(shrinkage_across="2%", shrinkage_along="-1%")))
    assert foundation.loom_width_mm == pytest.approx(1000 / 0.98)
    assert foundation.loom_length_mm == pytest.approx(1000 / 1.01)
    assert foundation.warp_pitch_mm == pytest.approx(1.25 / 0.98)
    assert foundation.knots_across_per_dm == pytest.approx(40 * 0.98)
    assert foundation.rows_per_dm == pytest.approx(50 * 1.01)


def test_an_unknown_take_up_gives_the_published_range() -> None:
    foundation = foundation_of(make_rug(400, 500), Workshop(loom=Loom(kilim="0 cm")))
    one_m = 500 * 2 * 1.0
    weft = foundation.weft_length_m
    assert (weft.low, weft.best, weft.high) == pytest.approx((one_m * 1.10, one_m * 1.125, one_m * 1.15))
    assert foundation.warp_ends == 2 * 400 + 8


def test_every_default_is_listed_and_nothing_that_was_given() -> None:
    names = ["warp", "weft", "picks", "take_up", "selvedge", "fringe", "kilim", "loom_waste"]
    names += ["shrinkage_across", "shrinkage_along"]
    assert {a.key for a in foundation_of(make_rug(40, 50), Workshop()).assumptions} == {f"[loom] {n}" for n in names}
    given = Loom(
        warp="Ne 10 x9",
        weft="Ne 10 x6",
        picks=2,
        take_up=0.1,
        selvedge=8,
        fringe="8 cm",
        kilim="3 cm",
        loom_waste="0 cm",
        shrinkage_across=0,
        shrinkage_along="0%",
    )
    assert foundation_of(make_rug(40, 50), Workshop(loom=given)).assumptions == ()


def test_depressed_warps_are_reported() -> None:
    rug = make_rug(40, 50, "9/60 indian")
    [finding] = foundation_of(rug, Workshop(loom=Loom(warp="tex 2000"))).findings
    assert finding.what == "The warp is thicker than its pitch: it needs depressed warps, or a finer yarn."
    assert (finding.where, finding.severity) == ("[loom] warp", "note")
    assert foundation_of(rug, Workshop(loom=Loom(warp="Ne 10 x9"))).findings == ()


def test_each_default_is_listed_with_its_source() -> None:
    # Ahrari 1726: up to 60 cm more warp than rug. A weft takes up 10 to 15 % (published ranges), 12.5 % in the middle.
    # Two passes a row and 8 ends of selvedge are common practice. Yarns are scaled from Ahrari 1726 and 1819
    # (estimate).
    foundation = foundation_of(make_rug(40, 50), Workshop())
    scaled = "fits the density as in a published warping (Ahrari 1726, 1819), scaled"
    sixty = "the warp is up to 60 cm longer than the rug, for fringes, kilim ends and loom waste together (Ahrari 1726)"
    unmeasured = "no loss or gain in washing and stretching is assumed until one is measured on a finished rug"
    assert [(a.key, a.value, a.why, a.basis) for a in foundation.assumptions] == [
        ("[loom] warp", f"cotton, {foundation.warp.notation}", scaled, "estimate"),
        ("[loom] weft", f"cotton, {foundation.weft.notation}", scaled, "estimate"),
        ("[loom] picks", "2", "there are 1 to 4 passes per row, and usually 2", "common practice"),
        ("[loom] take_up", "12.5 %", "the weft bends round the warps, which takes up 10 to 15 %", "published"),
        ("[loom] selvedge", "8 ends", "both edges together", "common practice"),
        ("[loom] fringe", "10 cm each end", sixty, "published"),
        ("[loom] kilim", "2 cm each end", "a flat-woven band that holds the knots at the end", "common practice"),
        ("[loom] loom_waste", "36 cm", sixty, "published"),
        ("[loom] shrinkage_across", "0 %", unmeasured, "estimate"),
        ("[loom] shrinkage_along", "0 %", unmeasured, "estimate"),
    ]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"warp": "Ne 10 x9"}, "warp"),
        ({"weft": "Ne 10 x6"}, "weft"),
        ({"picks": 3}, "picks"),
        ({"take_up": "11%"}, "take_up"),
        ({"selvedge": 4}, "selvedge"),
        ({"fringe": "7 cm"}, "fringe"),
        ({"kilim": "7 cm"}, "kilim"),
        ({"loom_waste": "20 cm"}, "loom_waste"),
        ({"shrinkage_across": "1%"}, "shrinkage_across"),
        ({"shrinkage_along": "1%"}, "shrinkage_along"),
    ],
)
def test_giving_one_key_leaves_the_other_defaults_listed(given: dict[str, Any], told: str) -> None:
    rug = make_rug(40, 50)
    every = {a.key for a in foundation_of(rug, Workshop()).assumptions}
    left = {a.key for a in foundation_of(rug, Workshop(loom=Loom(**given))).assumptions}
    assert every - left == {f"[loom] {told}"}


def test_a_rug_that_shrinks_both_ways_by_hand() -> None:
    # Finished it is 1 m x 1 m, a fifth is lost across and a tenth gained along (on the loom it is shorter): 1.25 m wide
    # and 1 / 1.1 m long. Warp: 2 x 400 + 6 ends of 0.90909 + 2 x 0.12 + 0.3 m in tex 200. Weft: 500 rows of 3 passes
    # over 1.25 m in tex 400, with a take-up of 10, 12.5 and 15 % where it is not given.
    loom = {"warp": "tex 200", "weft": "tex 400", "picks": 3, "selvedge": 6, "fringe": "12 cm"}
    loom |= {"kilim": "0 cm", "loom_waste": "30 cm"}
    shrinkage = {"shrinkage_across": "20%", "shrinkage_along": "-10%"}
    rug = make_rug(400, 500, "40x50 per dm")
    foundation = foundation_of(rug, Workshop(loom=Loom(**loom, **shrinkage)))
    end_m = 1 / 1.1 + 0.24 + 0.3
    assert foundation.warp_ends == 806
    assert foundation.warp_end_m == pytest.approx(end_m)
    assert foundation.warp_length_m == pytest.approx(806 * end_m)
    assert foundation.warp_mass_g == pytest.approx(806 * end_m * 0.2)
    assert (foundation.weft_rows, foundation.picks) == (500, 3)
    metres = [500 * 3 * 1.25 * more for more in (1.10, 1.125, 1.15)]
    assert [foundation.weft_length_m.low, foundation.weft_length_m.best, foundation.weft_length_m.high] == (
        pytest.approx(metres)
    )
    assert [foundation.weft_mass_g.low, foundation.weft_mass_g.best, foundation.weft_mass_g.high] == (
        pytest.approx([0.4 * length_m for length_m in metres])
    )
    assert foundation.backing_cloth_m2 == 0
    given = foundation_of(rug, Workshop(loom=Loom(**loom, **shrinkage, take_up="12%")))
    assert given.weft_length_m == Range.exact(given.weft_length_m.best)
    assert given.weft_length_m.best == pytest.approx(500 * 3 * 1.25 * 1.12)


def test_more_passes_a_row_take_a_finer_weft() -> None:
    # A row is filled alike by one thick pass and by three thin ones (a published weft, Ahrari 1819, scaled), within the
    # rounding of the count to two figures.
    rug = make_rug(400, 500, "40x50 per dm")
    one, three = (foundation_of(rug, Workshop(loom=Loom(picks=picks))).weft for picks in (1, 3))
    assert float(one.tex) == pytest.approx(3 * float(three.tex), rel=0.05)


def test_each_figure_says_how_it_was_calculated() -> None:
    assert [(r.what, r.how, r.basis) for r in foundation_of(make_rug(40, 50), Workshop()).reached] == [
        ("size on the loom", "finished / (1 - shrinkage), each way (cnch.org 13821)", "published"),
        ("warp ends", "2 x knots across + [loom] selvedge (Ahrari 1726)", "published"),
        ("warp length", "ends x (length on the loom + 2 x (fringe + kilim) + loom waste)", "arithmetic"),
        ("weft between knots", "rows x 2 x width on the loom inside the outline x (1 + take-up)", "arithmetic"),
        ("weft of the kilim ends", "2 x kilim / diameter of the weft x width on the loom x (1 + take-up)", "estimate"),
        ("warp and weft mass", "metres x tex / 1000; take-up in plying is left out (ASTM D2260)", "published"),
    ]


def test_yarns_too_thick_for_the_density_are_refused() -> None:
    # 8,000 tex of cotton is 3.3 mm thick (1.52 g/cm3, packed to 0.6), but at 40 x 50 per dm a knot has 2.5 mm and a row
    # 2 mm.
    for yarn, key in ((Loom(warp="tex 8000"), "warp"), (Loom(weft="tex 8000"), "weft")):
        with pytest.raises(RugError, match=rf"^\[loom\] {key}: a {key} of tex 8000 "):
            foundation_of(make_rug(40, 50, "40x50 per dm"), Workshop(loom=yarn))


def test_kilim_ends_by_hand() -> None:
    # 3 cm are woven at each end of a rug 1 m wide, in cotton of 1,000 tex: 1 / (1.52 x 0.6) = 1.09649 mm2, 1.18157 mm
    # thick, so 60 / 1.18157 = 50.78 passes of 1 m x 1.1. Each warp end is 2 x 3 cm longer, here 1 + 0.06 + 0.2 + 0.3 m.
    loom = {"weft": "tex 1000", "warp": "tex 500", "take_up": 0.1, "fringe": "10 cm", "loom_waste": "30 cm"}
    foundation = foundation_of(make_rug(400, 500, "40x50 per dm"), Workshop(loom=Loom(**loom, kilim="3 cm", picks=2)))
    assert foundation.wefts.kilim_m.best == pytest.approx(50.78 * 1.1, rel=1e-4)
    assert foundation.weft_length_m.best == pytest.approx(1100 + 55.858, rel=1e-4)
    assert foundation.weft_mass_g.best == pytest.approx(1155.858, rel=1e-4)
    assert foundation.warp_end_m == pytest.approx(1.56)


def test_a_thick_and_a_thin_weft_by_hand() -> None:
    # 500 rows over 1 m with a take-up of 10 %: of three passes two are thin, 1,100 m of 200 tex, and one is thick, 550
    # m of 1,000 tex.
    loom = {"weft": "tex 1000", "thin_weft": "tex 200", "picks": 3, "thin_picks": 2, "take_up": 0.1, "kilim": "0 cm"}
    foundation = foundation_of(make_rug(400, 500, "40x50 per dm"), Workshop(loom=Loom(**loom)))
    assert (foundation.wefts.knots_m.best, foundation.wefts.thin_m.best) == pytest.approx((1650, 1100))
    assert foundation.thin_mass_g.best == pytest.approx(220)
    assert foundation.weft_mass_g.best == pytest.approx(220 + 550)
    for wrong in ({"thin_picks": 1}, {"thin_weft": "tex 200", "picks": 1, "thin_picks": 2}):
        with pytest.raises(ValueError, match="thin"):
            Loom(**wrong)


def test_a_round_rug_has_plain_ground_outside_and_no_fringe() -> None:
    # Half of the grid lies outside the outline: 500 rows of 0.5 m x 2 passes between the knots, and of 0.5 m x 3 passes
    # outside, where a row of 2 mm is filled by wefts of 0.7 mm (2 / 0.706 = 2.8). Ne 10 x6 is 354.3 tex, 0.703 mm.
    loom = {"weft": "Ne 10 x6", "warp": "tex 500", "take_up": 0, "selvedge": 8, "loom_waste": "30 cm"}
    rug = make_rug(400, 500, "40x50 per dm", shape="ellipse")
    foundation = foundation_of(rug, Workshop(loom=Loom(**loom)), 0.5)
    assert (foundation.wefts.knots_m.best, foundation.wefts.outside_m.best) == pytest.approx((500, 750))
    assert foundation.weft_length_m.best == pytest.approx(1250)
    assert foundation.warp_end_m == pytest.approx(1.3)  # it has neither fringe nor kilim
    # The rug holds what lies between the knots and half of 800 ends of 1 m; selvedge and corners are cut away.
    assert foundation.in_rug_g.best == pytest.approx(500 * 0.3543246 + 800 * 0.5 * 0.5)
    assert {a.key: a.value for a in foundation.assumptions}["[loom] fringe"] == "0 cm each end"
    given = foundation_of(rug, Workshop(loom=Loom(**loom, outside_picks=4)), 0.5)
    assert given.wefts.outside_m.best == pytest.approx(1000)
