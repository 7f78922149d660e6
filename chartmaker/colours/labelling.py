"""Each pixel of flat artwork is given the real colour that it belongs to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.cells import Edges
from chartmaker.colours.palette import MIXTURE_REACH, even_pixels, packed
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.engines import engine
from chartmaker.ground.memory import Values, memory

#: The label of pixels outside the rug.
OUTSIDE = 255
#: How far, in pixels, the colours are looked for between which an edge pixel may lie.
REACH = 2
#: A pixel that is no further than this from a colour in each channel may be sure to have it.
SURE = 12
#: A mixed pixel is measured in so many parts.
WHOLE_SHARE = 254
_BAND_PIXELS = 1_000_000


@dataclass(frozen=True, eq=False)
class Labels:
    """Each pixel's colour as an index into the palette, shape (height, width).

    A pixel on an edge is a mixture, of which the share `second_share`, in parts of WHOLE_SHARE and never above a half,
    has the colour `second`. Elsewhere `second` is the same as `first`. If this is part of an artwork, `top` and `left`
    say where it begins.
    """

    first: ByteArray
    second: ByteArray
    second_share: ByteArray
    top: int = 0
    left: int = 0

    def part(self, rows: slice, columns: slice) -> Labels:
        """Return the labels of some rows and columns of pixels."""
        first, second, share = (whole[rows, columns] for whole in (self.first, self.second, self.second_share))
        return Labels(first, second, share, self.top + rows.start, self.left + columns.start)

    def areas(self, colours: int) -> FloatArray:
        """Return how many pixels each of so many colours has, shape (colours,)."""
        counts = np.zeros(OUTSIDE + 1)
        for row in self.first:  # a line at a time, because numpy widens what it counts to eight bytes
            counts += np.bincount(row, minlength=len(counts))
        return counts[:colours]


def label_pixels(artwork: Artwork, palette: ByteArray) -> Labels:
    """Return which of the `palette` colours, shape (colours, 3), each pixel has.

    An edge pixel gets one of the two colours that it lies between, even if the mixture resembles a third.
    """
    of = (artwork.srgb, artwork.coverage, palette)
    first, second, share = memory().recall("labels", of, lambda: _labelled(artwork, palette))
    if not share.any():  # three planes of a palace carpet are a third of a gigabyte, and here two of them say nothing
        second, share = first, np.broadcast_to(np.uint8(0), first.shape)
    return Labels(first, second, share)


def _labelled(artwork: Artwork, palette: ByteArray) -> Values:
    """Return the first colour of each pixel, its second, and the second's share."""
    table = nearest_table(palette)
    shape = (artwork.height, artwork.width)
    first, second, share = np.empty(shape, np.uint8), np.empty(shape, np.uint8), np.zeros(shape, np.uint8)
    step, halo = max(1, _BAND_PIXELS // artwork.width), REACH + 1

    def work(top: int) -> None:
        low, end = max(0, top - halo), min(artwork.height, top + step)
        band = slice(low, min(artwork.height, end + halo))
        coverage = None if artwork.coverage is None else artwork.coverage[band]
        one, two, part = _label_band(artwork.srgb[band], coverage, palette, table)
        own = slice(top - low, end - low)
        first[top:end], second[top:end], share[top:end] = one[own], two[own], part[own]

    engine().each(work, range(0, artwork.height, step))
    return first, second, share


def of_labels(palette: ByteArray) -> ByteArray:
    """Return the colour of each label, shape (OUTSIDE + 1, 3); black for those that are no colour of the palette."""
    return np.vstack([palette, np.zeros((OUTSIDE + 1 - len(palette), 3), dtype=np.uint8)])


def reached(edges: Edges, first: int, pixels: int) -> NDArray[np.intp]:
    """Return the pixels that cells reach over, counted from the `first` of those at hand; at the ends they repeat."""
    return np.asarray(np.clip(edges.first_pixel + np.arange(edges.pixels) - first, 0, pixels - 1), dtype=np.intp)


def nearest_table(palette: ByteArray) -> ByteArray:
    """Return the nearest palette colour, in sRGB, of each colour of five bits a channel."""
    level = (np.arange(32) * 8 + 4).astype(np.float32)
    distance = [
        ((level - float(red)) ** 2)[:, None, None]
        + ((level - float(green)) ** 2)[None, :, None]
        + ((level - float(blue)) ** 2)[None, None, :]
        for red, green, blue in palette
    ]
    return np.asarray(np.argmin(np.stack(distance), axis=0), dtype=np.uint8)


def _label_band(
    srgb: ByteArray, coverage: ByteArray | None, palette: ByteArray, table: ByteArray
) -> tuple[ByteArray, ByteArray, ByteArray]:
    nearest = table[srgb[..., 0] >> 3, srgb[..., 1] >> 3, srgb[..., 2] >> 3]
    code = packed(srgb)
    mistaken = table[tuple(palette.T >> 3)] != np.arange(len(palette))
    for index in np.flatnonzero(mistaken):  # the table is coarse, so the palette's own colours are set exactly
        nearest[code == packed(palette[index])] = index
    inside = np.ones(code.shape, dtype=bool) if coverage is None else coverage >= 128
    close = np.ones(code.shape, dtype=bool)
    for channel, own in enumerate(palette.T.astype(np.int16)):
        close &= np.abs(srgb[..., channel] - own[nearest]) <= SURE
    sure = even_pixels(np.where(close, nearest.astype(np.int16), -1), inside & close)
    first, second, share = nearest.copy(), nearest.copy(), np.zeros(code.shape, dtype=np.uint8)
    rows, columns = np.nonzero(inside & ~sure)
    if len(rows):

        def hinted(some: NDArray[np.intp]) -> NDArray[np.bool_]:
            return _near(close & inside, nearest, rows[some], columns[some], len(palette))

        present = _near(sure, nearest, rows, columns, len(palette))
        one, two, part = _resolve(srgb[rows, columns], nearest[rows, columns], present, hinted, palette)
        first[rows, columns], second[rows, columns], share[rows, columns] = one, two, part
    first[~inside] = second[~inside] = OUTSIDE
    return first, second, share


def _near(
    sure: NDArray[np.bool_], labels: ByteArray, rows: NDArray[np.intp], columns: NDArray[np.intp], colours: int
) -> NDArray[np.bool_]:
    """Return which colours surely occur within REACH of each of the pixels, shape (n, colours)."""
    around = np.pad(np.where(sure, labels.astype(np.int16), colours), REACH, mode="edge")
    width, around = around.shape[1], around.ravel()
    present = np.zeros(len(rows) * (colours + 1), dtype=bool)  # one more, for pixels that are not sure
    index, corner = np.arange(len(rows)) * (colours + 1), rows * width + columns
    for down in range(2 * REACH + 1):
        for right in range(2 * REACH + 1):
            present[index + around[corner + (down * width + right)]] = True
    return present.reshape(-1, colours + 1)[:, :colours]


def _resolve(
    srgb: ByteArray,
    nearest: ByteArray,
    present: NDArray[np.bool_],
    hinted: Callable[[NDArray[np.intp]], NDArray[np.bool_]],
    palette: ByteArray,
) -> tuple[ByteArray, ByteArray, ByteArray]:
    """Return the first and second colours of pixels on edges, and the share of the second in parts of WHOLE_SHARE.

    `present` are the colours of areas near each of the pixels. `hinted` gives those of single pixels as well, for the
    few pixels that areas do not explain.
    """
    # Whole numbers and then one rounded operation after another give the same on every processor.
    colour, colours = srgb.astype(np.int64), palette.astype(np.int64)
    best = np.full(len(srgb), np.inf)
    one, two, part = nearest.copy(), nearest.copy(), np.zeros(len(srgb))

    def consider(rows: NDArray[np.intp], a: int, b: int, handicap: float) -> None:
        step = colours[b] - colours[a]
        apart = colour[rows] - colours[a]
        length = max(int((step**2).sum()), 1)
        along = np.clip((apart * step).sum(-1), 0, length)
        square = (apart**2).sum(-1) * length - 2 * along * (apart * step).sum(-1) + along**2
        residual = np.sqrt(square / length) + handicap
        better = residual < best[rows]
        at = rows[better]
        best[at], one[at], two[at], part[at] = residual[better], a, b, (along / length)[better]

    for a in range(len(palette)):
        has = present[:, a]
        if not has.any():
            continue
        for b in range(a + 1, len(palette)):
            consider(np.flatnonzero(has & present[:, b]), a, b, 0.0)
    # No two colours of areas explain these: either one of the colours is that of a line beside ...
    lone = np.flatnonzero(best > MIXTURE_REACH)
    near = hinted(lone)
    for a, b in combinations(np.flatnonzero(near.any(axis=0)).tolist(), 2):
        consider(lone[near[:, a] & near[:, b]], a, b, 0.0)
    # ... or three meet there ...
    still = best[lone] > MIXTURE_REACH
    lone, near = lone[still], near[still]
    if len(lone):
        meeting, first, second, share = _of_three(colour[lone], near, colours)
        at = lone[meeting]
        best[at], one[at], two[at], part[at] = 0.0, first[meeting], second[meeting], share[meeting]
        lone = lone[~meeting]
    # ... or, in a line too thin for a pixel of its own, one of the colours is not at hand.
    if len(lone):
        own = np.sqrt(((colour[lone] - colours[nearest[lone]]) ** 2).sum(-1).astype(np.float64))
        better = own < best[lone]
        at = lone[better]
        best[at], one[at], two[at], part[at] = own[better], nearest[at], nearest[at], 0
        for a in range(len(palette)):
            rows = lone[present[lone, a] & (best[lone] > MIXTURE_REACH / 2)]
            for b in range(len(palette)):
                if len(rows) and b != a:
                    consider(rows, a, b, MIXTURE_REACH / 4)
    swap = part > 0.5
    first, second = np.where(swap, two, one), np.where(swap, one, two)
    share = np.where(swap, 1 - part, part)
    return first, second, np.asarray(np.round(share * WHOLE_SHARE), dtype=np.uint8)


def _of_three(
    colour: NDArray[np.int64], present: NDArray[np.bool_], colours: NDArray[np.int64]
) -> tuple[NDArray[np.bool_], ByteArray, ByteArray, FloatArray]:
    """Return which pixels are mixtures of three colours at hand, with the two that they have most of.

    The share is that of the second of these two, of both.
    """
    pixels = len(colour)
    best = np.full(pixels, float(MIXTURE_REACH))
    meeting, share = np.zeros(pixels, dtype=bool), np.zeros(pixels)
    first, second = np.zeros(pixels, dtype=np.uint8), np.zeros(pixels, dtype=np.uint8)
    sets, which = np.unique(present, axis=0, return_inverse=True)
    own = [np.flatnonzero(which.ravel() == number) for number in range(len(sets))]
    threes = [list(combinations(np.flatnonzero(met).tolist(), 3)) for met in sets]
    for rows, three in ((at, three) for at, some in zip(own, threes, strict=True) for three in some):
        a, b = colours[three[1]] - colours[three[0]], colours[three[2]] - colours[three[0]]
        aa, ab, bb = int(a @ a), int(a @ b), int(b @ b)
        det = aa * bb - ab * ab
        if not det:
            continue
        apart = colour[rows] - colours[three[0]]
        to_a, to_b = apart @ a, apart @ b
        of_a, of_b = to_a * bb - to_b * ab, to_b * aa - to_a * ab
        parts = np.stack([det - of_a - of_b, of_a, of_b], axis=1)
        away = np.sqrt(np.maximum((apart**2).sum(axis=1) - (of_a * to_a + of_b * to_b) / det, 0))
        good = (parts >= 0).all(axis=1) & (away < best[rows])
        at, parts = rows[good], parts[good]
        order = np.argsort(-parts, axis=1, kind="stable")[:, :2]
        most, next_to = np.take_along_axis(parts, order, axis=1).T
        best[at], meeting[at], share[at] = away[good], True, next_to / (most + next_to)
        first[at], second[at] = np.array(three, dtype=np.uint8)[order].T
    return meeting, first, second, share
