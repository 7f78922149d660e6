"""The frame through which the rug looks at the artwork."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.colour import FloatArray, hex_of
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Fit
from chartmaker.order.rug import Rug, proportion_error

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

    def part(self, rows: slice, columns: slice) -> Frame:
        """Return the frame of only those grid rows, columns."""
        top, left = self.row_edges[rows.start], self.column_edges[columns.start]
        height, width = self.row_edges[rows.stop] - top, self.column_edges[columns.stop] - left
        return Frame(
            float(top), float(left), float(height), float(width), rows.stop - rows.start, columns.stop - columns.start
        )


def turned(artwork: Artwork, degrees: int) -> Artwork:
    """Return the artwork turned clockwise by a multiple of 90 degrees (views, nothing is copied)."""
    quarters = -degrees // 90
    coverage = None if artwork.coverage is None else np.rot90(artwork.coverage, quarters)
    return Artwork(np.rot90(artwork.srgb, quarters), coverage)


def fitted(artwork: Artwork, rug: Rug, fit: Fit | None) -> tuple[Artwork, Frame, str]:
    """Return the artwork, padded if need be, its frame, with one sentence on how it was fitted.

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
    whole = Frame(0, 0, artwork.height, artwork.width, rug.rows, rug.columns)
    if error < 1e-9:
        return artwork, whole, "The artwork has the rug's proportions."
    if fit in (None, "stretch"):
        return artwork, whole, f"The artwork is stretched by {100 * error:.2f} % to the rug's proportions."
    ratio = float(rug.woven_width_mm / rug.woven_length_mm)
    too_wide = artwork.width > artwork.height * ratio
    side = "left and right" if too_wide == (fit == "crop") else "top and bottom"
    if fit == "crop":
        height = artwork.height if too_wide else artwork.width / ratio
        width = artwork.height * ratio if too_wide else artwork.width
        top, left = (artwork.height - height) / 2, (artwork.width - width) / 2
        frame = Frame(top, left, height, width, rug.rows, rug.columns)
        return artwork, frame, f"{max(top, left):.0f} pixels are cut off at {side}."
    down = 0 if not too_wide else round((artwork.width / ratio - artwork.height) / 2)
    across = 0 if too_wide else round((artwork.height * ratio - artwork.width) / 2)
    padded, ground = _padded(artwork, down, across)
    frame = Frame(0, 0, padded.height, padded.width, rug.rows, rug.columns)
    return padded, frame, f"{max(down, across)} pixels of {ground} are added at {side}."


def _padded(artwork: Artwork, down: int, across: int) -> tuple[Artwork, str]:
    """Return the artwork in a margin of the commonest colour of its edge, with that colour's name."""
    coverage = artwork.coverage
    if coverage is None:
        coverage = np.full((1, 1), 255, dtype=np.uint8)
    full = np.broadcast_to(coverage, artwork.srgb.shape[:2])
    sides = [(artwork.srgb[0], full[0]), (artwork.srgb[-1], full[-1])]
    sides += [(artwork.srgb[:, 0], full[:, 0]), (artwork.srgb[:, -1], full[:, -1])]
    edge = np.concatenate([np.column_stack(side) for side in sides])
    colours, counts = np.unique(edge, axis=0, return_counts=True)
    ground = colours[counts.argmax()]
    shape = (artwork.height + 2 * down, artwork.width + 2 * across)
    inner = (slice(down, down + artwork.height), slice(across, across + artwork.width))
    srgb = np.empty((*shape, 3), dtype=np.uint8)
    srgb[:] = ground[:3]
    srgb[inner] = artwork.srgb
    name = hex_of((int(ground[0]), int(ground[1]), int(ground[2])))
    if artwork.coverage is None:
        return Artwork(srgb), name
    padding = np.full(shape, ground[3], dtype=np.uint8)
    padding[inner] = artwork.coverage
    return Artwork(srgb, padding), name if ground[3] >= 128 else "transparency"
