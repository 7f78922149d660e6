"""Verify finds faults of those who print, because it shares no layout, table or wording code with them."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from support import standing
from support.making import SettledMap, make_map, make_rug
from support.pseudo import Pseudo
from support.standing import many

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.language import speaking
from chartmaker.order.workshop import Workshop
from chartmaker.pages.loom.page import loom_page
from chartmaker.pages.proof.page import proof_page
from chartmaker.paper.drawing import Sheet
from chartmaker.reports.records.maps import finding_dicts
from chartmaker.reports.words import yarn_words
from chartmaker.sheets.chart import gridsheets, heads, legend
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.bandtables import bands_pdf_differences, expected_bands
from chartmaker.verify.carvings import carving_differences, expected_carving
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.guides import guide_differences
from chartmaker.verify.looms import loom_differences
from chartmaker.verify.patterns import expected_pattern, pattern_differences
from chartmaker.verify.proofs import page_differences
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.scripts import script_differences
from chartmaker.verify.svgpatterns import svg_differences


def a_map(**chart: object) -> SettledMap:
    """Return a rug that mirrors both ways, on several sheets one above the other."""
    rng = np.random.default_rng(4)
    quarter = np.kron(rng.integers(0, 6, (40, 6)), np.ones((1, 5), dtype=int))
    half = np.hstack([quarter, quarter[:, ::-1]])
    workshop = Workshop.model_validate({"chart": {"paper": "A5", "cell": "5 mm", **chart}})
    return make_map(np.vstack([half, half[::-1]]).astype(np.uint16), make_rug(60, 80), workshop)


def chart(knot_map: SettledMap) -> list[str]:
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop)
    return list(chart_differences(stream.getvalue(), expected_of(knot_map, knot_map.workshop)))


def labels_off(tag: str, change: Callable[[str], str]) -> Callable[[pytest.MonkeyPatch], None]:
    """Return a patch that prints every label under `tag` differently."""

    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        plain = Sheet.labels

        def labels(self: Sheet, places, size, **more):  # type: ignore[no-untyped-def]
            if more.get("tag") == tag:
                places = [(x, y, change(text)) for x, y, text in places]
            plain(self, places, size, **more)

        monkeypatch.setattr(Sheet, "labels", labels)

    return patch


def one_more(text: str) -> str:
    return str(int(text.replace(",", "")) + 1)


def one_swatch(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = legend.draw_swatch
    monkeypatch.setattr(legend, "draw_swatch", lambda s, x, y, side, _yarn, palette: plain(s, x, y, side, 0, palette))


def lengths_off(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = gridsheets.cm_words
    monkeypatch.setattr(gridsheets, "cm_words", lambda length: plain(length + 2))  # a row is 2 mm high


def like_off(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("COLUMNS_BACK", "COLUMNS_OTHER"):
        monkeypatch.setattr(heads, name, getattr(heads, name).replace("{like}", "{last}"))


def join_turned(monkeypatch: pytest.MonkeyPatch) -> None:
    colour, symbols = gridsheets.colour_operators, gridsheets.symbol_operators
    monkeypatch.setattr(
        gridsheets,
        "colour_operators",
        lambda cells, *rest, **more: colour(cells[::-1] if more else cells, *rest, **more),
    )
    monkeypatch.setattr(
        gridsheets,
        "symbol_operators",
        lambda cells, *rest, **more: symbols(cells[::-1] if "grey" in more else cells, *rest, **more),
    )


def table_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = gridsheets.yarns_on
    monkeypatch.setattr(gridsheets, "yarns_on", lambda *a: [(yarn, knots + 1) for yarn, knots in plain(*a)])


def no_turned_lengths(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = Sheet.labels

    def labels(self: Sheet, places, size, **more):  # type: ignore[no-untyped-def]
        if more.get("tag") != "turned-length":
            plain(self, places, size, **more)

    monkeypatch.setattr(Sheet, "labels", labels)


FAULTS: dict[str, tuple[Callable[[pytest.MonkeyPatch], None], str]] = {
    "row numbers one too high": (labels_off("row", one_more), "rows: "),
    "mirrored numbers one too high": (labels_off("turned-row", one_more), "of the turned sheet: "),
    "column numbers one too high": (labels_off("column", one_more), "columns: "),
    "all swatches of the first yarn": (one_swatch, "the swatch of "),
    "counts of the legend": (labels_off("knots", one_more), "the legend gives "),
    "lengths one row off": (lengths_off, "the length "),
    "mirrored lengths left out": (no_turned_lengths, "lengths on the loom are missing"),
    "the row that is like another": (like_off, "for like"),
    "join rows turned about": (join_turned, "of the join "),
    "the writer's own count": (table_broken, "the legend gives "),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_of_the_writer_is_found(monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    patch, words = FAULTS[fault]
    knot_map = a_map()
    assert chart(knot_map) == []
    patch(monkeypatch)
    found = chart(knot_map)
    assert any(words in each for each in found), found


def no_plus(text: str) -> str:
    return text.strip("«»")


def one_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every run has its count once, at its left end."""
    plain = gridsheets.counted_runs
    monkeypatch.setattr(
        gridsheets, "counted_runs", lambda *a, **m: [replace(run, middles=run.middles[:1]) for run in plain(*a, **m)]
    )


def one_symbol(monkeypatch: pytest.MonkeyPatch) -> None:
    """A counted run has its symbol at its left end alone."""
    plain = gridsheets.counted_runs

    def left_only(*rest, **more):  # type: ignore[no-untyped-def]
        return [replace(run, bare=((run.bare[0][0], run.bare[0][1] + 1),)) for run in plain(*rest, **more)]

    monkeypatch.setattr(gridsheets, "counted_runs", left_only)


def not_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(heads, "explained", lambda _marks: "")


COUNT_FAULTS: dict[str, tuple[Callable[[pytest.MonkeyPatch], None], str]] = {
    "counts that do not say where the run goes on": (labels_off("count", no_plus), "does not have its count"),
    "a long run counted at one end": (one_count, "does not have its count"),
    "a symbol at one end": (one_symbol, "without their yarn's symbol"),
    "counts not explained": (not_explained, "for least it prints nothing"),
}


@pytest.mark.parametrize("fault", COUNT_FAULTS)
def test_a_fault_of_counts_is_found(monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    patch, words = COUNT_FAULTS[fault]
    knots = np.zeros((12, 90), dtype=np.uint16)
    knots[:, 7], knots[4:6, 30:37] = 1, 2
    workshop = Workshop.model_validate({"chart": {"paper": "A5", "cell": "3 mm", "counts": True}})
    knot_map = make_map(knots, make_rug(90, 12), workshop)
    assert chart(knot_map) == []
    patch(monkeypatch)
    found = chart(knot_map)
    assert any(words in each for each in found), found


def test_a_legend_on_a_sheet_of_its_own_is_proved_and_its_yarns_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sheet with more yarns than it has room for says how many they are and where they are listed."""
    knot_map = many()
    assert chart(knot_map) == []
    plain = gridsheets.told
    for name in ("yarns", "sheet"):
        monkeypatch.setattr(
            gridsheets, "told", lambda w, name=name, **f: plain(w, **{k: v + (k == name) for k, v in f.items()})
        )
        assert any(f"for {name} it prints" in each for each in chart(knot_map)), name


VARIANTS: tuple[dict[str, object], ...] = (
    {},
    {"whole": True},
    {"reading": "right to left", "strips": 3},
    {"marks": "symbol", "counts": True},
    {"bold_every": 2, "cell": "2 mm"},
)


@pytest.mark.parametrize("settings", VARIANTS, ids=str)
def test_papers_in_another_language_are_proved_too(settings: dict[str, object]) -> None:
    knot_map = a_map(**settings)
    expected = expected_of(knot_map, knot_map.workshop)
    papers = []
    for write in (write_chart, write_rows_pdf):
        stream = io.BytesIO()
        with speaking(Pseudo()):
            write(stream, knot_map, knot_map.workshop)  # type: ignore[operator]
        papers.append(stream.getvalue())
    assert list(chart_differences(papers[0], expected)) == []
    assert list(script_differences(papers[1], expected)) == []
    knots = knot_map.knots.copy()
    knots[3, 4] = (knots[3, 4] + 1) % len(knot_map.yarns)
    other = SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)
    assert list(chart_differences(papers[0], expected_of(other, other.workshop)))
    assert list(script_differences(papers[1], expected_of(other, other.workshop)))


#: Papers of small rugs other than charts, row scripts and figures, each with its rug.
OTHERS = {
    "bands": lambda: standing.loomed("weft"),
    "bands_of_ends": lambda: standing.loomed("warp"),
    "pattern": standing.tufted,
    "svg": standing.tufted,
    "guide": standing.tufted,
    "carving": standing.carved,
}


def faults_of(name: str, data: bytes, knot_map: SettledMap) -> list[str]:
    again = recount_of(knot_map, knot_map.workshop)
    if name.startswith("bands"):
        expected = expected_of(knot_map, knot_map.workshop, again)
        return list(bands_pdf_differences(data, expected_bands(knot_map, again), expected))
    if name == "carving":
        return list(carving_differences(data, expected_carving(knot_map, knot_map.workshop)))
    reader = {"pattern": pattern_differences, "svg": svg_differences, "guide": guide_differences}[name]
    return list(reader(data, expected_pattern(knot_map, knot_map.workshop)))


@pytest.mark.parametrize("name", OTHERS)
def test_every_other_paper_in_another_language_is_proved_too(name: str) -> None:
    knot_map = OTHERS[name]()
    with speaking(Pseudo()):
        data = standing.paper(name)
    assert faults_of(name, data, knot_map) == []
    yarns = len(knot_map.yarns)
    knots = knot_map.knots if name == "guide" else ((knot_map.knots + 1) % yarns).astype(np.uint16)
    turned = knot_map.yarns[1:] + knot_map.yarns[:1] if name == "guide" else knot_map.yarns
    assert faults_of(name, data, SettledMap(knots, turned, knot_map.rug, knot_map.workshop))


def test_the_loom_page_in_another_language_is_proved_too() -> None:
    knot_map = standing.quarter()
    figures = figures_of(knot_map, knot_map.workshop)
    with speaking(Pseudo()):
        page = "".join(loom_page(figures))
    assert page.count("Zu") > 50
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    assert list(loom_differences({"loom.html": page.encode("utf-8")}, expected)) == []
    assert list(loom_differences({"loom.html": page.replace(expected.code, "00000000").encode("utf-8")}, expected))


def test_the_proof_page_in_another_language_is_proved_too() -> None:
    knot_map = a_map()
    figures = figures_of(knot_map, knot_map.workshop)
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    with speaking(Pseudo()):
        page = "".join(proof_page(knot_map, None, figures.findings, yarn_words(figures)))
    assert "Zu" in page
    assert ">Findings<" not in page
    findings = finding_dicts(figures.findings)
    assert page_differences(page.encode("utf-8"), expected, findings) == []
    knots = knot_map.knots.copy()
    knots[3, 4] = (knots[3, 4] + 1) % len(knot_map.yarns)
    other = SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)
    assert page_differences(page.encode("utf-8"), expected_of(other, other.workshop))
