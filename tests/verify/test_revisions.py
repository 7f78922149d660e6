"""The sheets of a revision are proved against both maps in any language, and a missing sheet is found."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from support.making import SettledMap, as_file, make_map, make_rug
from support.pseudo import Pseudo

from chartmaker.ground.language import English, fields_of, speaking
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.paper.drawing import Sheet
from chartmaker.readback.printed import Block, Text
from chartmaker.sheets.chart import chart as chart_sheets
from chartmaker.sheets.chart import gridsheets
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.chart.revised import Revised
from chartmaker.verify import revisions
from chartmaker.verify.charts import Chart
from chartmaker.verify.expected import expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.revisions import revision_differences
from chartmaker.verify.sheets import Sheet as ReadSheet
from chartmaker.verify.twomaps import all_new, looks_of, old_map


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


def a_chart(told: SettledMap, *parts: tuple[int, range, range], sheets: int = 3) -> Chart:
    """Return a chart of which sheets (number, rows, columns) follow; three lie one above the other, 30 rows each."""
    chart = Chart(expected_of(told, told.workshop), sheets)
    every = {n: (range(30 * n - 60, 30 * n - 30), range(75)) for n in (2, 3, 4)}
    grids: list[Any] = [SimpleNamespace(number=n, cells=SimpleNamespace(rows=r, columns=c)) for n, r, c in parts]
    chart.grids, chart.places = grids, every
    return chart


ALL = range(75)


@pytest.mark.parametrize(
    ("places", "sheets", "said"),
    # A knot is shown again on the sheet below in the two rows that join them.
    [
        ([(20, 3)], [(2, range(30))], []),
        ([(27, 3)], [(2, range(30))], []),
        ([(28, 3)], [(2, range(30))], ["sheet 3 shows changed rows of sheet 2 and is not new"]),
        ([(29, 3)], [(2, range(30))], ["sheet 3 shows changed rows of sheet 2 and is not new"]),
        ([(29, 3)], [(2, range(30)), (3, range(30, 60))], []),
        ([(30, 3)], [(3, range(30, 60))], []),
        ([(89, 3)], [(4, range(60, 90))], []),
        (
            [(20, 3), (40, 5), (35, 9)],
            [(2, range(30))],
            ["a knot that changed, in row 36, column 10, is on none of its sheets"],
        ),
        ([(20, 3)], [], ["a knot that changed, in row 21, column 4, is on none of its sheets"]),
    ],
)
def test_a_sheet_that_shows_a_change_is_new(places: Any, sheets: Any, said: list[str]) -> None:
    before = a_map()
    now = changed(before, places)
    chart = a_chart(now, *((number, rows, ALL) for number, rows in sheets))
    assert list(revisions._lacking(chart, old_map(as_file(before)), 0)) == said


@pytest.mark.parametrize(
    ("column", "side", "said"),
    [
        (37, 3, None),
        (38, 3, "sheet 3 shows changed columns of sheet 2 and is not new"),
        (39, 3, "sheet 3 shows changed columns of sheet 2 and is not new"),
        (40, 0, None),
        (40, 1, "sheet 3 shows changed columns of sheet 2 and is not new"),
        (39, 1, None),
    ],
)
def test_a_sheet_beside_that_shows_changed_columns_is_new(column: int, side: int, said: str | None) -> None:
    """Here sheet 2 has columns 1 to 41 and sheet 3 the others; either shows `side` columns of the other again."""
    before = a_map()
    for mirror in (False, True):
        place = 74 - column if mirror else column
        edge = 75 - 41 if mirror else 41
        parts = (range(edge, 75), range(edge)) if mirror else (range(edge), range(edge, 75))
        chart = a_chart(changed(before, [(20, place)]), (2, range(90), parts[0]))
        chart.places = {2: (range(90), parts[0]), 3: (range(90), parts[1])}
        assert list(revisions._lacking(chart, old_map(as_file(before)), side)) == ([] if said is None else [said])
        chart.places[3] = range(1, 90), parts[1]  # a sheet of other rows lies in another step
        assert list(revisions._lacking(chart, old_map(as_file(before)), side)) == []


def test_a_change_of_a_mirrored_rug_is_told_on_one_of_its_sheets() -> None:
    """The lower left quarter stands for all four, and row 1 of the sheet above a fold is shown again below it."""
    before = mirrored(a_map())
    for row, column in ((20, 3), (44, 3), (0, 3), (20, 40)):
        now = both(before, row, column if column < 35 else 69 - column)
        chart = a_chart(now, (2, range(45), range(35)))
        chart.places = {2: (range(45), range(35))}
        assert list(revisions._lacking(chart, old_map(as_file(before)), 0)) == []
    chart = a_chart(both(before, 20, 3), (3, range(20, 45), range(35)))
    chart.places = {2: (range(20), range(35)), 3: (range(20, 45), range(35))}
    words = "sheet 2 shows changed rows of sheet 3 and is not new"
    assert list(revisions._lacking(chart, old_map(as_file(before)), 0)) == [words]


@pytest.mark.parametrize(
    ("said", "numbers", "whole", "wrong"),
    [
        ({"listed": ["2, 4–6,", "9"]}, (2, 4, 5, 6, 9), False, None),
        ({"listed": ["2, 4–6,", "8"]}, (2, 4, 5, 6, 9), False, "it names other sheets as new than those that follow"),
        ({"listed": ["2"]}, (2, 3), True, "it names other sheets as new than those that follow"),
        ({"listed": ["2–400"]}, (2, *range(3, 13)), False, None),
        ({}, (2,), False, "it names other sheets as new than those that follow"),
        ({}, (2,), True, None),
        ({"new": ["2"]}, (2, 3), False, None),
        ({"new": ["1,200"]}, (2, 3), False, "it says that 1,200 sheets are new, but 2 follow"),
        ({"new": ["2", "2"]}, (2, 3), False, "it says that 2 sheets are new, but 2 follow"),
    ],
)
def test_the_sheets_that_are_named_are_those_that_follow(
    said: dict[str, list[str]], numbers: tuple[int, ...], whole: bool, wrong: str | None
) -> None:
    chart = a_chart(a_map(), *((number, range(1), ALL) for number in numbers), sheets=12)
    assert list(revisions._listed(said, chart, whole_chart=whole)) == ([] if wrong is None else [wrong])


def on_sheet(*spans: tuple[str, dict[str, str]]) -> ReadSheet:
    letters = Text("", 0.0, 0.0, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))
    blocks: list[Any] = [
        Block(tag, {}, [Block(name, {}, [replace(letters, words=words)]) for name, words in fields.items()])
        for tag, fields in spans
    ]
    return ReadSheet(1, 148.0, 210.0, Block("", {}, blocks))


def test_each_sheet_says_which_it_replaces() -> None:
    chart = a_chart(a_map(), (3, range(30), ALL))
    right = on_sheet(("heading", {"sheet": "3", "map": "abc"}))
    assert list(revisions._replacing(chart, right, 3, "abc")) == []
    for other in (
        on_sheet(("heading", {"sheet": "4", "map": "abc"})),
        on_sheet(("heading", {"sheet": "3", "map": "abd"})),
        on_sheet(("heading", {"sheet": "3"})),
        on_sheet(),
    ):
        assert list(revisions._replacing(chart, other, 3, "abc")) == [
            "it does not say that it replaces sheet 3 of map abc"
        ]
        assert list(revisions._replacing(a_chart(a_map()), other, 3, "abc")) == []
    cover, legend = on_sheet(("replaces", {"map": "abc"})), on_sheet(("replaces", {"sheet": "2", "map": "abc"}))
    assert list(revisions._front_replacing([cover, legend], "abc")) == []
    assert list(revisions._front_replacing([cover, cover], "abc")) == [
        "its front sheet 2 does not say that it replaces that of map abc"
    ]
    assert list(revisions._front_replacing([legend, legend], "abc")) == [
        "its front sheet 1 does not say that it replaces that of map abc"
    ]


def test_a_sheet_bears_one_number() -> None:
    assert revisions._identity(on_sheet(("identity", {"sheet": "12", "sheets": "1,234"})), "sheets") == 1234
    assert revisions._identity(on_sheet(("identity", {"sheet": "12"})), "sheet") == 12
    for unread in (on_sheet(), on_sheet(("identity", {"sheet": "x"})), on_sheet(*[("identity", {"sheet": "1"})] * 2)):
        assert revisions._identity(unread, "sheet") == 0
    assert revisions._step_count({2: (range(9), ALL), 3: (range(9), range(4)), 4: (range(9, 12), ALL)}) == 2


def test_columns_that_are_shown_again_are_counted_on_the_joins() -> None:
    """A join above has the sheet's own columns, one beside it those of the next sheet."""

    def sheet(own: tuple[float, float], *joins: tuple[float, float]) -> ReadSheet:
        spans = [Block("cells", {"Columns": own}), *(Block("join", {"Columns": each}) for each in joins)]
        return ReadSheet(1, 148.0, 210.0, Block("", {}, [*spans]))

    assert revisions._side(sheet((0.0, 40.0), (0.0, 40.0), (41.0, 43.0))) == 3
    assert revisions._side(sheet((0.0, 40.0), (0.0, 40.0))) == 0
    assert revisions._side(sheet((3.0, 40.0), (2.0, 2.0), (41.0, 41.0))) == 1
    assert revisions._side(ReadSheet(1, 148.0, 210.0, Block("", {}, [Block("join", {"Columns": (0.0, 3.0)})]))) == 0


def test_cells_look_alike_in_two_maps_where_the_same_is_printed() -> None:
    """Another name or another colour of a yarn changes the look of its cells, and an unused yarn before it does not."""
    before = a_map()
    old = old_map(as_file(before))
    one, two = looks_of(old, old, lambda yarn: yarn.code)
    assert (one == two).all() and len(np.unique(one)) == len(before.yarns) and one.min() >= 0
    named = replace(old, yarns=(replace(old.yarns[0], name="Rose"), *old.yarns[1:]))
    same = looks_of(old, named, lambda yarn: yarn.code)
    other = looks_of(old, named, lambda yarn: yarn.name)
    assert (same[0] == same[1]).all()
    assert ((other[0] != other[1]) == (old.knots == 0)).all()
    holes = replace(old, knots=np.where(old.knots == 0, NO_KNOT, old.knots))
    empty = looks_of(old, holes, lambda yarn: yarn.code)
    assert ((empty[1] == -1) == (old.knots == 0)).all()


@pytest.mark.parametrize(
    "other",
    [
        {"rug": "Other"},
        {"strips": (range(30), range(30, 75))},
        {"seats": (range(30), range(30, 75))},
        {"loom_length_factor": 1.1},
        {"chart": "whole"},
        {"knots": "a row more"},
        {"knots": "mirrored"},
    ],
    ids=str,
)
def test_nothing_of_another_layout_stays(other: dict[str, Any]) -> None:
    old = old_map(as_file(a_map()))
    assert not all_new(old, old)
    ways: dict[Any, Any] = {
        "Other": old.rug.model_copy(update={"name": "Other"}),
        "whole": old.chart.model_copy(update={"whole": True}),
        "a row more": np.vstack([old.knots, old.knots[:1]]),
        "mirrored": np.hstack([old.knots[:, :37], old.knots[:, 37:38], old.knots[:, 36::-1]]),
    }
    changed_so = {name: ways[value] if isinstance(value, str) else value for name, value in other.items()}
    assert all_new(old, replace(old, **changed_so))
