"""The hand loom's reeds, points and yarn agree with published figures, and what it cannot weave is reported."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.checks.looms import changes_along
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.order.density import parse_density
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Pile, Workshop
from chartmaker.techniques.handloomed import pile_length, reed_ends_per_m


def test_points_by_pitch_and_wires() -> None:
    # Brinton, Carpets (1919): points per square inch are wires x pitch / 27, and 256 pitch with 9 wires has 85.3.
    density = parse_density("256 pitch 9 wires")
    assert float(density.per_square_inch) == pytest.approx(85.3, abs=0.05)
    assert float(density.along_per_inch) == pytest.approx(9)
    assert float(density.across_per_inch) == pytest.approx(256 / 27)


@pytest.mark.parametrize(("reed", "ends"), [(10, 196.85), (12, 236.22)])
def test_reeds_by_their_ends_on_two_inches(reed: float, ends: float) -> None:
    # Common practice: the number of a reed is the number of its ends on 2 inch, or 50.8 mm.
    assert reed_ends_per_m(reed) == pytest.approx(ends, abs=0.005)


def test_pile_yarn_on_a_length_of_cloth() -> None:
    # Our own formula 1 + 2 h r, by hand: with rods of 1 cm, 3 of them on a centimetre, the yarn is 7 times as long as
    # the cloth.
    assert pile_length(10, 0.3) == pytest.approx(7.0)


def woven(**loom: Any) -> Figures:
    rug = make_rug(200, 300, "20x30 per dm", technique="hand-loomed")  # the cloth is 1 m x 1 m
    workshop = Workshop(pile=Pile(cut="10 mm", yarn="Nm 2", waste=0), loom=Loom(**loom))
    return figures_of(*settled(make_map(np.zeros((300, 200)), rug, workshop)))


def test_the_loom_by_hand() -> None:
    # Pile from the warp: 200 ends, each 7 m on the metre of cloth, are 1,400 m, or 700 g of Nm 2.
    assert woven(pile_yarn="warp").pile.net_mass_g.best == pytest.approx(700, rel=1e-3)
    # Pile from the weft: 300 rods with 200 points of 1 cm up and down on the metre take 5 m each, 1,500 m.
    figures = woven(reed=12, selvedge=10, days=6, weavers=2)
    assert figures.pile.net_length_m.best == pytest.approx(1500)
    # 1 m of a reed of 12 has 236 ends, with 10 of selvedge, whatever the points.
    assert figures.foundation.warp_ends == 246
    assert figures.foundation.warp_length_m == pytest.approx(246 * figures.foundation.warp_end_m)
    per_end = figures.foundation.warp_mass_g / figures.foundation.warp_length_m
    assert per_end == pytest.approx(float(figures.foundation.warp.tex) / 1000)
    assert figures.labour.days.best == pytest.approx(6)
    assert "[loom] days" not in {each.key for each in figures.assumptions}
    assert "[loom] days" in {each.key for each in woven().assumptions}


def test_points_that_no_warp_end_holds_are_remarked_on() -> None:
    """1 m of a reed of 10 has 197 ends; a loop laid in with the weft rises between two of them (common practice)."""
    (found,) = (each for each in woven(reed=10).findings if each.where == "[loom] reed")
    assert "200 points" in found.what and "197 ends" in found.what
    assert "at most 19.7 points on 10 cm" in found.what and "a reed of at least 11" in found.what
    for loom in ({"reed": 11}, {"reed": 10, "pile_yarn": "warp"}):
        assert not [each for each in woven(**loom).findings if each.where == "[loom] reed"]


def test_loops_are_not_shorn() -> None:
    rug = make_rug(200, 300, "20x30 per dm", technique="hand-loomed")
    workshop = Workshop(pile=Pile(cut="10 mm", yarn="Nm 2", loops=True))
    figures = figures_of(*settled(make_map(np.zeros((300, 200)), rug, workshop)))
    assert figures.mass_g.best == pytest.approx(figures.sheared_mass_g.best)


def remarks(knots: np.ndarray, **loom: Any) -> list[tuple[str, tuple[Any, ...]]]:
    rug = make_rug(*knots.shape[::-1], technique="hand-loomed")
    found = changes_along(settled(make_map(knots, rug))[0], Workshop(loom=Loom(**loom)))
    return [(finding.severity, finding.places) for finding in found]


def test_a_design_that_no_hand_loom_weaves_is_reported_with_its_place() -> None:
    knots = np.zeros((40, 20))
    knots[10:15] = 1
    assert remarks(knots) == []  # bands can be woven
    assert remarks(knots, pile_yarn="warp") == [("note", ((0, 40, 0, 20),))]  # these would become stripes on it
    knots[20:24, 3:8] = 1  # a figure on plain ground cannot be woven
    assert remarks(knots) == [("note", ((20, 24, 0, 20),))]
    knots[30] = np.arange(20) % 3
    assert remarks(knots) == [("note", ((20, 24, 0, 20),)), ("error", ((30, 31, 0, 20),))]
    # in a knotted rug knots may go anywhere
    assert list(changes_along(settled(make_map(knots, make_rug(20, 40)))[0], Workshop())) == []


def test_a_pitch_gives_a_rug() -> None:
    rug = Rug(size="27x36 in", density="256 pitch 9 wires", technique="hand-loomed")
    assert (rug.columns, rug.rows) == (256, 324)
