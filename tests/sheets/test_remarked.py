"""Charts say what a copy in grey hides and what is to be settled before weaving; a chart that does not is found."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pypdfium2 as pdfium
import pytest
from skimage.color import rgb2lab
from support.making import SettledMap, coloured_map, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.findings import Finding
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.sheets.chart import coverremarks, greys, heads
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.tables.figuresheets import write_figures_pdf
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.recount.whole import recount_of

#: Two reds and a green of about one lightness, two blues of another, and an ivory.
COLOURS = np.array([[120, 40, 40], [124, 36, 46], [30, 86, 50], [120, 140, 170], [122, 142, 168], [235, 225, 205]])
WARNINGS = tuple(
    Finding(f"Motif {number} is drawn in two ways, {number + 2} rows apart: one of them.", f"row {number}", "warning")
    for number in range(1, 31)
)


def rug(**chart: object) -> SettledMap:
    """Return a rug on two sheets, the second without the blues."""
    cells = np.arange(900).reshape(60, 15) % 6
    cells[30:] = np.where((cells[30:] == 3) | (cells[30:] == 4), 5, cells[30:])
    return coloured_map(cells, COLOURS, density=(40, 50), **{"paper": "A5", "cell": "5 mm", **chart})


def charted(knot_map: SettledMap, remarks: tuple[Finding, ...] = ()) -> tuple[bytes, Expected]:
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop, cover_facts(figures_of(*settled(knot_map)), remarks))
    return stream.getvalue(), expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))


def words_of(data: bytes) -> list[str]:
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(data)]


def test_a_chart_of_colours_alone_names_the_yarns_that_a_copy_shows_alike() -> None:
    lightness = rgb2lab(COLOURS[None] / 255)[0, :, 0]  # CIELAB by scikit-image
    assert np.ptp(lightness[:3]) < 5 and np.ptp(lightness[3:5]) < 5 and lightness[3:5].min() - lightness[:3].max() > 5
    data, expected = charted(rug(marks="colour"))
    assert list(chart_differences(data, expected)) == []
    front, first, *_, last = words_of(data)
    reds = greys.greys_of(rug(marks="colour"), "colour", np.array([[0, 1, 2]]))[0]
    assert set(reds.split(", ")) == {"C1", "C2", "C3"}
    assert "Copy this chart in colour only." in front and "C4, C5" in front.replace("C5, C4", "C4, C5")
    assert reds in front and reds in first and reds in last
    assert "C4" in first.split("One grey without it")[1][:40]
    assert "C4" not in last.split("One grey without it")[1][:40]
    for marks in ("both", "symbol"):
        assert not any("colour only" in words for words in words_of(charted(rug(marks=marks))[0]))


def test_a_sheet_with_too_many_alike_to_name_counts_them() -> None:
    shades = np.array([[60 + each, 60, 60] for each in range(60)])
    cells = np.arange(900).reshape(60, 15) % 60
    data, expected = charted(coloured_map(cells, shades, density=(40, 50), paper="A5", cell="5 mm", marks="colour"))
    assert list(chart_differences(data, expected)) == []
    words = "Copy in colour only: 60 of these yarns are one grey with others; see the cover."
    assert sum(words in page for page in words_of(data)) == 3


@pytest.mark.parametrize("place", ["cover", "sheet"])
@pytest.mark.parametrize("fault", ["left out", "other yarns"])
def test_verify_finds_a_chart_that_hides_or_mistakes_what_a_copy_hides(
    monkeypatch: pytest.MonkeyPatch, place: str, fault: str
) -> None:
    said = {"left out": [], "other yarns": ["C1, C6"]}[fault]
    monkeypatch.setattr(coverremarks if place == "cover" else heads, "greys_of", lambda *_: said)
    found = list(chart_differences(*charted(rug(marks="colour"))))
    assert any(("one_grey" if place == "cover" else "one grey") in words for words in found)


@pytest.mark.parametrize("paper", ["A5", "A3"])
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
@pytest.mark.parametrize("number", [1, 4, 30])
def test_warnings_stand_on_the_cover_whole_or_counted_and_take_no_sheet(
    paper: str, orientation: str, number: int
) -> None:
    knot_map = rug(paper=paper, orientation=orientation)
    note = Finding("This is only a note.", "row 3", "note")
    data, expected = charted(knot_map, (note, *WARNINGS[:number]))
    settle = tuple(f"{each.where}: {each.what}" for each in WARNINGS[:number])
    assert list(chart_differences(data, replace(expected, settle=settle))) == []
    front, *others = words_of(data)
    assert "To settle before weaving row 1: Motif 1 is drawn" in front and "only a note" not in front
    shown = sum(words in front for words in settle)
    assert shown >= 1 and (f"{number - shown} more: chartmaker check tells them" in front) == (shown < number)
    assert len(others) == len(words_of(charted(knot_map)[0])) - 1


def test_verify_finds_a_cover_that_settles_other_things_than_were_noticed() -> None:
    settle = tuple(f"{each.where}: {each.what}" for each in WARNINGS)
    for wrong in ((), WARNINGS[:1], (WARNINGS[1],), (*WARNINGS[:2], WARNINGS[7])):
        data, expected = charted(rug(paper="A3"), wrong)
        found = list(chart_differences(data, replace(expected, settle=settle[:2])))
        assert any("to settle" in words or "to be settled" in words for words in found)
    data, expected = charted(rug(), WARNINGS)
    found = list(chart_differences(data, replace(expected, settle=settle[:-1])))
    assert any("does not count the rest" in words for words in found)


def test_the_sheets_of_figures_list_what_the_map_alone_tells() -> None:
    stream = io.BytesIO()
    write_figures_pdf(stream, figures_of(*settled(rug(marks="colour", counts=True))))
    words = " ".join(words_of(stream.getvalue())).replace("- ", "-")
    assert "To look at" in words and "this chart has none, so it prints no counts" in words
