"""Tufted rugs have a backing, and a pile whose mass follows from area and height."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.ranges import Range
from chartmaker.order.workshop import Loom, Pile, Workshop
from chartmaker.techniques.crafts import spoken_of
from chartmaker.techniques.tufted import M2_PER_WORKER_DAY, backing_of


def tufted(cut: str, loom: Loom | None = None, **pile: Any) -> Figures:
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")  # the rug is one square metre
    workshop = Workshop(pile=Pile(cut=cut, yarn="Nm 2", waste=0, **pile), loom=loom or Loom())
    return figures_of(*settled(make_map(np.zeros((200, 200)), rug, workshop)))


def test_mass_by_area_and_pile() -> None:
    # Common practice, from three data sheets: 179 to 205 g per square metre and millimetre, of which 200 is taken.
    ten = tufted("10 mm").pile
    assert (ten.mass_g.low, ten.mass_g.best, ten.mass_g.high) == pytest.approx((1790, 2000, 2050))
    assert tufted("20 mm").pile.mass_g.best == pytest.approx(4000)
    # 2,000 g of Nm 2 are 4,000 m, however many strands are wound together on the ball.
    assert ten.length_m.best == pytest.approx(4000)
    three = tufted("10 mm", strands=3).pile
    assert three.length_m.best == pytest.approx(4000, rel=1e-3)
    assert three.yarns[0].length_per_knot_mm.best == pytest.approx(100 / 3, abs=0.01)
    # When nothing is known of the yarn the mass stays as sure as it was, but the metres do not.
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")
    unknown = figures_of(*settled(make_map(np.zeros((200, 200)), rug, Workshop(pile=Pile(cut="10 mm"))))).pile
    assert unknown.net_mass_g.high == pytest.approx(2050, rel=1e-3)
    assert unknown.net_length_m.high / unknown.net_length_m.best == pytest.approx(1.025 * 1.25)


def test_a_weighed_sample_comes_before_the_rule() -> None:
    # This is the dense low rug of the data sheets: 124,000 tufts a square metre, 5 mm, 4.0 kg; the rule would give 1.0
    # kg.
    assert tufted("5 mm").pile.mass_g.best == pytest.approx(1000)
    assert tufted("5 mm", grams_per_m2=4000).pile.mass_g.best == pytest.approx(4000)
    # Half as high it is half as heavy, whether by shears or by the tool.
    line = tufted("10 mm", grams_per_m2=2400, heights={"Y000": "5 mm"}).pile.yarns[0]
    assert line.net_mass_g.best == pytest.approx(1200)


def test_the_rug_holds_cloth_latex_and_second_backing() -> None:
    # About 2.0 kg a square metre come on top of the pile (common practice), for a square metre of rug.
    figures = tufted("10 mm")
    assert figures.mass_g.best == pytest.approx(2000 + 2000)
    assert figures.sheared_mass_g.best == pytest.approx(200 * 8.5 + 2000)  # cut at 10 mm and shorn to 8.5 mm
    given = tufted("10 mm", Loom(cloth_per_m2="250 g", latex_per_m2="1 kg", second_backing_per_m2="0 g"))
    assert given.foundation.in_rug_g == Range.exact(given.foundation.in_rug_g.best)
    assert given.mass_g.best == pytest.approx(2000 + 1250)
    # Latex and second backing lie inside the outline only; an ellipse has pi / 4 of its rectangle.
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted", shape="ellipse")
    assert backing_of(rug, Workshop(), math.pi / 4).in_rug_g.best == pytest.approx(2000 * math.pi / 4)


def test_the_words_for_a_tufted_rug_speak_of_tufts() -> None:
    from chartmaker.reports.tables import tables_of

    figures = tufted("10 mm", heights={"NOPE": "4 mm"})
    with spoken_of(figures.knot_map.rug):
        tables = tables_of(figures)
        words = " ".join(" ".join((t.title, *t.header, *t.notes, *(c for row in t.rows for c in row))) for t in tables)
    assert re.search(r"\bmm per tuft\b", words)
    assert "mass as tufted" in words and "which this map does not tuft" in words
    left = re.sub(r"\[\w+\] \w+|knot maps?", "", words)
    assert not re.search(r"\b(knots?|tied|ties|woven|weavers?|weave)\b", left)


def test_backing_cloth_has_a_margin_all_round() -> None:
    foundation = tufted("10 mm").foundation
    assert foundation.backing_cloth_m2 == pytest.approx(1.3 * 1.3)
    assert (foundation.warp_ends, foundation.warp_mass_g, foundation.weft_mass_g.best) == (0, 0, 0)
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")
    loom = Loom(
        backing_margin="0 cm",
        shrinkage_across=0.01,
        shrinkage_along=0,
        cloth_per_m2="300 g",
        latex_per_m2="1 kg",
        second_backing_per_m2="500 g",
    )
    given = backing_of(rug, Workshop(loom=loom))
    assert given.backing_cloth_m2 == pytest.approx(1 / 0.99)
    assert given.assumptions == ()


def test_the_frame_by_hand() -> None:
    # It is woven 1 m x 2 m, and the cloth gives way by 20 % across and 0 along: 1.25 m in the frame, so that 20 tufts a
    # dm become 16.
    rug = make_rug(200, 400, "20x20 per dm", technique="tufted")
    plain = backing_of(rug, Workshop(loom=Loom(backing_margin="10 cm", shrinkage_across="20%", shrinkage_along="0%")))
    assert (plain.loom_width_mm, plain.loom_length_mm) == pytest.approx((1250, 2000))
    assert (plain.knots_across_per_dm, plain.rows_per_dm) == pytest.approx((16, 20))
    assert plain.backing_cloth_m2 == pytest.approx(1.45 * 2.2, rel=1e-9)
    # There is no warp in it and no weft.
    nothing = (plain.warp_ends, plain.warp_pitch_mm, plain.warp_end_m, plain.warp_length_m, plain.warp_mass_g)
    assert nothing == (0, 0, 0, 0, 0)
    assert (plain.weft_rows, plain.picks) == (0, 0)
    assert (plain.weft_length_m, plain.weft_mass_g) == (Range.exact(0), Range.exact(0))
    # A warp or weft that the rug file gives is kept, otherwise it is the one that a loom would get.
    knotted = figures_of(*settled(make_map(np.zeros((400, 200)), make_rug(200, 400, "20x20 per dm")))).foundation
    assert (plain.warp, plain.weft) == (knotted.warp, knotted.weft)
    given = backing_of(rug, Workshop(loom=Loom(warp="tex 500", weft="tex 1000")))
    assert given.warp.tex == 500
    assert given.weft.tex == 1000


def test_the_common_rate() -> None:
    # Common practice: about ten worker-days for 5 x 8 ft. Since 1959 1 ft is 0.3048 m, so 40 ft2 are 3.7161216 m2.
    assert pytest.approx(0.37161216, rel=1e-9) == M2_PER_WORKER_DAY
