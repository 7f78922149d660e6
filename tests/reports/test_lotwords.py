"""Whoever works by a chart, a row script or a table of bands reads there in which row a new lot of a yarn begins."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, BinaryIO

import numpy as np
import pypdfium2 as pdfium
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.jobs import outputs
from chartmaker.jobs.outputs import put_bands_pdf, put_chart, put_rows_pdf
from chartmaker.order.workshop import Chart, Dye, Loom, Pile, Workshop
from chartmaker.reports import coverfacts
from chartmaker.reports.lotwords import NewLot, lots_among, new_lots
from chartmaker.sheets.bands import bandsheets
from chartmaker.sheets.chart import heads
from chartmaker.sheets.rows import rowsheets
from chartmaker.verify.bandtables import bands_pdf_differences, expected_bands
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.recount.whole import Recount, recount_of
from chartmaker.verify.scripts import script_differences


def made(technique: str) -> Figures:
    """Return a rug of four sections of 25 rows, each of which takes 22 g; 25 g in stock last for the first."""
    pile = Pile(length_per_knot="20 mm", yarn="tex 500", cut="5 mm", waste=0)
    loom = Loom(section="5 cm", weavers=1, binding="0 mm", weigh="5 g")
    shop = Workshop(pile=pile, loom=loom, dye=Dye(hank="5 g"))
    rug = make_rug(80, 100, "40x50 per dm", technique=technique)
    knot_map = make_map(np.zeros((100, 80), dtype=int), rug, shop)
    yarns = tuple(replace(yarn, stock_g=25.0) for yarn in knot_map.yarns)
    return figures_of(*settled(replace(knot_map, yarns=yarns)))


def pages_of(data: bytes) -> list[str]:
    """Return what pdfium reads on each page, on one line."""
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdfium.PdfDocument(data)]


def chart(stream: BinaryIO, figures: Figures) -> None:
    put_chart(stream, figures, None)


def rows(stream: BinaryIO, figures: Figures) -> None:
    put_rows_pdf(stream, figures.knot_map, figures.workshop, None, lots=outputs.new_lots(figures))


def bands(stream: BinaryIO, figures: Figures) -> None:
    put_bands_pdf(stream, figures, None)


def faults_of_bands(data: bytes, expected: Expected, again: Recount) -> Iterable[str]:
    return bands_pdf_differences(data, expected_bands(again.knot_map, again), expected)


@pytest.mark.parametrize("marks", ["both", "colour"])
def test_the_sheet_with_the_row_says_it_too(marks: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A weaver has one sheet at hand; row 26 of a rug that mirrors along its length is told by the sheet of row 75."""
    plain = made("knotted")
    shop = plain.workshop.model_copy(update={"chart": Chart(marks=marks, paper="A5", cell="4 mm")})
    figures = figures_of(plain.knot_map, shop)
    expected = expected_of(figures.knot_map, shop, recount_of(figures.knot_map, shop))
    for write, module, faults in ((chart, heads, chart_differences), (rows, rowsheets, script_differences)):
        stream = io.BytesIO()
        write(stream, figures)
        told = [f"new lot of {figures.issue.changes[0][0].code}" in page for page in pages_of(stream.getvalue())]
        assert 1 <= sum(told[1:]) < len(told) and list(faults(stream.getvalue(), expected)) == []
        stream = io.BytesIO()
        with monkeypatch.context() as patched:
            patched.setattr(module, "lots_among", lambda *_: ())
            write(stream, figures)
        assert any("which new lots" in each for each in faults(stream.getvalue(), expected))


@pytest.mark.parametrize(
    ("row", "whole", "ends"), [(26, False, [25, 50]), (76, False, [25, 50]), (76, True, [75, 100])]
)
def test_rows_tied_alike_are_parted_where_a_new_lot_begins(row: int, whole: bool, ends: list[int]) -> None:
    """All 100 rows are alike; of a mirrored rug 50 are told, and row 76 is the way back over row 25 (arithmetic)."""
    knot_map = made("knotted").knot_map
    shop = Workshop(chart=Chart(whole=whole))
    layout = rowsheets.plan_rows(knot_map, shop, (NewLot("Y000", 2, row),))
    blocks = [block.rows.stop for page in layout.pages for block in layout.blocks(page)]
    assert blocks == ends
    stream = io.BytesIO()
    rowsheets.write_rows_pdf(stream, knot_map, shop, lots=(NewLot("Y000", 2, row),))
    lots = ({"lot_row": str(row), "lot_section": "2", "lot_code": "Y000"},)
    assert list(script_differences(stream.getvalue(), replace(expected_of(knot_map, shop), lots=lots))) == []


def test_yarns_without_room_are_counted() -> None:
    lots = [NewLot(f"Y{number:03}", 2, 11 + number // 40) for number in range(80)]
    assert str(lots_among(lots, range(11, 13), range(0))[1]).count("new lots of 40") == 2
    assert "new lots of 80:" in str(lots_among(lots, range(11, 13), range(0))[2])
    assert str(lots_among(lots, range(1, 11), range(12, 14))[0]).count("Y") == 40
    assert not lots_among(lots, range(1, 11), range(0))


PAPERS = {
    "chart": (chart, coverfacts, lambda data, expected, _: chart_differences(data, expected), "knotted"),
    "rows": (rows, outputs, lambda data, expected, _: script_differences(data, expected), "knotted"),
    "bands": (bands, bandsheets, faults_of_bands, "hand-loomed"),
}


@pytest.mark.parametrize("paper", PAPERS)
def test_every_paper_of_a_weaver_names_the_row_and_it_is_read_back(paper: str, monkeypatch: pytest.MonkeyPatch) -> None:
    write, module, faults, technique = PAPERS[paper]
    figures = made(technique)
    ((yarn, section, row),) = figures.issue.changes
    again = recount_of(figures.knot_map, figures.workshop)
    expected = expected_of(figures.knot_map, figures.workshop, again)

    def written() -> bytes:
        stream = io.BytesIO()
        write(stream, figures)
        return stream.getvalue()

    words = pages_of(written())[0]
    told = f"From row {row} on, where section {section} begins, {yarn.code} is of the new lot"
    assert told in words and (technique, row) in (("knotted", 26), ("hand-loomed", row))
    assert not [each for each in faults(written(), expected, again) if "lot" in each]
    shifted: Callable[[Figures], Any] = lambda each: tuple(replace(lot, row=lot.row + 1) for lot in new_lots(each))  # noqa: E731
    monkeypatch.setattr(module, "new_lots", shifted)
    assert [each for each in faults(written(), expected, again) if "lot" in each]
