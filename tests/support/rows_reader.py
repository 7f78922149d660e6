"""Reads a row script back from its PDF's text as a person would: the head, then the rows line by line."""

from __future__ import annotations

import re

import pypdfium2 as pdfium

from support import chart_reader

#: Patterns of, in order: the column reached (two for a strip that stands for two), likeness, the opening and closing of
#: a group from left to right and from right to left, where the next run begins, the total, a run, and a row number.
TOKENS = re.compile(
    r"to (?P<reached>\d+)(?:, (?P<twin>\d+))?|as row (?P<like>\d+)|(?P<likewise>likewise)|= (?P<total>[\d,]+)"
    r"|(?P<times>\d+) × \(|\) × (?P<times_left>\d+)|(?P<bracket>[()])"
    r"|from(?: column)? (?P<jump>\d+)(?:, (?P<jump_twin>\d+)\b(?! left| right| before| after))?"
    r"(?:, (?P<away>\d+) (?P<side>left of|right of|before|after) row (?P<below>\d+))?|no knots in (?P<bare>\d+) places"
    r"|(?P<count>\d+)\s+(?P<code>(?=[A-Z0-9-]*[A-Z])[A-Z0-9-]+)|(?P<row>\d+)"
)
HEAD = re.compile(
    r"Strips? (\d+)(?: and \d+)? of \d+(?: together)?(?:, part \d+ of \d+)? · rows (\d+)–(\d+)"
    r"(?:, back \d+–\d+|, those that changed)? · columns (\d+)–(\d+)(?: and, the other way, (\d+)–(\d+))? "
    r"· read (left to right|right to left)"
)


def lines_of(page: pdfium.PdfPage) -> list[str]:
    """Return what stands on each line of `page`, from the top, with its words from left to right as they stand."""
    lines: list[list[chart_reader.Word]] = []
    for word in sorted(chart_reader.words_of(chart_reader.characters(page)), key=lambda word: -word.y):
        if not lines or lines[-1][0].y - word.y > 2 * chart_reader.MM:
            lines.append([])
        lines[-1].append(word)
    return [" ".join(word.text for word in sorted(line, key=lambda word: word.left)) for line in lines]


def read_rows(data: bytes) -> dict[tuple[int, int], tuple[list[str | None], int, tuple[int, int], str]]:
    """Return for each (row, first column of its strip or part): knots as read, printed total, columns, reading.

    A strip that is read for another too counts twice, the second time read the other way. The column at the end of
    each line must be the one that the runs so far reach.
    """
    found: dict[tuple[int, int], tuple[list[str | None], int, tuple[int, int], str]] = {}
    for page in pdfium.PdfDocument(data):
        lines = lines_of(page)
        for index, line in enumerate(lines):
            on_two = " · ".join(lines[index : index + 2])
            if head := HEAD.search(line) or HEAD.search(on_two):
                _read_page(lines[index + 1 if HEAD.search(line) else index + 2 :], head, found)
                break
    return found


def _check_away(
    token: dict[str, str],
    column: int,
    row: int,
    told: dict[int, list[str | None]],
    columns: tuple[int, int],
    way: str,
) -> None:
    """Check how far a row begins from the row below it, as printed, where that row is on the same sheet."""
    assert int(token["below"]) == row - 1
    if row - 1 not in told:
        return
    first = next(place for place, knot in enumerate(told[row - 1]) if knot is not None)
    began = columns[0] + first if way == "left to right" else columns[1] - first
    further = {"left of": began - column, "right of": column - began}
    further["before"] = further["left of"] if way == "left to right" else further["right of"]
    further["after"] = -further["before"]
    assert further[token["side"]] == int(token["away"]) > 0


def _read_page(
    lines: list[str],
    head: re.Match[str],
    found: dict[tuple[int, int], tuple[list[str | None], int, tuple[int, int], str]],
) -> None:
    """Read the rows of one sheet into `found`."""
    columns, way = (int(head[4]), int(head[5])), head[8]
    places = [(columns, way)]
    if head[6]:
        other = "right to left" if way == "left to right" else "left to right"
        places.append(((int(head[6]), int(head[7])), other))
    rows, knots, last, group, times, total = [], [], [], None, 0, 0
    told: dict[int, list[str | None]] = {}

    def put(row: int, told_knots: list[str | None], total: int) -> None:
        told[row] = told_knots
        knots = told_knots + [None] * (columns[1] - columns[0] + 1 - len(told_knots))
        for part, reading in places:
            place = row, part[0]
            assert place not in found, "a row of a strip is printed twice"
            found[place] = (knots, total, part, reading)

    for line in lines:
        tokens = [{key: value for key, value in m.groupdict().items() if value} for m in TOKENS.finditer(line)]
        likewise = any("likewise" in token for token in tokens)
        reached = None
        for token in tokens if way == "left to right" else reversed(tokens):
            into = knots if group is None else group
            if opening := token.get("times") or token.get("times_left"):
                group, times = [], int(opening)
            elif "bracket" in token:
                knots, group = knots + group * times, None
            elif "bare" in token:
                into += [None] * int(token["bare"])
            elif "jump" in token:
                assert group is None
                column = int(token["jump"])
                if "side" in token:
                    _check_away(token, column, rows[0], told, columns, way)
                behind = column - columns[0] if way == "left to right" else columns[1] - column
                assert behind > len(knots), f"{line!r} goes back"
                knots += [None] * (behind - len(knots))
                if "jump_twin" in token:
                    assert int(token["jump_twin"]) - places[1][0][0] == columns[1] - column
            elif "count" in token:
                into += [token["code"]] * int(token["count"])
            elif "like" in token:
                knots = list(told[int(token["like"])])
            elif "reached" in token:
                reached = int(token["reached"])
                if "twin" in token:
                    assert int(token["twin"]) - places[1][0][0] == columns[1] - reached
            elif "total" in token:
                total = int(token["total"].replace(",", ""))
                for row in rows:
                    put(row, knots, total)
                rows, last, knots = [], knots, []
            elif "row" in token and likewise:
                put(int(token["row"]), last, total)
            elif "row" in token:  # one number, or two where the rug mirrors
                rows.append(int(token["row"]))
        if tokens and not likewise:
            length = len(knots or last)
            column = columns[0] + length - 1 if way == "left to right" else columns[1] - length + 1
            assert reached == column, f"{line!r} does not reach {column}"
