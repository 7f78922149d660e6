"""The code of an order's amounts, reckoned anew from the recount; which hanks go into which lot is the dye house's."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from typing import Any

from chartmaker.figures.dyeing import DyeOrder
from chartmaker.ground.ranges import Range
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.recount.work import begun


def amounts_code(again: Recount, dye: DyeOrder, cost: Mapping[str, Any] | None) -> str:
    """Return the code that summary and sheets must bear for these amounts, with a `cost` as the summary has it."""
    asked, loom, ground, work = again.workshop.dye, again.workshop.loom, again.ground, again.work
    step_g = float(loom.weigh_g)
    said: list[object] = [_n(asked.allowance * 1e4), _n(float(asked.hank_g) * 1e3)]
    said += [_n(step_g * 1e3), _n(loom.issue_margin * 1e4)]
    for line, order, shade in zip(again.lines, again.orders, dye.shades, strict=True):
        stock = "-" if line.yarn.stock_g is None else _n(line.yarn.stock_g)
        said += [line.yarn.code, *_three(line.mass_g), _n(line.length_m.best), _n(line.net_mass_g.best)]
        said += [int(order.undyed), _n(order.wanted_g), stock, order.hanks]
        for lot in shade.lots:
            said += [lot.hanks, _n(lot.liquor_l), "-" if lot.vessel is None else lot.vessel.name]
    said += [ground.warp_ends, _n(ground.warp_length_m), _n(ground.warp_mass_g / 10), *_three(ground.weft_length_m)]
    said += [*_three(ground.weft_mass_g.times(0.1)), _n(ground.backing_cloth_m2 * 100)]
    for held_g in (each.in_rug_g for each in ground.materials):
        said += [] if held_g is None else _three(held_g.times(0.1))
    said += [work.weavers, *(_n(begun(days)) for days in (work.days.low, work.days.best, work.days.high))]
    for rows, bundles_g in zip(again.bundles.sections, again.bundles.weighed(step_g, again.orders), strict=True):
        said += [rows.start, rows.stop, *map(_n, (bundles_g / step_g).ravel().tolist())]
    if cost is not None:
        amounts = [part["amount"] for part in cost["parts"]]
        said += [cost["currency"], *("-" if each is None else _n(each["best"] * 100) for each in amounts)]
    return hashlib.sha256("\n".join(map(str, said)).encode("utf-8")).hexdigest()[:6]


def _n(value: float) -> int:
    """Return the nearest whole number, halves up; what falls short of a half by a millionth counts as one."""
    return math.floor(value + 0.500001)


def _three(value: Range) -> list[int]:
    return [_n(value.low), _n(value.best), _n(value.high)]
