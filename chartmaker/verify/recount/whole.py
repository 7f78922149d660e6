"""Everything about a rug that is reckoned anew, in one value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.ground.ranges import Range, total
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.strips import seats_of, strips_of
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.recount.ground import Ground, ground_of
from chartmaker.verify.recount.orders import Bundles, Order, bundles_of, orders_of
from chartmaker.verify.recount.outline import inside_of
from chartmaker.verify.recount.pile import Line, pile_lines
from chartmaker.verify.recount.work import Work, section_starts, work_of


@dataclass(frozen=True, eq=False)
class Recount:
    """The figures of a rug as `verify` reckons them; `area_m2` is the area inside the outline."""

    knot_map: KnotMap
    workshop: Workshop
    lines: tuple[Line, ...]
    ground: Ground
    work: Work
    orders: tuple[Order, ...]
    bundles: Bundles
    area_m2: float

    def sum_of(self, name: str) -> Range:
        """Return the sum of one figure over all yarns."""
        return total(getattr(line, name) for line in self.lines)

    @property
    def mass_g(self) -> Range:
        """The mass of the rug with its ends, as woven."""
        return total((self.ground.in_rug_g, self.sum_of("net_mass_g")))

    @property
    def sheared_mass_g(self) -> Range:
        """The same mass once the pile is shorn."""
        return total((self.ground.in_rug_g, self.sum_of("sheared_mass_g")))

    @property
    def uneven(self) -> bool:
        """Whether some yarns are cut, or stand, at another height than the rest."""
        return len({(line.cut_mm, line.pile_mm) for line in self.lines}) > 1


def recount_of(knot_map: KnotMap, workshop: Workshop) -> Recount:
    """Return the figures of a map that `workshop` makes, reckoned only from its knots and settings."""
    rug, density = knot_map.rug, knot_map.rug.density
    tied = np.zeros(NO_KNOT + 1, dtype=np.int64)
    for row in range(0, knot_map.rows, 64):
        tied += np.bincount(knot_map.knots[row : row + 64].ravel(), minlength=NO_KNOT + 1)
    lines = pile_lines(knot_map, workshop, tied[: len(knot_map.yarns)].tolist())
    inside = inside_of(knot_map)
    sections, seats = section_starts(rug, workshop.loom), list(seats_of(rug, workshop))
    if craft_of(rug).by_colour:
        sections = [range(rug.rows)]
        if workshop.pattern.side == "back":  # the pattern hangs mirrored, and the first stands at its left
            seats.reverse()
    bundles = bundles_of(knot_map, workshop, lines, tuple(seats), sections)
    return Recount(
        knot_map,
        workshop,
        lines,
        ground_of(rug, workshop, inside / (knot_map.rows * knot_map.columns)),
        work_of(knot_map, workshop, strips_of(rug, workshop)),
        orders_of(lines, bundles, workshop),
        bundles,
        inside * float(density.knot_width_mm * density.knot_height_mm) / 1e6,
    )
