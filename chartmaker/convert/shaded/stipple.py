"""Shades are mixed of yarns knot by knot, for the eye across the room and with few changes of yarn."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.quick import quick_de00
from chartmaker.ground.colour import RGB_TO_XYZ, WHITE_XYZ, FloatArray, ciede2000, lab_from_linear

#: An eye across the room blends colour over a wider area than lightness. These are Gaussians in millimetres, for a
#: viewing distance of 2.5 m and for 5 m (after S-CIELAB: Zhang, Wandell, SID Symposium Digest 27 (1996)).
LIGHT_MM, CHROMA_MM = 1.2, 3.0
#: The search does not see a blur of fewer knots than this; a wider one would reach from one lattice's knot to the next.
LEAST_BLUR, MOST_BLUR = 0.3, 2.0
#: The width and the length of a knot, in millimetres, if they are not given.
KNOT_MM = (2.5, 2.5)
#: Linear light to luminance, red-green and blue-yellow; the latter two are 0 for any grey, so a grey knot has no halo.
OPPONENT: FloatArray = np.array([[0, 1, 0], [1, -1, 0], [0, 1, -1]]) / WHITE_XYZ @ RGB_TO_XYZ
_BACK = np.linalg.inv(OPPONENT)
#: Knots this far apart are decided at the same time, because their blurs hardly meet.
STRIDE = 5
#: The greatest number of rounds; a round that changes fewer than this share of the knots is the last.
ROUNDS, SETTLED = 8, 0.002
#: Blended differences below this count as this much, because nobody sees them.
UNSEEN_DE00 = 0.7
#: The cost of a change of yarn along the row when calm (when fine there is none), in blended CIEDE2000 of one knot; it
#: keeps runs long. Then the cost of a knot's own difference, squared, when calm and when fine; it keeps out yarns that
#: would blend well from afar but are conspicuous from near by.
CHANGE_COST = 10.0
OWN_COST = (0.4, 0.01)
#: Costs are compared to this many decimals, so that no processor's last bit decides.
DECIMALS = 6
#: A change of yarn from row to row costs this share of one along the row, or else shades would come out as streaks.
ROW_CHANGE = 0.6

Knots = NDArray[np.uint16]
Blurs = tuple[tuple[Any, Any], tuple[Any, Any], tuple[Any, Any]]


def stippled(
    linear: FloatArray,
    yarns_linear: FloatArray,
    start: Knots,
    inside: NDArray[np.bool_],
    fine: float,
    knot_mm: tuple[float, float] = KNOT_MM,
) -> Knots:
    """Return knots that look most like the artwork when blurred, changing yarn as seldom as asked.

    The search minimises the blended difference, summed over all knots, plus a cost for each change of yarn and for each
    knot's own difference. The blended difference is CIEDE2000 after Gaussian blurs in linear light, narrow for
    luminance and wide for red-green and blue-yellow, as in the eye. It is approximated by a quadratic form taken half
    way between the artwork's blurred colour and the first blend of yarns, and is weighted anew in each round, so that
    the sum of the differences falls and not that of their squares. Each knot in turn takes the yarn that lowers the
    total most (direct binary search: Analoui, Allebach, Proc. SPIE 1666 (1992)), and all knots on a lattice of STRIDE
    are decided at the same time.

    Parameters
    ----------
    linear : ndarray, shape (rows, columns, 3)
        The average colour of each cell in linear light.
    yarns_linear : ndarray, shape (yarns, 3)
    start : ndarray of uint16, shape (rows, columns)
        The nearest yarn of each cell, from which the search starts.
    inside : ndarray of bool, shape (rows, columns)
        Cells that are tied.
    fine : float
        From 0 for calm, with long runs, to 1 for fine.
    knot_mm : (float, float)
        The width and the length of a knot.
    """
    blurs = _eye(start.shape, knot_mm)
    opponent, yarns = linear @ OPPONENT.T, yarns_linear @ OPPONENT.T
    target = _blurred(blurs, opponent)
    seen = np.maximum(target @ _BACK.T, 0)  # in linear light
    target_lab = lab_from_linear(seen)
    change = CHANGE_COST * (1 - fine) ** 2
    own = OWN_COST[0] ** (1 - fine) * OWN_COST[1] ** fine
    fixed = (own * _own_differences(linear, yarns_linear) ** 2).astype(np.float32)
    knots = start.copy()
    blend = _blurred(blurs, np.where(inside[..., None], yarns[knots] - opponent, 0))
    between = np.maximum((target + blend / 2) @ _BACK.T, 0)  # half way, because a card may have nothing near the target
    shape = _BACK.T @ _difference_form(between) @ _BACK
    for _ in range(ROUNDS):
        blend = _blurred(blurs, np.where(inside[..., None], yarns[knots] - opponent, 0))
        form = shape * _weights(shape, blend, target, target_lab)[..., None, None]
        alone = _alone(blurs, form)
        changed = 0
        for lattice in _lattices():
            changed += _decide(knots, lattice, blurs, form, alone, blend, yarns, fixed, change, inside)
        if changed <= SETTLED * knots.size:
            break
    return knots


def _eye(shape: tuple[int, ...], knot_mm: tuple[float, float]) -> Blurs:
    """Return the blur down and across of each of the three opponent channels."""

    def of(mm: float) -> tuple[Any, Any]:
        wide, long = (float(np.clip(mm / size, LEAST_BLUR, MOST_BLUR)) for size in knot_mm)
        return _blur_matrix(shape[0], long), _blur_matrix(shape[1], wide)

    light, chroma = of(LIGHT_MM), of(CHROMA_MM)
    return (light, chroma, chroma)


def _blur_matrix(knots: int, sigma: float) -> Any:
    """Return the blur along one direction as a sparse matrix (knots, knots); the edge's colour goes on beyond it."""
    from scipy.sparse import csr_matrix

    reach = max(1, int(4 * sigma))
    step = np.arange(-reach, reach + 1)
    weight = np.exp(-(step**2) / (2 * sigma**2))
    line = np.repeat(np.arange(knots), len(step))
    source = np.clip(line + np.tile(step, knots), 0, knots - 1)
    return csr_matrix((np.tile(weight / weight.sum(), knots), (line, source)), shape=(knots, knots))


def _blurred(blurs: Blurs, picture: FloatArray) -> FloatArray:
    """Return the picture, shape (rows, columns, 3), with each channel under its own blur."""
    planes = [(across @ (down @ picture[..., k]).T).T for k, (down, across) in enumerate(blurs)]
    return np.stack(planes, axis=-1)


def _difference_form(target: FloatArray) -> FloatArray:
    """Return the matrices M with CIEDE2000 squared = x M x for a small step x in linear light, shape (..., 3, 3)."""
    step = 1e-4
    base = lab_from_linear(target)

    def squared(direction: FloatArray) -> FloatArray:
        return np.asarray(ciede2000(base, lab_from_linear(target + step * direction)) ** 2 / step**2)

    unit = np.eye(3)
    form = np.empty((*target.shape, 3))
    for i in range(3):
        form[..., i, i] = squared(unit[i])
    for i, j in ((0, 1), (0, 2), (1, 2)):
        form[..., i, j] = form[..., j, i] = (squared(unit[i] + unit[j]) - form[..., i, i] - form[..., j, j]) / 2
    return form


def _weights(shape: FloatArray, blend: FloatArray, target: FloatArray, target_lab: FloatArray) -> FloatArray:
    """Return the weights that turn the quadratic form of the present blend into its CIEDE2000."""
    seen = np.maximum(ciede2000(target_lab, lab_from_linear(np.maximum((target + blend) @ _BACK.T, 0))), UNSEEN_DE00)
    form = np.einsum("...i,...ij,...j->...", blend, shape, blend)
    return np.asarray(seen / np.maximum(form, UNSEEN_DE00**2))


def _own_differences(linear: FloatArray, yarns_linear: FloatArray) -> FloatArray:
    """Return CIEDE2000 of each cell with each yarn, in 32 bits, shape (rows, columns, yarns)."""
    lab, yarns = lab_from_linear(linear).astype(np.float32), lab_from_linear(yarns_linear).astype(np.float32)
    result = np.empty((*linear.shape[:2], len(yarns)), dtype=np.float32)
    for row in range(len(lab)):
        result[row] = quick_de00(lab[row, :, None], yarns[None])[0]
    return result


def _alone(blurs: Blurs, form: FloatArray) -> FloatArray:
    """Return the matrices A such that a change d of one knot adds d A d to the form by itself."""
    result = np.empty_like(form)
    for i in range(3):
        for j in range(i + 1):
            down, across = (blurs[i][side].multiply(blurs[j][side]).T for side in (0, 1))
            result[..., i, j] = result[..., j, i] = (across @ (down @ form[..., i, j]).T).T
    return result


def _lattices() -> Iterator[tuple[slice, slice]]:
    """Yield the lattices by knight's moves, because row by row an even field would come out in streaks."""
    for turn in range(STRIDE**2):
        row, column = 2 * turn % STRIDE, (turn + turn // STRIDE) % STRIDE
        yield slice(row, None, STRIDE), slice(column, None, STRIDE)


def _decide(
    knots: Knots,
    lattice: tuple[slice, slice],
    blurs: Blurs,
    form: FloatArray,
    alone: FloatArray,
    blend: FloatArray,
    yarns: FloatArray,
    fixed: NDArray[np.float32],
    change: float,
    inside: NDArray[np.bool_],
) -> int:
    """Give each knot of the lattice its best yarn, bring `blend` up to date, and return how many knots changed."""
    present = knots[lattice].copy()
    if not present.size:
        return 0
    down, across = lattice
    here: Any = tuple((of[0][:, down], of[1][:, across]) for of in blurs)
    back: Any = tuple((of[0].T, of[1].T) for of in here)
    slope = _blurred(back, np.einsum("...ij,...j->...i", form, blend))
    step = yarns[None, None] - yarns[present][:, :, None]
    cost = 2 * np.einsum("rcki,rci->rck", step, slope)
    cost += np.einsum("rcki,rcij,rckj->rck", step, alone[lattice], step, optimize=True)
    cost += fixed[lattice] + change * _changes(knots, lattice, len(yarns))
    least = np.round(cost, DECIMALS).argmin(axis=2)
    best = np.where(inside[lattice], least, present).astype(np.uint16)
    blend += _blurred(here, yarns[best] - yarns[present])
    knots[lattice] = best
    return int((best != present).sum())


def _changes(knots: Knots, lattice: tuple[slice, slice], yarns: int) -> NDArray[np.float32]:
    """Return how many changes of yarn each knot of the lattice would make with each yarn, shape (r, c, yarns)."""
    around = np.pad(knots, 1, mode="edge")
    beside = (around[1:-1, :-2], around[1:-1, 2:], around[:-2, 1:-1], around[2:, 1:-1])
    every = np.arange(yarns)
    weights = (1.0, 1.0, ROW_CHANGE, ROW_CHANGE)
    total = sum(
        weight * (every != other[lattice][..., None]).astype(np.float32)
        for weight, other in zip(weights, beside, strict=True)
    )
    return np.asarray(total, dtype=np.float32)
