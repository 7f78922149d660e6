"""The frame through which the rug looks at the artwork."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.colour import FloatArray
from chartmaker.design import Fit
from chartmaker.errors import ArtworkError
from chartmaker.picture import Artwork
from chartmaker.rug import Rug, proportion_error

#: Artwork whose proportions differ from the rug's by more than this needs `fit`; below, nobody sees the stretch.
MOST_PROPORTION_ERROR = 0.02


@dataclass(frozen=True)
class Frame:
    """The part of the artwork that the knot grid covers, in pixels; it may reach beyond the artwork.

    Row 0 of the grid is at `top`: frames are in raster order, unlike knot maps.
    """

    top: float
    left: float
    height: float
    width: float
    rows: int
    columns: int

    @property
    def row_edges(self) -> FloatArray:
        """Pixel coordinates of the cells' upper and lower edges, shape (rows + 1,)."""
        return self.top + self.height * np.arange(self.rows + 1) / self.rows

    @property
    def column_edges(self) -> FloatArray:
        """Pixel coordinates of the cells' left and right edges, shape (columns + 1,)."""
        return self.left + self.width * np.arange(self.columns + 1) / self.columns

    def inside(self, artwork: Artwork) -> bool:
        """Whether the artwork fills the frame (to a thousandth of a pixel)."""
        low, high = min(self.top, self.left), 1e-3
        over = max(self.top + self.height - artwork.height, self.left + self.width - artwork.width)
        return low >= -high and over <= high


def turned(artwork: Artwork, degrees: int) -> Artwork:
    """Return the artwork turned clockwise by a multiple of 90 degrees (views, nothing is copied)."""
    quarters = -degrees // 90
    coverage = None if artwork.coverage is None else np.rot90(artwork.coverage, quarters)
    return Artwork(np.rot90(artwork.srgb, quarters), coverage)


def frame_of(artwork: Artwork, rug: Rug, fit: Fit | None) -> tuple[Frame, str]:
    """Return the frame, with one sentence on how the artwork was fitted.

    Raises
    ------
    ArtworkError
        If the proportions differ by over 2 % and `fit` does not say what to do.
    """
    error = proportion_error(artwork.width, artwork.height, rug)
    if fit is None and error > MOST_PROPORTION_ERROR:
        raise ArtworkError(
            f"the artwork is {artwork.width} x {artwork.height} pixels, {100 * error:.1f} % off the proportions of the "
            f"rug ({float(rug.woven_width_mm) / 10:.1f} x {float(rug.woven_length_mm) / 10:.1f} cm); choose how to fit "
            "it: fit = 'stretch' pulls it to the rug's proportions, fit = 'crop' cuts off what is too long, "
            "fit = 'pad' fills up what is too short"
        )
    if fit in (None, "stretch"):
        frame = Frame(0, 0, artwork.height, artwork.width, rug.rows, rug.columns)
        return frame, f"The artwork is stretched by {100 * error:.2f} % to the rug's proportions."
    wanted = float(rug.woven_width_mm / rug.woven_length_mm)  # width over height
    too_wide = artwork.width > artwork.height * wanted
    if too_wide == (fit == "crop"):
        height, width = float(artwork.height), artwork.height * wanted
    else:
        height, width = artwork.width / wanted, float(artwork.width)
    top, left = (artwork.height - height) / 2, (artwork.width - width) / 2
    frame = Frame(top, left, height, width, rug.rows, rug.columns)
    side = "left and right" if width != artwork.width else "top and bottom"
    pixels = max(abs(top), abs(left))
    if pixels < 0.5:
        return frame, "The artwork has the rug's proportions."
    deed = "cut off" if fit == "crop" else "filled up with the colour of the artwork's edge"
    return frame, f"{pixels:.0f} pixels {deed} at {side}."
