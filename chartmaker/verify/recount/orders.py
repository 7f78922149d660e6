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
from chartmaker.order.workshop import Dye, Workshop
from chartmaker.verify.recount.pile import Line

#: Litres of liquor for a kilogram in an open pot (caroun.com, Garous weaving, part 9).
OPEN_POT = 40.0


@dataclass(frozen=True)
class Order:
    """What is ordered of one yarn; `need_g` is the upper end with waste, and `wanted_g` adds the allowance."""

    need_g: float
    wanted_g: float
    stock_g: float
    hanks: int
    order_g: float
    undyed: bool


def orders_of(lines: Sequence[Line], dye: Dye) -> tuple[Order, ...]:
    """Return what is ordered of each yarn: the need with its allowance, less the stock, rounded up to whole hanks."""
    found = []
    for line in lines:
        need, stock = line.mass_g.high, line.yarn.stock_g or 0.0
        wanted = need * (1 + dye.allowance)
        hanks = max(math.ceil((wanted - stock) / float(dye.hank_g) - 1e-9), 0)
        undyed = line.yarn.code in dye.undyed
        found.append(Order(need, wanted, stock, hanks, hanks * float(dye.hank_g), undyed))
    return tuple(found)


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
        if not fewest <= len(shade.lots) <= fewest + 1:
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
        where a new lot begins, which is the section that the stock no longer lasts for.
        """
        bundles, had = np.zeros_like(self.need_g), np.zeros(self.need_g.shape[1:])
        needed, issued = had.copy(), np.zeros(len(orders))
        stock = np.array([order.stock_g if order.hanks and order.stock_g > 0 else np.inf for order in orders])
        for section, grams in enumerate(self.need_g):
            needed = needed + grams
            due = np.ceil(needed / step_g - 1e-9) * step_g
            new = (issued + (due - had).sum(axis=0) > stock + 1e-6) & (section > 0)
            new &= issued <= stock + 1e-6
            needed[:, new], had[:, new] = grams[:, new], 0.0
            due = np.ceil(needed / step_g - 1e-9) * step_g
            bundles[section], had = due - had, due
            issued += bundles[section].sum(axis=0)
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
