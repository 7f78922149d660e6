"""The yarn that each strip needs for each stretch of rows, as bundles to hand out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.errors import RugError
from chartmaker.figures.pile import PileFigures
from chartmaker.figures.rounding import adding_up, shared_out
from chartmaker.rug import Rug
from chartmaker.workshop import Loom

#: Bundles are weighed to a tenth of a gram.
DECIMALS = 1


@dataclass(frozen=True, eq=False)
class Issue:
    """Bundles by stretch, strip, yarn.

    Parameters
    ----------
    stretches : tuple of range
        Rows of each stretch, counted from 0, from the first woven.
    strips : tuple of range
        Columns of each strip.
    knots : ndarray of int64, shape (stretches, strips, yarns)
    mass_g, length_m : ndarray of float64, same shape
        With waste; they add up to the pile's rounded figures exactly, in tenths.
    """

    stretches: tuple[range, ...]
    strips: tuple[range, ...]
    knots: NDArray[np.int64]
    mass_g: NDArray[np.float64]
    length_m: NDArray[np.float64]


def stretch_rows(rug: Rug, loom: Loom) -> int:
    """Return the rows of one stretch, at least one.

    Raises
    ------
    RugError
        If the rug file asks for a stretch that is longer than the rug.
    """
    if loom.stretch_mm > rug.woven_length_mm:
        if "stretch_mm" not in loom.model_fields_set:
            return rug.rows
        raise RugError(
            f"a stretch of {float(loom.stretch_mm) / 10:g} cm is longer than the rug, "
            f"{float(rug.woven_length_mm) / 10:g} cm; give at most that",
            where="[loom] stretch",
        )
    return max(math.floor(loom.stretch_mm / rug.density.knot_height_mm), 1)


def bundles(knots: NDArray[np.int64], totals: Sequence[float], decimals: int) -> NDArray[np.float64]:
    """Return `totals`, one a yarn, shared out by `knots` so that rounded bundles add up to the rounded totals.

    Parameters
    ----------
    knots : ndarray of int64, shape (stretches, strips, yarns)
    totals : sequence of float, length yarns
    decimals : int

    Returns
    -------
    ndarray of float64, shape of `knots`
    """
    unit = 10**decimals
    rounded = adding_up(totals, decimals)
    shared = np.empty(knots.shape)
    for index, value in enumerate(rounded):
        shared[..., index] = shared_out(round(value * unit), knots[..., index]) / unit
    return shared


def issue_of(
    stretches: tuple[range, ...], strips: tuple[range, ...], knots: NDArray[np.int64], pile: PileFigures
) -> Issue:
    """Return the bundles; `knots` as `Issue` has them."""
    masses_g = bundles(knots, [line.mass_g.best for line in pile.yarns], DECIMALS)
    lengths_m = bundles(knots, [line.length_m.best for line in pile.yarns], DECIMALS)
    return Issue(stretches, strips, knots, masses_g, lengths_m)
