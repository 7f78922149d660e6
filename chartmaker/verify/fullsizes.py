"""A drawing in full size, rendered sheet by sheet so that verify can look at it as a picture of the whole rug."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.readback.content import Contents
from chartmaker.readback.lettering import PrintedFont
from chartmaker.readback.operators import State
from chartmaker.readback.pdffile import PdfFile, decoded
from chartmaker.verify.rulers import NAMES, SHORTEST_MM, ruler_mm

#: The printed size may be off by this share.
MOST_OFF = 0.001
#: How much shorter than it is a window may be printed, in pixels.
_SHORT_PX = 0.01
#: No sheet of a drawing holds more bytes than this.
CONTENT_BYTES = 400_000_000
#: The tag that says which part of the drawing a sheet shows, and where on the sheet it lies.
PLACE = re.compile(rb"/kn-pattern <</Window \[([^\]]*)\] /Box \[([^\]]*)\]>> BDC")
_CODE = re.compile(rb"/kn-pattern-map (?:BMC|<<.*?>> BDC)(.*?)EMC", re.DOTALL)
_NUMBER = rb"(-?[\d.]+(?:e-?\d+)?)"
#: A repeated drawing with the place where it stands, the arrow at the top of the design, and a point of its outline.
_FORM = re.compile(rb"q 1 0 0 1 " + _NUMBER + rb" " + _NUMBER + rb" cm /(\w+) Do Q")
_TOP = re.compile(rb"/kn-top BMC(.*?)EMC", re.DOTALL)
_POINT = re.compile(_NUMBER + rb" " + _NUMBER + rb" [ml]\b")
#: No ruler takes more bytes, or operators.
_RULER_BYTES = 100_000
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


@dataclass(frozen=True, eq=False)
class FullSheet:
    """A sheet of a drawing in full size by its number, with its content and the fonts and forms that it is set in.

    Its `place` is the window, the part of the rug that it shows, and the box, where that lies on it, both by left,
    bottom, width and height in millimetres.
    """

    pdf: PdfFile
    number: int
    content: bytes
    fonts: Mapping[str, Any]
    forms: Mapping[str, Any]

    @cached_property
    def place(self) -> tuple[list[float], list[float]] | None:
        """The window and the box, or None on a sheet that is no drawing."""
        found = PLACE.search(self.content)
        if found is None:
            return None
        window, box = ([float(value) for value in part.split()] for part in found.groups())
        return window, box

    def words_in(self, within: bytes) -> str:
        """Return what the first text within a part of the content says."""
        shown = _SHOWN.search(within)
        return PrintedFont(self.pdf, self.fonts.get(shown[1].decode())).read(shown[2])[0] if shown else ""

    def faults(self, code: str) -> Iterator[str]:
        """Yield whether it names another map, or is no drawing in true size with its rulers and with its top marked."""
        named = [self.words_in(within) for within in _CODE.findall(self.content)]
        if named != [code] and (named or self.place is not None):
            yield say("sheet {sheet} does not name its map", sheet=self.number)
        if self.place is None:
            return
        window, box = self.place
        if any(abs(box[side] / window[side] - 1) > MOST_OFF for side in (2, 3)):
            yield say("sheet {sheet} is not in true size", sheet=self.number)
        if sorted(self._rulers()) != sorted((name, True) for name in NAMES.values()):
            yield say("sheet {sheet} does not have one true ruler across and one upward", sheet=self.number)
        if not self._top_is_up(box):
            yield say("sheet {sheet} does not mark the top of the design above it", sheet=self.number)

    def _rulers(self) -> Iterator[tuple[str, bool]]:
        """Yield the way of each ruler, and whether it stands on the sheet and is true to the millimetre."""
        fonts = {key: PrintedFont(self.pdf, font) for key, font in self.fonts.items()}
        for x, y, name in _FORM.findall(self.content):
            drawn = decoded(self.pdf.resolved(self.forms.get(name.decode())), _RULER_BYTES)
            root = Contents(fonts, lambda _: None, _RULER_BYTES).drawing(drawn, State(), 0)
            for upward, way in NAMES.items():
                if name.decode().startswith(way):
                    yield way, float(x) >= 0 <= float(y) and ruler_mm(root, upward=upward) >= SHORTEST_MM

    def _top_is_up(self, box: Sequence[float]) -> bool:
        """Return whether one arrow stands over the drawing and points away from it."""
        arrows = [_POINT.findall(within) for within in _TOP.findall(self.content)]
        if len(arrows) != 1 or len(arrows[0]) != 3:
            return False
        (left, low), (right, other), (tip, high) = sorted(
            ((float(x), float(y)) for x, y in arrows[0]), key=lambda point: (point[1], point[0])
        )
        return box[0] <= left < tip < right <= box[0] + box[2] and box[1] + box[3] <= low == other < high


def full_sheets(pdf: PdfFile) -> Iterator[FullSheet]:
    """Yield the sheets of a drawing in full size, in order."""
    for number, page in enumerate(pdf.pages(), start=1):
        resources = pdf.dictionary(page.get("Resources"))
        content = decoded(pdf.resolved(page.get("Contents")), CONTENT_BYTES)
        fonts, forms = (pdf.dictionary(resources.get(name)) for name in ("Font", "XObject"))
        yield FullSheet(pdf, number, content, fonts, forms)


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
    data: bytes, number: int, window: list[float], box: list[float], scale: float, shape: tuple[int, int]
) -> tuple[Any, NDArray[np.uint8]]:
    """Return the rows and columns of the rug that sheet `number` shows, and the blue, green and red of their pixels.

    `shape` is that of the whole rug at `scale` pixels a millimetre; `window` is the part of the rug that the sheet
    shows, and `box` is where on the sheet it lies.
    """
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        page = document[number - 1]
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
