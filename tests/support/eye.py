"""What the eye sees of a field of knots from a distance, by S-CIELAB."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter

from chartmaker.ground.colour import RGB_TO_XYZ, ciede2000, lab_from_xyz

#: S-CIELAB, from memory of Zhang and Wandell, SID Symposium Digest 27 (1996): XYZ to opponent colours, and the weights
#: and spreads (in degrees of visual angle, exp(-r^2 / spread^2)) of each channel's Gaussians.
OPPONENT = np.array([[0.279, 0.720, -0.107], [-0.449, 0.290, -0.077], [0.086, -0.590, 0.501]])
GAUSSIANS = (
    ((0.921, 0.0283), (0.105, 0.133), (-0.108, 4.336)),
    ((0.531, 0.0392), (0.330, 0.494)),
    ((0.488, 0.0536), (0.371, 0.386)),
)
#: The parts into which each side of a knot is cut, so that a spread of less than a knot still has an effect.
PARTS = 3


def s_cielab(linear: np.ndarray, metres: float, knot_mm: tuple[float, float]) -> np.ndarray:
    """Return CIELAB after the eye's own blur at that distance, with each knot drawn as PARTS x PARTS."""
    fine = np.kron(linear, np.ones((PARTS, PARTS, 1)))
    planes = fine @ RGB_TO_XYZ.T @ OPPONENT.T
    degree_mm = 1000 * metres * np.tan(np.deg2rad(1))
    for channel, gaussians in enumerate(GAUSSIANS):
        total = sum(weight for weight, _ in gaussians)
        spreads = [(w / total, s * degree_mm / 2**0.5 * PARTS) for w, s in gaussians]
        planes[..., channel] = sum(
            weight * gaussian_filter(planes[..., channel], (mm / knot_mm[1], mm / knot_mm[0])) for weight, mm in spreads
        )
    return lab_from_xyz(np.maximum(planes @ np.linalg.inv(OPPONENT).T, 0))


def seen(linear: np.ndarray, other: np.ndarray, metres: float, knot_mm: tuple[float, float]) -> float:
    """Return the mean CIEDE2000 of two pictures in linear light, (rows, columns, 3), seen from a distance."""
    return float(ciede2000(s_cielab(linear, metres, knot_mm), s_cielab(other, metres, knot_mm)).mean())
