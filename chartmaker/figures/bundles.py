"""What each weaver needs of each yarn for each section, weighed in steps, and the section in which a new lot begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.pile import PileFigures
from chartmaker.order.workshop import Loom

#: The step in which bundles are weighed if everything is shown in ounces and no step is given: a quarter of one.
QUARTER_OUNCE_G = 453.59237 / 64


@dataclass(frozen=True)
class LotChange:
    """Where the stock of a yarn ends and a new lot begins, which is at a section's first row, over the whole width.

    Attributes
    ----------
    section : int
        The first section of the new lot, counted from 0 and never 0.
    share : float
        What this section and all after it need, as a share of the whole rug's need.
    bundles_g : float
        What is handed out for them, in grams.
    """

    section: int
    share: float
    bundles_g: float


def needs_of(
    knots: NDArray[np.int64], sections: tuple[range, ...], pile: PileFigures, loom: Loom
) -> NDArray[np.float64]:
    """Return the grams that `knots` need, both of shape (sections, weavers, yarns): the best estimate and a margin.

    The two outer weavers need the side binding too, by rows.
    """
    gross_of = [line.mass_g.best / line.net_mass_g.best if line.net_mass_g.best else 1.0 for line in pile.yarns]
    binding_g = np.array([line.count.mass_g(line.binding_m) for line in pile.yarns]) * gross_of
    knots_g = np.array([line.mass_g.best for line in pile.yarns]) - binding_g
    tied = np.array([max(line.knots, 1) for line in pile.yarns])
    need_g = knots * (knots_g / tied)
    rows = np.array([len(section) for section in sections])
    for side in (0, -1):
        need_g[:, side] += np.outer(rows / rows.sum(), binding_g / 2)
    return np.asarray(need_g * (1 + loom.issue_margin))


def weighed(need_g: NDArray[np.float64], step_g: float) -> NDArray[np.float64]:
    """Return bundles in whole steps, so that a weaver always has enough yarn and never a whole step too much.

    What is left of a bundle is used in the next section: the needs so far are added up and rounded up to whole steps,
    and a bundle is what this sum has gained since the section before.

    Parameters
    ----------
    need_g : ndarray of float64, shape (sections, weavers, yarns)
    step_g : float
    """
    so_far = np.ceil(need_g.cumsum(axis=0) / step_g - 1e-9)
    return np.diff(so_far, axis=0, prepend=0) * step_g


def lot_changes(
    need_g: NDArray[np.float64], stocks_g: Sequence[float | None], loom: Loom
) -> tuple[LotChange | None, ...]:
    """Return for each yarn where a new lot begins, or None where the stock lasts for all of it or none.

    A stock lasts as long as the bundles add up to no more, in grams and in quarters of an ounce alike if both may be
    weighed, so that every paper names the same section and whoever adds up the bundles finds it too.

    Parameters
    ----------
    need_g : ndarray of float64, shape (sections, weavers, yarns)
    stocks_g : sequence of float or None
        The stock of each yarn; None where it is not known.
    loom : Loom
    """
    steps = {float(loom.weigh_g), *(() if "weigh_g" in loom.model_fields_set else (QUARTER_OUNCE_G,))}
    sums_g = {step: weighed(need_g, step).sum(axis=1).cumsum(axis=0) for step in sorted(steps)}
    found: list[LotChange | None] = []
    for yarn, stock_g in enumerate(stocks_g):
        last = min(int((so_far_g[:, yarn] <= (stock_g or 0.0) + 1e-6).sum()) for so_far_g in sums_g.values())
        own_g = need_g[:, :, yarn]
        if last == len(own_g) or not own_g[:last].any():
            found.append(None)
            continue
        bundles_g = max(float(weighed(own_g[last:], step).sum()) for step in steps)
        found.append(LotChange(last, float(own_g[last:].sum() / own_g.sum()), bundles_g))
    return tuple(found)
