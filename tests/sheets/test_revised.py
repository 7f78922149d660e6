"""The sheets that are redrawn are exactly those that look different when another program renders old and new chart."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from support.making import SettledMap, as_file, make_map, make_rug, with_settings

from chartmaker.cli.faults import run
from chartmaker.ground.errors import SheetError
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.knots.swaps import exchanged_or_merged
from chartmaker.order.workshop import Workshop
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart import revised as revised_module
from chartmaker.sheets.chart.chart import plan_chart, revision_of, write_chart
from chartmaker.sheets.chart.revised import number_words

CHART = {"paper": "A5", "cell": "4 mm"}
LEAST_SHEETS = {
    "one knot": 1,
    "a knot at a seam": 2,
    "a knot beside a seam": 2,
    "knots far apart": 2,
    "two yarns exchanged": 4,
}


def start() -> SettledMap:
    rng = np.random.default_rng(8)
    cells = np.kron(rng.integers(0, 6, (20, 14)), np.ones((4, 5), dtype=int)).astype(np.uint16)
    return make_map(cells, make_rug(70, 80), Workshop.model_validate({"chart": CHART, "loom": {"weavers": 2}}))


def painted(knot_map: SettledMap, row: int, column: int) -> SettledMap:
    knots = knot_map.knots.copy()
    knots[row, column] = (knots[row, column] + 1) % len(knot_map.yarns)
    return SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)


def chart(knot_map: SettledMap, revises: SettledMap | None = None) -> pypdfium2.PdfDocument:
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop, revises=None if revises is None else as_file(revises))
    return pypdfium2.PdfDocument(stream.getvalue())


def looks(document: pypdfium2.PdfDocument) -> dict[str, bytes]:
    """Return each sheet as rendered, by its label, without the head, in which the map code stands."""
    sheets = {}
    for index, page in enumerate(document):
        picture = page.render(scale=2).to_numpy()
        sheets[document.get_page_label(index)] = picture[int(26 / 210 * len(picture)) :].tobytes()
    return sheets


def case_of(name: str) -> tuple[SettledMap, SettledMap]:
    old = start()
    seam = plan_chart(old, old.workshop, CoverFacts())[1].pages[0].rows.stop - 1
    # it is also printed, pale, at the foot of the next sheet
    return old, {
        "one knot": lambda: painted(old, 40, 12),
        "a knot beside a seam": lambda: painted(old, 40, 34),  # it is also shown, pale, beside the neighbour's columns
        "a knot at a seam": lambda: painted(old, seam, 3),
        "knots far apart": lambda: painted(painted(old, 0, 0), 79, 69),
        "two yarns exchanged": lambda: with_settings(exchanged_or_merged(old, [], [("Y000", "Y003")]), old.workshop),
    }[name]()


@pytest.mark.parametrize("case", LEAST_SHEETS)
def test_the_sheets_that_look_different_are_those_redrawn(case: str) -> None:
    old, new = case_of(case)
    before, after = looks(chart(old)), looks(chart(new))
    assert before.keys() == after.keys()
    different = tuple(int(label) for label in after if after[label] != before[label] and label != "1")
    revised = revision_of(as_file(old), as_file(new), CoverFacts())
    assert revised.reason == ""
    assert revised.numbers == different
    assert len(different) >= LEAST_SHEETS[case]


def test_a_knot_in_the_row_above_a_seam_redraws_the_sheet_below_on_a_mirrored_rug() -> None:
    """Above a sheet the rows just tied on the way back are shown, and a sheet kept in use would show the old ones."""
    half = start()
    knots = np.concatenate([half.knots, half.knots[::-1]])
    old = SettledMap(knots, half.yarns, make_rug(70, 160), half.workshop)
    seam = plan_chart(old, old.workshop, CoverFacts())[1].pages[0].rows.stop
    new = painted(painted(old, seam, 3), 159 - seam, 3)
    before, after = looks(chart(old)), looks(chart(new))
    different = {int(label) for label in after if after[label] != before[label] and label != "1"}
    revised = revision_of(as_file(old), as_file(new), CoverFacts())
    assert revised.reason == ""
    assert set(revised.numbers) == different
    assert len(different) == 2


def test_redrawn_sheets_are_those_of_the_new_chart_and_bear_both_codes() -> None:
    old, new = case_of("knots far apart")
    whole, part = chart(new), chart(new, revises=old)
    labels = [part.get_page_label(index) for index in range(len(part))]
    numbers = revision_of(as_file(old), as_file(new), CoverFacts()).numbers
    assert labels == ["R", "1", *map(str, numbers)]
    assert {label: looks(part)[label] for label in labels[2:]} == {label: looks(whole)[label] for label in labels[2:]}
    for index, label in enumerate(labels):
        text = part[index].get_textpage().get_text_range()
        assert new.map_code in text
        assert old.map_code in text
        if label == "1":
            assert f"Replaces the cover of map {old.map_code}" in text
        if index > 1:
            assert f"Replaces sheet {label} of map {old.map_code}" in text
    first = " ".join(part[0].get_textpage().get_text_range().split())
    assert number_words(numbers) in first
    assert f"The cover is new as well, and replaces that of map {old.map_code}." in first


def test_a_change_that_reaches_every_sheet_is_reported() -> None:
    old = start()
    mirrored = old.knots.copy()
    mirrored[:, 35:] = mirrored[:, :35][:, ::-1]
    half = SettledMap(mirrored, old.yarns, old.rug, old.workshop)
    slip = painted(half, 3, 3)
    revised = revision_of(as_file(half), as_file(slip), CoverFacts())
    assert "showed half of the rug, and the new one shows the whole" in revised.reason
    assert revised.numbers == tuple(page.number for page in plan_chart(slip, slip.workshop, CoverFacts())[1].pages)
    text = chart(slip, revises=half)[0].get_textpage().get_text_range()
    assert "All sheets are new" in text
    other = SettledMap(old.knots, old.yarns, old.rug, Workshop.model_validate({"chart": CHART, "loom": {"weavers": 3}}))
    assert "settings" in revision_of(as_file(old), as_file(other), CoverFacts()).reason
    with pytest.raises(SheetError, match="nothing has changed"):
        revision_of(as_file(old), as_file(start()), CoverFacts())


def with_more_yarns(knot_map: SettledMap, more: int) -> SettledMap:
    """Return the map with further yarns, each in one knot near the lower left corner."""
    cells = knot_map.knots.copy()
    for number in range(more):
        cells[number // 10, number % 10] = len(knot_map.yarns) + number
    return make_map(cells, knot_map.rug, knot_map.workshop)


def test_yarns_that_change_the_room_for_the_legends_redraw_every_sheet() -> None:
    """A few more yarns widen the legends, very many need legend sheets; a knot of an old yarn does neither."""
    old = start()
    reasons = []
    for more in range(1, 60, 2):
        new = with_more_yarns(old, more)
        revised = revision_of(as_file(old), as_file(new), CoverFacts())
        layouts = [plan_chart(knot_map, knot_map.workshop, CoverFacts())[1] for knot_map in (old, new)]
        if layouts[0].frame != layouts[1].frame or layouts[0].sheets != layouts[1].sheets:
            assert revised.numbers == tuple(page.number for page in layouts[1].pages)
            assert revised.reason
        reasons.append(revised.reason)
    assert any("the legends need a different amount of room" in reason for reason in reasons)
    told = [reason for reason in reasons if "the chart has" in reason]
    before = plan_chart(old, old.workshop, CoverFacts())[1].sheets
    assert told and all(reason.endswith(f"sheets where it had {before}.") for reason in told)


def test_a_list_of_sheets_too_long_to_print_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = case_of("two yarns exchanged")
    revised = revision_of(as_file(old), as_file(new), CoverFacts())
    pages = len(plan_chart(new, new.workshop, CoverFacts())[1].pages)
    monkeypatch.setattr(revised_module, "MOST_LETTERS", len(number_words(revised.numbers)))
    text = " ".join(chart(new, revises=old)[0].get_textpage().get_text_range().split())
    assert f"New sheets: {number_words(revised.numbers)}." in text
    monkeypatch.setattr(revised_module, "MOST_LETTERS", len(number_words(revised.numbers)) - 1)
    text = " ".join(chart(new, revises=old)[0].get_textpage().get_text_range().split())
    assert f"New sheets: {len(revised.numbers)} of {pages}, all those that follow." in text


def test_a_merge_that_shifts_the_symbols_redraws_every_sheet_that_shows_one() -> None:
    old = start()
    new = with_settings(exchanged_or_merged(old, [("Y001", "Y000")], []), old.workshop)
    before, after = looks(chart(old)), looks(chart(new))
    different = {int(label) for label in before.keys() & after.keys() if before[label] != after[label]} - {1}
    assert different <= set(revision_of(as_file(old), as_file(new), CoverFacts()).numbers)


def test_where_every_sheet_changed_none_is_said_to_stay() -> None:
    """ "All other sheets stay in use" sends somebody to look for sheets that there are none of."""
    old = start()
    for cells, words in ((slice(None), "No sheet of map"), (slice(0, 1), "All other sheets of map")):
        knots = old.knots.copy()
        knots[cells] = (knots[cells] + 1) % len(old.yarns)
        new = SettledMap(knots, old.yarns, old.rug, old.workshop)
        text = " ".join(chart(new, revises=old)[0].get_textpage().get_text_range().split())
        assert words in text and text.count("in use") == 1


@pytest.mark.parametrize(
    ("numbers", "words"), [((), ""), ((4,), "4"), ((4, 5), "4, 5"), ((2, 4, 5, 6, 9), "2, 4–6, 9")]
)
def test_sheet_numbers_in_words(numbers: tuple[int, ...], words: str) -> None:
    assert number_words(numbers) == words


def test_chart_redraws_sheets_since_an_older_map(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old, new = case_of("one knot")
    for name, knot_map in (("old.png", old), ("new.png", new)):
        with (tmp_path / name).open("wb") as stream:
            write_knotpng(stream, knot_map, knot_map.workshop)
    since = ["--since", str(tmp_path / "old.png")]
    assert run(["chart", str(tmp_path / "new.png"), *since, "--out", str(tmp_path / "r.pdf"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["sheets"] == len(pypdfium2.PdfDocument(tmp_path / "r.pdf")) == 3
    assert run(["chart", str(tmp_path / "old.png"), *since, "--out", str(tmp_path / "n.pdf")]) == 8
    assert "nothing has changed since map" in capsys.readouterr().err
    assert not (tmp_path / "n.pdf").exists()
