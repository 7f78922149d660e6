"""The cost of a rug is worked out part by part by hand, and is given only where all prices are known."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError
from support.making import SettledMap, make_rug, make_yarn, settled

from chartmaker.figures.cost import CostFigures
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.errors import RugError
from chartmaker.order.workshop import Cost, Dye, Loom, Pile, Workshop


def figures(card: tuple[float | None, float | None] = (None, None), technique: str = "knotted", **cost: Any) -> Figures:
    """Return the figures of a rug of one square metre, half of it in each of two yarns, at 20 mg a knot."""
    rug = make_rug(100, 100, "10x10 per dm", technique=technique)
    cells = np.zeros((100, 100), dtype=np.uint16)
    cells[:, 50:] = 1
    yarns = tuple(replace(make_yarn(i, (i, 0, 0)), price_per_kg=price) for i, price in enumerate(card))
    workshop = Workshop(
        pile=Pile(length_per_knot="50 mm", yarn="tex 400", waste="20%", spread="10%"),
        loom=Loom(weavers=1, knots_per_weaver_day=5000, backing_margin="10 cm", binding="0 cm"),
        dye=Dye(undyed=("Y001",)),
        cost=Cost(**cost),
    )
    return figures_of(*settled(SettledMap(cells, yarns, rug, workshop)))


def parts(cost: CostFigures | None) -> dict[str, float]:
    assert cost is not None
    return {part.what: part.amount.best for part in cost.parts if part.amount is not None}


def test_every_part_by_hand() -> None:
    # 10,000 knots x 20 mg are 200 g net and 250 g with waste; half of that is dyed.
    made = figures(
        pile_per_kg=20,
        warp_per_kg=8,
        weft_per_kg=6,
        dyeing_per_kg=4,
        weaving_per_1000_knots=3,
        finishing_per_m2=5,
        currency="EUR",
    )
    assert made.cost is not None and made.cost.complete
    assert parts(made.cost) == pytest.approx(
        {
            "pile yarn": 5,
            "warp": made.foundation.warp_mass_g * 0.008,
            "weft": made.foundation.weft_mass_g.best * 0.006,
            "dyeing": 0.5,
            "weaving": 30,
            "washing and finishing": 5,
        }
    )
    assert made.cost.total.best == pytest.approx(sum(parts(made.cost).values()))
    assert made.cost.per_m2.best == pytest.approx(made.cost.total.best)  # the rug is one square metre
    # one square foot in square metres, exact by definition
    assert made.cost.per_ft2.best == pytest.approx(made.cost.total.best * 0.09290304)


def test_the_cards_prices_come_first() -> None:
    assert parts(figures((10, None), pile_per_kg=20).cost)["pile yarn"] == pytest.approx(1.25 + 2.5)
    assert parts(figures((10, 0)).cost)["pile yarn"] == pytest.approx(1.25)


def test_weaving_by_the_day_has_the_range_of_the_days() -> None:
    cost = figures(weaving_per_day=30).cost
    assert parts(cost) == {"weaving": pytest.approx(60)}
    assert cost is not None and not cost.complete
    assert cost.total.high == pytest.approx(90)  # These are 2 / 0.85 days, and a day that is begun is paid.


def test_a_tufted_rug_pays_for_its_backing() -> None:
    made = parts(figures(technique="tufted", backing_per_m2=2).cost)
    assert made == {"backing cloth": pytest.approx(1.2 * 1.2 * 2)}


def test_without_prices_in_the_rug_file_there_is_no_cost() -> None:
    assert figures().cost is None
    assert figures((10, None)).cost is None  # prices on the card alone do not ask for the cost


def test_prices_that_are_missing_or_below_zero_are_refused_by_their_key() -> None:
    with pytest.raises(RugError, match=r"\[cost\] pile_per_kg: yarn Y001 has no price"):
        figures((10, None), weft_per_kg=3)
    with pytest.raises(ValidationError, match="pile_per_kg"):
        Cost(pile_per_kg=-1)
    with pytest.raises(ValidationError, match="either weaving_per_1000_knots or weaving_per_day"):
        Cost(weaving_per_1000_knots=1, weaving_per_day=1)
