"""Reads a row script back from its PDF's text as a person would: the head, then the rows line by line."""

from __future__ import annotations

import re

import pypdfium2 as pdfium

from support import chart_reader

#: A group's opening and closing, left to right and right to left; places left out; total; run; row number.
TOKENS = re.compile(
    r"(?P<times>\d+) × \(|\) × (?P<times_left>\d+)|(?P<bracket>[()])|skip (?P<skip>\d+)|= (?P<total>[\d,]+)"
    r"|(?P<count>\d+)\s+(?P<code>(?=[A-Z0-9-]*[A-Z])[A-Z0-9-]+)|(?P<row>\d+)"
)
HEAD = re.compile(
    r"Strip (\d+) of \d+(?:, part \d+ of \d+)? · rows (\d+)–(\d+)(?:, back \d+–\d+)? · columns (\d+)–(\d+) "
    r"· read (left to right|right to left)"
)


def lines_of(page: pdfium.PdfPage) -> list[str]:
    """Return what stands on each line of `page`, from the top; words from the left whatever order they were set in."""
    lines: list[list[chart_reader.Word]] = []
    for word in sorted(chart_reader.words_of(chart_reader.characters(page)), key=lambda word: -word.y):
        if not lines or lines[-1][0].y - word.y > 2 * chart_reader.MM:
            lines.append([])
        lines[-1].append(word)
    return [" ".join(word.text for word in sorted(line, key=lambda word: word.left)) for line in lines]


def read_rows(data: bytes) -> dict[tuple[int, int], tuple[list[str | None], int, tuple[int, int], str]]:
    """Return for each (row, first column of its strip or part): knots as read, printed total, columns, reading."""
    found: dict[tuple[int, int], tuple[list[str | None], int, tuple[int, int], str]] = {}
    for page in pdfium.PdfDocument(data):
        lines = lines_of(page)
        heads = [(index, head) for index, line in enumerate(lines) if (head := HEAD.match(line))]
        if not heads:
            continue
        ((index, head),) = heads
        rows, knots, group, times = [], [], None, 0
        for line in lines[index + 1 :]:
            tokens = [{key: value for key, value in m.groupdict().items() if value} for m in TOKENS.finditer(line)]
            for token in tokens if head[6] == "left to right" else reversed(tokens):
                into = knots if group is None else group
                if opening := token.get("times") or token.get("times_left"):
                    group, times = [], int(opening)
                elif "bracket" in token:
                    knots, group = knots + group * times, None
                elif "skip" in token:
                    into += [None] * int(token["skip"])
                elif "count" in token:
                    into += [token["code"]] * int(token["count"])
                elif "total" in token:
                    columns = (int(head[4]), int(head[5]))
                    for row in rows:
                        place = row, int(head[4])
                        assert place not in found, "a row of a strip is printed twice"
                        found[place] = (knots, int(token["total"].replace(",", "")), columns, head[6])
                    rows, knots = [], []
                else:  # one number, or two where the rug mirrors
                    rows.append(int(token["row"]))
    return found
