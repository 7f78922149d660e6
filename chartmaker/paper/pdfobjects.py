"""The objects that a PDF file consists of, and every internal of reportlab that chartmaker uses.

reportlab writes a file at its end, from objects that it keeps until then. Charts have thousands of sheets, so that here
each object goes to the stream as soon as it is complete. reportlab offers no such thing: what this module overrides and
reads is undocumented, and a release may change it. Nothing else in chartmaker touches it, `INSIDE` says what it is and
why, and a test names whatever is gone.
"""

from __future__ import annotations

import hashlib
import zlib
from importlib import import_module
from types import SimpleNamespace
from typing import Any, BinaryIO

# reportlab has no annotations; what stubs say of its document is too narrow.
pdfdoc: Any = import_module("reportlab.pdfbase.pdfdoc")

PRODUCER = "chartmaker"

#: Releases of reportlab that the example's set was made and verified with; from 4.4.10 on its files are the same bytes.
TRIED = ("4.2.5", "4.4.10", "5.0.1", "5.1.0")

#: What is used of reportlab's inside, by the object that has it: the name, and the reason.
INSIDE = {
    "document": {
        "_timeStamp": "the file's date, which reportlab takes from SOURCE_DATE_EPOCH; ours depends on nothing",
        "signature": "what the file's ID is reckoned from; it depends on our contents alone",
        "idToObject": "the objects by name; one that is written is let go of",
        "idToObjectNumberAndVersion": "the number of an object, which the table of offsets needs",
        "numberToId": "the names by number, to write those that are left at the end",
        "objectcounter": "the last number in use, to set numbers aside for the outline",
        "inObject": "addPage says with it that no page is being drawn",
        "pageCounter": "thisPageName counts by it",
        "thisPageName": "the name that a page is registered by",
        "Reference": "registers an object under a name",
        "ID": "the entry of the trailer",
        "info": "title, author and producer; digest puts them into the ID",
        "Pages": "the tree of pages; it gets their references at the end",
        "Catalog": "the root; it gets labels, outline and preferences",
    },
    "object": {
        "__InternalName__": "the name that an object was registered by when none was given",
        "format": "the bytes of an object",
    },
}


class StreamedPdf(pdfdoc.PDFDocument):  # type: ignore[misc]
    """reportlab's document, except that each object goes to the stream as soon as it is complete."""

    def __init__(self, stream: BinaryIO) -> None:
        super().__init__(compression=1, invariant=1, pdfVersion=(1, 6))
        # reportlab takes SOURCE_DATE_EPOCH for the time; the same map gives the same bytes there as well
        self._timeStamp = SimpleNamespace(YMDhms=(2000, 1, 1, 0, 0, 0), dhh=0, dmm=0)
        self.signature = hashlib.md5(PRODUCER.encode("ascii"), usedforsecurity=False)
        self._stream = stream
        self._position = 0
        self._offsets: dict[int, int] = {}
        self.page_numbers: list[int] = []
        self._put(b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n")

    def _put(self, data: bytes) -> int:
        start = self._position
        self._stream.write(data)
        self._position += len(data)
        return start

    def write_object(self, name: str) -> int:
        """Write the object registered as `name` and let go of it; return its number."""
        number = int(self.idToObjectNumberAndVersion[name][0])
        data = pdfdoc.PDFIndirectObject(name, self.idToObject[name]).format(self)
        self._offsets[number] = self._put(data)
        self.idToObject[name] = None
        return number

    def write_raw(self, number: int, body: str) -> None:
        """Write an object that is already formatted."""
        self._offsets[number] = self._put(f"{number} 0 obj\n{body}\nendobj\n".encode("latin-1"))

    def reserve(self, count: int) -> int:
        """Set `count` object numbers aside for `write_raw`; return the first."""
        first = int(self.objectcounter) + 1
        self.objectcounter += count
        return first

    def addPage(self, page: Any) -> None:  # noqa: N802
        """Write a page with its contents; only its number is kept."""
        name = self.thisPageName()
        self.Reference(page, name)
        self.pageCounter += 1
        self.inObject = None
        self.page_numbers.append(self.write_object(name))
        for done in (name, page.Contents.__InternalName__):
            if self.idToObject[done] is not None:
                self.write_object(done)
            del self.idToObject[done], self.numberToId[self.idToObjectNumberAndVersion.pop(done)[0]]

    def finish(self) -> None:
        """Write what is left, then the table of offsets and the trailer."""
        self.info.invariant = self.invariant
        self.info.digest(self.signature)
        self.Pages.pages = [f"{number} 0 R" for number in self.page_numbers]
        root, info = self.Reference(self.Catalog), self.Reference(self.info)
        number = 0
        while (number := number + 1) <= self.objectcounter:  # writing may register more
            if number not in self._offsets:
                self.write_object(self.numberToId[number])
        table = [b"xref\n0 %d\n0000000000 65535 f \n" % number]
        table += [b"%010d 00000 n \n" % self._offsets[n] for n in range(1, number)]
        start = self._put(b"".join(table))
        trailer = pdfdoc.PDFTrailer(startxref=start, Size=number, Root=root, Info=info, ID=self.ID())
        self._put(trailer.format(self))


def packed_stream(content: bytes) -> Any:
    """Return a compressed stream; a higher level than 4 costs twice the time and spares a twentieth."""
    stream = pdfdoc.PDFStream(content=zlib.compress(content, 4))
    stream.dictionary["Filter"] = pdfdoc.PDFName("FlateDecode")
    return stream


def page_of(width_pt: float, height_pt: float, content: bytes) -> Any:
    """Return a page that shows `content`, with the fonts of the document and the XObjects called ``Shared``."""
    page = pdfdoc.PDFPage()
    page.pagewidth, page.pageheight = width_pt, height_pt
    page.Contents = packed_stream(content)
    resources = pdfdoc.PDFResourceDictionary()
    resources.basicFonts()
    resources.XObject = pdfdoc.PDFObjectReference("Shared")
    page.Resources = resources
    return page
