"""How light from one side falls on a pile of more than one height, and into its grooves."""

from __future__ import annotations

import numpy as np

from chartmaker.figures.carving import Carving
from chartmaker.ground.colour import FloatArray
from chartmaker.knots.knotmap import NO_KNOT, KnotArray

#: How much a slope that falls a millimetre within a millimetre is lighter or darker, and the most that any is.
_STRENGTH, _MOST = 0.35, 0.45
#: The edge of a lowered field slopes over so many millimetres.
_EDGE_MM = 1.5


def lit(knots: KnotArray, carving: Carving, height: int, width: int, px_per_mm: float) -> FloatArray:
    """Return how light each pixel of a picture of some knots is, with light from the top left; level pile is 1.

    Parameters
    ----------
    knots : ndarray of uint16, shape (rows, columns)
        Row 0 the first woven.
    carving : Carving
        Of the map's yarns, in their order.
    height, width : int
        Of the picture, in pixels.
    px_per_mm : float

    Returns
    -------
    ndarray of float32, shape (height, width)
        Top row first.
    """
    from scipy.ndimage import gaussian_filter

    rows, columns = knots.shape
    row = np.minimum((np.arange(height) * rows) // height, rows - 1)
    column = np.minimum((np.arange(width) * columns) // width, columns - 1)
    shown = knots[::-1][np.ix_(row, column)].astype(np.int32)
    shown[shown == NO_KNOT] = -1
    levels = np.array([*carving.finished_mm, 0.0], dtype=np.float32)
    surface = gaussian_filter(levels[shown], max(_EDGE_MM * px_per_mm / 2, 0.5))
    if carving.grooves:
        surface -= _grooves(shown, carving, px_per_mm)
    down, right = np.gradient(surface * px_per_mm)
    slope = (down + right) / np.sqrt(2)
    return np.asarray(1 + np.clip(_STRENGTH * slope, -_MOST, _MOST), dtype=np.float32)


def _grooves(shown: np.ndarray[tuple[int, int], np.dtype[np.int32]], carving: Carving, px_per_mm: float) -> FloatArray:
    """Return how deep grooves lie at each pixel: a vee about each edge that they run along."""
    from scipy.ndimage import distance_transform_edt

    number = len(carving.finished_mm)
    along = np.zeros((number + 1, number + 1), dtype=bool)
    for one in range(number):
        for other in range(number):
            along[one, other] = carving.groove_at(one, other) is not None
    edge = np.zeros(shown.shape, dtype=bool)
    edge[1:] |= along[shown[1:], shown[:-1]]
    edge[:, 1:] |= along[shown[:, 1:], shown[:, :-1]]
    if not edge.any():
        return np.zeros(shown.shape, dtype=np.float32)
    away = distance_transform_edt(~edge) / px_per_mm
    half_mm = max(carving.width_mm / 2, 0.75 / px_per_mm)  # a groove finer than a pixel still shows
    return np.asarray(carving.depth_mm * np.clip(1 - away / half_mm, 0, None), dtype=np.float32)
