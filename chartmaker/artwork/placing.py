"""Where each knot's cell lies on the artwork."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.colour import FloatArray, hex_of
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.language import say
from chartmaker.order.design import Design, Fit
from chartmaker.order.rug import MOST_PROPORTION_ERROR, Rug, proportion_error

#: Artwork that is so far off can hardly be pulled, cut or filled up: it wants to be laid anew.
FAR_OFF = 0.15
#: How many knots a change of scale is measured over; over fewer, rounding stripes to whole knots would look like one.
SCALE_KNOTS = 25
#: Boxes of repeats are measured to within so many pixels.
BOX_PX = 2


@dataclass(frozen=True, eq=False)
class Placement:
    """The edges of all cells of the knot grid, in pixels of the artwork; they may lie beyond it, and unevenly.

    Parameters
    ----------
    column_edges : ndarray of float, shape (columns + 1,)
        From the artwork's left edge, rising: column i lies between edges i and i + 1.
    row_edges : ndarray of float, shape (rows + 1,)
        From the artwork's top edge, falling: row 0, the first woven, is at the foot of the picture, and so is edge 0.
    """

    column_edges: FloatArray
    row_edges: FloatArray

    @property
    def columns(self) -> int:
        return len(self.column_edges) - 1

    @property
    def rows(self) -> int:
        return len(self.row_edges) - 1

    @property
    def raster_row_edges(self) -> FloatArray:
        """The edges of the rows from the top of the picture down, rising, for those who work in raster order."""
        return self.row_edges[::-1]

    @property
    def width(self) -> float:
        """Pixels of the artwork that the grid covers across."""
        return float(self.column_edges[-1] - self.column_edges[0])

    @property
    def height(self) -> float:
        """Pixels of the artwork that the grid covers from top to bottom."""
        return float(self.row_edges[0] - self.row_edges[-1])

    @property
    def knot_width(self) -> float:
        """Pixels across one knot, on average."""
        return self.width / self.columns

    @property
    def knot_height(self) -> float:
        """Pixels from top to bottom of one knot, on average."""
        return self.height / self.rows

    @property
    def is_a_pixel_a_knot(self) -> bool:
        """Whether each knot has one pixel of the artwork all to itself."""
        return np.array_equal(self.column_edges, np.arange(self.columns + 1)) and np.array_equal(
            self.raster_row_edges, np.arange(self.rows + 1)
        )

    @property
    def greatest_shift_knots(self) -> float:
        """The greatest distance, in knots, of an edge from where it would lie if all knots were of one size."""
        return max(greatest_shift(self.column_edges), greatest_shift(self.raster_row_edges))

    @property
    def greatest_scale_change(self) -> float:
        """The greatest share by which the scale of SCALE_KNOTS neighbouring knots differs from that of the whole."""
        return max(greatest_scale_change(self.column_edges), greatest_scale_change(self.raster_row_edges))

    def raster_part(self, rows: slice, columns: slice) -> Placement:
        """Return the placement of only some rows and columns; `rows` are counted in raster order, from the top."""
        down, across = self.raster_row_edges[rows.start : rows.stop + 1], slice(columns.start, columns.stop + 1)
        return Placement(self.column_edges[across], down[::-1])


def greatest_shift(edges: FloatArray) -> float:
    """Return by how many knots one of the rising `edges` lies off where it would lie evenly, at most."""
    even = np.linspace(edges[0], edges[-1], len(edges))
    return float(np.abs(edges - even).max() / (even[1] - even[0]))


def greatest_scale_change(edges: FloatArray) -> float:
    """Return by which share SCALE_KNOTS knots differ in scale from all between the rising `edges`, at most."""
    knots = len(edges) - 1
    span = min(SCALE_KNOTS, knots)
    spanned = (edges[span:] - edges[:-span]) * knots / ((edges[-1] - edges[0]) * span)
    return float(np.abs(spanned - 1).max())


def evenly_placed(top: float, left: float, height: float, width: float, rows: int, columns: int) -> Placement:
    """Return the placement whose cells share a rectangle of the artwork, in pixels, evenly."""
    down = top + height * np.arange(rows + 1) / rows
    return Placement(left + width * np.arange(columns + 1) / columns, down[::-1])


@dataclass(frozen=True, eq=False)
class Placed:
    """The artwork, turned and filled up as the order asks, with its placement and a sentence on how it fits."""

    artwork: Artwork
    placement: Placement
    fit: str

    @property
    def shown(self) -> Artwork:
        """What the rug shows of the artwork, in whole pixels; stretched artwork stays as it was drawn."""
        down, across = self.placement.raster_row_edges, self.placement.column_edges
        rows = slice(max(round(down[0]), 0), round(down[-1]))
        columns = slice(max(round(across[0]), 0), round(across[-1]))
        coverage = None if self.artwork.coverage is None else self.artwork.coverage[rows, columns]
        return Artwork(self.artwork.srgb[rows, columns], coverage)


def place(artwork: Artwork, rug: Rug, design: Design) -> Placed:
    """Return the artwork placed on the rug's grid, all knots of one size.

    Raises
    ------
    ArtworkError
        If the proportions differ by over 2 % and `design.fit` does not say what to do.
    """
    return _fitted(turned(artwork, design.turn), rug, design.fit)


def turned(artwork: Artwork, degrees: int) -> Artwork:
    """Return the artwork turned clockwise by a multiple of 90 degrees (views, nothing is copied)."""
    quarters = -degrees // 90
    coverage, regions = (
        None if plane is None else np.rot90(plane, quarters) for plane in (artwork.coverage, artwork.regions)
    )
    return Artwork(np.rot90(artwork.srgb, quarters), coverage, regions)


def box_on(
    own: Artwork, placed: Artwork, artwork: Artwork, box: tuple[int, int, int, int], degrees: int
) -> tuple[float, float, float, float]:
    """Return the top, left, bottom and right in pixels of a box of an artwork on it as it is turned and filled up.

    `box` has its left, top, right and bottom on the `artwork` as it came. It is turned clockwise by `degrees` and
    filled up to `placed`, which is then taken to its `own` size.
    """
    (left, top, right, bottom), high, wide = box, artwork.height, artwork.width
    for _ in range(degrees // 90):
        left, top, right, bottom, high, wide = high - bottom, left, high - top, right, wide, high
    down, across = own.height / placed.height, own.width / placed.width
    aside, above = (placed.width - wide) / 2, (placed.height - high) / 2
    return (top + above) * down, (left + aside) * across, (bottom + above) * down, (right + aside) * across


def refuse_beyond(artwork: Artwork, boxes: Sequence[tuple[int, int, int, int]]) -> None:
    """Refuse boxes of repeats, told as left, top, right and bottom, that reach beyond an artwork."""
    for number, (_, _, right, bottom) in enumerate(boxes, start=1):
        if right > artwork.width + BOX_PX or bottom > artwork.height + BOX_PX:
            message = "the box of [[repeat]] {number} reaches beyond the artwork, which has {width} x {height} pixels"
            raise ArtworkError(say(message, number=number, width=artwork.width, height=artwork.height))


def _other_ways(artwork: Artwork, rug: Rug, error: float) -> str:
    """Return what else makes artwork fit that is far off: turning it, if it then lies right, or laying it anew."""
    turned = proportion_error(artwork.height, artwork.width, rug)
    if turned <= MOST_PROPORTION_ERROR:
        return say("; turned by a quarter it would fit ([design] turn)")
    if error > FAR_OFF:
        return say("; a design with borders and a field is laid anew for the size by fit = 'relay'")
    return ""


def _fitted(artwork: Artwork, rug: Rug, fit: Fit | None) -> Placed:
    error = proportion_error(artwork.width, artwork.height, rug)
    if fit is None and error > MOST_PROPORTION_ERROR:
        raise ArtworkError(
            say(
                "the artwork is {width} x {height} pixels, {off:.1f} % off the proportions of the rug ({across:.1f} x "
                "{along:.1f} cm); choose how to fit it: fit = 'stretch' pulls it to the rug's proportions, fit = "
                "'crop' cuts off what is too long, fit = 'pad' fills up what is too short{more}",
                more=_other_ways(artwork, rug, error),
                width=artwork.width,
                height=artwork.height,
                off=100 * error,
                across=float(rug.woven_width_mm) / 10,
                along=float(rug.woven_length_mm) / 10,
            )
        )
    if fit == "relay":
        raise ArtworkError(
            say(
                "fit = 'relay' lays a design anew while it is converted, and nowhere else; say here how the artwork "
                "lies under the knots: stretch, crop or pad"
            )
        )
    whole = evenly_placed(0, 0, artwork.height, artwork.width, rug.rows, rug.columns)
    if error < 1e-9:
        return Placed(artwork, whole, say("The artwork has the rug's proportions."))
    if fit in (None, "stretch"):
        return Placed(
            artwork, whole, say("The artwork is stretched by {off:.2f} % to the rug's proportions.", off=100 * error)
        )
    ratio = float(rug.woven_width_mm / rug.woven_length_mm)
    too_wide = artwork.width > artwork.height * ratio
    return (_cropped if fit == "crop" else _filled_up)(artwork, rug, ratio, too_wide)


def _cropped(artwork: Artwork, rug: Rug, ratio: float, too_wide: bool) -> Placed:
    height = artwork.height if too_wide else artwork.width / ratio
    width = artwork.height * ratio if too_wide else artwork.width
    top, left = (artwork.height - height) / 2, (artwork.width - width) / 2
    said = (
        say("{pixels:.0f} pixels are cut off at left and right.", pixels=left)
        if too_wide
        else say("{pixels:.0f} pixels are cut off at top and bottom.", pixels=top)
    )
    return Placed(artwork, evenly_placed(top, left, height, width, rug.rows, rug.columns), said)


def _filled_up(artwork: Artwork, rug: Rug, ratio: float, too_wide: bool) -> Placed:
    down = round((artwork.width / ratio - artwork.height) / 2) if too_wide else 0
    across = 0 if too_wide else round((artwork.height * ratio - artwork.width) / 2)
    padded, ground = _padded(artwork, down, across)
    said = (
        say("{pixels} pixels of {ground} are added at top and bottom.", pixels=down, ground=ground)
        if too_wide
        else say("{pixels} pixels of {ground} are added at left and right.", pixels=across, ground=ground)
    )
    return Placed(padded, evenly_placed(0, 0, padded.height, padded.width, rug.rows, rug.columns), said)


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
    regions = None
    if artwork.regions is not None:  # what is added lies in none
        regions = np.zeros(shape, dtype=np.uint8)
        regions[inner] = artwork.regions
    if artwork.coverage is None:
        return Artwork(srgb, regions=regions), name
    padding = np.full(shape, ground[3], dtype=np.uint8)
    padding[inner] = artwork.coverage
    return Artwork(srgb, padding, regions), name if ground[3] >= 128 else say("transparency")
