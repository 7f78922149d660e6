"""The hand loom's table of bands, as PDF and as CSV, is read back and compared with the knots."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.lettering import PrintedFont
from chartmaker.verify.pdffile import PdfFile, decoded

_CONTENT_BYTES = 100_000_000
#: How a band is printed, with its yarn and its lines, and the head of a repeat, with its bands and its times.
_TAGGED = re.compile(rb"/kn-(code|lines|bands|times) BMC(.*?)EMC", re.DOTALL)
_SHOWN = re.compile(rb"/(\w+) [\d.]+ Tf.*?(<[0-9a-fA-F]+>) Tj", re.DOTALL)
#: No rug has more bands.
_MOST_BANDS = 200_000

#: A yarn's code, and for how many lines it goes on.
Run = tuple[str, int]


@dataclass(frozen=True)
class ExpectedBands:
    """The bands that a map has, and the width of a line on the loom in millimetres."""

    runs: tuple[Run, ...]
    line_mm: float


def expected_bands(knot_map: KnotMap, figures: Figures) -> ExpectedBands:
    """Return the bands of a map, counted anew."""
    across = craft_of(knot_map.rug).one_yarn_along(figures.workshop.loom) == "column"
    lines = knot_map.knots.T if across else knot_map.knots
    runs: list[Run] = []
    for line in lines:
        yarns, counts = np.unique(line[line != NO_KNOT], return_counts=True)
        best = {knot_map.yarns[yarn].code for yarn, count in zip(yarns, counts, strict=True) if count == counts.max()}
        if runs and runs[-1][0] in best:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        else:
            first = knot_map.yarns[int(yarns[counts.argmax()]) if len(yarns) else 0].code
            runs = [*runs, (first, 1)] if not runs or runs[-1][0] != first else [*runs[:-1], (first, runs[-1][1] + 1)]
    ground = figures.foundation
    size_mm = ground.loom_width_mm if across else ground.loom_length_mm
    return ExpectedBands(tuple(runs), size_mm / len(lines))


def bands_pdf_differences(data: bytes, expected: ExpectedBands) -> Iterator[str]:
    """Yield how the printed bands differ from the map's."""
    pdf = PdfFile(data)
    words: list[tuple[bytes, str]] = []
    for page in pdf.pages():
        content = decoded(pdf.resolved(page.get("Contents")), _CONTENT_BYTES)
        fonts = pdf.dictionary(pdf.dictionary(page.get("Resources")).get("Font"))
        for tag, within in _TAGGED.findall(content):
            shown = _SHOWN.search(within)
            words.append((tag, PrintedFont(pdf, fonts.get(shown[1].decode())).read(shown[2])[0] if shown else ""))
    runs: list[Run] = []
    part: list[Run] = []
    left, times, code = 0, 1, ""
    for tag, text in words:
        number = int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0
        if tag == b"code":
            code = text
        elif tag == b"bands":
            left, part = number, []
        elif tag == b"times":
            times = number
        else:
            part.append((code, number))
            left -= 1
            if left <= 0:
                runs += part * times
                part, left, times = [], 0, 1
        if len(runs) > _MOST_BANDS:
            break
    yield from _unlike(runs, expected)


def bands_csv_differences(data: bytes, expected: ExpectedBands) -> Iterator[str]:
    """Yield how the bands of the CSV differ from the map's, their lines and lengths included."""
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8")), strict=True))
    yield from _unlike([(row["code"], int(row["lines"])) for row in rows], expected)
    line = 0
    for number, row in enumerate(rows, start=1):
        first, line = line, line + int(row["lines"])
        due = (number, first + 1, line)
        if (int(row["band"]), int(row["first"]), int(row["last"])) != due:
            yield say("band {number} is not from line {first} to {last}", number=number, first=first + 1, last=line)
        for key, lines in (("from_cm", first), ("to_cm", line)):
            if abs(float(row[key]) - lines * expected.line_mm / 10) > 0.0501:
                yield say("band {number}: {key} is {value}", number=number, key=key, value=inert(row[key]))


def _unlike(runs: list[Run], expected: ExpectedBands) -> Iterator[str]:
    for number, (one, due) in enumerate(zip(runs, expected.runs, strict=False), start=1):
        if one != due:
            yield say(
                "band {number} is {lines} of {code}, not {due_lines} of {due_code}",
                number=number,
                lines=one[1],
                code=inert(one[0]),
                due_lines=due[1],
                due_code=due[0],
            )
            return
    if len(runs) != len(expected.runs):
        yield say("it has {found} bands, the map {due}", found=len(runs), due=len(expected.runs))
