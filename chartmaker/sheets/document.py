"""A PDF file that is written page by page, so that memory does not grow with its pages."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from importlib import import_module
from itertools import pairwise
from typing import Any, BinaryIO

from chartmaker.sheets.fonts import Font

# reportlab has no annotations; what stubs say of its document is too narrow.
pdfdoc: Any = import_module("reportlab.pdfbase.pdfdoc")

POINTS_PER_MM = 72 / 25.4
PRODUCER = "chartmaker"


class _Streamed(pdfdoc.PDFDocument):  # type: ignore[misc]
    """reportlab's document, except that each object goes to the stream as soon as it is complete."""

    def __init__(self, stream: BinaryIO) -> None:
        super().__init__(compression=1, invariant=1, pdfVersion=(1, 6))
        self._stream = stream
        self._position = 0
        self._put(b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n")

    def _put(self, data: bytes) -> int:
        start = self._position
        self._stream.write(data)
        self._position += len(data)
        return start

    def write_object(self, name: str) -> None:
        """Write the object registered as `name` and let go of it."""
        data = pdfdoc.PDFIndirectObject(name, self.idToObject[name]).format(self)
        self.idToOffset[name] = self._put(data)
        self.idToObject[name] = None

    def addPage(self, page: Any) -> None:  # noqa: N802
        """Write a page with its contents; only its number is kept."""
        name = self.thisPageName()
        self.Reference(page, name)
        self.Pages.addPage(pdfdoc.PDFObjectReference(name))
        self.pageCounter += 1
        self.inObject = None
        self.write_object(name)
        self.write_object(page.Contents.__InternalName__)

    def finish(self) -> None:
        """Write what is left, the table of offsets, the trailer."""
        self.info.invariant = self.invariant
        self.info.digest(self.signature)
        root, info = self.Reference(self.Catalog), self.Reference(self.info)
        number = 0
        while (number := number + 1) in self.numberToId:  # writing may register more
            name = self.numberToId[number]
            if name not in self.idToOffset:
                self.write_object(name)
        table = [b"xref\n0 %d\n0000000000 65535 f \n" % number]
        table += [b"%010d 00000 n \n" % self.idToOffset[self.numberToId[n]] for n in range(1, number)]
        start = self._put(b"".join(table))
        trailer = pdfdoc.PDFTrailer(startxref=start, Size=number, Root=root, Info=info, ID=self.ID())
        self._put(trailer.format(self))


def _packed(content: bytes) -> Any:
    """Return a compressed stream; a higher level than 4 costs twice the time and spares a twentieth."""
    stream = pdfdoc.PDFStream(content=zlib.compress(content, 4))
    stream.dictionary["Filter"] = pdfdoc.PDFName("FlateDecode")
    return stream


class Document:
    """The PDF as a whole: pages, fonts, forms, pictures, outline, page labels.

    Printing is asked to keep the true size (PrintScaling None); the bytes depend on the contents alone.
    """

    def __init__(self, stream: BinaryIO, *, title: str, subject: str = "") -> None:
        self._pdf = _Streamed(stream)
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

    def add_page(self, width_mm: float, height_mm: float, operators: Sequence[str], label: str) -> None:
        """Write a page whose operators reckon in millimetres from the lower left corner."""
        page = pdfdoc.PDFPage()
        page.pagewidth, page.pageheight = (round(side * POINTS_PER_MM, 3) for side in (width_mm, height_mm))
        scale = f"{POINTS_PER_MM:.6f} 0 0 {POINTS_PER_MM:.6f} 0 0 cm"
        content = "\n".join([scale, *operators, ""]).encode("ascii")
        page.Contents = _packed(content)
        resources = pdfdoc.PDFResourceDictionary()
        resources.basicFonts()
        resources.XObject = pdfdoc.PDFObjectReference("Shared")
        page.Resources = resources
        page.ExtGState = page._shadingUsed = page._colorsUsed = None
        self._pdf.addPage(page)
        self._labels.append((self.pages, label))
        self.pages += 1

    def add_outline(self, title: str, level: int) -> None:
        """Let the outline lead to the page that is added next."""
        self._outline.append((level, title, self.pages))

    def _add_xobject(self, name: str, content: bytes, entries: dict[str, Any]) -> None:
        stream = _packed(content)
        stream.dictionary["Type"] = pdfdoc.PDFName("XObject")
        for key, value in entries.items():
            stream.dictionary[key] = value
        self._xobjects.dict[name] = self._pdf.Reference(stream, f"X.{name}")
        self._pdf.write_object(f"X.{name}")

    def has_xobject(self, name: str) -> bool:
        """Say if a form or picture of that name was added."""
        return name in self._xobjects.dict

    def add_form(self, name: str, box: tuple[float, float, float, float], operators: Sequence[str]) -> None:
        """Add a drawing that pages may repeat with ``/name Do``; `box` is left, bottom, right, top."""
        entries = {
            "Subtype": pdfdoc.PDFName("Form"),
            "BBox": pdfdoc.PDFArray([round(side, 3) for side in box]),
            "Resources": pdfdoc.PDFDictionary({"Font": pdfdoc.PDFObjectReference("BasicFonts")}),
        }
        self._add_xobject(name, "\n".join(operators).encode("ascii"), entries)

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
        labels: list[Any] = []
        for page, label in self._labels:
            labels += [page, pdfdoc.PDFDictionary({"P": pdfdoc.PDFString(label)})]
        catalog.PageLabels = pdfdoc.PDFDictionary({"Nums": pdfdoc.PDFArray(labels)})
        catalog.Outlines = None
        if self._outline:
            catalog.Outlines = _outline(pdf, self._outline)
            catalog.PageMode = pdfdoc.PDFName("UseOutlines")
        pdf.finish()


def _outline(pdf: Any, entries: Sequence[tuple[int, str, int]]) -> Any:
    """Return the reference of the outline's root, its entries (level, title, page) registered in `pdf`."""
    nodes: list[tuple[dict[str, Any], list[int]]] = [({"Type": pdfdoc.PDFName("Outlines")}, [])]
    path = [0]
    for level, title, page in entries:
        path = path[: level + 1]
        nodes[path[-1]][1].append(len(nodes))
        place = pdfdoc.PDFArray([pdfdoc.PDFObjectReference(f"Page{page + 1}"), pdfdoc.PDFName("Fit")])
        node = {"Title": pdfdoc.PDFString(title), "Dest": place, "Parent": pdfdoc.PDFObjectReference(f"O{path[-1]}")}
        path.append(len(nodes))
        nodes.append((node, []))
    for node, children in nodes:
        if not children:
            continue
        node["First"] = pdfdoc.PDFObjectReference(f"O{children[0]}")
        node["Last"] = pdfdoc.PDFObjectReference(f"O{children[-1]}")
        node["Count"] = len(children) if "Parent" not in node else -len(children)  # below the top: closed
        for before, after in pairwise(children):
            nodes[before][0]["Next"] = pdfdoc.PDFObjectReference(f"O{after}")
            nodes[after][0]["Prev"] = pdfdoc.PDFObjectReference(f"O{before}")
    for number, (node, _) in enumerate(nodes):
        pdf.Reference(pdfdoc.PDFDictionary(node), f"O{number}")
    return pdfdoc.PDFObjectReference("O0")
