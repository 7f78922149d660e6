"""The table of bands is proved by a reader of its own, and whatever is wrong in it is found."""

from __future__ import annotations

import io
import re
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from support import standing
from support.accounts import account_of
from support.altering import other_digit
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.colourwords import words_apart
from chartmaker.ground.language import fields_of
from chartmaker.knots.bands import banded
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.paper.drawing import Sheet
from chartmaker.reports.bandlist import bands_csv_lines
from chartmaker.sheets.bands import bandsheets
from chartmaker.sheets.bands.bandsheets import write_bands_pdf
from chartmaker.sheets.chart import legend
from chartmaker.verify.bandtables import (
    ExpectedBands,
    bands_csv_differences,
    bands_pdf_differences,
    expected_bands,
)
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.recount.whole import recount_of


def figures(pile_yarn: str = "weft") -> Figures:
    rng = np.random.default_rng(5)
    lines = np.concatenate([np.tile([0, 0, 1, 2, 2, 2, 1], 9), rng.integers(0, 4, 160), np.tile([3, 3, 1], 4)])
    knots = lines[:, None].repeat(12, axis=1)
    knots = knots if pile_yarn == "weft" else knots.T
    rug = make_rug(knots.shape[1], knots.shape[0], technique="hand-loomed")
    return figures_of(*settled(make_map(knots, rug, Workshop(loom=Loom(pile_yarn=pile_yarn)))))


def papers(made: Figures) -> tuple[bytes, bytes]:
    stream = io.BytesIO()
    write_bands_pdf(stream, made)
    return stream.getvalue(), "".join(bands_csv_lines(made)).encode()


def proving(made: Figures) -> tuple[ExpectedBands, Expected]:
    again = recount_of(made.knot_map, made.workshop)
    return expected_bands(made.knot_map, again), expected_of(made.knot_map, made.workshop, again)


def bands_of(made: Figures) -> ExpectedBands:
    return proving(made)[0]


@pytest.mark.parametrize("pile_yarn", ["weft", "warp"])
def test_bands_are_proved_in_both_directions(pile_yarn: str, tmp_path: Path) -> None:
    made = figures(pile_yarn)
    expected = bands_of(made)
    pdf, table = papers(made)
    assert list(bands_pdf_differences(pdf, *proving(made))) == []
    assert list(bands_csv_differences(table, expected)) == []
    (tmp_path / "bands.pdf").write_bytes(pdf)
    words = subprocess.run(["pdftotext", "-layout", tmp_path / "bands.pdf", "-"], capture_output=True, text=True).stdout
    assert "the next 4 bands, 9 times in all" in " ".join(words.split())
    assert ("from, to rod" in words) == (pile_yarn == "weft")


def test_of_two_yarns_as_common_the_one_before_goes_on_and_a_line_without_knots_has_the_first() -> None:
    """The table and its reader count lines of four knots alike: a weaver leaves a rod in as long as it serves."""
    none = NO_KNOT
    lines = [[1, 1, 0, 0], [0, 0, 0, 1], *[[none] * 4] * 2, [1, 1, 0, 0], [2, 1, 1, 2], [1, 1, 2, 2], [none] * 4]
    knots = np.array(lines, dtype=np.uint16)
    made = make_map(knots, make_rug(4, 8, technique="hand-loomed"))
    due = [(0, 5), (1, 2), (0, 1)]
    assert [(band.yarn, band.lines) for band in banded(knots).bands] == due
    again = recount_of(*settled(made))
    assert expected_bands(made, again).runs == tuple((made.yarns[yarn].code, number) for yarn, number in due)


def test_lines_of_a_table_fill_each_sheet_down_to_its_foot() -> None:
    """A weaver turns as few sheets as can be, and 4 mm of air part the last line from the foot (common practice)."""
    pages = " ".join(account_of(papers(figures())[0])).split("page ")[1:]
    assert len(pages) == 5
    for page in pages[:-1]:
        lines = sorted({float(y) for y in re.findall(r" 14\.00 (\d+\.\d\d) 196\.00 \1 ", page)}, reverse=True)
        foot = float(re.search(r" 14\.00 (\d+\.\d\d) Band 1 is woven first", page)[1])  # type: ignore[index]
        free, line = lines[-1] - foot - 7 * 25.4 / 72, lines[1] - lines[2]
        assert 4 < free < 4 + line, page[:20]


def test_a_changed_band_is_found() -> None:
    made = figures()
    knots = made.knot_map.knots.copy()
    knots[40] = (knots[40] + 1) % 4
    other = replace(made, knot_map=KnotMap(knots, made.knot_map.yarns, made.knot_map.rug))
    expected = bands_of(other)
    pdf, table = papers(made)
    assert any("band 2" in fault for fault in bands_pdf_differences(pdf, *proving(other)))
    assert any("band" in fault for fault in bands_csv_differences(table, expected))
    moved = table.replace(b"\n1,1,2,2,", b"\n1,1,2,2,", 1).replace(b",0.4", b",0.9", 1)
    assert moved != table
    assert any("cm" in fault for fault in bands_csv_differences(moved, bands_of(made)))


#: The fields of the table, and what is found where the first and the second of each is printed otherwise.
PRINTED = {
    "number": ("band 1: its number is '2'", "band 2: its number is '3'"),
    "code": ("band 1 does not bear the name of Y001", "band 2 does not bear the name of Y002"),
    "name": ("sheet 1: it does not name the rug", "band 1 does not bear the name of Y000"),
    "lines": ("band 1: its last is '2'", "band 2: its last is '3'"),
    "first": ("band 1: its first is '2'", "band 2: its first is '4'"),
    "last": ("the repeat before band 5 does not end where its head says", "band 1: its last is '3'"),
    "cm": ("the repeat before band 5 does not end where its head says", "band 1 does not reach 0.5"),
    "bands": tuple(f"a turn of the repeat before band {next_} is printed as" for next_ in (5, 12)),
    "times": (
        "the repeat before band 5 does not end where its head says",
        "a repeat does not say how many bands it has and how often they come",
    ),
    "turn": tuple(
        f"a turn of the repeat before band 5 is printed as {shown}" for shown in ("'2 1 7 1.4'", "'3 8 14 2.8'")
    ),
}
#: What is said of the rug: once on each sheet, in two measures, or once.
HEAD = ("map", "sheet", "sheets", "width_cm", "length_feet", "ends", "selvedge", "reed", "rods", "height", "per_dm")
HEAD_ONCE = ("n", "counts", "finished", "picks")


@pytest.mark.parametrize("name", [*PRINTED, *HEAD, *HEAD_ONCE])
@pytest.mark.parametrize("place", [0, 1])
def test_each_value_that_is_printed_otherwise_is_found(monkeypatch: pytest.MonkeyPatch, name: str, place: int) -> None:
    """Of the values under a name the first or the second is printed with another last digit or letter."""
    made, seen = figures_of(*settled(standing.loomed("weft"))), []
    plain = Sheet.text

    def text(self: Sheet, x: float, y: float, words: str, *rest: Any, **more: Any) -> float:
        spans = fields_of(words) or ([(0, len(words), more["tag"])] if more.get("tag") == name else [])
        for start, end, field_name in spans:
            if field_name == name:
                seen.append(words)
                if len(seen) == place + 1:
                    changed = words[:start] + other_digit(words[start:end]) + words[end:]
                    words = type(words)(changed, fields_of(words)) if fields_of(words) else changed  # type: ignore
        return plain(self, x, y, words, *rest, **more)

    monkeypatch.setattr(Sheet, "text", text)
    pdf = papers(made)[0]
    monkeypatch.undo()
    found = list(bands_pdf_differences(pdf, *proving(made)))
    if name in PRINTED:
        assert found[0].startswith(PRINTED[name][place])
    elif len(seen) > place:
        assert found, seen[place]
    else:
        assert name in HEAD + HEAD_ONCE and place and not found


SECOND = b"\n2,3,3,1,Y001,0.4,0.6\n"
WRONG_CSV = {
    b"\n3,3,3,1,Y001,0.4,0.6\n": ["band 2 is not from line 3 to 3"],
    b"\n2,4,3,1,Y001,0.4,0.6\n": ["band 2 is not from line 3 to 3"],
    b"\n2,3,4,1,Y001,0.4,0.6\n": ["band 2 is not from line 3 to 3"],
    b"\n2,3,3,2,Y001,0.4,0.6\n": ["band 2 is 2 of Y001, not 1 of Y001", "band 2 is not from line 3 to 4"],
    b"\n2,3,3,1,Y002,0.4,0.6\n": ["band 2 is 1 of Y002, not 1 of Y001"],
    b"\n2,3,3,1,Y001,0.3,0.6\n": ["band 2: from_cm is 0.3"],
    b"\n2,3,3,1,Y001,0.4,0.7\n": ["band 2: to_cm is 0.7"],
    b"\n2,3,3,1,Y001,0.45,0.55\n": [],
    b"\n": ["band 2 is 3 of Y002, not 1 of Y001"],
    b"\n2,3,3,1,Y001,0.4,0.6,\n": ["does not have the columns of a table of bands"],
    b"\n2,3,3,1,Y001,0.4\n": ["does not have the columns of a table of bands"],
}


@pytest.mark.parametrize("line", WRONG_CSV, ids=bytes.decode)
def test_each_value_of_the_file_that_is_another_is_found(line: bytes) -> None:
    made = figures_of(*settled(standing.loomed("weft")))
    table, due = papers(made)[1], bands_of(made)
    assert table.count(SECOND) == 1 and list(bands_csv_differences(table, due)) == []
    found = list(bands_csv_differences(table.replace(SECOND, line), due))
    assert found[: len(WRONG_CSV[line])] == WRONG_CSV[line] and bool(found) == bool(WRONG_CSV[line])
    named = table.replace(b"to_cm", b"to_inch")
    assert list(bands_csv_differences(named, due)) == ["does not have the columns of a table of bands"]
    *most, _ = table.splitlines(keepends=True)
    assert list(bands_csv_differences(b"".join(most), due)) == [f"it has {len(most) - 1} bands, the map {len(most)}"]


def test_bands_out_of_place_or_of_another_colour_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    made = figures()
    monkeypatch.setattr(bandsheets, "colour_of", lambda _srgb: (0.5, 0.5, 0.5))
    assert any("the colour of" in fault for fault in bands_pdf_differences(papers(made)[0], *proving(made)))
    monkeypatch.undo()
    monkeypatch.setattr(legend, "words_apart", lambda labs: words_apart(labs)[1:] + words_apart(labs)[:1])
    assert any("is called" in fault for fault in bands_pdf_differences(papers(made)[0], *proving(made)))
    monkeypatch.undo()
    for lost in (0, 3, 6):  # the head of the first repeat, a band within it, and a line of its turns
        lines = list(bandsheets._lines(bandsheets.folded(bandsheets.band_plan(made).banded.bands)))
        monkeypatch.setattr(
            bandsheets, "_lines", lambda _folds, lines=lines, lost=lost: lines[:lost] + lines[lost + 1 :]
        )
        assert list(bands_pdf_differences(papers(made)[0], *proving(made)))
        monkeypatch.undo()
