"""The parts of an artwork, each of which is converted in its own way, and the knots that belong to each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.cells import Cells, Window, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.flat.coverage import coverages
from chartmaker.convert.flat.tiles import labels_under
from chartmaker.order.design import Design, Region

#: This many areas, one for each cell and patch, are held at a time.
_BAND_AREAS = 2_000_000
#: The keys of [design] that decide how pixels become knots and that a region may set for itself.
_KEYS = ("style", "tidy", "detail")


@dataclass(frozen=True)
class Way:
    """How pixels become knots; `tidy` means nothing in shaded artwork, and `detail` nothing in flat artwork."""

    style: Literal["flat", "shaded"]
    tidy: int = 0
    detail: float = 0.0

    @classmethod
    def of(cls, style: Literal["flat", "shaded", "mixed"], design: Design) -> Way:
        """Return the way that a design asks for, once its style is known."""
        return cls("flat", tidy=design.tidy) if style == "flat" else cls("shaded", detail=design.detail)


@dataclass(frozen=True)
class Patch:
    """Pixels of one region (0 for none) that are converted in one way."""

    region: int
    way: Way


@dataclass(frozen=True, eq=False)
class Parts:
    """Which of the `patches` each pixel of the artwork belongs to: `plane`, shape (height, width)."""

    plane: ByteArray
    patches: tuple[Patch, ...]

    @property
    def ways(self) -> tuple[Way, ...]:
        """Each way once, in the order of the last region that uses it."""
        last = {patch.way: number for number, patch in enumerate(self.patches)}
        return tuple(sorted(last, key=lambda way: last[way]))

    @property
    def way_of_patch(self) -> NDArray[np.uint8]:
        """The number of each patch's way among the `ways`."""
        ways = self.ways
        return np.array([ways.index(patch.way) for patch in self.patches], dtype=np.uint8)

    @property
    def region_of_patch(self) -> NDArray[np.uint8]:
        """The number of each patch's region."""
        return np.array([patch.region for patch in self.patches], dtype=np.uint8)

    def where(self, *ways: Way) -> NDArray[np.bool_]:
        """Return which pixels are converted in one of some ways."""
        return np.asarray(np.array([patch.way in ways for patch in self.patches])[self.plane])

    def owners(self, placement: Placement) -> ByteArray:
        """Return the patch that each knot belongs to, shape (rows, columns), in raster order.

        A knot goes the way that covers most of its cell, and belongs to the patch of that way that covers most. Areas
        are whole numbers, and of equal ones the later patch counts wherever it lies, so that a mirrored artwork gives
        the mirrored knots.
        """
        cells = cells_of(placement)
        rows, columns = cells.shape
        owners: ByteArray = np.empty((rows, columns), dtype=np.uint8)
        labels = Labels(self.plane, self.plane, np.broadcast_to(np.uint8(0), self.plane.shape))
        step = max(1, _BAND_AREAS // (columns * len(self.patches)))
        for first in range(0, rows, step):
            band = slice(first, min(first + step, rows))
            owners[band] = self._owners(cells.part((band, slice(0, columns))), labels)
        return owners

    def _owners(self, cells: Cells, labels: Labels) -> NDArray[np.intp]:
        areas = coverages(labels_under(labels, cells), cells, len(self.patches))[0]
        way_of_patch = self.way_of_patch
        by_way = np.stack([areas[..., way_of_patch == way].sum(axis=-1) for way in range(len(self.ways))], axis=-1)
        of_way = way_of_patch == _last_greatest(by_way)[..., None]
        return _last_greatest(np.where(of_way, areas, -1))

    def enlarged(self, height: int, width: int) -> Parts:
        """Return the parts of the artwork when it is enlarged by whole factors to `height` x `width` pixels."""
        down, across = height // self.plane.shape[0], width // self.plane.shape[1]
        return self if down == across == 1 else Parts(self.plane.repeat(down, 0).repeat(across, 1), self.patches)


def _last_greatest(values: NDArray[np.int64]) -> NDArray[np.intp]:
    return np.asarray(values.shape[-1] - 1 - values[..., ::-1].argmax(axis=-1))


def designs_of(design: Design, regions: tuple[Region, ...]) -> tuple[Design, ...]:
    """Return what is asked of pixels in no region, then of each region; what it leaves out is as in `design`."""
    given = ({key: value for key in _KEYS if (value := getattr(region, key)) is not None} for region in regions)
    return (design, *(design.model_copy(update=keys) for keys in given))


def only(artwork: Artwork, where: NDArray[np.bool_]) -> Artwork:
    """Return the artwork with everything else transparent."""
    coverage = np.where(where, 255 if artwork.coverage is None else artwork.coverage, 0).astype(np.uint8)
    return Artwork(artwork.srgb, coverage, artwork.regions)


def window_of(cells: NDArray[np.bool_], margin: int) -> Window:
    """Return the rows and columns that `cells` reach over, with `margin` more all round."""
    rows, columns = (
        slice(max(0, int(met[0]) - margin), min(size, int(met[-1]) + 1 + margin))
        for met, size in (
            (np.flatnonzero(cells.any(axis=1)), cells.shape[0]),
            (np.flatnonzero(cells.any(axis=0)), cells.shape[1]),
        )
    )
    return rows, columns
