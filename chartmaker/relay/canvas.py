"""The picture that a relaid rug is put together on: stretches of the drawing, each laid on so many whole knots."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray

Places = NDArray[np.intp]


class Stretch:
    """Pixels of the drawing that some knots in one direction are drawn with, put together piece by piece."""

    def __init__(self, px_per_knot: int, size: int) -> None:
        self._px, self._size = px_per_knot, size
        self._places: list[Places] = []

    def add(self, first: float, end: float, knots: int, within: tuple[float, float] | None = None) -> Stretch:
        """Draw so many knots with the pixels from `first` to `end`, those not `within` with the nearest that are."""
        number = knots * self._px
        if number:
            at = first + (np.arange(number) + 0.5) * (end - first) / number
            # What falls between two pixels takes the one nearer to the middle, so that mirror images remain ones.
            at += np.sign((first + end) / 2 - at) * 1e-6
            low, high = (0, self._size) if within is None else within
            self._places.append(np.clip(np.floor(at), max(low, 0), min(high, self._size) - 1).astype(np.intp))
        return self

    def empty(self) -> Stretch:
        """Return another stretch of the same drawing with nothing in it."""
        return Stretch(self._px, self._size)

    def extend(self, other: Stretch, *, leave_first: bool, leave_last: bool) -> None:
        """Add another stretch, perhaps without its first or its last knot."""
        places = other.places
        self._places.append(places[self._px if leave_first else 0 : len(places) - (self._px if leave_last else 0)])

    def mirror_last(self, first: float, end: float) -> None:
        """Let the second half of what was added last be the mirror image of its first half.

        The drawing is its own mirror image from `first` to `end`, so that there are pixels which show that.
        """
        if not self._places:
            return
        places = self._places[-1]
        half = len(places) // 2
        places[len(places) - half :] = np.clip(round(first + end) - 1 - places[:half][::-1], 0, self._size - 1)

    def mirror_all(self, first: float, end: float) -> None:
        """Let the second half of all that was added be the mirror image of its first half, as `mirror_last` does."""
        self._places = [self.places]
        self.mirror_last(first, end)

    @property
    def places(self) -> Places:
        return np.concatenate(self._places) if self._places else np.empty(0, np.intp)


class Canvas:
    """The picture that parts of the drawing are laid on, in knots."""

    def __init__(self, artwork: Artwork, height: int, width: int, px: int) -> None:
        self.drawing, self.px = artwork, px
        self._srgb = np.zeros((height, width, 3), dtype=np.uint8)
        self._coverage = None if artwork.coverage is None else np.zeros((height, width), dtype=np.uint8)

    @property
    def artwork(self) -> Artwork:
        return Artwork(self._srgb, self._coverage)

    @property
    def size(self) -> tuple[int, int]:
        """Its height and width in pixels."""
        return self._srgb.shape[0], self._srgb.shape[1]

    def paint_pixels(self, at: tuple[Places, Places], rows: Places, columns: Places) -> None:
        """Draw single pixels with those at `rows` and `columns` of the drawing."""
        self._srgb[at] = self.drawing.srgb[rows, columns]
        if self._coverage is not None and self.drawing.coverage is not None:
            self._coverage[at] = np.broadcast_to(self.drawing.coverage, self.drawing.srgb.shape[:2])[rows, columns]

    def down(self) -> Stretch:
        return Stretch(self.px, self.drawing.height)

    def across(self) -> Stretch:
        return Stretch(self.px, self.drawing.width)

    def lay(
        self,
        into: tuple[slice, slice],
        rows: Places,
        columns: Places,
        turn: str = "",
        only: NDArray[np.bool_] | None = None,
    ) -> None:
        """Draw some knots with the pixels at `rows` and `columns` of the drawing.

        `turn` makes the top of a foot (``flip down``), a right side of a left one (``flip across``), and a left side
        of a foot (``turn``), which stands with its outer rim to the left then. Where `only` is not set, what is drawn
        already stays.
        """
        self._put(self.pixels(into), rows, columns, turn, only)

    def lay_pixels(self, into: tuple[Places, slice], rows: Places, columns: Places) -> None:
        """Draw some rows of pixels, over columns of knots."""
        first = slice(int(into[0][0]), int(into[0][-1]) + 1)
        across = slice(into[1].start * self.px, into[1].stop * self.px)
        self._put((first, across), rows, columns, "", None)

    def _put(
        self, at: tuple[slice, slice], rows: Places, columns: Places, turn: str, only: NDArray[np.bool_] | None
    ) -> None:
        planes: list[tuple[ByteArray, ByteArray]] = [(self._srgb, self.drawing.srgb)]
        if self._coverage is not None and self.drawing.coverage is not None:
            planes.append((self._coverage, np.broadcast_to(self.drawing.coverage, self.drawing.srgb.shape[:2])))
        for onto, of in planes:
            taken = of[np.ix_(rows, columns)]
            if "turn" in turn:
                taken = np.swapaxes(taken[::-1], 0, 1)
            if "flip across" in turn:
                taken = taken[:, ::-1]
            if "flip down" in turn:
                taken = taken[::-1]
            if only is None:
                onto[at] = taken
            else:
                onto[at][only] = taken[only]

    def paint(self, into: tuple[slice, slice], places: Places) -> None:
        """Draw some knots with the pixels of the drawing at `places`, counted along its rows, one for each pixel."""
        self._srgb[self.pixels(into)] = self.drawing.srgb.reshape(-1, 3)[places]
        if self._coverage is not None and self.drawing.coverage is not None:
            whole = np.broadcast_to(self.drawing.coverage, self.drawing.srgb.shape[:2])
            self._coverage[self.pixels(into)] = whole.reshape(-1)[places]

    def fill(self, into: tuple[slice, slice], srgb: ByteArray) -> None:
        self._srgb[self.pixels(into)] = srgb
        if self._coverage is not None:
            self._coverage[self.pixels(into)] = 255

    def knots(self, into: tuple[slice, slice]) -> ByteArray:
        """Return the colour in the middle of each of some knots."""
        rows, columns = self.pixels(into)
        return self._srgb[rows, columns][self.px // 2 :: self.px, self.px // 2 :: self.px]

    def fill_knots(self, into: tuple[slice, slice], which: NDArray[np.bool_], srgb: ByteArray) -> None:
        """Draw those knots of some that are set in one colour."""
        self._srgb[self.pixels(into)][np.repeat(np.repeat(which, self.px, axis=0), self.px, axis=1)] = srgb

    def pixels(self, knots: tuple[slice, slice]) -> tuple[slice, slice]:
        """Return where knots lie on the picture."""
        rows, columns = knots
        return (
            slice(rows.start * self.px, rows.stop * self.px),
            slice(columns.start * self.px, columns.stop * self.px),
        )
