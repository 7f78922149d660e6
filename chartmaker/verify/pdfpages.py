"""What another program reads on the sheets of a PDF: texts, symbols with their places, painted colours."""

from __future__ import annotations

import ctypes
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

POINTS_PER_MM = 72 / 25.4
#: Symbols have codes in the private use area of Unicode.
_PRIVATE = range(0xE000, 0xF900)


@dataclass(frozen=True)
class Symbols:
    """Symbols on a sheet: `x_mm`, `y_mm` from the lower left corner to where each begins, its `code`; shape (n,)."""

    x_mm: NDArray[np.float64]
    y_mm: NDArray[np.float64]
    code: NDArray[np.int64]


class SheetReader:
    """One sheet of a PDF, as pdfium reads it."""

    def __init__(self, page: Any) -> None:
        import pypdfium2.raw as pdfium

        self._pdfium = pdfium
        self._page = page
        self._letters = page.get_textpage()

    @property
    def texts(self) -> list[str]:
        """The texts in the order in which they were set, those within forms left out, letters beside the paper too."""
        by_object: dict[int, list[tuple[float, str]]] = {}
        pdfium, letters = self._pdfium, self._letters
        width, height = self._page.get_size()
        x, y = ctypes.c_double(), ctypes.c_double()
        for index in range(letters.count_chars()):
            owner = pdfium.FPDFText_GetTextObject(letters, index)
            if owner and not pdfium.FPDFText_IsGenerated(letters, index):
                letter = chr(pdfium.FPDFText_GetUnicode(letters, index))
                pdfium.FPDFText_GetCharOrigin(letters, index, ctypes.byref(x), ctypes.byref(y))
                if not (0 <= x.value <= width and 0 <= y.value <= height):  # nobody can read it there
                    continue
                by_object.setdefault(ctypes.addressof(owner.contents), []).append((x.value, letter))
        top = (ctypes.addressof(each.contents) for each in self._objects(pdfium.FPDF_PAGEOBJ_TEXT))
        return [_in_order(by_object[each]) for each in top if each in by_object]

    @property
    def symbols(self) -> Symbols:
        """The symbols, in no order."""
        pdfium, letters = self._pdfium, self._letters
        x, y = ctypes.c_double(), ctypes.c_double()
        found = []
        for index in range(letters.count_chars()):
            code = pdfium.FPDFText_GetUnicode(letters, index)
            if code in _PRIVATE and pdfium.FPDFText_GetCharOrigin(letters, index, ctypes.byref(x), ctypes.byref(y)):
                found.append((x.value / POINTS_PER_MM, y.value / POINTS_PER_MM, code))
        table = np.array(found, dtype=np.float64).reshape(-1, 3)
        return Symbols(table[:, 0], table[:, 1], table[:, 2].astype(np.int64))

    def painted(self, px_per_mm: float) -> NDArray[np.uint8]:
        """Return the sheet as painted, without texts and forms, sRGB, shape (height, width, 3), top row first."""
        pdfium = self._pdfium
        for kind in (pdfium.FPDF_PAGEOBJ_TEXT, pdfium.FPDF_PAGEOBJ_FORM):
            for each in list(self._objects(kind)):
                pdfium.FPDFPage_RemoveObject(self._page, each)
                pdfium.FPDFPageObj_Destroy(each)
        picture = self._page.render(scale=px_per_mm / POINTS_PER_MM, rev_byteorder=True).to_numpy()
        return np.asarray(picture[..., :3])

    def _objects(self, kind: int) -> Iterator[Any]:
        """Yield the objects of one kind that stand on the sheet itself."""
        pdfium, page = self._pdfium, self._page
        every = (pdfium.FPDFPage_GetObject(page, index) for index in range(pdfium.FPDFPage_CountObjects(page)))
        return (each for each in every if pdfium.FPDFPageObj_GetType(each) == kind)


def _in_order(letters: list[tuple[float, str]]) -> str:
    """Return the letters, each with its x, as one reads them.

    On a line that is mostly written right to left, pdfium tells codes and numbers backwards as well.
    """
    if not any(unicodedata.bidirectional(letter) in ("R", "AL", "AN") for _, letter in letters):
        letters = sorted(letters, key=lambda each: each[0])
    return "".join(letter for _, letter in letters)


def sheets_of(data: bytes) -> Iterator[SheetReader]:
    """Yield the sheets of the PDF `data`, in order.

    Raises
    ------
    ValueError
        If it is no PDF that can be read.
    """
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        raise ValueError(str(error)) from error
    try:
        for index in range(len(document)):
            page = document[index]
            yield SheetReader(page)
            page.close()
    finally:
        document.close()
