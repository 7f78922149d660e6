"""The sheets of a printed PDF, opened under limits, with what each prints and the colours that another program sees.

Two readers look at every sheet. Our own says which text stands where and under which tag. pdfium, which shares no code
with us, says which colours are seen. Anything that could make the two see different things is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.paper.lettering import base_font
from chartmaker.paper.symbols import symbol_font
from chartmaker.readback.content import POINTS_PER_MM, Contents
from chartmaker.readback.lettering import PrintedFont
from chartmaker.readback.operators import State
from chartmaker.readback.pdffile import Stream, UnreadableError, decoded, paper_file
from chartmaker.readback.printed import Block, Picture, extent_of, flat

#: No sheet is larger than this, which leaves room beyond A0 (841 x 1189 mm).
LARGEST_MM = 2_000.0
#: How many bytes of drawing a sheet may hold besides its cells and for each cell, and how many operators in all.
SHEET_BYTES, CELL_BYTES = 6_000_000, 120
FILE_OPERATORS, CELL_OPERATORS = 40_000_000, 1_000
_PAGE_KEYS = {"Type", "Parent", "Contents", "MediaBox", "CropBox", "Rotate", "Resources"}
_RESOURCE_KEYS = {"Font", "XObject", "ProcSet"}
#: What a form draws may lie this far beyond its box, which nobody sees, in the units of the form.
_OFF = 0.05
#: The fonts whose letters are known, by their key in the file; the workshop's own font is W.
_FONTS = {"T": "Vera.ttf", "B": "VeraBd.ttf"}


@dataclass(frozen=True)
class Sheet:
    """One sheet with its `number`, counted from 1, its size, and what it prints."""

    number: int
    width_mm: float
    height_mm: float
    root: Block


class Paper:
    """The sheets of the PDF `data`, which belongs to a rug of so many `cells`.

    Raises
    ------
    UnreadableError
        Here or later, if it is not a PDF of the kind in which charts are written, or if it is more than paper.
    """

    def __init__(self, data: bytes, cells: int) -> None:
        self.data = data
        self.pdf = paper_file(data)
        self._most_bytes = SHEET_BYTES + CELL_BYTES * cells
        self._most_operators = FILE_OPERATORS + CELL_OPERATORS * cells
        self.pages = list(self.pdf.pages())
        self._readers: dict[int, Contents] = {}

    def sheets(self) -> Iterator[Sheet]:
        """Yield the sheets, in order."""
        resources: Any = object()
        reader = None
        for number, page in enumerate(self.pages, start=1):
            width, height = self._size(page)
            if reader is None or page.get("Resources") != resources:
                resources = page.get("Resources")
                reader = self._reader(resources)
            content = decoded(self.pdf.resolved(page.get("Contents")), self._most_bytes)
            root = reader.page(content)
            self._looked_over(root)
            yield Sheet(number, width, height, root)

    def _looked_over(self, root: Block) -> None:
        """Refuse pictures that are not tagged as the rug's."""
        known = {id(each) for block in root.find("picture") for each in block.items}
        for item, _, _ in flat(root):
            if isinstance(item, Picture) and id(item) not in known:
                raise UnreadableError(say("it holds a picture that is not the rug's"))

    def _size(self, page: dict[str, Any]) -> tuple[float, float]:
        """Return the width and height of a page in millimetres."""
        odd = sorted(set(page) - _PAGE_KEYS)
        box = self.pdf.resolved(page.get("MediaBox"))
        crop = self.pdf.resolved(page.get("CropBox", box))
        if odd or page.get("Rotate", 0) != 0 or crop != box:
            raise UnreadableError(say("a page is not plain paper: {words}", words=", ".join(odd) or "Rotate, CropBox"))
        if not (isinstance(box, list) and len(box) == 4 and all(isinstance(each, int | float) for each in box)):
            raise UnreadableError(say("a page has no size"))
        left, low, right, high = box
        width, height = right / POINTS_PER_MM, high / POINTS_PER_MM
        if left or low or not (0 < width <= LARGEST_MM and 0 < height <= LARGEST_MM):
            raise UnreadableError(say("a page is larger than any paper, or does not begin at its corner"))
        return width, height

    def _reader(self, resources: Any) -> Contents:
        """Return a reader for pages with these resources."""
        entries = self.pdf.dictionary(resources)
        if odd := sorted(set(entries) - _RESOURCE_KEYS):
            raise UnreadableError(say("a page is not plain paper: {words}", words=", ".join(odd)))
        fonts = {key: PrintedFont(self.pdf, value) for key, value in self.pdf.dictionary(entries.get("Font")).items()}
        for key, font in fonts.items():
            known = base_font(_FONTS[key]) if key in _FONTS else symbol_font() if key == "S" else None
            if known is None and key != "W":
                raise UnreadableError(say("it has a font that charts do not have: {key}", key=key))
            if known is not None and (not font.truetype or font.unlike(known)):
                raise UnreadableError(say("letters of its font {key} do not look like what they mean", key=key))
        forms = self.pdf.dictionary(entries.get("XObject"))
        plain: dict[str, bytes | None] = {}

        def form(name: str) -> bytes | None:
            if name not in plain:
                plain[name] = None  # a form that draws itself ends here
                plain[name] = content = self._form(forms.get(name), entries)
                if content is not None:
                    self._within_its_box(forms.get(name), reader.drawing(content, State(), 1))
            return plain[name]

        reader = Contents(fonts, form, self._most_operators)
        return reader

    def _within_its_box(self, value: Any, root: Block) -> None:
        """Refuse a form whose box, to which other programs cut it, does not hold all that it draws."""
        box = self.pdf.resolved(self.pdf.resolved(value).entries.get("BBox"))
        if not (isinstance(box, list) and len(box) == 4 and all(isinstance(each, int | float) for each in box)):
            raise UnreadableError(say("it has a drawing of another kind than charts have"))
        for item, dx, dy in flat(root):
            left, low, right, high = extent_of(item)
            inside = box[0] <= left + dx + _OFF and right + dx <= box[2] + _OFF
            if not inside or not (box[1] <= low + dy + _OFF and high + dy <= box[3] + _OFF):
                raise UnreadableError(say("a drawing in it is cut off at its box"))

    def _form(self, value: Any, resources: dict[str, Any]) -> bytes | None:
        """Return the contents of a form, or None for a picture; a form has no resources but those of its page."""
        stream = self.pdf.resolved(value)
        if not isinstance(stream, Stream):
            raise UnreadableError(say("a page draws what the file does not have"))
        entries = stream.entries
        if entries.get("Subtype") == "Image":
            return None
        odd = {"Matrix", "Group", "Ref", "OPI", "PS"}.intersection(entries)
        own = self.pdf.dictionary(entries.get("Resources"))
        odd |= {key for key, each in own.items() if key != "ProcSet" and each != resources.get(key)}
        if entries.get("Subtype") != "Form" or odd:
            raise UnreadableError(say("it has a drawing of another kind than charts have"))
        return decoded(stream, self._most_bytes)

    def picture(self, name: str) -> NDArray[np.uint8]:
        """Return the picture `name` of the first page, sRGB, shape (rows, columns, 3), top row first."""
        forms = self.pdf.dictionary(self.pdf.dictionary(self.pages[0].get("Resources")).get("XObject"))
        stream = self.pdf.resolved(forms.get(name))
        entries = stream.entries if isinstance(stream, Stream) else {}
        rows, columns = entries.get("Height"), entries.get("Width")
        plain = {"Type", "Subtype", "Width", "Height", "ColorSpace", "BitsPerComponent", "Filter", "Length"}
        if set(entries) - plain or entries.get("ColorSpace") != "DeviceRGB" or entries.get("BitsPerComponent") != 8:
            raise UnreadableError(say("its picture of the rug is of another kind than charts have"))
        data = decoded(stream, self._most_bytes)
        if not isinstance(rows, int) or not isinstance(columns, int) or rows * columns * 3 != len(data) or not rows:
            raise UnreadableError(say("its picture of the rug is damaged"))
        return np.frombuffer(data, dtype=np.uint8).reshape(rows, columns, 3)

    def seen(self) -> Iterator[Painted]:
        """Yield the sheets in order, as pdfium paints them.

        Raises
        ------
        UnreadableError
            If pdfium cannot read the file.
        """
        import pypdfium2

        try:
            document = pypdfium2.PdfDocument(self.data)
        except pypdfium2.PdfiumError as error:
            raise UnreadableError(str(error)) from error
        try:
            if len(document) != len(self.pages):
                raise UnreadableError(say("another program does not see the same number of sheets in it"))
            for index in range(len(document)):
                page = document[index]
                yield Painted(page)
                page.close()
        finally:
            document.close()


class Painted:
    """A sheet as pdfium paints it, without its texts and repeated drawings."""

    def __init__(self, page: Any) -> None:
        self._page = page

    def picture(self, px_per_mm: float) -> NDArray[np.uint8]:
        """Return the sheet, sRGB, shape (height, width, 3), top row first."""
        import pypdfium2.raw as pdfium

        kinds = pdfium.FPDF_PAGEOBJ_TEXT, pdfium.FPDF_PAGEOBJ_FORM
        count = pdfium.FPDFPage_CountObjects(self._page)
        every = [pdfium.FPDFPage_GetObject(self._page, index) for index in range(count)]
        for each in every:
            if pdfium.FPDFPageObj_GetType(each) in kinds:
                pdfium.FPDFPage_RemoveObject(self._page, each)
                pdfium.FPDFPageObj_Destroy(each)
        picture = self._page.render(scale=px_per_mm / POINTS_PER_MM, rev_byteorder=True).to_numpy()
        return np.asarray(picture[..., :3])
