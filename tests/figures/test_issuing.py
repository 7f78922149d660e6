"""Bundles add up to the rug's yarn exactly."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, knot_maps, make_map, make_rug, settled

from chartmaker.figures.issuing import Bundles, bundles_of, stretch_rows
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import RugError
from chartmaker.ground.measures import Unit
from chartmaker.order.workshop import Chart, Loom, Pile, Workshop
from chartmaker.reports.records.figures import yarn_dicts


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 4), st.sampled_from(["5 mm", "3 cm", "12 cm"]))
def test_bundles_add_up_over_strips_and_stretches(knot_map: SettledMap, strips: int, stretch: str) -> None:
    loom = Loom(stretch=stretch) if knot_map.rug.woven_length_mm >= 120 else Loom()
    workshop = Workshop(loom=loom, chart=Chart(strips=strips))
    figures = figures_of(*settled(SettledMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop)))
    issue, entries = figures.issue, yarn_dicts(figures.pile)
    assert (issue.knots.sum(axis=(0, 1)) == knot_map.counts).all()
    for key, values in (("mass_g", issue.bundles.mass), ("length_m", issue.bundles.length)):
        for index, entry in enumerate(entries):
            tenths = sum(Decimal(str(v)) for v in values[:, :, index].ravel().tolist())
            assert tenths == Decimal(str(entry[key]))
        whole = getattr(figures.pile, key).best
        assert abs(sum(Decimal(str(entry[key])) for entry in entries) - Decimal(str(whole))) <= Decimal("0.0500001")
    assert (issue.bundles.mass[issue.knots == 0] == 0).all()


def test_bundles_follow_the_knots() -> None:
    cells = np.zeros((100, 40), dtype=int)
    cells[:, 20:] = 1
    cells[50:, 20:] = 2
    workshop = Workshop(loom=Loom(stretch="10 cm"), chart=Chart(strips=2))
    issue = figures_of(*settled(make_map(cells, make_rug(40, 100, "40x50 per dm"), workshop))).issue
    assert issue.knots.tolist() == [[[1000, 0, 0], [0, 1000, 0]], [[1000, 0, 0], [0, 0, 1000]]]
    assert issue.stretches == (range(50), range(50, 100))
    assert issue.strips == (range(20), range(20, 40))
    assert issue.bundles.mass[0, 0, 0] == pytest.approx(issue.bundles.mass[1, 0, 0], abs=0.11)


def test_a_stretch_is_whole_rows_within_the_rug() -> None:
    rug = make_rug(40, 50, "40x50 per dm")  # 10 cm long
    assert stretch_rows(rug, Loom(stretch="5.1 cm")) == 25
    assert stretch_rows(rug, Loom(stretch="1 mm")) == 1
    assert stretch_rows(rug, Loom()) == 50  # the default is longer than this rug
    assert stretch_rows(rug, Loom(stretch="10 cm")) == 50  # just as long as the rug
    with pytest.raises(RugError, match=r"\[loom\] stretch: a stretch of 11 cm is longer than the rug, which has 10 cm"):
        stretch_rows(rug, Loom(stretch="11 cm"))


def test_bundles_in_pounds_and_yards_add_up_to_the_rounded_totals() -> None:
    # 1 lb is 453.59237 g, 1 yd 0.9144 m exactly (NIST Handbook 44, appendix C); here in ounces to two decimals.
    cells = np.arange(4000).reshape(100, 40) % 3
    workshop = Workshop(pile=Pile(yarn="tex 4000", cut="20 mm"), chart=Chart(strips=2))
    figures = figures_of(*settled(make_map(cells, make_rug(40, 100, "20x20 per dm"), workshop)))
    ounce, yard = Unit("oz", 453.59237 / 16, 2), Unit("yd", 0.9144, 1)
    bundles = bundles_of(figures.issue.knots, figures.pile, ounce, yard)
    for index, line in enumerate(figures.pile.yarns):
        assert bundles.mass[..., index].sum() == pytest.approx(line.mass_g.best / 28.349523125, abs=0.0101)
        assert bundles.length[..., index].sum() == pytest.approx(line.length_m.best / 0.9144, abs=0.101)
    for values, decimals in ((bundles.mass, 2), (bundles.length, 1)):
        np.testing.assert_allclose(values, values.round(decimals), atol=1e-12)
    assert (bundles.mass != bundles.mass.round(1)).any()


def test_bundles_taken_or_summed_stay_of_one_piece() -> None:
    numbers = np.arange(24).reshape(2, 3, 4)
    bundles = Bundles(numbers, np.multiply(numbers, 10, dtype=np.float64), np.multiply(numbers, 100, dtype=np.float64))
    for part, knots in (
        (bundles.take(1), numbers[1]),
        (bundles.take((slice(None), 2)), numbers[:, 2]),
        (bundles.sum(0), numbers[0] + numbers[1]),
        (bundles.sum(axis=1), numbers[:, 0] + numbers[:, 1] + numbers[:, 2]),
    ):
        assert part.knots.tolist() == knots.tolist()
        assert part.mass.tolist() == (knots * 10.0).tolist()
        assert part.length.tolist() == (knots * 100.0).tolist()
