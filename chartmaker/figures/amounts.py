"""A short code for all the amounts of an order, by which a stale sheet is told from a new one of the same map."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator

from chartmaker.figures.cost import CostFigures
from chartmaker.figures.dyeing import DyeOrder
from chartmaker.figures.issuing import Issue
from chartmaker.figures.labour import Labour
from chartmaker.figures.pile import PileFigures
from chartmaker.ground.ranges import Range
from chartmaker.techniques.foundation import Foundation

#: How many digits the code has, in hexadecimal.
DIGITS = 6
#: Halves are rounded up, and so is what falls short of a half by this much of a last figure. So two reckonings whose
#: last bits differ agree: amounts are often exact halves, and hardly ever lie at the edge that this makes.
SHORT_OF_HALF = 1e-6
#: A value that the code depends on.
Said = int | str


def amounts_code(
    pile: PileFigures, foundation: Foundation, dye: DyeOrder, labour: Labour, issue: Issue, cost: CostFigures | None
) -> str:
    """Return the code of an order's amounts: the same for the same printed amounts, in whatever units and words.

    It is the beginning of the SHA-256 of a line for each value, in UTF-8: whole grams, metres, hanks and days, as the
    metric sheets print them, hundredths of kilograms and square metres, steps of bundles, and hundredths of the
    currency.
    """
    values = (
        *_settings(dye, issue),
        *_yarns(pile, dye),
        *_ground(foundation),
        labour.weavers,
        *_ends(labour.whole_days),
        *_bundles(issue),
        *_cost(cost),
    )
    return hashlib.sha256("\n".join(map(str, values)).encode("utf-8")).hexdigest()[:DIGITS]


def _whole(value: float) -> int:
    return math.floor(value + 0.5 + SHORT_OF_HALF)


def _ends(value: Range) -> tuple[int, int, int]:
    return _whole(value.low), _whole(value.best), _whole(value.high)


def _hundredths_kg(grams: Range) -> tuple[int, int, int]:
    return _ends(grams.times(1 / 10))


def _settings(dye: DyeOrder, issue: Issue) -> Iterator[Said]:
    """Yield what the sheets say of the order as a whole: allowance, hank, step and margin."""
    yield from (_whole(dye.allowance * 1e4), _whole(dye.hank_g * 1e3))
    yield from (_whole(issue.weigh_g * 1e3), _whole(issue.margin * 1e4))


def _yarns(pile: PileFigures, dye: DyeOrder) -> Iterator[Said]:
    """Yield what each yarn takes, what is ordered of it, and its lots."""
    for line, shade in zip(pile.yarns, dye.shades, strict=True):
        yield line.yarn.code
        yield from (*_ends(line.mass_g), _whole(line.length_m.best), _whole(line.net_mass_g.best))
        yield from (int(shade.undyed), _whole(shade.wanted_g))
        yield "-" if line.yarn.stock_g is None else _whole(line.yarn.stock_g)
        yield shade.hanks
        for lot in shade.lots:
            yield from (lot.hanks, _whole(lot.liquor_l), "-" if lot.vessel is None else lot.vessel.name)


def _ground(foundation: Foundation) -> Iterator[Said]:
    """Yield what the ground takes, warp and weft or a cloth with what it is backed by."""
    yield from (foundation.warp_ends, _whole(foundation.warp_length_m), _whole(foundation.warp_mass_g / 10))
    yield from (*_ends(foundation.weft_length_m), *_hundredths_kg(foundation.weft_mass_g))
    yield _whole(foundation.backing_cloth_m2 * 100)
    for material in foundation.materials:
        if material.in_rug_g is not None:
            yield from _hundredths_kg(material.in_rug_g)


def _bundles(issue: Issue) -> Iterator[Said]:
    """Yield the rows of each section, and each weaver's bundles in steps of weighing."""
    for rows, bundles_g in zip(issue.sections, issue.bundles_g, strict=True):
        yield from (rows.start, rows.stop)
        yield from (_whole(grams / issue.weigh_g) for grams in bundles_g.ravel().tolist())


def _cost(cost: CostFigures | None) -> Iterator[Said]:
    """Yield the parts of the cost, each rounded to hundredths as the summary has it."""
    if cost is not None:
        yield cost.currency
        yield from ("-" if each.amount is None else _whole(round(each.amount.best, 2) * 100) for each in cost.parts)
