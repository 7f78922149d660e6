"""The sheets of a revision are proved against both maps in any language, and a missing sheet is found."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SettledMap, as_file, make_map, make_rug
from support.pseudo import Pseudo

from chartmaker.ground.language import English, fields_of, speaking
from chartmaker.order.workshop import Workshop
from chartmaker.paper.drawing import Sheet
from chartmaker.sheets.chart import chart as chart_sheets
from chartmaker.sheets.chart import gridsheets
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.chart.revised import Revised
from chartmaker.verify.expected import expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.revisions import revision_differences
from chartmaker.verify.twomaps import all_new, old_map


def a_map(**chart: object) -> SettledMap:
    """Return a rug without a mirror on three sheets, one above the other."""
    rng = np.random.default_rng(4)
    cells = np.kron(rng.integers(0, 6, (90, 15)), np.ones((1, 5), dtype=int))
    cells[-1, :6] = range(6)
    workshop = Workshop.model_validate({"chart": {"paper": "A5", "cell": "4 mm", **chart}})
    return make_map(cells.astype(np.uint16), make_rug(75, 90), workshop)


def changed(before: SettledMap, places: list[tuple[int, int]]) -> SettledMap:
    knots = before.knots.copy()
    for row, column in places:
        knots[row, column] = (knots[row, column] + 1) % len(before.yarns)
    return SettledMap(knots, before.yarns, before.rug, before.workshop)


def mirrored(before: SettledMap) -> SettledMap:
    quarter = before.knots[:45, :35]
    half = np.hstack([quarter, quarter[:, ::-1]])
    return make_map(np.vstack([half, half[::-1]]), make_rug(70, 90), before.workshop)


def both(before: SettledMap, row: int, column: int) -> SettledMap:
    return changed(before, [(r, c) for r in (row, 89 - row) for c in (column, 69 - column)])


def revision(now: SettledMap, before: SettledMap) -> bytes:
    stream = io.BytesIO()
    write_chart(stream, now, now.workshop, revises=as_file(before))
    return stream.getvalue()


def differences(data: bytes, now: SettledMap, before: SettledMap) -> list[str]:
    return list(revision_differences(data, expected_of(now, now.workshop), as_file(before)))


def redyed(before: SettledMap) -> SettledMap:
    first = replace(before.yarns[0], srgb=(1, 2, 3))
    return SettledMap(before.knots, (first, *before.yarns[1:]), before.rug, before.workshop)


def with_loom(rug: SettledMap, **loom: Any) -> SettledMap:
    return replace(rug, workshop=rug.workshop.model_copy(update={"loom": rug.workshop.loom.model_copy(update=loom)}))


def with_dye(rug: SettledMap, **dye: Any) -> SettledMap:
    return replace(rug, workshop=rug.workshop.model_copy(update={"dye": rug.workshop.dye.model_copy(update=dye)}))


CHANGES: dict[str, Callable[[], tuple[SettledMap, SettledMap]]] = {
    "one knot": lambda: (changed(a_map(), [(20, 3)]), a_map()),
    "knots at every edge": lambda: (changed(a_map(), [(row, 3) for row in range(24, 36)]), a_map()),
    "two yarns changed about": lambda: (changed(a_map(), [(r, c) for r in range(90) for c in (1, 70)]), a_map()),
    "another dye": lambda: (redyed(a_map()), a_map()),
    "a mirrored rug": lambda: (both(mirrored(a_map()), 20, 3), mirrored(a_map())),
    "its mirror broken": lambda: (changed(mirrored(a_map()), [(20, 3)]), mirrored(a_map())),
    "other strips because of more weavers": lambda: (with_loom(a_map(), weavers=2), a_map()),
    "another shrinkage": lambda: (with_loom(a_map(), shrinkage_along=0.05), a_map()),
    "another dye allowance": lambda: (with_dye(a_map(), allowance=0.2), a_map()),
    "another cell": lambda: (a_map(cell="5 mm"), a_map()),
    "symbols alone": lambda: (changed(a_map(marks="symbol"), [(50, 50)]), a_map(marks="symbol")),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_revision_is_proved_in_any_language(change: str) -> None:
    now, before = CHANGES[change]()
    for catalogue in (English(), Pseudo()):
        with speaking(catalogue):
            data = revision(now, before)
        assert differences(data, now, before) == []


@pytest.mark.parametrize(
    ("loom", "anew"), [({"weavers": 2}, True), ({"shrinkage_along": 0.05}, True), ({"picks": 3}, False), ({}, False)]
)
def test_another_length_on_the_loom_or_other_strips_leave_no_sheet_as_it_is(loom: dict[str, Any], anew: bool) -> None:
    """Every sheet names its strip and gives the length on the loom, but passes of weft stand on none."""
    before = a_map()
    now = with_loom(before, **loom)
    assert all_new(old_map(as_file(before)), expected_of(now, now.workshop, recount_of(now, now.workshop))) == anew


def test_without_the_old_map_nothing_is_proved() -> None:
    now, before = CHANGES["one knot"]()
    found = list(revision_differences(revision(now, before), expected_of(now, now.workshop), None))
    assert found == ["it is a revision: give the map of the old chart with --since"]


def one_sheet_less(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = chart_sheets.revised_sheets

    def fewer(*rest: Any) -> Revised:
        found = plain(*rest)
        return replace(found, numbers=found.numbers[:-1])

    monkeypatch.setattr(chart_sheets, "revised_sheets", fewer)


def table_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = gridsheets.yarns_on
    monkeypatch.setattr(gridsheets, "yarns_on", lambda *a: [(yarn, knots + 1) for yarn, knots in plain(*a)])


def printed_otherwise(name: str, tag: str) -> Callable[[pytest.MonkeyPatch], None]:
    """Return a patch that prints the first field of this name under the tag with another last digit."""

    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        plain, done = Sheet.text, []

        def text(self: Sheet, x: float, y: float, words: str, *rest: Any, **more: Any) -> float:
            for _, end, field in fields_of(words):
                if field == name and more.get("tag") == tag and not done:
                    done.append(words)
                    last = f"{(int(words[end - 1], 16) + 1) % 10}"
                    told: Any = type(words)
                    words = told(words[: end - 1] + last + words[end:], fields_of(words))
            return plain(self, x, y, words, *rest, **more)

        monkeypatch.setattr(Sheet, "text", text)

    return patch


def a_number_less(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = Sheet.labels

    def labels(self: Sheet, places: Any, *rest: Any, **more: Any) -> None:
        plain(self, list(places)[1:] if more.get("tag") == "sheet" else places, *rest, **more)

    monkeypatch.setattr(Sheet, "labels", labels)


FAULTS: dict[str, tuple[Callable[[pytest.MonkeyPatch], None], str]] = {
    "a number of the map of the sheets": (a_number_less, "a sheet does not have its number "),
    "a sheet too few": (one_sheet_less, "that changed, in row "),
    "a wrong count in the legends": (table_broken, "the legend gives "),
    "the list of new sheets": (printed_otherwise("listed", "revision"), "it names other sheets "),
    "the old map in the instructions": (printed_otherwise("old", "revision"), "it names other maps "),
    "the old map in the head": (printed_otherwise("old", "identity"), "for old it prints "),
    "the map of a sheet": (printed_otherwise("map", "heading"), "it does not say that it replaces "),
    "the sheet that it replaces": (printed_otherwise("sheet", "heading"), "it does not say that it replaces "),
    "the old map on the cover": (printed_otherwise("map", "replaces"), "its front sheet 1 does not say "),
    "the rows of a sheet": (printed_otherwise("last_row", "extent"), "for last_row "),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_of_the_writer_is_found(monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    now, before = CHANGES["knots at every edge"]()
    FAULTS[fault][0](monkeypatch)
    data = revision(now, before)
    monkeypatch.undo()
    found = differences(data, now, before)
    assert any(FAULTS[fault][1] in each for each in found), found


def test_a_join_that_was_not_printed_anew_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A knot in the top row of a sheet is shown again under the sheet above, which must be printed again too."""
    before = a_map()
    layout = chart_sheets.plan_chart(before, before.workshop, chart_sheets.CoverFacts())[1]
    top = layout.pages[0].rows.stop - 1
    now = changed(before, [(top, layout.pages[0].columns.start)])
    assert differences(revision(now, before), now, before) == []
    one_sheet_less(monkeypatch)
    found = differences(revision(now, before), now, before)
    assert any("shows changed rows of sheet" in each for each in found), found


def test_columns_beside_that_were_not_printed_anew_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A knot in the first column of a sheet is shown again at the right of the sheet beside it."""
    before = a_map(cell="6 mm")
    layout = chart_sheets.plan_chart(before, before.workshop, chart_sheets.CoverFacts())[1]
    second = next(page for page in layout.pages if page.columns.start > 0)
    now = changed(before, [(second.rows.start + 4, second.columns.start)])
    assert differences(revision(now, before), now, before) == []
    plain = chart_sheets.revised_sheets
    monkeypatch.setattr(chart_sheets, "revised_sheets", lambda *a: replace(plain(*a), numbers=(second.number,)))
    found = differences(revision(now, before), now, before)
    assert any("shows changed columns of sheet" in each for each in found), found


def test_where_every_sheet_is_new_none_may_be_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    now, before = CHANGES["another dye allowance"]()
    one_sheet_less(monkeypatch)
    data = revision(now, before)
    monkeypatch.undo()
    assert any("no sheet shows" in each for each in differences(data, now, before))


def test_a_map_of_the_sheets_that_does_not_say_where_the_rug_lies_is_a_difference(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A damaged cover ends in a difference, never in a fault of the reader."""
    now, before = CHANGES["one knot"]()
    plain = Sheet.tagged
    monkeypatch.setattr(
        Sheet, "tagged", lambda self, tag, values=None: plain(self, tag, None if tag == "sheet-map" else values)
    )
    data = revision(now, before)
    monkeypatch.undo()
    assert differences(data, now, before)
