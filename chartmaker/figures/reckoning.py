"""Every figure of a knot map in one frozen value."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from chartmaker.figures.amounts import amounts_code
from chartmaker.figures.binding import Binding, binding_of
from chartmaker.figures.bundles import lot_changes, needs_of
from chartmaker.figures.cost import CostFigures, cost_of
from chartmaker.figures.dyeing import DyeOrder, dye_order_of
from chartmaker.figures.issuing import Issue, issue_of, section_rows
from chartmaker.figures.labour import Labour, days_for, labour_of
from chartmaker.figures.pile import PileFigures, pile_figures
from chartmaker.figures.tally import bands_of, runs_by_row, tally
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.measures import METRIC, Unit
from chartmaker.ground.ranges import Range, total
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.outline import inside_by_row
from chartmaker.knots.strips import strips_of
from chartmaker.order.bounds import odd_values
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of, hands_of
from chartmaker.techniques.foundation import Foundation


@dataclass(frozen=True, eq=False)
class Figures:
    """What `workshop` must buy, dye, wind and plan for `knot_map`; `cost` is None if no price is given.

    `area_m2` is the area of the finished rug inside its outline.
    """

    knot_map: KnotMap
    workshop: Workshop
    pile: PileFigures
    foundation: Foundation
    dye: DyeOrder
    labour: Labour
    issue: Issue
    cost: CostFigures | None
    binding: Binding
    area_m2: float

    @cached_property
    def amounts_code(self) -> str:
        """The code of the order's amounts, which its sheets bear beside the map code."""
        return amounts_code(self.pile, self.foundation, self.dye, self.labour, self.issue, self.cost)

    @cached_property
    def reached(self) -> tuple[Reached, ...]:
        """How each figure was reached."""
        cost = () if self.cost is None else self.cost.reached
        return (
            self.pile.reached
            + self.binding.reached
            + self.foundation.reached
            + self.dye.reached
            + self.labour.reached
            + self.issue.reached
            + cost
        )

    @cached_property
    def assumptions(self) -> tuple[Assumption, ...]:
        """The defaults that the figures rest on."""
        parts = (self.pile, self.binding, self.foundation, self.dye, self.labour, self.issue)
        density = self.knot_map.rug.density
        first = [Assumption("[rug] density", density.notation, density.assumption, "published")]
        return (*(first if density.assumption else []), *(line for part in parts for line in part.assumptions))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the workshop should look at, beginning with quantities that are unusual for a rug."""
        return self.findings_in(self.issue.weigh_g, METRIC.yarn_mass)

    def findings_in(self, step_g: float, mass: Unit) -> tuple[Finding, ...]:
        """Return the findings as `Issue.findings_in` does those on bundles, which come last."""
        parts = (self.pile, self.foundation, self.dye, self.labour)
        odd = odd_values({"rug": self.knot_map.rug, **dict(self.workshop)})
        return (*odd, *(each for part in parts for each in part.findings), *self.issue.findings_in(step_g, mass))

    @cached_property
    def weighing(self) -> tuple[Finding, ...]:
        """The warnings that whoever weighs out or dyes yarn must see, because they change what is weighed."""
        odd = odd_values({"rug": self.knot_map.rug, "pile": self.workshop.pile, "loom": self.workshop.loom})
        return (*odd, *(finding for finding in self.pile.findings if finding.severity == "warning"))

    @property
    def mass_g(self) -> Range:
        """The mass of the rug with its ends as it leaves the loom, without loom waste and what is cut away."""
        return total((self.foundation.in_rug_g, self.pile.net_mass_g))

    @property
    def sheared_mass_g(self) -> Range:
        """The mass of the rug with its ends once the pile is shorn and carved."""
        return total((self.foundation.in_rug_g, self.pile.sheared_mass_g))

    @property
    def outlined(self) -> bool:
        """Whether the rug has an outline other than a rectangle."""
        return self.knot_map.rug.shape != "rectangle"


def figures_of(knot_map: KnotMap, workshop: Workshop) -> Figures:
    """Return every figure of `knot_map` as `workshop` makes it; prices come from the workshop and the yarns.

    Parameters
    ----------
    knot_map : KnotMap
    workshop : Workshop
        The settings in force for the map; `chartmaker.jobs.read_map` gives both.

    Returns
    -------
    Figures
        Pile, foundation, dye order, time and cost, with ranges and what each figure rests on.

    Raises
    ------
    RugError
        If a key of the rug file makes the rug impossible: a yarn too thick for the density, a rate that
        nobody can keep up, a section longer than the rug, or a missing price.

    Examples
    --------
    >>> found = read_map("knots.png")
    >>> figures = figures_of(found.knot_map, found.workshop)
    >>> figures.labour.weavers, figures.pile.mass_g.low < figures.pile.mass_g.high
    (2, True)
    """
    rug = knot_map.rug
    strips, hands = strips_of(rug, workshop), hands_of(rug, workshop)
    sections = bands_of(rug.rows, section_rows(rug, workshop.loom))
    issues = (range(rug.rows),) if craft_of(rug).by_colour else sections
    binding = binding_of(knot_map, workshop)
    pile = pile_figures(
        knot_map.yarns, knot_map.counts, rug, workshop, {binding.yarn: binding.net_length_m} if binding.reached else {}
    )
    inside = int(inside_by_row(knot_map).sum())
    area_m2 = inside * float(rug.density.knot_width_mm * rug.density.knot_height_mm) / 1e6
    knots = tally(knot_map.knots, issues, hands, len(knot_map.yarns))
    need_g = needs_of(knots, issues, pile, workshop.loom)
    changes = lot_changes(need_g, [yarn.stock_g for yarn in knot_map.yarns], workshop.loom)
    dye = dye_order_of(pile, workshop.dye, changes)
    foundation = craft_of(rug).ground(rug, workshop, inside / rug.knots)
    row_tally = tally(knot_map.knots, bands_of(rug.rows, 1), (range(rug.columns),), len(knot_map.yarns))[:, 0]
    labour = labour_of(knot_map, workshop, sections, row_tally, runs_by_row(knot_map.knots, strips))
    return Figures(
        knot_map=knot_map,
        workshop=workshop,
        pile=pile,
        foundation=foundation,
        dye=dye,
        labour=labour,
        issue=issue_of(issues, hands, knots, need_g, pile, dye, workshop.loom),
        cost=cost_of(area_m2, workshop, pile, foundation, labour),
        binding=binding,
        area_m2=area_m2,
    )


@dataclass(frozen=True)
class Remaining:
    """What is left to do once `finished_row` rows are woven; the masses include the waste."""

    finished_row: int
    rows: int
    knots: int
    days: Range
    pile: PileFigures
    weft_length_m: Range
    weft_mass_g: Range

    @property
    def whole_days(self) -> Range:
        """The days, up to whole ones."""
        return self.days.up()


def remaining_after(figures: Figures, finished_row: int) -> Remaining:
    """Return what is left after `finished_row` rows, counted from 1, the first woven row.

    Parameters
    ----------
    figures : Figures
        As `figures_of` gives them.
    finished_row : int
        The last row that is finished, or 0 if none is.

    Returns
    -------
    Remaining
        The rows, the knots, the days, the pile yarn and the weft.

    Raises
    ------
    RugError
        If the rug has no such row.

    Examples
    --------
    >>> found = read_map("knots.png")
    >>> remaining_after(figures_of(found.knot_map, found.workshop), 60).knots
    960
    """
    knot_map, labour, foundation = figures.knot_map, figures.labour, figures.foundation
    if not 0 <= finished_row <= knot_map.rows:
        message = say("this rug has no row {row}; give 0 to {rows}", row=finished_row, rows=knot_map.rows)
        raise RugError(message, where="--finished-row")
    left = range(finished_row, knot_map.rows)
    counts = tally(knot_map.knots, (left,), (range(knot_map.columns),), len(knot_map.yarns))[0, 0]
    share = len(left) / knot_map.rows
    binding = {figures.binding.yarn: figures.binding.net_length_m * share} if figures.binding.reached else {}
    return Remaining(
        finished_row=finished_row,
        rows=len(left),
        knots=int(counts.sum()),
        days=days_for(int(counts.sum()), labour.weavers, labour.knots_per_weaver_day),
        pile=pile_figures(knot_map.yarns, np.asarray(counts), knot_map.rug, figures.workshop, binding),
        weft_length_m=foundation.weft_length_m.times(share),
        weft_mass_g=foundation.weft_mass_g.times(share),
    )
