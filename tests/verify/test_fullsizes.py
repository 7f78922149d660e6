"""The sheets of a drawing in full size are looked at without leaving out a pixel, wherever they are cut."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from chartmaker.verify.fullsizes import shown_pixels


@pytest.mark.parametrize("height_mm", [Fraction(625, 12), Fraction(225, 4), Fraction(50), Fraction(400, 7)])
@pytest.mark.parametrize("parts", [1, 3])
def test_windows_printed_to_few_decimals_leave_out_no_row_or_column(height_mm: Fraction, parts: int) -> None:
    """A rug of 52.0833 mm at 2.16 pixels a millimetre ends at half a pixel, and its window is printed a little short.

    Windows overlap, and are printed with five decimals.
    """
    for scale in (2.16, 2.0, 4.4, 6.125):
        size = round(float(height_mm) * scale)
        shape = (size, size)
        seen = np.zeros(shape, dtype=bool)
        step = (float(height_mm) - 10) / parts
        for low in (step * part for part in range(parts)):
            wide = round(min(step + 10, float(height_mm) - low), 5)
            upright = shown_pixels([0.0, round(low, 5), round(float(height_mm), 5), wide], scale, shape)
            lying = shown_pixels([round(low, 5), 0.0, wide, round(float(height_mm), 5)], scale, shape)
            seen[np.ix_(*upright)] = True
            assert len(lying[0]) == size, "a window over the whole height"
            assert len(upright[1]) == size, "a window over the whole width"
        assert seen.all(), f"{height_mm} mm at {scale} pixels a millimetre"
