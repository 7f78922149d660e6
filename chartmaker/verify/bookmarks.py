"""What a reader's window shows of a PDF beside its sheets: its title, the names of the pages, and the bookmarks.

Bookmarks are in words of a language, but the numbers in them are those of the sheet to which they lead.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.readback.pdffile import UnreadableError
from chartmaker.verify.expected import Expected
from chartmaker.verify.sheets import Paper

#: No book of sheets has more bookmarks than this.
MOST = 200_000
_NUMBER = re.compile(r"\d+(?:,\d{3})*")


@dataclass(frozen=True)
class Bookmark:
    """A bookmark with its depth, its words, and the number, from 1, of the page to which it leads."""

    depth: int
    words: str
    page: int

    @property
    def numbers(self) -> list[int]:
        """The numbers in its words."""
        return [int(each.replace(",", "")) for each in _NUMBER.findall(self.words)]


@dataclass(slots=True)
class Due:
    """The numbers in the bookmarks of single sheets and of strips, by the number, from 1, of the first page of each."""

    sheets: dict[int, list[int]] = field(default_factory=dict)
    groups: dict[int, list[int]] = field(default_factory=dict)


def bookmark_differences(paper: Paper, expected: Expected, due: Due, *, inserted: bool = False) -> Iterator[str]:
    """Yield how title, numbers of pages and bookmarks of a book of sheets differ from its sheets.

    `inserted` says that it has sheets that go into another book, so that its pages do not count from 1.
    """
    pdf = paper.pdf
    title, found = title_and_bookmarks(paper.data)
    if expected.rug.name not in title:
        yield say("its title, which a window shows, does not name the rug")
    nums = pdf.resolved(pdf.dictionary(pdf.dictionary(pdf.trailer.get("Root")).get("PageLabels")).get("Nums"))
    if not inserted and nums != [0, {"S": "D", "St": 1}]:
        yield say("its pages have other numbers in a window than on paper")
    if [mark.page for mark in found] != sorted(mark.page for mark in found):
        yield say("its bookmarks are not in the order of its pages")
    of_groups = [mark for mark in found if mark.depth == 0 and mark.numbers]
    of_sheets = [mark for mark in found if mark.depth > 0]
    for marks, wanted in ((of_groups, due.groups), (of_sheets, due.sheets)):
        if [mark.page for mark in marks] != sorted(wanted):
            yield say("its bookmarks do not lead to all its sheets")
            continue
        for mark in marks:
            if sorted(mark.numbers) != sorted(wanted[mark.page]):
                yield say("its bookmark {words!r} leads to another sheet", words=inert(mark.words))


def title_and_bookmarks(data: bytes) -> tuple[str, list[Bookmark]]:
    """Return the title of a PDF and its bookmarks in their order, as pdfium shows them in a window.

    Raises
    ------
    UnreadableError
        If a bookmark leads anywhere but to a page of the file, or there is no end of them.
    """
    import pypdfium2

    found: list[Bookmark] = []
    document = pypdfium2.PdfDocument(data)
    try:
        title = document.get_metadata_value("Title")
        for mark in document.get_toc():
            where = mark.get_dest()
            page = None if where is None else where.get_index()
            if page is None or not 0 <= page < len(document) or len(found) > MOST:
                raise UnreadableError(say("a bookmark in it does not lead to a page"))
            found.append(Bookmark(mark.level, mark.get_title(), page + 1))
    finally:
        document.close()
    return title, found
