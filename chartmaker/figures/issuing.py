"""The yarn that each strip needs for each stretch of rows, as bundles to hand out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.pile import PileFigures
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.measures import METRIC, Unit
from chartmaker.ground.rounding import adding_up, shared_out
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom


@dataclass(frozen=True, eq=False)
class Bundles:
    """Knots, with the mass and the length of their yarn; arrays of one shape, most often (stretches, strips, yarns)."""

    knots: NDArray[np.int64]
    mass: NDArray[np.float64]
    length: NDArray[np.float64]

    def take(self, place: Any) -> Bundles:
        """Return the bundles at `place`, an index as arrays take it."""
        return Bundles(self.knots[place], self.mass[place], self.length[place])

    def sum(self, axis: int) -> Bundles:
        return Bundles(self.knots.sum(axis=axis), self.mass.sum(axis=axis), self.length.sum(axis=axis))


@dataclass(frozen=True, eq=False)
class Issue:
    """Bundles by stretch, by strip and by yarn.

    Parameters
    ----------
    stretches : tuple of range
        Rows of each stretch, counted from 0, from the first woven.
    strips : tuple of range
        Columns of each strip.
    bundles : Bundles, arrays of shape (stretches, strips, yarns)
        In grams and metres, with waste; they add up to the pile's rounded figures exactly, in tenths.
    """

    stretches: tuple[range, ...]
    strips: tuple[range, ...]
    bundles: Bundles

    @property
    def knots(self) -> NDArray[np.int64]:
        return self.bundles.knots


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
        message = say(
            "a stretch of {stretch} is longer than the rug, which has {length}; give at most that",
            stretch=cm_words(loom.stretch_mm),
            length=cm_words(rug.woven_length_mm),
        )
        raise RugError(message, where="[loom] stretch")
    return max(math.floor(loom.stretch_mm / rug.density.knot_height_mm), 1)


def shared_by_knots(knots: NDArray[np.int64], totals: Sequence[float], decimals: int) -> NDArray[np.float64]:
    """Return `totals`, one a yarn, shared out by `knots` so that rounded parts add up to the rounded totals.

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
    shared = np.empty(knots.shape)
    for index, value in enumerate(adding_up(totals, decimals)):
        shared[..., index] = shared_out(round(value * unit), knots[..., index]) / unit
    return shared


def bundles_of(knots: NDArray[np.int64], pile: PileFigures, mass: Unit, length: Unit) -> Bundles:
    """Return the best estimate with waste as bundles, in the units `mass` and `length`.

    Parameters
    ----------
    knots : ndarray of int64, shape (stretches, strips, yarns)
    """
    masses = shared_by_knots(knots, [line.mass_g.best / mass.size for line in pile.yarns], mass.decimals)
    lengths = shared_by_knots(knots, [line.length_m.best / length.size for line in pile.yarns], length.decimals)
    return Bundles(knots, masses, lengths)


def issue_of(
    stretches: tuple[range, ...], strips: tuple[range, ...], knots: NDArray[np.int64], pile: PileFigures
) -> Issue:
    """Return the bundles of `knots`, shape (stretches, strips, yarns)."""
    return Issue(stretches, strips, bundles_of(knots, pile, METRIC.bundle_mass, METRIC.bundle_length))
