"""A rug of one square metre whose figures can all be worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.order.workshop import Chart, Cost, Dye, Loom, Pile, Workshop
from support.making import SettledMap, make_rug, make_yarn, settled


def worked_example() -> Figures:
    """Return the figures of 100 x 200 knots in three yarns, woven in two strips and two sections.

    A knot takes 2 strands of 50 mm at 400 tex, that is 40 mg, 50 mg with 20 % waste, within 10 %: 20,000 knots take
    2,000 m net, 2,500 m or 1 kg with waste. Rows 1 to 150 have two runs, rows 151 to 200 three, so 2.25 on average.

    On the loom: 1 m / (1 - 20 %) is 1.25 m wide, 1 m long. Warp: 2 x 100 + 10 ends of 1 + 2 x 0.1 + 0.3 = 1.5 m
    are 315 m; at 500 tex 157.5 g, of which a fifth is loom waste. Weft: 200 rows x 2 x 1.25 m x 1.1 = 550 m, 550 g.
    The rug: 800 + 550 + 126 g. Its pile is cut at 8 mm and taken to stand at 8 / 1.15, to the half millimetre below
    6.5 mm: shearing takes 3 of 50 mm, 48 g.

    Two weavers with 5,000 knots each take two days; 15 % either way 1.74 to 2.35. Wages 2 x 2 x 30 = 120.
    """
    cells = np.zeros((200, 100), dtype=np.uint16)
    cells[:, 50:] = 1
    cells[150:, 60:] = 2
    yarns = (
        replace(make_yarn(0, (255, 255, 255)), fibre="silk", stock_g=100.0),
        make_yarn(1, (0, 0, 0)),
        replace(make_yarn(2, (0, 0, 255)), code="C-2", price_per_kg=40.0),
    )
    workshop = Workshop(
        pile=Pile(length_per_knot="50 mm", yarn="tex 400", strands=2, cut="8 mm", waste="20%", spread="10%"),
        loom=Loom(
            weavers=2,
            warp="tex 500",
            weft="tex 1000",
            picks=2,
            take_up="10%",
            selvedge=10,
            fringe="10 cm",
            kilim="0 cm",
            binding="0 cm",
            loom_waste="30 cm",
            shrinkage_across="20%",
            shrinkage_along="0%",
            knots_per_weaver_day=5000,
            hours_per_day=8,
            working_days_per_month=20,
            section="50 cm",
            weigh="100 g",
            issue_margin="10%",
        ),
        dye=Dye(
            allowance="10%",
            hank="100 g",
            vessels=[{"name": "pot", "holds": "300 g", "liquor_ratio": 30}],
            undyed=("C-2",),
        ),
        cost=Cost(
            currency="EUR",
            pile_per_kg=20,
            warp_per_kg=8,
            weft_per_kg=6,
            dyeing_per_kg=4,
            weaving_per_day=30,
            finishing_per_m2=5,
        ),
        chart=Chart(strips=2),
    )
    return figures_of(*settled(SettledMap(cells, yarns, make_rug(100, 200, "10x20 per dm"), workshop)))
