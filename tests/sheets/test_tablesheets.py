"""The printed figures, dye order and bundles are read back by an independent reader."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pypdfium2
import pytest
from support.making import SettledMap, make_map, make_rug, settled
from support.pseudo import Pseudo

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import English, speaking
from chartmaker.ground.measures import Units
from chartmaker.order.workshop import Chart, Cost, Dye, Loom, Pile, Workshop
from chartmaker.readback.printed import Text, flat
from chartmaker.reports.issuetables import issue_tables, issue_total
from chartmaker.reports.tables import tables_of
from chartmaker.sheets.tables.dyesheets import write_dye_pdf
from chartmaker.sheets.tables.figuresheets import write_figures_pdf
from chartmaker.sheets.tables.issuesheets import write_issue_pdf
from chartmaker.verify.expected import expected_of
from chartmaker.verify.figuresheets import figure_differences
from chartmaker.verify.legends import SYMBOL_FONT
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.sheets import Paper

WRITERS = (write_figures_pdf, write_dye_pdf, write_issue_pdf)


def figures(stock_g: float | None = None, paper: str = "A4", weavers: int = 2, **dye: Any) -> Figures:
    """Return the figures of a rug of five yarns, of which the fifth has only ten knots."""
    cells = np.kron(np.arange(16).reshape(4, 4) % 4, np.ones((50, 25), dtype=int))
    cells[5, 5:15] = 4
    workshop = Workshop(
        loom=Loom(section="10 cm", weavers=weavers),
        dye=Dye(hank="100 g", **dye),
        cost=Cost(pile_per_kg=10),
        chart=Chart(paper=paper, strips=2),
    )
    made = make_map(cells, make_rug(100, 200, "40x50 per dm", name="Büchse"), workshop)
    yarns = tuple(replace(yarn, stock_g=stock_g) for yarn in made.yarns)
    return figures_of(*settled(SettledMap(made.knots, yarns, made.rug, made.workshop)))


def read(write: Callable[..., int], value: Figures, units: str = "metric") -> pypdfium2.PdfDocument:
    stream = io.BytesIO()
    sheets = write(stream, value, units)
    pdf = pypdfium2.PdfDocument(stream.getvalue())
    assert len(pdf) == sheets
    return pdf


def words_of(pdf: pypdfium2.PdfDocument) -> list[str]:
    return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in pdf]


@pytest.mark.parametrize("write", WRITERS)
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_every_sheet_says_which_map_it_belongs_to(write: Callable[..., int], units: str) -> None:
    value = figures()
    pages = words_of(read(write, value, units))
    for number, words in enumerate(pages, start=1):
        assert value.knot_map.map_code in words
        assert f"sheet {number} of {len(pages)}" in words
        assert "Büchse" in words


def test_all_figures_are_on_the_sheets() -> None:
    value = figures()
    words = " ".join(" ".join(words_of(read(write_figures_pdf, value))).split())
    for table in tables_of(value):
        for row in (*table.rows, *([table.total] if table.total else [])):
            for cell in row:
                assert " ".join(cell.split()) in words or len(cell) > 40, cell
        for note in table.notes:
            assert note in words


def test_bundles_as_printed_add_up_to_the_rugs_yarn() -> None:
    value = figures()
    total = Decimal(0)
    seen = set()
    for words in words_of(read(write_issue_pdf, value)):
        for part in re.split(r"(?=Section \d+ of \d+)", words):
            if not part.startswith("Section"):
                continue
            seen.add(part.split(":")[0])
            sums = re.search(r"in all\n?((?:\s*[\d.,]+)+)\s*\n", part + "\n")
            assert sums is not None
            total += Decimal(sums[1].split()[-1].replace(",", ""))
    assert len(seen) == len(value.issue.sections) == 4
    assert float(total) == value.issue.issued_g.sum() >= value.pile.mass_g.best * 1.1


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_only_the_whole_rug_tells_lengths_in_whole_units_that_add_up(units: Units) -> None:
    """Bundles of a section are weighed (common practice); tenths of a metre told more than scales know."""
    value = figures(weavers=3)
    sections, total = issue_tables(value, units), issue_total(value, units)
    heads = {table.header[-1] for table in sections}
    assert heads == {"in all, g" if units == "metric" else "in all, oz"}
    for row in total.rows:
        added = sum(Decimal(each[-1]) for table in sections for each in table.rows if each[0] == row[0])
        assert added == Decimal(row[-2])
        # ASTM D2260: tex is grams in a kilometre; NIST Handbook 44: 28.349523125 g an ounce, 0.9144 m a yard.
        tex = next(line.count.tex for line in value.pile.yarns if line.yarn.code == row[0])
        grams, metre = (1, 1) if units == "metric" else (28.349523125, 0.9144)
        assert "." not in row[-1]
        assert int(row[-1].replace(",", "")) == pytest.approx(
            float(row[-2]) * grams / float(tex) * 1000 / metre, abs=0.51
        )
    assert total.total is not None
    assert sum(Decimal(row[-1].replace(",", "")) for row in total.rows) == Decimal(total.total[-1].replace(",", ""))


def test_many_weavers_are_printed_eight_at_a_time() -> None:
    value = figures(weavers=10)
    words = "\n".join(words_of(read(write_issue_pdf, value)))
    for part in (", 1 to 8 from the left", ", 9 to 10 from the left"):
        assert words.count(part) == 5  # there are four sections, which stand together
    assert len(issue_tables(value)[0].header) == 13


def test_the_dye_house_gets_cautions_lab_values_and_lots() -> None:
    value = figures(vessels=[{"name": "copper pot", "holds": "200 g", "liquor_ratio": 30}])
    words = words_of(read(write_dye_pdf, value))
    whole = " ".join(" ".join(words).split())
    for needed in (
        "scalds",
        "goggles",
        "Add acid to water, never water to acid",
        "copper pot",
        "D65 and 2 degrees",
        "D65/10",
    ):
        assert needed in whole
    for page in words:
        assert "trained supervision" in " ".join(page.split())
    for shade in value.dye.shades:
        assert " ".join(f"{v:.1f}" for v in shade.yarn.lab) in whole
    for needed in ("measured L* a* b*", "lot number", "wool, tex", "Base yarn to lay out"):
        assert needed in whole
    lots = sum(len(shade.lots) for shade in value.dye.shades)
    assert len(re.findall(r"\d of \d", whole)) == lots + len(words)  # and "sheet n of m" once on each sheet


def test_the_order_says_where_no_stock_is_known() -> None:
    """A column of noughts would look like a stocktaking of an empty store."""
    assert "No stock is known" in " ".join(words_of(read(write_dye_pdf, figures())))
    assert "No stock is known" not in " ".join(words_of(read(write_dye_pdf, figures(stock_g=0))))


def test_a_lot_that_lies_beside_stock_is_matched_to_the_stock() -> None:
    """Two lots of one yarn in one rug show where they meet; a card's figures help only a shade dyed whole (common
    practice)."""
    joins = "Match it to a dry hank of that stock instead of the figures"
    assert joins in " ".join(" ".join(words_of(read(write_dye_pdf, figures(stock_g=10)))).split())
    assert joins not in " ".join(words_of(read(write_dye_pdf, figures(stock_g=0))))


def test_dye_house_and_store_see_what_changes_a_weight() -> None:
    """Warnings stood on the sheets of figures alone, and those who weigh out and dye have other sheets."""
    plain = make_map(np.arange(400).reshape(20, 20) % 2, make_rug(20, 20, "12x12 per dm"), Workshop())
    thin = replace(plain, workshop=Workshop(pile=Pile.model_validate({"yarn": "Nm 5 x2"})))
    value, again = figures_of(*settled(thin)), recount_of(*settled(thin))
    for write, sheets in ((write_figures_pdf, 9), (write_dye_pdf, 1), (write_issue_pdf, 1)):
        words = " ".join(" ".join(words_of(read(write, value))[:sheets]).split())
        assert "The ground would show: take 17 strands." in words
        stream = io.BytesIO()
        write(stream, value)
        assert list(figure_differences(stream.getvalue(), expected_of(*settled(thin), again), again, value, None)) == []


def test_the_order_says_why_a_few_grams_take_a_whole_hank() -> None:
    """A lot of 500 g stood for 17 g wanted, and nobody knew why."""
    words = " ".join(" ".join(words_of(read(write_dye_pdf, figures()))).split())
    assert "up to whole hanks, of which one is the least, however little is wanted ([dye] hank)" in words


def test_a_full_store_leaves_nothing_to_dye() -> None:
    """It says so in one line, and warns nobody of the dye house; nor does an order for yarn that is bought as it is."""
    undyed = figures(undyed=[yarn.code for yarn in figures().knot_map.yarns])
    for made, why in (
        (figures(stock_g=9000), "what is in store covers every shade"),
        (undyed, "all yarns of this rug"),
    ):
        words = "\n".join(words_of(read(write_dye_pdf, made)))
        assert re.search(rf"^Nothing to dye: {why}.*\.$", words, re.MULTILINE)
        assert "Lots" not in words and "scalds" not in words
    assert "scalds" in " ".join(words_of(read(write_dye_pdf, figures())))


@pytest.mark.parametrize(("technique", "charted"), [("knotted", True), ("tufted", False), ("hand-loomed", False)])
def test_no_symbols_stand_where_there_is_no_chart(technique: str, charted: bool) -> None:
    """Who tufts works by the pattern's numbers, and who weaves bands by the table of bands (common practice)."""
    rug = make_rug(40, 30, "30x30 per dm", technique=technique)
    value = figures_of(*settled(make_map(np.arange(30)[:, None] // 10 * np.ones((1, 40), dtype=int), rug)))
    for write in WRITERS:
        stream = io.BytesIO()
        write(stream, value)
        items = [item for sheet in Paper(stream.getvalue(), 1200).sheets() for item, _, _ in flat(sheet.root)]
        assert any(isinstance(item, Text) and item.font == SYMBOL_FONT for item in items) is charted


def test_swatches_have_the_yarns_colours() -> None:
    value = figures()
    page = read(write_dye_pdf, value)[0]
    pixels = page.render(scale=1).to_pil().convert("RGB").getcolors(maxcolors=2**24)
    shown = {colour for _, colour in pixels}
    for yarn in value.knot_map.yarns:
        assert any(max(abs(a - b) for a, b in zip(yarn.srgb, colour, strict=True)) <= 1 for colour in shown)


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"),
    # Paper sizes are those of ISO 216 and ANSI/ASME Y14.1; tables go on desk paper, whatever the chart is on.
    [("A4", 210, 297), ("A5", 210, 297), ("A2", 210, 297), ("Letter", 215.9, 279.4), ("Roll 36", 215.9, 279.4)],
)
def test_paper_for_the_desk(paper: str, width_mm: float, height_mm: float) -> None:
    for write in WRITERS:
        width, height = read(write, figures(paper=paper))[0].get_size()
        assert (width / 72 * 25.4, height / 72 * 25.4) == pytest.approx((width_mm, height_mm), abs=0.1)


def test_letters_that_no_font_has_are_refused() -> None:
    value = figures()
    strange = replace(value.knot_map.yarns[0], name="\N{CJK UNIFIED IDEOGRAPH-7D05}")
    yarns = (strange, *value.knot_map.yarns[1:])
    knot_map = SettledMap(value.knot_map.knots, yarns, value.knot_map.rug, value.workshop)
    with pytest.raises(SheetError, match="U\\+7D05"):
        write_figures_pdf(io.BytesIO(), figures_of(knot_map, knot_map.workshop))


def test_the_same_figures_give_the_same_bytes() -> None:
    first, second = io.BytesIO(), io.BytesIO()
    write_issue_pdf(first, figures())
    write_issue_pdf(second, figures())
    assert first.getvalue() == second.getvalue()


@pytest.mark.parametrize("write", WRITERS, ids=lambda write: write.__name__)
def test_sheets_in_another_language_have_its_words_and_the_same_numbers(write: Callable[..., int]) -> None:
    """In a pseudo-language nothing is left in English but names, units and the words of settings."""
    reckoned = figures()
    texts = []
    for language in (English(), Pseudo()):
        stream = io.BytesIO()
        with speaking(language):
            write(stream, reckoned)
        pages = pypdfium2.PdfDocument(stream.getvalue())
        texts.append(" ".join(page.get_textpage().get_text_range() for page in pages))
    english, other = texts
    assert other.count("Zu") > 50
    left = set(re.findall(r"[A-Za-z]{2,}", re.sub(r"\[[a-z]+\][^Z]*|\w*_\w*|Yarn\s+\d|Büchse", " ", other)))
    assert left <= {"Zu", "mm", "cm", "dm", "in", "yd", "kg", "tex", "per", "litres", "asymmetric"}
    codes = {yarn.code for yarn in reckoned.knot_map.yarns} | {reckoned.knot_map.map_code}
    assert {code for code in codes if code in other} == {code for code in codes if code in english}
    numbers = [set(re.findall(r"\d[\d,]*\.\d+", text)) for text in texts]
    assert numbers[0] == numbers[1]
