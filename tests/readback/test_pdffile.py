"""Of the objects of a PDF only the plain form is read (ISO 32000-1, clause 7), and anything else is refused by name."""

from __future__ import annotations

import zlib
from typing import Any

import pytest

from chartmaker.readback.pdffile import PdfFile, Reference, Stream, UnreadableError, decoded

ROOT = b"<</Type /Catalog /Pages 2 0 R>>"
TRAILER = b"<</Size 9 /Root 1 0 R>>"


def pdf(*objects: bytes, trailer: bytes = TRAILER, head: bytes = b"%PDF-1.6\n") -> bytes:
    """Return a PDF whose objects are numbered from 1."""
    out, offsets = bytearray(head), []
    for number, body in enumerate(objects, start=1):
        offsets.append(len(out))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    table = b"0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    start = len(out)
    out += b"xref\n0 %d\n" % (len(objects) + 1) + table + b"trailer\n" + trailer
    return bytes(out) + b"\nstartxref\n%d\n%%%%EOF\n" % start


def value(body: bytes) -> Any:
    return PdfFile(pdf(body)).object(1)


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        (b"12", 12),
        (b"-3", -3),
        (b"+4", 4),
        (b"2.50", 2.5),
        (b"-.25", -0.25),
        (b"7.", 7.0),
        (b"true", True),
        (b"false", False),
        (b"null", None),
        (b"/Name", "Name"),
        (b"/A#20b", "A b"),
        (b"/A#2fb#2Fc#2g", "A/b/c#2g"),
        (b"(a (b) c)", None),
        (b"<48 65>", b"<48 65>"),
        (b"(a \\) b)", b"(a \\) b)"),
        (b"[1 [2 /X] <</K 3>>]", [1, [2, "X"], {"K": 3}]),
        (b"<</A 5 0 R /B [6 0 R 7] /C 8>>", {"A": Reference(5), "B": [Reference(6), 7], "C": 8}),
        (b"[1 0 R 2 0 Rx]", None),
        (b"% a remark\n 5", 5),
        (b"bogus", None),
        (b"{", None),
        (b"[1 )]", None),
        (b"<</A>>", None),
        (b"<<1 2>>", None),
        (b"[1 2", None),
        (b"(open", None),
    ],
)
def test_values_are_read_as_they_are_written(body: bytes, wanted: Any) -> None:
    if wanted is None and body != b"null":
        with pytest.raises(UnreadableError, match=r"at byte \d+ is damaged"):
            value(body)
    else:
        found = value(body)
        assert (found, type(found) is bool) == (wanted, type(wanted) is bool)


def nested(depth: int) -> bytes:
    return b"[" * depth + b"]" * depth


def test_values_are_nested_no_deeper_than_a_chart_nests_them() -> None:
    for body in (nested(25), b"<</A " * 24 + b"1" + b">>" * 24):
        value(body)
    for body in (nested(26), b"<</A " * 25 + b"1" + b">>" * 25):
        with pytest.raises(UnreadableError, match="nested too deeply"):
            value(body)


def test_objects_are_found_by_the_table_alone() -> None:
    file = PdfFile(pdf(b"1", b"[1 0 R]"))
    assert (file.object(2), file.object(2), file.object(3), file.object(0)) == (
        [Reference(1)],
        [Reference(1)],
        None,
        None,
    )
    assert (file.resolved(Reference(1)), file.resolved(5), file.dictionary(Reference(2))) == (1, 5, {})
    parted = pdf(b"1", b"2").replace(b"xref\n0 3\n", b"xref\n0 1\n").replace(b" f \n", b" f \n1 2\n", 1)
    assert [PdfFile(parted).object(number) for number in (1, 2)] == [1, 2]


DAMAGED = {
    "no PDF": (pdf(b"1", head=b"PDF-1.6\n"), "not a complete PDF"),
    "an end too far from the end": (pdf(b"1") + b" " * 1100, "not a complete PDF"),
    "no table": (pdf(b"1").replace(b"xref\n0", b"yref\n0"), "has no table"),
    "a longer table than the file": (pdf(b"1").replace(b"xref\n0 2\n", b"xref\n0 9\n"), "longer than the file"),
    "a table without end": (pdf(b"1").replace(b"xref\n0 2\n", b"xref\n0 400001\n"), "longer than the file"),
    "a damaged line": (pdf(b"1").replace(b" 00000 n", b" 00000 x"), "table of objects is damaged"),
    "no trailer": (pdf(b"1").replace(b"trailer", b"tracker"), "table of objects is damaged"),
    "something appended": (pdf(b"1", trailer=b"<</Root 1 0 R /Prev 9>>"), "appended to it"),
    "a lock": (pdf(b"1", trailer=b"<</Root 1 0 R /Encrypt 9>>"), "it is locked"),
    "a trailer of another kind": (pdf(b"1", trailer=b"[1]"), "appended to it"),
}


@pytest.mark.parametrize("what", DAMAGED)
def test_a_file_with_another_table_is_refused(what: str) -> None:
    data, words = DAMAGED[what]
    with pytest.raises(UnreadableError, match=words):
        PdfFile(data)


def test_an_object_must_lie_where_the_table_says() -> None:
    moved = pdf(b"1", b"2").replace(b"2 0 obj", b"3 0 obj")
    with pytest.raises(UnreadableError, match="object 2 is not where"):
        PdfFile(moved).object(2)
    circle = PdfFile(pdf(b"2 0 R", b"1 0 R"))
    with pytest.raises(UnreadableError, match="lead in a circle"):
        circle.resolved(Reference(1))
    chain = PdfFile(pdf(*(b"%d 0 R" % (number + 1) for number in range(1, 9)), b"5"))
    assert chain.resolved(Reference(3)) == 5
    with pytest.raises(UnreadableError, match="lead in a circle"):
        chain.resolved(Reference(1))


def stream(length: bytes, data: bytes, more: bytes = b"") -> bytes:
    return b"<</Length " + length + more + b">>\nstream\n" + data + b"\nendstream"


def test_a_stream_is_as_long_as_it_says() -> None:
    file = PdfFile(pdf(stream(b"3", b"abc"), stream(b"3 0 R", b"defgh"), b"4"))
    assert [file.object(number).raw for number in (1, 2)] == [b"abc", b"defg"]
    assert isinstance(file.object(1), Stream)
    assert value(stream(b"0", b"")).raw == b""
    for length in (b"-1", b"99999", b"(x)", b"1 0 R", b"3.0"):
        with pytest.raises(UnreadableError, match="object 1 is damaged"):
            value(stream(length, b"abc"))


def paged(*objects: bytes) -> list[dict[str, Any]]:
    return list(PdfFile(pdf(ROOT, *objects)).pages())


def test_pages_have_what_they_inherit_unless_they_have_their_own() -> None:
    top = b"<</Kids [3 0 R 4 0 R] /MediaBox 1 /CropBox 2 /Rotate 3 /Resources 4 /Other 5>>"
    pages = paged(top, b"<</Kids [5 0 R] /Rotate 6>>", b"<</Type /Page>>", b"<</Type /Page /MediaBox 7 /Resources 8>>")
    assert pages == [
        {"Type": "Page", "MediaBox": 7, "CropBox": 2, "Rotate": 6, "Resources": 8},
        {"Type": "Page", "MediaBox": 1, "CropBox": 2, "Rotate": 3, "Resources": 4},
    ]


@pytest.mark.parametrize(
    ("objects", "words"),
    [
        ((b"<</Kids [3 0 R 3 0 R]>>", b"<</Type /Page>>"), "stands in it twice"),
        ((b"<</Kids [2 0 R]>>",), "stands in it twice"),
        ((b"<</Kids 3>>",), "tree of pages is damaged"),
        ((b"[]",), "tree of pages is damaged"),
        ((*(b"<</Kids [%d 0 R]>>" % (n + 1) for n in range(2, 28)), b"<</Type /Page>>"), "tree of pages is damaged"),
    ],
)
def test_a_damaged_tree_of_pages_is_refused(objects: tuple[bytes, ...], words: str) -> None:
    with pytest.raises(UnreadableError, match=words):
        paged(*objects)


#: Actions, annotations, forms, attachments, media, locks and layers.
NAMES = (
    "JavaScript JS OpenAction AA A URI Launch SubmitForm ImportData GoToR GoToE Annots Annot AcroForm XFA EmbeddedFile "
    "EmbeddedFiles Filespec AF RichMedia Movie Sound Rendition Collection Encrypt OCProperties OC OCG"
)


@pytest.mark.parametrize("name", NAMES.split())
def test_whatever_makes_a_file_do_something_is_named(name: str) -> None:
    """Actions, annotations, forms, attachments, media and layers, as a key or as a value (ISO 32000-1, 7.11 to 13)."""
    word = b"/" + name.encode()
    for body in (b"<<" + word + b" 1>>", b"[[/X " + word + b"]]", b"<</S " + word + b">>"):
        assert PdfFile(pdf(b"1", body)).active_names() == [name]
    assert PdfFile(pdf(b"1", stream(b"0", b"", b" /X <<" + word + b" 1>>"))).active_names() == [name]


def test_a_stream_in_another_file_is_named_and_plain_objects_are_not() -> None:
    for key in (b"F", b"FFilter"):
        assert PdfFile(pdf(stream(b"0", b"", b" /" + key + b" (x)"))).active_names() == ["F"]
    assert PdfFile(pdf(b"<</F 1 /Names [(A)]>>", b"<</Type /Page>>", stream(b"1", b"A"))).active_names() == []
    assert PdfFile(pdf(b"<</URI 1>>", b"<</AA 1>>")).active_names() == ["AA", "URI"]


def test_a_stream_is_unpacked_up_to_a_limit() -> None:
    packed = zlib.compress(b"x" * 500)
    plain, deflated = Stream({}, b"x" * 500), Stream({"Filter": "FlateDecode"}, packed)
    for each in (plain, deflated, Stream({"Filter": ["FlateDecode"]}, packed)):
        assert decoded(each, 500) == b"x" * 500
        with pytest.raises(UnreadableError, match="more than any sheet does"):
            decoded(each, 499)
    wrong: dict[str, tuple[Any, str]] = {
        "no stream": ({}, "has no contents"),
        "another packing": (Stream({"Filter": "LZWDecode"}, packed), "packed in a way"),
        "packed twice": (Stream({"Filter": ["FlateDecode", "FlateDecode"]}, packed), "packed in a way"),
        "a predictor": (Stream({"Filter": "FlateDecode", "DecodeParms": {}}, packed), "packed in a way"),
        "noise": (Stream({"Filter": "FlateDecode"}, b"noise"), "is damaged"),
        "half of it": (Stream({"Filter": "FlateDecode"}, packed[:-5]), "is cut short"),
    }
    for each, words in wrong.values():
        with pytest.raises(UnreadableError, match=words):
            decoded(each, 1000)
