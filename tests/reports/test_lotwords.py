"""Whoever works by a chart, a row script or a table of bands reads there in which row a new lot of a yarn begins."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import BinaryIO

import numpy as np
import pypdfium2 as pdfium
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.jobs import outputs
from chartmaker.jobs.outputs import put_bands_pdf, put_chart, put_rows_pdf
from chartmaker.order.workshop import Dye, Loom, Pile, Workshop
from chartmaker.reports import coverfacts
from chartmaker.reports.lotwords import lot_words
from chartmaker.sheets.bands import bandsheets
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


def chart(stream: BinaryIO, figures: Figures) -> None:
    put_chart(stream, figures, None)


def rows(stream: BinaryIO, figures: Figures) -> None:
    put_rows_pdf(stream, figures.knot_map, figures.workshop, None, lots=outputs.lot_words(figures))


def bands(stream: BinaryIO, figures: Figures) -> None:
    put_bands_pdf(stream, figures, None)


def faults_of_bands(data: bytes, expected: Expected, again: Recount) -> Iterable[str]:
    return bands_pdf_differences(data, expected_bands(again.knot_map, again), expected)


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

    words = " ".join(pdfium.PdfDocument(written())[0].get_textpage().get_text_bounded().split())
    told = f"From row {row} on, where section {section} begins, {yarn.code} is of the new lot"
    assert told in words and (technique, row) in (("knotted", 26), ("hand-loomed", row))
    assert not [each for each in faults(written(), expected, again) if "lot" in each]
    shifted: Callable[[Figures], tuple[str, ...]] = lambda each: lot_words(each) * 2  # noqa: E731
    monkeypatch.setattr(module, "lot_words", shifted)
    assert [each for each in faults(written(), expected, again) if "lot" in each]
