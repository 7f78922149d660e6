"""The objects of a PDF, read under limits that let pass only what a chart needs.

This is not a reader for every PDF. It takes the plain form of ISO 32000-1 in which charts are written: one table of
offsets, no object streams, no encryption and nothing appended later. Anything else is refused, and the reason is given.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from chartmaker.ground.language import say

#: No chart of any rug has more objects than this.
MOST_OBJECTS = 400_000
#: Arrays and dictionaries are nested no deeper than this.
_DEEPEST = 24
_TOKEN = re.compile(
    rb"(?:[\x00\t\n\x0c\r ]|%[^\r\n]*)*"
    rb"(<<|>>|\[|\]|/[^\x00\t\n\x0c\r ()<>\[\]{}/%]*|<[0-9A-Fa-f\x00\t\n\x0c\r ]*>|"
    rb"\((?:[^()\\]|\\[\s\S])*\)|[+-]?(?:\d{1,20}\.?\d{0,20}|\.\d{1,20})|[A-Za-z]+|\()"
)
_REFERRED = re.compile(rb"\s+\d{1,5}\s+R(?![A-Za-z])")
#: The rest of an array that holds plain numbers alone, such as the widths of a font's letters.
_NUMBERS = re.compile(rb"(?:[\n\r ]*+[+-]?+(?:\d{1,20}+\.?+\d{0,20}+|\.\d{1,20}+)(?=[\n\r \]]))*+[\n\r ]*+\]")
_ENTRIES = re.compile(rb"(?:\d{10} \d{5} [nf][\r\n ]{2})*+")
_OBJECT = re.compile(rb"\s*(\d{1,10})\s+\d{1,5}\s+obj")
_STREAM = re.compile(rb"\s*stream\r?\n")
#: Names that make a PDF do something (ISO 32000-1: 12.6 actions, 12.5 annotations, 12.7 forms, 7.11 files, 13 media).
ACTIVE = frozenset(
    {
        *("JavaScript", "JS", "OpenAction", "AA", "A", "URI"),
        *("Launch", "SubmitForm", "ImportData", "GoToR", "GoToE", "Annots"),
        *("Annot", "AcroForm", "XFA", "EmbeddedFile", "EmbeddedFiles", "Filespec"),
        *("AF", "RichMedia", "Movie", "Sound", "Rendition", "Collection"),
        *("Encrypt", "OCProperties", "OC", "OCG"),
    }
)


class UnreadableError(ValueError):
    """The file is not written in the way that charts are."""


class Name(str):
    """A name of a PDF, without its slash."""


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference to a value that lies elsewhere in the file."""

    number: int


@dataclass(frozen=True, slots=True)
class Stream:
    """A dictionary and its bytes, as they lie in the file."""

    entries: dict[str, Any]
    raw: bytes


class PdfFile:
    """The objects of the PDF `data`.

    Raises
    ------
    UnreadableError
        Here or later, if it is not a PDF of the kind in which charts are written.
    """

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._known: dict[int, Any] = {}
        self._streams: dict[int, tuple[dict[str, Any], slice]] = {}  # where their bytes lie, which stay in the file
        self.offsets, self.trailer = self._table()

    def _table(self) -> tuple[dict[int, int], dict[str, Any]]:
        starts = re.findall(rb"startxref\s+(\d{1,12})\s+%%EOF", self._data[-1024:])
        if not self._data.startswith(b"%PDF-") or not starts:
            raise UnreadableError(say("it is not a complete PDF"))
        place = int(starts[-1])
        if not self._data.startswith(b"xref", place):
            raise UnreadableError(say("it has no table of its objects"))
        place += 4
        offsets: dict[int, int] = {}
        while head := re.compile(rb"\s*(\d{1,10}) (\d{1,10})\s*\n").match(self._data, place):
            first, count = int(head[1]), int(head[2])
            place = head.end()
            if count > MOST_OBJECTS or len(self._data) < place + 20 * count:
                raise UnreadableError(say("its table of objects is longer than the file"))
            entries = self._data[place : place + 20 * count]
            if not _ENTRIES.fullmatch(entries):
                raise UnreadableError(say("its table of objects is damaged"))
            for number in range(count):
                if entries.startswith(b"n", 20 * number + 17):
                    offsets[first + number] = int(entries[20 * number : 20 * number + 10])
            place += 20 * count
        words = re.compile(rb"\s*trailer").match(self._data, place)
        if words is None or len(offsets) > MOST_OBJECTS:
            raise UnreadableError(say("its table of objects is damaged"))
        trailer, _ = self._value(*self._token(words.end()), 0)
        if not isinstance(trailer, dict) or "Prev" in trailer or "Encrypt" in trailer:
            raise UnreadableError(say("something was appended to it, or it is locked"))
        return offsets, trailer

    def _token(self, place: int) -> tuple[bytes, int]:
        found = _TOKEN.match(self._data, place)
        if found is None:
            raise UnreadableError(say("the object at byte {place} is damaged", place=place))
        return found[1], found.end()

    def _value(self, token: bytes, after: int, depth: int) -> tuple[Any, int]:
        """Return the value that begins with `token`, which ends at `after`, and the place after the value."""
        if depth > _DEEPEST:
            raise UnreadableError(say("its objects are nested too deeply"))
        first = token[:1]
        if first == b"/":
            return _name(token), after
        if first in b"+-.0123456789":
            reference = _REFERRED.match(self._data, after) if token.isdigit() else None
            if reference:
                return Reference(int(token)), reference.end()
            return _number(token), after
        if token == b"<<":
            return self._dictionary(after, depth)
        if token == b"[":
            return self._array(after, depth)
        if first in b"(<" and token != b"(":
            return token, after
        if token in (b"true", b"false", b"null"):
            return {b"true": True, b"false": False, b"null": None}[token], after
        raise UnreadableError(say("the object at byte {place} is damaged", place=after - len(token)))

    def _array(self, place: int, depth: int) -> tuple[list[Any], int]:
        if depth < _DEEPEST and (numbers := _NUMBERS.match(self._data, place)):
            return [_number(each) for each in numbers[0][:-1].split()], numbers.end()
        values: list[Any] = []
        while True:
            token, after = self._token(place)
            if token == b"]":
                return values, after
            value, place = self._value(token, after, depth + 1)
            values.append(value)

    def _dictionary(self, place: int, depth: int) -> tuple[dict[str, Any], int]:
        entries: dict[str, Any] = {}
        while True:
            token, after = self._token(place)
            if token == b">>":
                return entries, after
            if token[:1] != b"/":
                raise UnreadableError(say("the object at byte {place} is damaged", place=place))
            entries[_name(token)], place = self._value(*self._token(after), depth + 1)

    def object(self, number: int) -> Any:
        """Return the object with that number, or None if the file has none."""
        if number in self._known:
            return self._known[number]
        if number in self._streams:
            entries, place = self._streams[number]
            return Stream(entries, self._data[place])
        start = self.offsets.get(number)
        if start is None:
            return None
        head = _OBJECT.match(self._data, start)
        if head is None or int(head[1]) != number:
            raise UnreadableError(say("object {number} is not where the table says", number=number))
        value, after = self._value(*self._token(head.end()), 0)
        opened = _STREAM.match(self._data, after)
        if opened and isinstance(value, dict):
            self._known[number] = None  # a length that refers to itself ends here
            length = self.resolved(value.get("Length"))
            del self._known[number]
            if not isinstance(length, int) or not 0 <= length <= len(self._data) - opened.end():
                raise UnreadableError(say("object {number} is damaged", number=number))
            self._streams[number] = value, slice(opened.end(), opened.end() + length)
            return self.object(number)
        self._known[number] = value
        return value

    def resolved(self, value: Any) -> Any:
        """Return the value itself, following its references."""
        for _ in range(8):
            if not isinstance(value, Reference):
                return value
            value = self.object(value.number)
        raise UnreadableError(say("its references lead in a circle"))

    def dictionary(self, value: Any) -> dict[str, Any]:
        """Return a value that must be a dictionary, or an empty one if it is something else."""
        found = self.resolved(value)
        return found if isinstance(found, dict) else {}

    def pages(self) -> Iterator[dict[str, Any]]:
        """Yield the dictionaries of the pages in order, with what they inherit."""
        root = self.dictionary(self.trailer.get("Root"))
        seen: set[int] = set()

        def walk(node: Any, inherited: dict[str, Any], depth: int) -> Iterator[dict[str, Any]]:
            if isinstance(node, Reference):
                if node.number in seen:
                    raise UnreadableError(say("a page stands in it twice"))
                seen.add(node.number)
            entries = self.dictionary(node)
            below = inherited | {key: entries[key] for key in ("MediaBox", "CropBox", "Rotate") if key in entries}
            below |= {"Resources": entries["Resources"]} if "Resources" in entries else {}
            if entries.get("Type") == "Page":
                yield below | entries
            elif depth < _DEEPEST and isinstance(kids := self.resolved(entries.get("Kids")), list):
                for kid in kids:
                    yield from walk(kid, below, depth + 1)
            else:
                raise UnreadableError(say("its tree of pages is damaged"))

        yield from walk(root.get("Pages"), {}, 0)

    def active_names(self) -> list[str]:
        """Return, sorted, the names in the file that make a PDF do something."""
        found: set[str] = set()
        for number in self.offsets:
            value = self.object(number)
            _gather(value.entries if isinstance(value, Stream) else value, found)
        return sorted(found)


def paper_file(data: bytes) -> PdfFile:
    """Return the objects of a PDF that does nothing.

    Raises
    ------
    UnreadableError
        If it is no PDF of the plain kind, or is more than paper.
    """
    pdf = PdfFile(data)
    if active := pdf.active_names():
        raise UnreadableError(say("it is more than paper: it holds {names}", names=", ".join(active)))
    return pdf


def _gather(value: Any, found: set[str]) -> None:
    """Add the ACTIVE names within a value to `found`; a stream whose bytes lie in another file counts as one."""
    inner: Iterable[Any] = (value,)
    if isinstance(value, dict):
        found.update(ACTIVE.intersection(value))
        if "Length" in value and ("F" in value or "FFilter" in value):
            found.add("F")
        inner = value.values()
    elif isinstance(value, list):
        inner = value
    for each in inner:
        if isinstance(each, Name):
            if each in ACTIVE:
                found.add(each)
        elif isinstance(each, dict | list):
            _gather(each, found)


def _number(token: bytes) -> int | float:
    return int(token) if token.lstrip(b"+-").isdigit() else float(token)


@lru_cache(maxsize=1024)
def _name(token: bytes) -> Name:
    plain = token[1:]
    if b"#" in plain:
        plain = re.sub(rb"#([0-9A-Fa-f]{2})", lambda found: bytes([int(found[1], 16)]), plain)
    return Name(plain.decode("latin-1"))


def decoded(stream: Any, most_bytes: int) -> bytes:
    """Return the unpacked bytes of a stream, at most `most_bytes` of them.

    Raises
    ------
    UnreadableError
        If it is not a stream, or is packed in an unusual way, damaged, or larger.
    """
    if not isinstance(stream, Stream):
        raise UnreadableError(say("a page has no contents"))
    packing = stream.entries.get("Filter")
    packing = packing if isinstance(packing, list) else [] if packing is None else [packing]
    if packing not in ([], ["FlateDecode"]) or stream.entries.get("DecodeParms") is not None:
        raise UnreadableError(say("it is packed in a way that charts are not"))
    if not packing:
        data = stream.raw
    else:
        unpacking = zlib.decompressobj()
        try:
            data = unpacking.decompress(stream.raw, most_bytes + 1)
        except zlib.error as error:
            raise UnreadableError(say("what a page holds is damaged")) from error
        if not unpacking.eof and len(data) <= most_bytes:
            raise UnreadableError(say("what a page holds is cut short"))
    if len(data) > most_bytes:
        raise UnreadableError(say("a page holds more than any sheet does"))
    return data
