"""The account of a PDF lists what stands or lies on each page, where, how large and in which colour.

The reader is pdfium, which knows nothing of how the sheets are drawn. Lengths are in millimetres from the lower left
corner of the page, so that a line says what somebody with a ruler would find. Symbols have no letters and are listed by
their places alone; other tests read from the chart which symbol stands where.
"""

from __future__ import annotations

import ctypes
import re
from collections.abc import Iterator, Sequence
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as raw

_MM = 25.4 / 72
_NUMBER = re.compile(r"-?\d+\.\d+")
#: Numbers of two accounts count as the same if they differ only by rounding.
_OFF = 0.021

Matrix = tuple[float, float, float, float, float, float]


def account_of(data: bytes) -> list[str]:
    """Return the lines of the account of a PDF, page by page, in the order of drawing."""
    pdf = pdfium.PdfDocument(data)
    lines = [f"{key}: {value}" for key, value in pdf.get_metadata_dict().items() if value and "Date" not in key]
    lines += [f"leads to page {each.get_dest().get_index() + 1}: {each.get_title()}" for each in pdf.get_toc()]
    for number, page in enumerate(pdf, start=1):
        width, height = page.get_size()
        lines.append(f"page {number}: {width * _MM:.1f} x {height * _MM:.1f} mm, {pdf.get_page_label(number - 1)}")
        letters, last = raw.FPDFText_LoadPage(page), ""
        for index in range(raw.FPDFPage_CountObjects(page)):
            for style, told in _told(raw.FPDFPage_GetObject(page, index), letters, (_MM, 0, 0, _MM, 0, 0)):
                if style != last:
                    lines.append(style)
                lines.append(told)
                last = style
        raw.FPDFText_ClosePage(letters)
    return lines


def same(line: str, other: str) -> bool:
    """Return whether two lines say the same apart from the rounding of numbers."""
    if line == other:
        return True
    numbers = zip(_NUMBER.findall(line), _NUMBER.findall(other), strict=False)
    return _NUMBER.sub("", line) == _NUMBER.sub("", other) and all(
        abs(float(one) - float(two)) < _OFF for one, two in numbers
    )


def _told(piece: Any, letters: Any, within: Matrix) -> Iterator[tuple[str, str]]:
    """Yield each thing that is drawn, with the way in which it is drawn and its place."""
    kind = raw.FPDFPageObj_GetType(piece)
    matrix = _times(_matrix(piece), within)
    if kind == raw.FPDF_PAGEOBJ_FORM:
        for index in range(raw.FPDFFormObj_CountObjects(piece)):
            yield from _told(raw.FPDFFormObj_GetObject(piece, index), letters, matrix)
    elif kind == raw.FPDF_PAGEOBJ_TEXT:
        size = ctypes.c_float()
        raw.FPDFTextObj_GetFontSize(piece, size)
        across, up = (f"{size.value * matrix[place]:.2f}" for place in (0, 1))
        words = _words(piece, letters) or "a symbol"
        yield (
            f"{_font(piece)} of size {across} {up} {_colour(piece, 'Fill')}",
            f" {matrix[4]:.2f} {matrix[5]:.2f} {words}",
        )
    elif kind == raw.FPDF_PAGEOBJ_PATH:
        yield f"path{_painted(piece, matrix[0])}", f" {_points(piece, matrix)}"
    else:
        yield "picture", "".join(f" {value:.2f}" for value in matrix)


def _matrix(piece: Any) -> Matrix:
    found = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(piece, found)
    return (found.a, found.b, found.c, found.d, found.e, found.f)


def _times(one: Matrix, two: Matrix) -> Matrix:
    a, b, c, d, e, f = one
    p, q, r, s, t, u = two
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def _points(piece: Any, matrix: Matrix) -> str:
    """Return the first and the last point of a path, the number of its points, and their mean."""
    a, b, c, d, e, f = matrix
    points: list[tuple[float, float]] = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for index in range(raw.FPDFPath_CountSegments(piece)):
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(piece, index), x, y)
        points.append((a * x.value + c * y.value + e, b * x.value + d * y.value + f))
    middle = [sum(point[axis] for point in points) / len(points) for axis in (0, 1)]
    told: Sequence[float] = (*points[0], *points[-2 if len(points) == 5 else -1], *middle)
    return " ".join(f"{value + 0.0:.2f}" for value in told) + f" of {len(points)}"


def _painted(piece: Any, scale: float) -> str:
    mode, stroke, thick = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
    raw.FPDFPath_GetDrawMode(piece, mode, stroke)
    raw.FPDFPageObj_GetStrokeWidth(piece, thick)
    told = f" filled {_colour(piece, 'Fill')}" if mode.value else ""
    if stroke.value:
        told += f" drawn {thick.value * scale:.2f} {_colour(piece, 'Stroke')}"
        count = max(raw.FPDFPageObj_GetDashCount(piece), 0)
        dashes = (ctypes.c_float * count)()
        if count and raw.FPDFPageObj_GetDashArray(piece, dashes, count):
            told += " dashes " + " ".join(f"{each:.2f}" for each in dashes)
    return told or " clips"


def _colour(piece: Any, which: str) -> str:
    parts = [ctypes.c_uint() for _ in range(4)]
    getattr(raw, f"FPDFPageObj_Get{which}Color")(piece, *parts)
    return "#" + "".join(f"{part.value:02x}" for part in parts[:3])


def _font(piece: Any) -> str:
    name = ctypes.create_string_buffer(64)
    raw.FPDFFont_GetBaseFontName(raw.FPDFTextObj_GetFont(piece), name, 64)
    return name.value.decode("ascii", "replace").rpartition("+")[2]


def _words(piece: Any, letters: Any) -> str:
    length = raw.FPDFTextObj_GetText(piece, letters, None, 0)
    found = (ctypes.c_ushort * (length // 2 + 1))()
    raw.FPDFTextObj_GetText(piece, letters, found, length)
    words = bytes(found).decode("utf-16-le", "replace").split("\0")[0]
    return " ".join(re.sub(r"[\x00-\x1f\ufffd\ue000-\uf8ff\ufffe\uffff]", "", words).split())
