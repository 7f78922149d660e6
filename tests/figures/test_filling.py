"""How much of a knot's place its tufts fill is worked out by hand and held against common figures."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import make_rug, make_yarn

from chartmaker.figures.pile import pile_figures
from chartmaker.ground.units import parse_yarn_count
from chartmaker.order.density import parse_density
from chartmaker.order.workshop import Pile, Workshop
from chartmaker.techniques.yarnsize import USUAL_FILL, default_pile_yarn, fill_of, usual_tex


def remarks(density: str, **pile: Any) -> list[str]:
    yarns = tuple(make_yarn(index, (index, 0, 0)) for index in range(2))
    made = pile_figures(yarns, np.array([9, 9]), make_rug(40, 50, density), Workshop(pile=Pile(**pile)))
    assert all((each.where, each.severity) == ("[pile] yarn", "warning") for each in made.findings)
    return [each.what for each in made.findings]


def test_a_common_figure_of_pile_mass_is_the_usual_fill() -> None:
    # Pile has about 200 g a square metre and millimetre, 179 to 205 (common practice). That is 0.179 to 0.205 g/cm3 of
    # tufts, and wool spun to 0.6 of 1.31 g/cm3 fills 0.228 to 0.261 of the ground. At 40 x 40 per dm a knot has 6.25
    # mm2, and half of it is for each leg.
    density = parse_density("40x40 per dm")
    for g_per_cm3, fill in ((0.179, 0.228), (0.200, 0.254), (0.205, 0.261)):
        tex = g_per_cm3 * 6.25 / 2 * 1000
        assert fill_of(tex, "wool", density) == pytest.approx(fill, abs=5e-4)
    assert usual_tex("wool", density) == pytest.approx(USUAL_FILL * 6.25 / 2 * 0.786 * 1000)


@pytest.mark.parametrize("density", ["7x7 per inch", "9/60 indian", "80 knot tibetan", "16/18 pakistani"])
def test_the_default_yarn_is_never_remarked_on(density: str) -> None:
    assert remarks(density) == []
    assert 0.2 < fill_of(float(default_pile_yarn(parse_density(density)).tex), "wool", parse_density(density)) < 0.3


def test_a_yarn_far_too_thin_is_reported_with_what_to_take() -> None:
    # At 12 x 12 per dm a knot has 69.44 mm2. Nm 5 x2 is 400 tex of wool, 2 x 0.50891 mm2, which fills 1.47 %, told as
    # 1.4. A quarter of 69.44 mm2 in two legs is 8.68 mm2 each, or 6,823 tex: 17 strands.
    [what] = remarks("12x12 per dm", yarn="Nm 5 x2")
    assert what == (
        "All yarns: Nm 5 x2 x 1 at 12x12 per dm fills 1.4 % of a knot's place; 15 to 40 % is usual (an estimate from "
        "a published costing). Grams here are for the yarn as it stands: once [pile] is changed, print all papers "
        "anew. The ground would show: take 17 strands."
    )
    assert remarks("12x12 per dm", yarn="Nm 5 x2", strands=17) == []


def test_a_yarn_a_little_too_thin_is_not_told_as_one_that_fits() -> None:
    """At 36 x 40 per dm the legs take 1.01782 of 6.9444 mm2, or 14.66 %, which was told as 15 % of 15 to 40 %."""
    [what] = remarks("36x40 per dm", yarn="Nm 5 x2")
    assert "fills 14.6 % of a knot's place; 15 to 40 % is usual" in what


def test_a_warning_names_every_yarn_that_it_is_about() -> None:
    """Of twelve yarns only six were named once, and nobody knew which others were too thin."""
    counts = [None if number == 4 else "Nm 5 x2" for number in range(12)]
    yarns = tuple(
        replace(make_yarn(number, (number, 0, 0)), count=count and parse_yarn_count(count))
        for number, count in enumerate(counts)
    )
    workshop = Workshop(pile=Pile(yarn="Nm 0.15"))
    made = pile_figures(yarns, np.full(12, 9), make_rug(40, 50, "12x12 per dm"), workshop)
    [finding] = made.findings
    codes = ", ".join(f"Y{number:03}" for number in range(12) if number != 4)
    assert finding.what.startswith(f"{codes}: Nm 5 x2 x 1 at 12x12 per dm fills 1.4 %")
    assert "..." not in finding.what


def test_a_yarn_far_too_thick_is_reported_with_what_to_take() -> None:
    # At 16/18 a knot has 1.5875 x 1.4111 = 2.2401 mm2, and its legs take 1.01782 mm2, or 45 %; a quarter would be 220
    # tex, Nm 4.5.
    [what] = remarks("16/18 pakistani", yarn="Nm 5 x2")
    assert "fills 45.5 % of a knot's place" in what
    assert what.endswith("hardly beat down: take about 220 tex in all (Nm 4.5).")
    [fewer] = remarks("30x30 per dm", yarn="Nm 5 x2", strands=6)
    assert fewer.endswith("hardly beat down: take 3 strands.")
    assert remarks("9/60 indian", yarn="Nm 5 x2") == []
