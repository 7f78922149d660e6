"""Warp and weft against published warpings, handweaving examples."""

from __future__ import annotations

import pytest
from making import make_rug

from chartmaker.figures.foundation import foundation_of, on_the_loom, warp_end_m, weft_length_m
from chartmaker.rug import Rug
from chartmaker.units import INCH_MM, YARD_MM
from chartmaker.workshop import Loom, Workshop


def test_the_published_warping_of_40_raj() -> None:
    # Ahrari, iran-carpet.com 1726 and 1804: 640 knots across, 1,280 ends of three-ply Nm 8 wool, 2 m long: 960 g.
    # 1726 also: the warp is the rug's length and up to 60 cm, here 156 + 44 cm.
    rug = Rug(size="104x156 cm", density="40 raj (6.5 cm)")
    loom = Loom(selvedge=0, warp="Nm 8 x3", fringe="10 cm", loom_waste="24 cm")
    foundation = foundation_of(rug, Workshop(loom=loom))
    assert foundation.warp_ends == 1_280
    assert foundation.warp_end_m == pytest.approx(2.0)
    assert foundation.warp_length_m == pytest.approx(2_560)
    assert foundation.warp_mass_g == pytest.approx(960)


def test_default_warp_takes_the_published_sixty_centimetres() -> None:
    # Ahrari 1726: "up to 60 cm" more than the rug.
    assert warp_end_m(1_560, Loom()) == pytest.approx(2.16)


def test_the_published_weft_corrected() -> None:
    # Ahrari 1819 counts 1,440 rows where 156 cm at 40 raj of 6.5 cm is 960 (an arithmetic slip in the source). With
    # 960 rows at 1.2 m: 1,152 m; cotton Ne 10 twelve-ply: 816 g (590.541 x 12 / 10 tex).
    rug = Rug(size="104x156 cm", density="40 raj (6.5 cm)")
    take_up = 1.2 / 1.04 - 1
    foundation = foundation_of(rug, Workshop(loom=Loom(weft="Ne 10 x12", picks=1, take_up=take_up)))
    assert foundation.weft_rows == 960
    assert foundation.weft_length_m.best == pytest.approx(1_152)
    assert foundation.weft_mass_g.best == pytest.approx(816, abs=1)
    assert foundation.weft_length_m.low == foundation.weft_length_m.high  # given, so no range


def test_published_shrinkage_examples() -> None:
    # cnch.org, p=13821: finished 10 inch at 20 % is woven 12.5 inch, not 12. The same page: 8 inch wide, 20 picks an
    # inch, 65 inch long take 288.9 yards; with 10 % 317.8 yards.
    assert on_the_loom(10, 0.20) == pytest.approx(12.5)
    wide_mm, yard_m = 8 * float(INCH_MM), float(YARD_MM) / 1000
    assert weft_length_m(20 * 65, 1, wide_mm, 0) / yard_m == pytest.approx(288.9, abs=0.05)
    assert weft_length_m(20 * 65, 1, wide_mm, 0.10) / yard_m == pytest.approx(317.8, abs=0.05)


def test_the_rug_is_set_wider_and_longer_for_what_it_loses() -> None:
    rug = make_rug(400, 500, "40x50 per dm")  # 100 x 100 cm
    foundation = foundation_of(rug, Workshop(loom=Loom(shrinkage_across="2%", shrinkage_along="-1%")))
    assert foundation.loom_width_mm == pytest.approx(1000 / 0.98)
    assert foundation.loom_length_mm == pytest.approx(1000 / 1.01)
    assert foundation.warp_pitch_mm == pytest.approx(1.25 / 0.98)
    assert foundation.knots_across_per_dm == pytest.approx(40 * 0.98)
    assert foundation.rows_per_dm == pytest.approx(50 * 1.01)


def test_an_unknown_take_up_gives_the_published_range() -> None:
    foundation = foundation_of(make_rug(400, 500), Workshop())
    one_m = 500 * 2 * 1.0
    weft = foundation.weft_length_m
    assert (weft.low, weft.best, weft.high) == pytest.approx((one_m * 1.10, one_m * 1.125, one_m * 1.15))
    assert foundation.warp_ends == 2 * 400 + 8


def test_every_default_is_told_and_nothing_that_was_given() -> None:
    names = ["warp", "weft", "picks", "take_up", "selvedge", "fringe", "loom_waste"]
    names += ["shrinkage_across", "shrinkage_along"]
    assert {a.key for a in foundation_of(make_rug(40, 50), Workshop()).assumptions} == {f"[loom] {n}" for n in names}
    given = Loom(
        warp="Ne 10 x9",
        weft="Ne 10 x6",
        picks=2,
        take_up=0.1,
        selvedge=8,
        fringe="8 cm",
        loom_waste="0 cm",
        shrinkage_across=0,
        shrinkage_along="0%",
    )
    assert foundation_of(make_rug(40, 50), Workshop(loom=given)).assumptions == ()


def test_depressed_warps_are_a_finding() -> None:
    rug = make_rug(40, 50, "9/60 indian")
    [finding] = foundation_of(rug, Workshop(loom=Loom(warp="tex 2000"))).findings
    assert "depressed" in finding.what
    assert foundation_of(rug, Workshop(loom=Loom(warp="Ne 10 x9"))).findings == ()
