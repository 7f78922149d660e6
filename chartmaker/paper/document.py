"""A PDF file that is written page by page, so that memory does not grow with its pages."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, BinaryIO

from chartmaker.paper import operators as op
from chartmaker.paper.fonts import Font
from chartmaker.paper.operators import Operator
from chartmaker.paper.pdfobjects import PRODUCER, StreamedPdf, packed_stream, page_of, pdfdoc

POINTS_PER_MM = 72 / 25.4


class Document:
    """The PDF as a whole: pages, fonts, forms, pictures, outline, page labels.

    Printing is asked to keep the true size (PrintScaling None); the bytes depend on the contents alone.
    """

    def __init__(self, stream: BinaryIO, *, title: str, subject: str = "") -> None:
        self._pdf = StreamedPdf(stream)
        self._pdf.setTitle(title)
        self._pdf.setSubject(subject)
        self._pdf.setAuthor("")
        self._pdf.setCreator(PRODUCER)
        self._pdf.setProducer(PRODUCER)
        self._xobjects = pdfdoc.PDFDictionary({})
        self._pdf.Reference(self._xobjects, "Shared")
        self._fonts = self._pdf.idToObject["BasicFonts"]
        self._outline: list[tuple[int, str, int]] = []
        self._labels: list[tuple[int, str]] = []
        self.pages = 0

    def add_page(self, width_mm: float, height_mm: float, operators: Sequence[Operator], label: str) -> None:
        """Write a page whose operators reckon in millimetres from the lower left corner."""
        width_pt, height_pt = (round(side * POINTS_PER_MM, 3) for side in (width_mm, height_mm))
        content = op.lines([op.unit(POINTS_PER_MM), *operators])
        page = page_of(width_pt, height_pt, f"{content}\n".encode("ascii"))
        self._pdf.addPage(page)
        self.pages += 1
        if label != str(self.pages):  # plain counting needs no entry
            self._labels.append((self.pages - 1, label))

    def add_outline(self, title: str, level: int) -> None:
        """Let the outline lead to the page that is added next."""
        self._outline.append((level, title, self.pages))

    def _add_xobject(self, name: str, content: bytes, entries: dict[str, Any]) -> None:
        stream = packed_stream(content)
        stream.dictionary["Type"] = pdfdoc.PDFName("XObject")
        for key, value in entries.items():
            stream.dictionary[key] = value
        self._xobjects.dict[name] = self._pdf.Reference(stream, f"X.{name}")
        self._pdf.write_object(f"X.{name}")

    def add_form(self, name: str, box: tuple[float, float, float, float], operators: Sequence[Operator]) -> None:
        """Add a drawing that pages may repeat with ``/name Do``; `box` is left, bottom, right, top."""
        entries = {
            "Subtype": pdfdoc.PDFName("Form"),
            "BBox": pdfdoc.PDFArray([round(side, 3) for side in box]),
            "Resources": pdfdoc.PDFDictionary({"Font": pdfdoc.PDFObjectReference("BasicFonts")}),
        }
        self._add_xobject(name, op.lines(operators).encode("ascii"), entries)

    def add_picture(self, name: str, rows: int, columns: int, rgb: bytes) -> None:
        """Add a picture of `rows` x `columns` pixels, three bytes each, top row first."""
        entries = {
            "Subtype": pdfdoc.PDFName("Image"),
            "Width": columns,
            "Height": rows,
            "ColorSpace": pdfdoc.PDFName("DeviceRGB"),
            "BitsPerComponent": 8,
        }
        self._add_xobject(name, rgb, entries)

    def close(self, fonts: Sequence[Font]) -> None:
        """Write what remains, with the `fonts` that pages used."""
        pdf = self._pdf
        for font in fonts:
            if font.used:
                self._fonts.dict[font.key] = pdf.Reference(font.pdf_font(pdf))
        catalog = pdf.Catalog
        catalog.ViewerPreferences = pdfdoc.PDFDictionary(
            {"PrintScaling": pdfdoc.PDFName("None"), "DisplayDocTitle": "true"}
        )
        catalog.PageLabels = pdfdoc.PDFDictionary({"Nums": pdfdoc.PDFArray(_label_ranges(self._labels, self.pages))})
        catalog.Outlines = None
        if self._outline:
            catalog.Outlines = _write_outline(pdf, self._outline)
            catalog.PageMode = pdfdoc.PDFName("UseOutlines")
        pdf.finish()


def _label_ranges(named: Sequence[tuple[int, str]], pages: int) -> list[Any]:
    """Return the number tree of page labels: pages count from 1, except those that are (page, label) in `named`."""
    ranges: dict[int, Any] = {}
    for page, label in named:
        ranges[page] = pdfdoc.PDFDictionary({"P": pdfdoc.PDFString(label)})
    for page in (0, *(page + 1 for page, _ in named)):
        if page not in ranges and page < pages:
            ranges[page] = pdfdoc.PDFDictionary({"S": pdfdoc.PDFName("D"), "St": page + 1})
    return [item for page in sorted(ranges) for item in (page, ranges[page])]


def _write_outline(pdf: StreamedPdf, entries: Sequence[tuple[int, str, int]]) -> Any:
    """Write the outline of (level, title, page) entries; return the reference of its root."""
    root = pdf.reserve(len(entries) + 1)
    parents: list[int] = []
    children: dict[int, list[int]] = {0: []}
    path = [0]
    for node, (level, _, _) in enumerate(entries, start=1):
        path = path[: level + 1]
        parents.append(path[-1])
        children.setdefault(path[-1], []).append(node)
        path.append(node)

    def family(node: int) -> str:
        if node not in children or not children[node]:
            return ""
        first, last, count = children[node][0], children[node][-1], len(children[node])
        return f"/First {root + first} 0 R /Last {root + last} 0 R /Count {count if node == 0 else -count}"

    pdf.write_raw(root, f"<</Type /Outlines {family(0)}>>")
    beside: dict[int, str] = {}
    for nodes in children.values():
        for before, after in pairwise(nodes):
            beside[before] = beside.get(before, "") + f"/Next {root + after} 0 R "
            beside[after] = beside.get(after, "") + f"/Prev {root + before} 0 R "
    for node, ((_, title, page), parent) in enumerate(zip(entries, parents, strict=True), start=1):
        words = title.encode("utf-16-be").hex()
        pdf.write_raw(
            root + node,
            f"<</Title <feff{words}> /Dest [{pdf.page_numbers[page]} 0 R /Fit] /Parent {root + parent} 0 R "
            f"{beside.get(node, '')}{family(node)}>>",
        )
    return f"{root} 0 R"
