"""The drawing of a PDF altered and packed again, with everything else in it as it was."""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable, Mapping

from chartmaker.readback.pdffile import PdfFile, Stream


def contents_of(data: bytes) -> dict[int, str]:
    """Return the contents of the pages and forms of a PDF as text, by the number of their object."""
    pdf = PdfFile(data)
    found: dict[int, str] = {}
    for number in sorted(pdf.offsets):
        value = pdf.object(number)
        if isinstance(value, Stream) and value.entries.get("Filter") is not None:
            plain = zlib.decompress(value.raw)
            if re.search(rb" (cm|Tj|re|Do)\b", plain) and value.entries.get("Subtype") != "Image":
                found[number] = plain.decode("ascii")
    return found


def packed(data: bytes, contents: Mapping[int, str], told: Callable[[bytes], bytes] = bytes) -> bytes:
    """Return a PDF with other contents in some of its pages and forms, or with its objects `told` otherwise."""
    pdf = PdfFile(data)
    out, offsets = bytearray(b"%PDF-1.6\n"), {}
    for number in sorted(pdf.offsets):
        start = pdf.offsets[number]
        body = data[start : data.index(b"endobj", start) + 6]
        value = pdf.object(number)
        if number in contents:
            stream = zlib.compress(contents[number].encode("ascii"), 1)
            keys = re.sub(rb"/Length \d+", b"/Length %d" % len(stream), body[: body.index(b"stream")])
            body = keys + b"stream\n" + stream + b"\nendstream\nendobj"
        elif isinstance(value, Stream):
            end = data.index(value.raw, start) + len(value.raw)
            body = data[start : data.index(b"endobj", end) + 6]
        head, stream, rest = body.partition(b"stream\n")
        body = told(head) + stream + rest
        offsets[number] = len(out)
        out += body + b"\n"
    last = max(offsets)
    table = b"".join(
        b"%010d 00000 n \n" % offsets[n] if n in offsets else b"0000000000 65535 f \n" for n in range(last + 1)
    )
    root = pdf.trailer["Root"].number
    info = b"/Info %d 0 R " % pdf.trailer["Info"].number if "Info" in pdf.trailer else b""
    trailer = b"trailer\n<</Size %d %s/Root %d 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (last + 1, info, root, len(out))
    return bytes(out) + b"xref\n0 %d\n" % (last + 1) + table + trailer


def repacked(data: bytes, change: Callable[[str], str], one: bool = False) -> bytes:
    """Return a PDF with the contents of its pages and forms changed, or of only one page if `one`."""
    changed: dict[int, str] = {}
    for number, text in contents_of(data).items():
        if (other := change(text)) != text:
            changed[number] = other
            if one:
                break
    assert changed, "the tampering changed nothing"
    return packed(data, changed)
