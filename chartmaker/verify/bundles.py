"""How much of each yarn is ordered and issued in all, worked out anew."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from chartmaker.figures.pile import YarnPile
from chartmaker.figures.reckoning import Figures
from chartmaker.knots.strips import seats_of
from chartmaker.order.workshop import Workshop
from chartmaker.verify.expected import Expected


def hanks_of(grams: float, hank_g: float) -> int:
    """Return how many hanks it takes for `grams`."""
    return max(math.ceil(grams / hank_g - 1e-9), 0)


def issue_record(expected: Expected, figures: Figures) -> dict[str, Any]:
    """Return what the set must say of the bundles: by weaver, the need of all sections up to whole steps."""
    workshop = figures.workshop
    seats = seats_of(expected.rug, workshop)
    counts = np.array([expected.tally(expected.knots[:, seat.start : seat.stop]) for seat in seats])
    issued_g = [
        sum(_weighed_g(int(counts[weaver, yarn]), line, workshop, sides) for weaver, sides in enumerate(_sides(seats)))
        for yarn, line in enumerate(figures.pile.yarns)
    ]
    return {
        "weigh_g": float(workshop.loom.weigh_g),
        "margin": workshop.loom.issue_margin,
        "sections": len(figures.labour.sections),
        "weavers": [{"first_column": seat.start + 1, "last_column": seat.stop} for seat in seats],
        "yarns": [
            {"code": line.yarn.code, "issued_g": round(grams, 3)}
            for line, grams in zip(figures.pile.yarns, issued_g, strict=True)
        ],
    }


def _sides(seats: tuple[range, ...]) -> list[int]:
    """Return how many sides of the rug each weaver binds."""
    return [(number == 0) + (number == len(seats) - 1) for number in range(len(seats))]


def _weighed_g(knots: int, line: YarnPile, workshop: Workshop, sides: int) -> float:
    """Return what a weaver gets of a yarn for `knots` and for so many of the two sides."""
    metres = knots * line.length_per_knot_mm.best * line.strands / 1000 + line.binding_m * sides / 2
    grams = metres * float(line.count.tex) / 1000 / (1 - workshop.pile.waste) * (1 + workshop.loom.issue_margin)
    step_g = float(workshop.loom.weigh_g)
    return math.ceil(grams / step_g - 1e-9) * step_g
