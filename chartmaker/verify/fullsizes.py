"""A drawing in full size, rendered sheet by sheet so that verify can look at it as a picture of the whole rug."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import KnotMap
from chartmaker.readback.lettering import PrintedFont
from chartmaker.readback.pdffile import PdfFile, decoded

#: The printed size may be off by this share.
MOST_OFF = 0.001
#: How much shorter than it is a window may be printed, in pixels.
_SHORT_PX = 0.01
#: No sheet of a drawing holds more bytes than this.
CONTENT_BYTES = 400_000_000
#: The tag that says which part of the drawing a sheet shows, and where on the sheet it lies.
PLACE = re.compile(rb"/kn-pattern <</Window \[([^\]]*)\] /Box \[([^\]]*)\]>> BDC")
_CODE = re.compile(rb"/kn-pattern-map (?:BMC|<<.*?>> BDC)(.*?)EMC", re.DOTALL)
#: How a font is chosen and a text is set in it.
_SHOWN = re.compile(rb"/(\w+) [\d.]+ Tf.*?(<[0-9a-fA-F]+>) Tj", re.DOTALL)


@dataclass(frozen=True, eq=False)
class FullSize:
    """A drawing of a map in full size, and how closely it is looked at."""

    #: It is rendered with this many pixels a millimetre, and with fewer if it would have more pixels than that.
    px_per_mm: ClassVar[float] = 2.0
    most_pixels: ClassVar[int] = 24_000_000

    knot_map: KnotMap
    width_mm: float
    height_mm: float

    @property
    def scale(self) -> float:
        """The pixels a millimetre of the whole rug's rendering."""
        return min(self.px_per_mm, math.sqrt(self.most_pixels / (self.width_mm * self.height_mm)))

    @property
    def shape(self) -> tuple[int, int]:
        """The height and the width of the whole rug's rendering, in pixels."""
        return round(self.height_mm * self.scale), round(self.width_mm * self.scale)


def contents_of(pdf: PdfFile) -> Iterator[tuple[bytes, dict[str, Any]]]:
    """Yield the content of each sheet with the fonts that it is set in."""
    for page in pdf.pages():
        fonts = pdf.dictionary(pdf.dictionary(page.get("Resources")).get("Font"))
        yield decoded(pdf.resolved(page.get("Contents")), CONTENT_BYTES), fonts


def names_map(content: bytes, fonts: dict[str, Any], pdf: PdfFile, code: str) -> bool:
    """Return whether a sheet bears the code of its map and no other; a sheet that is no drawing need bear none."""
    found = [words_in(within, pdf, fonts) for within in _CODE.findall(content)]
    return found == [code] or (not found and PLACE.search(content) is None)


def words_in(within: bytes, pdf: PdfFile, fonts: dict[str, Any]) -> str:
    """Return what the first text within a part of some content says."""
    shown = _SHOWN.search(within)
    return PrintedFont(pdf, fonts.get(shown[1].decode())).read(shown[2])[0] if shown else ""


def shown_pixels(
    window: list[float], scale: float, shape: tuple[int, int]
) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    """Return the rows and columns of the whole rug's rendering that a window of the rug shows.

    A window is printed to few decimals, so one that ends at half a pixel may come out a little short of it.
    """
    left, low, wide, high = window
    top, right = shape[0] - (low + high) * scale - _SHORT_PX, (left + wide) * scale + _SHORT_PX
    return (
        np.arange(max(0, round(top)), min(shape[0], round(shape[0] - low * scale))),
        np.arange(max(0, round(left * scale)), min(shape[1], round(right))),
    )


def looked_at(
    data: bytes, sheet: int, window: list[float], box: list[float], scale: float, shape: tuple[int, int]
) -> tuple[Any, NDArray[np.uint8]]:
    """Return the rows and columns of the rug that a sheet shows, and the blue, green and red of their pixels.

    `shape` is that of the whole rug at `scale` pixels a millimetre; `window` is the part of the rug that the sheet
    shows, and `box` is where on the sheet it lies.
    """
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        page = document[sheet]
        picture = np.asarray(page.render(scale=scale * 25.4 / 72).to_numpy())
    finally:
        document.close()
    rows, columns = shown_pixels(window, scale, shape)
    # One pixel of the rug is one of the sheet. Rounding once makes sure that none is taken twice or left out.
    right = math.floor((box[0] - window[0]) * scale + 0.5 + 1e-6)
    down = math.floor(picture.shape[0] - (box[1] - window[1]) * scale - shape[0] + 0.5 + 1e-6)
    there = np.clip(rows + down, 0, picture.shape[0] - 1)
    across = np.clip(columns + right, 0, picture.shape[1] - 1)
    return np.ix_(rows, columns), picture[np.ix_(there, across)]
