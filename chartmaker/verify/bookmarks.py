"""What a reader's window shows of a PDF beside its sheets: its title, the names of the pages, and the bookmarks.

Bookmarks are in words of a language, but the numbers in them are those of the sheet to which they lead.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.verify.expected import Expected
from chartmaker.verify.pdffile import PdfFile, UnreadableError
from chartmaker.verify.sheets import Paper

#: Bookmarks are nested no deeper than this, and no book of sheets has more of them.
DEEPEST, MOST = 4, 200_000
#: Where the letters of plain strings are not those of Latin-1 (ISO 32000-1, table D.2).
_OTHERS = {
    **dict(enumerate("\u02d8\u02c7\u02c6\u02d9\u02dd\u02db\u02da\u02dc", 0x18)),
    **dict(enumerate("\u2022\u2020\u2021\u2026\u2014\u2013\u0192\u2044\u2039\u203a\u2212\u2030", 0x80)),
    **dict(enumerate("\u201e\u201c\u201d\u2018\u2019\u201a\u2122\ufb01\ufb02\u0141\u0152\u0160", 0x8C)),
    **dict(enumerate("\u0178\u017d\u0131\u0142\u0153\u0161\u017e", 0x98)),
    0xA0: "\u20ac",
}
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
    """The numbers that the bookmarks of a book must have, by the number, from 1, of the page to which each leads.

    Attributes
    ----------
    sheets : dict of int to list of int
        Of the bookmark of each sheet of cells or rows.
    groups : dict of int to list of int
        Of the bookmark over those of a strip's sheets, by the first of them.
    """

    sheets: dict[int, list[int]] = field(default_factory=dict)
    groups: dict[int, list[int]] = field(default_factory=dict)


def bookmark_differences(paper: Paper, expected: Expected, due: Due, *, inserted: bool = False) -> Iterator[str]:
    """Yield how title, numbers of pages and bookmarks of a book of sheets differ from its sheets.

    `inserted` says that it has sheets that go into another book, so that its pages do not count from 1.
    """
    pdf = paper.pdf
    if expected.rug.name not in _words(pdf.dictionary(pdf.trailer.get("Info")).get("Title", b"()")):
        yield say("its title, which a window shows, does not name the rug")
    nums = pdf.resolved(pdf.dictionary(pdf.dictionary(pdf.trailer.get("Root")).get("PageLabels")).get("Nums"))
    if not inserted and nums != [0, {"S": "D", "St": 1}]:
        yield say("its pages have other numbers in a window than on paper")
    found = list(bookmarks_of(pdf))
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


def bookmarks_of(pdf: PdfFile) -> Iterator[Bookmark]:
    """Yield the bookmarks in their order.

    Raises
    ------
    UnreadableError
        If they lead anywhere but to pages of the file, or have no end.
    """
    pages: dict[Any, int] = {}
    for number, page in enumerate(pdf.pages(), start=1):
        pages.setdefault(page.get("Contents"), number)
    left = MOST

    def walk(node: Any, depth: int) -> Iterator[Bookmark]:
        nonlocal left
        while node is not None:
            entries, left = pdf.dictionary(node), left - 1
            where = pdf.resolved(entries.get("Dest"))
            page = pdf.dictionary(where[0]) if isinstance(where, list) and where else {}
            number = pages.get(page.get("Contents"))
            if number is None or left < 0 or depth > DEEPEST or page.get("Type") != "Page":
                raise UnreadableError(say("a bookmark in it does not lead to a page"))
            yield Bookmark(depth, _words(entries.get("Title", b"()")), number)
            yield from walk(entries.get("First"), depth + 1)
            node = entries.get("Next")

    root = pdf.dictionary(pdf.trailer.get("Root"))
    yield from walk(pdf.dictionary(root.get("Outlines")).get("First"), 0)


def _words(token: Any) -> str:
    """Return the words of a text string, in UTF-16 with its mark or in plain letters (ISO 32000-1, 7.9.2)."""
    if not isinstance(token, bytes):
        return ""
    if token[:1] == b"<":
        raw = bytes.fromhex(token[1:-1].decode("ascii"))
    else:
        raw = re.sub(rb"\\(\d{3}|.)", _escaped, token[1:-1], flags=re.DOTALL)
    if raw[:2] == b"\xfe\xff":
        return raw.decode("utf-16", "replace")
    return raw.decode("latin-1").translate(_OTHERS)


def _escaped(found: re.Match[bytes]) -> bytes:
    letter = found[1]
    if letter.isdigit():
        return bytes([int(letter, 8) % 256])
    return {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\n": b""}.get(letter, letter)
