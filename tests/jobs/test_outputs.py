"""What the files of a set say, as far as no other tests hold it."""

from __future__ import annotations

import io
import json
import re

import numpy as np
import pytest
from pypdfium2 import PdfDocument
from support.making import as_file, make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.measures import METRIC
from chartmaker.jobs.drawn import drawing_of_map
from chartmaker.jobs.outputs import put_chart, put_text
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.pages.proof.pagedata import data_elements
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.reports.planned import plan_lines
from chartmaker.reports.tables import pile_table
from chartmaker.reports.words import days_words, hands_words, yarn_words
from chartmaker.sheets.pattern.guide import write_guide_pdf
from chartmaker.sheets.tables.figuresheets import write_figures_pdf


@pytest.mark.parametrize("pieces", [0, 1, 40_000, 90_000])
def test_every_piece_of_a_text_is_written_once_in_its_order(pieces: int) -> None:
    stream = io.BytesIO()
    put_text(stream, (f"{number} é\n" for number in range(pieces)))
    assert stream.getvalue().decode("utf-8").splitlines() == [f"{number} é" for number in range(pieces)]


def test_the_cover_gives_a_tufter_the_cloth_and_a_weaver_the_warp() -> None:
    """A tufted rug has a backing cloth in a frame where a woven one has warp and weft (common practice)."""
    cells = np.arange(1200).reshape(40, 30) % 5
    told = {}
    for technique in ("knotted", "tufted"):
        figures = figures_of(*settled(make_map(cells, make_rug(30, 40, pile="12 mm", technique=technique))))
        facts = cover_facts(figures)
        told[technique] = dict(facts.loom)
        assert facts.grams == pytest.approx([line.mass_g.best for line in figures.pile.yarns], abs=1)
        if technique == "tufted":
            assert told[technique]["Backing cloth"] == f"{figures.foundation.backing_cloth_m2:.2f} m2"
        else:  # nothing else explains why this yarn has more grams for a knot than the others
            (bound,) = [line for line in figures.pile.yarns if line.binding_m]
            words = f"{bound.binding_m:.0f} m of {bound.yarn.code}, in its grams"
            assert told[technique]["Side binding"] == words
    woven = {"Warp", "Weft", "Rows with weft", "Width on the loom", "Length on the loom", "Weavers"}
    assert set(told["knotted"]) == woven | {"Grams", "Side binding"}
    assert set(told["tufted"]) == {"Backing cloth", "Grams", "Tufters"}


def test_every_document_says_the_same_shares_and_grams() -> None:
    """Each of three yarns has a third of the knots, and every printed column adds up (largest remainders)."""
    figures = figures_of(*settled(make_map(np.arange(1200).reshape(40, 30) % 3, make_rug(30, 40, pile="12 mm"))))
    table = pile_table(figures.pile, METRIC)
    shares, grams = ([row[table.header.index(name)] for row in table.rows] for name in ("share %", "g with waste"))
    assert shares == ["33.34", "33.33", "33.33"]
    assert table.total is not None
    assert sum(map(int, grams)) == int(table.total[table.header.index("g with waste")])

    stream = io.BytesIO()
    put_chart(stream, figures, None)
    cover = PdfDocument(stream.getvalue())[0].get_textpage().get_text_range()
    assert re.findall(r"(\d+\.\d+) %", cover) == shares
    assert re.findall(r" % (\d+)\s", cover) == grams

    page = "".join(data_elements(figures.knot_map, None, (), yarn_words(figures)))
    assert re.findall(r'"share": ?"(.+?)"', page) == shares
    assert re.findall(r'"figures": ?"(.+?) g"', page) == grams


def test_the_tufter_s_guide_says_the_shares_and_grams_of_the_figures() -> None:
    """Rounded each by itself, thirds of a rug would not add up to it, and two papers would tell two figures."""
    rug = make_rug(30, 40, pile="12 mm", technique="tufted")
    workshop = Workshop.model_validate({"pattern": {"smallest": 0.5}, "pile": {"cut": "13 mm"}})
    knot_map = make_map(np.arange(1200).reshape(40, 30) % 3, rug, workshop)
    figures = figures_of(*settled(knot_map))
    table = pile_table(figures.pile, METRIC)
    shares, grams = ([row[table.header.index(name)] for row in table.rows] for name in ("share %", "g with waste"))
    stream = io.BytesIO()
    write_guide_pdf(stream, drawing_of_map(as_file(knot_map)), figures)
    words = PdfDocument(stream.getvalue())[0].get_textpage().get_text_range()
    assert re.findall(r"(\d+\.\d+) %", words) == shares
    assert re.findall(r" 0\.\d{3}\s+(\d+)\s", words) == grams
    assert len(set(grams)) > 1  # rounded each by itself they would be the same


def test_every_document_says_the_same_size() -> None:
    """A rug 90 1/2 inches wide is 7'6 1/2" everywhere, and not 7'7" on its cover."""
    rug = Rug(width="7'6 1/2\"", length="9ft", density="2x2 per inch", pile="12 mm")
    assert (rug.columns, rug.rows) == (181, 216)  # so that whole knots give the size that was ordered
    size = "229.9 x 274.3 cm (7'6 1/2\" x 9'0\")"
    figures = figures_of(*settled(make_map(np.arange(181 * 216).reshape(216, 181) % 3, rug)))
    stream = io.BytesIO()
    put_chart(stream, figures, None)
    sheets = io.BytesIO()
    write_figures_pdf(sheets, figures, "metric")
    for document in (stream, sheets):
        assert size in PdfDocument(document.getvalue())[0].get_textpage().get_text_range()
    assert json.dumps(size) in "".join(data_elements(figures.knot_map, None, (), yarn_words(figures)))
    plan = dict(plan_lines(rug, Workshop()))
    assert plan["Size ordered"] == size
    assert plan["Size it gives"] == f"{size} in whole knots"


@pytest.mark.parametrize(
    ("technique", "hands", "words"),
    [("knotted", 1, "1 weaver"), ("knotted", 3, "3 weavers"), ("tufted", 1, "1 tufter"), ("tufted", 2, "2 tufters")],
)
def test_hands_and_days_are_counted_in_plain_words(technique: str, hands: int, words: str) -> None:
    workshop = Workshop.model_validate({"loom": {"weavers": hands}})
    rug = make_rug(30, 40, pile="12 mm", technique=technique)
    figures = figures_of(*settled(make_map(np.arange(1200).reshape(40, 30) % 5, rug, workshop)))
    assert hands_words(figures) == words
    (said,) = (value for name, value in cover_facts(figures).loom if name in ("Weavers", "Tufters"))
    assert said.startswith("1, about " if hands == 1 else f"{hands} side by side, about ")
    assert (days_words(0.8), days_words(1.6), days_words(1200)) == (
        "1 working day",
        "2 working days",
        "1,200 working days",
    )
