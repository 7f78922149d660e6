"""Regions may be mirrored on their own middle, or left out when the whole rug is mirrored."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import Window
from chartmaker.convert.parts import window_of
from chartmaker.ground.language import phrase, say
from chartmaker.knots.symmetry import Values, mirrored, multiplicity, symmetry_note
from chartmaker.knots.times import Times
from chartmaker.order.design import Mirror, Region

#: What is said of a rug with regions that have a mirror of their own, by how the rest of it is mirrored.
_REST = {
    "across": phrase("Regions with a mirror of their own follow it; the rest is mirrored across."),
    "along": phrase("Regions with a mirror of their own follow it; the rest is mirrored along."),
    "both": phrase("Regions with a mirror of their own follow it; the rest is mirrored across and along."),
    "none": phrase("Regions with a mirror of their own follow it; the rest is not mirrored."),
}


@dataclass(frozen=True, eq=False)
class Reflections:
    """What is mirrored: some regions each on its own middle, and the rest on the middle of the rug.

    `own` has, by number, the mirror of each region with one of its own. `region_of`, shape (rows, columns) in raster
    order, has the region of each cell, or is None if there are no regions. A cell becomes like its mirror image if both
    are mirrored together; the left half and the lower half are the masters.
    """

    mirror: Mirror
    own: Mapping[int, Mirror]
    region_of: ByteArray | None = None

    @property
    def halved(self) -> Mirror:
        """How the whole rug is mirrored as one, so that only a part of it needs to be converted."""
        return "none" if self.own else self.mirror

    def of(self, values: NDArray[Values]) -> NDArray[Values]:
        """Return the values of cells, shape (rows, columns), after mirroring."""
        if not self.own:
            return mirrored(values, self.mirror)
        result = values.copy()
        for window, copies, axis in self._steps():
            part = result[window]
            part[copies] = np.flip(part, axis)[copies]
        return result

    def times(self, rows: int, columns: int) -> Times:
        """Return how often each cell is woven."""
        down, across = multiplicity(rows, columns, self.halved)
        if not self.own:
            return Times(down, across)
        each = np.ones((rows, columns), dtype=np.uint8)
        for window, copies, axis in reversed(list(self._steps())):
            part = each[window]
            given = np.where(copies, part, 0).astype(np.uint8)
            part[copies] = 0
            part += np.flip(given, axis)
        return Times(down, across, each)

    def note(self, knots: NDArray[np.uint16]) -> str:
        """Return what there is to say about the symmetry of the finished `knots`, or an empty text."""
        if not self.own:
            return symmetry_note(knots, self.mirror)
        return " ".join(filter(None, (say(_REST[self.mirror]), symmetry_note(knots, "none"))))

    def _steps(self) -> Iterator[tuple[Window, NDArray[np.bool_], int]]:
        """Yield a window of cells, which of them are copies, and the axis on which the window is mirrored."""
        assert self.region_of is not None
        apart = np.isin(self.region_of, list(self.own))
        whole = (slice(0, self.region_of.shape[0]), slice(0, self.region_of.shape[1]))
        yield from _copies(~apart, whole, self.mirror)
        for region, mirror in self.own.items():
            cells = self.region_of == region
            if cells.any():
                yield from _copies(cells, window_of(cells, 0), mirror)


def reflections_of(mirror: Mirror, regions: tuple[Region, ...], region_of: ByteArray | None) -> Reflections:
    """Return what an order mirrors.

    Only regions that have knots count. If all knots belong to one region, its mirror is that of the rug.
    """
    own = {number: region.mirror for number, region in enumerate(regions, start=1) if region.mirror is not None}
    if region_of is None:
        return Reflections(mirror, own)
    met = np.unique(region_of).tolist()
    asked = {own.get(number, mirror) for number in met}
    if len(met) == 1 or asked == {"none"}:
        return Reflections(asked.pop(), {}, region_of)
    return Reflections(mirror, {number: own[number] for number in met if number in own}, region_of)


def _copies(
    cells: NDArray[np.bool_], window: Window, mirror: Mirror
) -> Iterator[tuple[Window, NDArray[np.bool_], int]]:
    for axis in (1, 0):
        if mirror not in ("across" if axis else "along", "both"):
            continue
        within = cells[window]
        copies = within & np.flip(within, axis)
        half, size = within.shape[axis] // 2, within.shape[axis]
        if axis:
            copies[:, : size - half] = False
        else:
            copies[half:] = False
        yield window, copies, axis
