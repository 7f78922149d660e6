"""Rounding that keeps the parts adding up to the whole."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

#: What floats reckon in another order differ in their last bits, by less than one in so many decimals.
_SURE_DECIMALS = 9


def half_up(value: float) -> int:
    """Return the nearest whole number, halves up, whichever way a float falls beside the half."""
    return floor_of(value + 0.5)


def floor_of(value: float) -> int:
    """Return the whole number below, or the one that a float misses by no more than its last bits."""
    return math.floor(round(value, _SURE_DECIMALS))


def ceil_of(value: float) -> int:
    """Return the whole number above, or the one that a float exceeds by no more than its last bits."""
    return math.ceil(round(value, _SURE_DECIMALS))


def shared_out(whole: int, weights: NDArray[np.integer] | NDArray[np.floating]) -> NDArray[np.int64]:
    """Return `whole` units shared out by `weights`, each share within one unit of its exact value.

    The method of largest remainders (Hamilton's): every share is first rounded down, then the units left go
    to the largest remainders, the earlier one first where they tie.

    Parameters
    ----------
    whole : int
    weights : ndarray, any shape, none below zero

    Returns
    -------
    ndarray of int64, shape of `weights`
        Their sum is `whole`, or 0 where every weight is zero.
    """
    flat = np.asarray(weights).ravel()
    sum_of_weights = flat.sum()
    shares = np.zeros(flat.size, dtype=np.int64)
    if sum_of_weights > 0:
        shares = _rounded_to(whole, flat * (whole / sum_of_weights))
    return shares.reshape(np.shape(weights))


def _rounded_to(whole: int, exact: NDArray[np.floating]) -> NDArray[np.int64]:
    """Return numbers rounded down, or up where the largest remainders are, so that they add up to `whole`."""
    shares: NDArray[np.int64] = np.floor(exact * (1 - 1e-12)).astype(np.int64)  # a float's last bit may be too high
    left = whole - int(shares.sum())
    order = np.argsort(-(exact - shares), kind="stable")
    shares[order[:left]] += 1
    return shares


def adding_up(values: Sequence[float], decimals: int) -> list[float]:
    """Return `values`, none below zero, rounded to `decimals` so that they add up to their rounded sum.

    Each is within one last figure of its value, however small the sum is.
    """
    unit = 10**decimals
    whole = half_up(math.fsum(values) * unit)
    return [int(share) / unit for share in _rounded_to(whole, np.array(values, dtype=np.float64) * unit)]


def percents(knots: Sequence[int] | NDArray[np.integer]) -> tuple[float, ...]:
    """Return each number of knots as a percentage with two decimals, which add up to 100 (or to 0 for no knots)."""
    return tuple(int(share) / 100 for share in shared_out(10_000, np.asarray(knots)))
