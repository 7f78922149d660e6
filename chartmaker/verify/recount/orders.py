"""What is dyed, bought and handed out, reckoned anew in whole hanks of each shade and in each weaver's bundles."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.dyeing import DyeOrder, Shade
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Dye, Loom, Workshop
from chartmaker.verify.recount.pile import Line

#: Grams in an ounce (NIST Handbook 44, appendix C).
OUNCE_G = 28.349523125
#: Litres of liquor for a kilogram in an open pot (caroun.com, Garous weaving, part 9).
OPEN_POT = 40.0


@dataclass(frozen=True)
class Order:
    """What is ordered of one yarn; `need_g` is the upper end with waste, and `wanted_g` adds the allowance.

    The sections from `change` on, counted from 0, are tied of a new lot and take `later_g`, those before it of the
    stock.
    """

    need_g: float
    wanted_g: float
    stock_g: float
    hanks: int
    order_g: float
    undyed: bool
    change: int | None = None
    later_g: float = 0.0


def orders_of(lines: Sequence[Line], bundles: Bundles, workshop: Workshop) -> tuple[Order, ...]:
    """Return what is ordered of each yarn, in whole hanks: the need with its allowance, less the stock.

    A new lot that follows the stock is enough for the sections that are tied of it, and for their bundles.
    """
    dye, steps_g = workshop.dye, steps_of(workshop.loom)
    found = []
    for line, own_g in zip(lines, np.moveaxis(bundles.need_g, 2, 0), strict=True):
        need, stock = line.mass_g.high, line.yarn.stock_g or 0.0
        wanted = need * (1 + dye.allowance)
        short, change, later = wanted - stock, None, 0.0
        first = min(_first_short(own_g, stock, step_g) for step_g in steps_g)
        if short > 0 and first < len(own_g) and own_g[:first].any():
            change, later_g = first, own_g[first:]
            handed = (math.fsum(_rounded_up(each, step_g) for each in later_g.sum(axis=0)) for step_g in steps_g)
            later = max(wanted * math.fsum(later_g.flat) / math.fsum(own_g.flat), *handed)
            short = max(short, later)
        hanks = max(math.ceil(short / float(dye.hank_g) - 1e-9), 0)
        undyed = line.yarn.code in dye.undyed
        found.append(Order(need, wanted, stock, hanks, hanks * float(dye.hank_g), undyed, change, later))
    return tuple(found)


def steps_of(loom: Loom) -> tuple[float, ...]:
    """Return the steps in which bundles may be weighed: that of the loom, or 5 g or a quarter of an ounce."""
    return (float(loom.weigh_g),) if "weigh_g" in loom.model_fields_set else (float(loom.weigh_g), OUNCE_G / 4)


def _rounded_up(grams: float, step_g: float) -> float:
    return math.ceil(grams / step_g - 1e-9) * step_g


def _first_short(own_g: NDArray[np.float64], stock_g: float, step_g: float) -> int:
    """Return the first section by whose end more than the stock is handed out, or how many there are.

    A weaver has been handed out the needs so far in whole steps; `own_g` has the shape (sections, weavers).
    """
    for section, needed in enumerate(own_g.cumsum(axis=0)):
        if math.fsum(_rounded_up(grams, step_g) for grams in needed) > stock_g + 1e-6:
            return section
    return len(own_g)


def lot_faults(order: DyeOrder, wanted: Sequence[Order], dye: Dye) -> Iterator[str]:
    """Yield how the lots of an order break its rules; which hanks go into which lot is left to the dye house.

    The lots of a shade hold all its hanks and no more. Each lot fits its vessel with its liquor. There are as few lots
    as the largest vessel allows, or one more where every lot then has at least its vessel's least.
    """
    for shade, own in zip(order.shades, wanted, strict=True):
        if shade.undyed or not own.hanks:
            if shade.lots:
                yield say("{code} has lots, but nothing of it is dyed", code=shade.yarn.code)
            continue
        if sum(lot.hanks for lot in shade.lots) != own.hanks:
            yield say("the lots of {code} do not hold {hanks} hanks", code=shade.yarn.code, hanks=own.hanks)
        if any(_is_wrong(shade, number, dye) for number in range(len(shade.lots))):
            yield say("a lot of {code} does not fit its vessel", code=shade.yarn.code)
        room = math.floor(max((float(each.holds_g) for each in dye.vessels), default=own.order_g) / float(dye.hank_g))
        fewest = math.ceil(own.hanks / max(room, 1))
        if len(shade.lots) > fewest + 1:
            yield say("{code} is dyed in more lots than it needs", code=shade.yarn.code)


def _is_wrong(shade: Shade, number: int, dye: Dye) -> bool:
    lot = shade.lots[number]
    ratio = OPEN_POT if lot.vessel is None else float(lot.vessel.liquor_ratio)
    right = math.isclose(lot.mass_g, lot.hanks * float(dye.hank_g)) and lot.hanks > 0
    right &= math.isclose(lot.liquor_l, lot.mass_g / 1000 * ratio)
    right &= (lot.vessel is None) == (not dye.vessels) and (lot.vessel is None or lot.vessel in dye.vessels)
    return not right or (lot.vessel is not None and lot.mass_g > float(lot.vessel.holds_g) + 1e-6)


@dataclass(frozen=True, eq=False)
class Bundles:
    """The grams that each weaver needs, shape (sections, weavers, yarns), and the columns of each weaver."""

    seats: tuple[range, ...]
    sections: tuple[range, ...]
    need_g: NDArray[np.float64]

    def weighed(self, step_g: float, orders: Sequence[Order]) -> NDArray[np.float64]:
        """Return the bundles in whole steps, so that a weaver always has what the sections so far need.

        What is left of a bundle counts towards the next one, so that no bundle is more than a step too large; but not
        where a new lot begins.
        """
        bundles, had = np.zeros_like(self.need_g), np.zeros(self.need_g.shape[1:])
        needed = had.copy()
        for section, grams in enumerate(self.need_g):
            new = [order.change == section for order in orders]
            needed[:, new] = had[:, new] = 0.0
            needed += grams
            due = np.ceil(needed / step_g - 1e-9) * step_g
            bundles[section], had = due - had, due
        return bundles


def bundles_of(
    knot_map: KnotMap, workshop: Workshop, lines: Sequence[Line], seats: tuple[range, ...], sections: Sequence[range]
) -> Bundles:
    """Return what each weaver needs for each section; the weavers at the sides also bind the edges, row by row."""
    need = np.zeros((len(sections), len(seats), len(lines)))
    gross = (1 + workshop.loom.issue_margin) / (1 - workshop.pile.waste)
    grams = np.array([float(line.count.tex) / 1000 * gross for line in lines])
    knot_g = np.array([line.length_per_knot_mm.best * line.strands / 1000 for line in lines]) * grams
    bound_g = np.array([line.binding_m for line in lines]) * grams
    for number, rows in enumerate(sections):
        for weaver, columns in enumerate(seats):
            cells = knot_map.knots[rows.start : rows.stop, columns.start : columns.stop]
            tied = np.array([np.count_nonzero(cells == index) for index in range(len(lines))])
            sides = (weaver == 0) + (weaver == len(seats) - 1)
            need[number, weaver] = tied * knot_g + bound_g * sides / 2 * len(rows) / knot_map.rows
    return Bundles(seats, tuple(sections), need)
