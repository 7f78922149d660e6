"""The sheets of figures, dye order and bundles are proved by their numbers, and faults in them are found."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.altering import other_digit
from support.making import SettledMap, make_map, make_rug, settled
from support.pseudo import Pseudo
from support.repacking import repacked

from chartmaker.figures.issuing import Issue
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import English, field, fields_of, speaking
from chartmaker.ground.measures import Units
from chartmaker.ground.sentence import Sentence
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Fill, Item, Text
from chartmaker.reports.issuetables import bundle_findings, issue_tables
from chartmaker.reports.records.figures import summary_of
from chartmaker.sheets.tables import dyesheets, figuresheets, issuesheets, tablelayout, tablesheets
from chartmaker.verify import figuresheets as sheets_read
from chartmaker.verify.expected import expected_of
from chartmaker.verify.figuresheets import figure_differences
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.sheets import Sheet
from chartmaker.verify.tabletypes import Line, Table
from chartmaker.verify.values import Number
from chartmaker.verify.values import Text as Words

WRITERS: dict[str, Callable[..., int]] = {
    "figures": figuresheets.write_figures_pdf,
    "dye": dyesheets.write_dye_pdf,
    "issue": issuesheets.write_issue_pdf,
}
VESSELS = [{"name": "large copper pot", "holds": "400 g", "least": "100 g"}, {"name": "vat 2", "holds": "200 g"}]


def a_map(technique: str = "knotted", **more: dict[str, Any]) -> SettledMap:
    """Return a rug of five yarns, one with only ten knots, one undyed, with lots, heights and sections."""
    cells = np.kron(np.arange(16).reshape(4, 4) % 4, np.ones((50, 25), dtype=int))
    cells[5, 5:15] = 4
    tables: dict[str, dict[str, Any]] = {
        "pile": {"heights": {"Y001": "12 mm"}, "strands": 2},
        "loom": {"section": "10 cm", "weavers": 2, "thin_weft": "Ne 20 x2", "shrinkage_along": 0.03},
        "dye": {"hank": "100 g", "vessels": VESSELS, "undyed": ["Y002"]},
        "chart": {"strips": 2},
    }
    workshop = Workshop.model_validate({key: tables.get(key, {}) | more.get(key, {}) for key in {*tables, *more}})
    made = make_map(cells, make_rug(100, 200, "40x50 per dm", name="Büchse", technique=technique), workshop)
    yarns = tuple(replace(yarn, stock_g=40.0 * index) for index, yarn in enumerate(made.yarns))
    return SettledMap(made.knots, yarns, made.rug, made.workshop)


def written(knot_map: SettledMap, sheet: str, units: str = "metric", figures: Figures | None = None) -> bytes:
    stream = io.BytesIO()
    WRITERS[sheet](stream, figures or figures_of(*settled(knot_map)), units)
    return stream.getvalue()


def differences(data: bytes, knot_map: SettledMap) -> list[str]:
    again = recount_of(*settled(knot_map))
    expected = expected_of(*settled(knot_map), again)
    return list(figure_differences(data, expected, again, figures_of(*settled(knot_map)), None))


RUGS: dict[str, Callable[[], SettledMap]] = {
    "knotted": a_map,
    "several lots": lambda: a_map(dye={"vessels": [{"name": "pot", "holds": "100 g"}]}),
    "tufted": lambda: a_map("tufted"),
    "tufted along a pattern as the pile is seen": lambda: a_map("tufted", pattern={"side": "front"}),
    "hand-loomed": lambda: a_map("hand-loomed"),
    "ten weavers, symbols alone": lambda: a_map(loom={"weavers": 10}, chart={"marks": "symbol"}),
    "colours alone": lambda: a_map(chart={"marks": "colour"}),
    "no vessels": lambda: a_map(dye={"vessels": [], "undyed": []}, pile={"heights": {}, "length_per_knot": "42 mm"}),
}


def restless(sections: int) -> SettledMap:
    """Return a rug of which so many sections of rows have a run for almost every knot, and so go slowly."""
    plain = a_map()
    knots = plain.knots.copy()
    for first in range(0, 40 * sections, 40):
        knots[first : first + 20] = np.random.default_rng(first).integers(0, 4, (20, knots.shape[1]))
    workshop = Workshop.model_validate({"loom": {"section": "4 cm"}})
    return SettledMap(knots, plain.yarns, plain.rug, workshop)


def test_sections_that_go_slowly_are_named_by_their_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    knot_map = restless(3)
    figures = figures_of(*settled(knot_map))
    slow = [section.first_row for section in figures.labour.slow]
    assert len(slow) >= 2
    assert differences(written(knot_map, "figures"), knot_map) == []
    fields = Fields(monkeypatch)
    written(knot_map, "figures", figures=figures)
    told = fields.printed[:]
    places = [each for each, (name, value) in enumerate(told) if (name, value) == ("first", f"{slow[1]:,}")]
    assert len(places) == 3, "in the table, in the note below it and in what is to be looked at"
    place = places[1]
    fields.other, fields.printed = place, []
    assert any("first" in each for each in differences(written(knot_map, "figures", figures=figures), knot_map))


def test_each_portion_of_a_table_has_its_own_head(monkeypatch: pytest.MonkeyPatch) -> None:
    """A card of sixty yarns takes several sheets, and the head of each tells the units of its columns."""
    knots = np.arange(6000).reshape(100, 60).astype(np.uint16) % 60
    knot_map = make_map(knots, make_rug(60, 100, "40x50 per dm"), Workshop())
    data = written(knot_map, "figures")
    assert differences(data, knot_map) == []
    fields = Fields(monkeypatch)
    written(knot_map, "figures")
    heads = [place for place, (name, _) in enumerate(fields.printed) if name == "unit"]
    assert len(heads) > 8
    for place in (heads[0], heads[7]):
        fields.other, fields.printed = place, []
        assert any("unit" in each for each in differences(written(knot_map, "figures"), knot_map)), place


@pytest.mark.parametrize("rug", RUGS)
@pytest.mark.parametrize("sheet", WRITERS)
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_sheets_are_proved_in_any_language(rug: str, sheet: str, units: str) -> None:
    knot_map = RUGS[rug]()
    for catalogue in (English(), Pseudo()):
        with speaking(catalogue):
            data = written(knot_map, sheet, units)
        assert differences(data, knot_map) == []


@pytest.mark.parametrize("sheet", WRITERS)
def test_sheets_of_another_map_differ(sheet: str) -> None:
    knot_map = a_map()
    knots = knot_map.knots.copy()
    knots[100, 3] = (knots[100, 3] + 1) % 4
    other = SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)
    found = differences(written(other, sheet), knot_map)
    assert any("for map it prints" in each for each in found), found
    assert any("for knots it prints" in each for each in found) == (sheet == "figures"), found


class Fields:
    """Notes every field that is printed, by its name, and prints one of them with another last figure or letter."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.other, self.printed = -1, list[tuple[str, str]]()
        plain = tablesheets.Sheet.text

        def text(sheet: Any, x: float, y: float, words: str, *rest: Any, **more: Any) -> float:
            for start, end, name in fields_of(words):
                if len(self.printed) == self.other:
                    other = words[start:end]
                    for _ in range(3):  # rounding so that columns add up may shift a figure by one or two
                        other = other_digit(other)
                    changed = words[:start] + other + words[end:]
                    words = type(words)(changed, fields_of(words))  # type: ignore[call-arg]
                value = words[start:end]
                self.printed.append((name, value) if any(map(str.isalnum, value)) else ("", value))
            return plain(sheet, x, y, words, *rest, **more)

        monkeypatch.setattr(tablesheets.Sheet, "text", text)

    def first_and_last(self) -> list[int]:
        """Return where the first and the last field of each name stands; the last is often that of a sum or a note."""
        places: dict[str, list[int]] = {}
        for place, (name, _) in enumerate(self.printed):
            places.setdefault(name, []).append(place)
        return sorted({each for name, found in places.items() if name for each in (found[0], found[-1])})


PRICES = {
    "currency": "EUR",
    "pile_per_kg": 12.5,
    "warp_per_kg": 9.5,
    "weft_per_kg": 8,
    "dyeing_per_kg": 4,
    "weaving_per_1000_knots": 2.25,
}


def test_the_cost_is_proved_by_the_summary(monkeypatch: pytest.MonkeyPatch) -> None:
    """The map holds no prices, so the table is held against the record of the set, part by part and in its sums."""
    knot_map = a_map(cost=PRICES)
    figures = figures_of(*settled(knot_map))
    cost = summary_of(figures)["cost"]
    assert cost["complete"] is not None and len(cost["parts"]) > 3

    def found(data: bytes, cost: Any = cost) -> list[str]:
        again = recount_of(*settled(knot_map))
        return list(figure_differences(data, expected_of(*settled(knot_map), again), again, plain, cost))

    plain = replace(figures, cost=None)
    fields = Fields(monkeypatch)
    data = written(knot_map, "figures", figures=figures)
    assert found(data) == []
    assert any("tables" in each for each in found(data, None))
    assert any("total" in each for each in found(data, cost | {"total": dict.fromkeys(cost["total"], 1.0)}))
    parts = [{**part, "amount": None} for part in cost["parts"]]
    assert found(data, cost | {"parts": parts})
    told = fields.printed[:]
    for place in [place for place, (name, _) in enumerate(told) if name == "currency"]:
        fields.other, fields.printed = place, []
        assert found(written(knot_map, "figures", figures=figures)), told[place]


def test_the_parts_of_the_cost_are_found_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    knot_map = a_map(cost=PRICES)
    figures = figures_of(*settled(knot_map))
    cost = summary_of(figures)["cost"]
    data = written(knot_map, "figures", figures=figures)
    again = recount_of(*settled(knot_map))
    expected, plain = expected_of(*settled(knot_map), again), replace(figures, cost=None)
    for number, part in enumerate(cost["parts"]):
        for end, amount in (part["amount"] or {}).items():
            parts = [dict(each) for each in cost["parts"]]
            parts[number] |= {"amount": {**part["amount"], end: round(amount + 0.05, 2)}}
            assert list(figure_differences(data, expected, again, plain, cost | {"parts": parts})), (part, end)
    for key in ("total", "per_m2", "per_ft2"):
        for end, amount in cost[key].items():
            other = cost | {key: {**cost[key], end: round(amount + 0.05, 2)}}
            assert list(figure_differences(data, expected, again, plain, other)), (key, end)


def one_swatch(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = tablesheets.draw_swatch
    monkeypatch.setattr(tablesheets, "draw_swatch", lambda s, x, y, side, _yarn, pal: plain(s, x, y, side, 0, pal))


def one_patch(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tablesheets, "colour_of", lambda _srgb: (0.5, 0.5, 0.5))


def a_row_less(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = tablelayout.set_table
    for module in (figuresheets, dyesheets, issuesheets):

        def short(table: Any, *rest: Any) -> Any:
            return plain(replace(table, rows=table.rows[1:], yarns=table.yarns[1:], lines=table.lines[1:]), *rest)

        monkeypatch.setattr(module, "set_table", short)


def units_off(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = tablelayout.set_table
    for module in (figuresheets, dyesheets, issuesheets):

        def named(table: Any, *rest: Any) -> Any:
            header = tuple(field("unit", "kg") if fields_of(each) else each for each in table.header)
            return plain(replace(table, header=header), *rest)

        monkeypatch.setattr(module, "set_table", named)


def counts_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the figures count 400 knots too many of each yarn, so that all tables are wrong in the same way."""
    from chartmaker.figures import pile

    plain = pile._line
    monkeypatch.setattr(pile, "_line", lambda yarn, knots, *rest: plain(yarn, knots + 400, *rest))


def bundles_off(monkeypatch: pytest.MonkeyPatch) -> None:

    plain = Issue.bundles_in
    monkeypatch.setattr(Issue, "bundles_in", lambda issue, step_g: plain(issue, step_g) + step_g)


def hanks_of_the_shade(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = dyesheets._lot_row

    def row(shade: Any, number: int, *rest: Any) -> tuple[str, ...]:
        cells = plain(shade, number, *rest)
        return (*cells[:8], str(shade.hanks), *cells[9:])

    monkeypatch.setattr(dyesheets, "_lot_row", row)


FAULTS: dict[str, tuple[Callable[[pytest.MonkeyPatch], None], tuple[str, ...], str]] = {
    "all swatches of one yarn": (one_swatch, ("figures", "issue"), "the swatch of "),
    "all patches grey": (one_patch, ("dye",), "the swatch of "),
    "a row of each table left out": (a_row_less, ("figures", "dye", "issue"), " rows, not the "),
    "another unit in the head": (units_off, ("figures", "dye", "issue"), "for unit it prints"),
    "the reckoning itself": (counts_off, ("figures", "dye"), " it prints "),
    "the hanks of a shade in each lot": (hanks_of_the_shade, ("dye",), "for hanks it prints "),
    "a step too much in each bundle": (bundles_off, ("issue",), " it prints "),
}


@pytest.mark.parametrize(("fault", "sheet"), [(fault, sheet) for fault, each in FAULTS.items() for sheet in each[1]])
def test_a_fault_of_the_writer_is_found(monkeypatch: pytest.MonkeyPatch, fault: str, sheet: str) -> None:
    knot_map = RUGS["several lots"]()
    again = recount_of(*settled(knot_map))
    right = figures_of(*settled(knot_map))
    FAULTS[fault][0](monkeypatch)
    data = written(knot_map, sheet)
    monkeypatch.undo()
    expected = expected_of(*settled(knot_map), again)
    found = list(figure_differences(data, expected, again, right, None))
    assert any(FAULTS[fault][2] in each for each in found), found


def later_by_one(found: Finding) -> Finding:
    """Return the finding with the new lot a section later."""
    assert isinstance(found.said, Sentence)
    moved = {name: value + 1 if name in ("lasts", "begins") else value for name, value in found.said.fields}
    return replace(found, said=Sentence(found.said.template, tuple(moved.items())))


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_new_lot_begins_where_the_printed_bundles_of_the_stock_add_up_to_more(
    units: Units, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever adds up the bundles of the printed tables finds the section that the sentence names (arithmetic).

    Papers in grams and in ounces (28.35 g, NIST Handbook 44, appendix C) name the same one.
    """
    plain = a_map()
    bare = replace(plain, yarns=tuple(replace(yarn, stock_g=None) for yarn in plain.yarns))
    sums_g = []
    for of, size_g in (("metric", 1.0), ("imperial", 453.59237 / 16)):
        rows = [row for table in issue_tables(figures_of(*settled(bare)), of)[:2] for row in table.rows]
        sums_g.append(size_g * sum(float(word) for row in rows if row[0] == "Y003" for word in row[2:4] if word))
    two_g = max(sums_g)
    for stock_g, said in (
        (two_g, {"lasts": "2", "begins": "3"}),
        (two_g - 0.1, {"lasts": "1", "begins": "2"}),
        (1.0, {}),
    ):
        yarns = tuple(replace(yarn, stock_g=stock_g if n == 3 else 0.0) for n, yarn in enumerate(plain.yarns))
        knot_map = SettledMap(plain.knots, yarns, plain.rug, plain.workshop)
        figures = figures_of(*settled(knot_map))
        (found,) = bundle_findings(figures, units)
        told = f"{stock_g:,.0f} g" if units == "metric" else f"{stock_g / 453.59237:.3f} lb"
        assert f"{told} are in stock" in found.what and found.where == "yarn Y003"
        assert all(f"section {number}" in found.what for number in said.values() or ("1: make up every bundle",))
        if not said:
            continue
        for sheet in ("figures", "issue")[units == "imperial" :]:
            assert differences(written(knot_map, sheet, units), knot_map) == []
            monkeypatch.setattr(Issue, "findings_in", lambda *_, found=found: (later_by_one(found),))
            data = written(knot_map, sheet, units)
            monkeypatch.undo()
            assert any("lasts" in each for each in differences(data, knot_map)), sheet


def test_what_comes_from_stock_is_read_on_the_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = a_map()
    yarns = tuple(replace(yarn, stock_g=1.0 if n == 3 else 0.0) for n, yarn in enumerate(plain.yarns))
    knot_map = SettledMap(plain.knots, yarns, plain.rug, plain.workshop)
    fields = Fields(monkeypatch)
    for units in ("metric", "imperial"):
        fields.other, fields.printed = -1, []
        written(knot_map, "issue", units)
        told = [name for name, _ in fields.printed]
        for name in ("stock", "new"):
            fields.other, fields.printed = told.index(name), []
            assert any(name in each for each in differences(written(knot_map, "issue", units), knot_map))


def a_row(tag: str, *more: Item, **fields: str) -> Block:
    """Return what a row of a table prints, field by field, behind what else stands in it."""
    text = Text("", 0.0, 0.0, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))
    told: list[Item] = [Block(name, {}, [replace(text, words=words)]) for name, words in fields.items()]
    return Block(tag, {}, [*more, *told])


KEPT = Table(
    "kept",
    (Line({"code": Words("R1"), "mass": Number(12)}), Line({"code": Words("B1"), "mass": Number(1230)}, "last")),
    ("g",),
    {"mass": Number(1242), "share": Number(0.0, 2)},
    ("mass", "share"),
    title={"number": Number(3)},
    notes={"hank": Words("100")},
    weavers=range(2),
)


def kept(**other: Any) -> Block:
    """Return the table as it is printed, or with other rows in the place of some, by the names given here."""
    rows = {
        "title": a_row("title", title="Kept", number="3"),
        "head": a_row("head", unit="g", number="1"),
        "first": a_row("line", code="R1", mass="12"),
        "last": a_row("last", code="B1", mass="1,230"),
        "sums": a_row("sum", mass="1,242", share="0.00"),
        "note": a_row("note", hank="100"),
    }
    rows["head"].items += a_row("head", number="2").items
    return Block("table-kept", {}, [each for each in (rows | other).values() if each is not None])


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({}, []),
        ({"title": a_row("title", title="Kept", number="4")}, ["kept, title: for number it prints 4, not 3"]),
        ({"title": a_row("title", title="Kept")}, ["kept, title: for number it prints nothing, not 3"]),
        ({"note": a_row("note", hank="90")}, ["kept, note: for hank it prints 90, not 100"]),
        (
            {"note": a_row("note", hank="100", more="7")},
            ["kept, note: it prints a more that should not be there"],
        ),
        ({"head": a_row("head", unit="g", number="1")}, ["kept, head: for number it prints 1, not 1, 2"]),
        ({"head": a_row("head", number="1")}, None),
        ({"first": a_row("line", code="R1", mass="13")}, None),
        ({"first": a_row("line", code="R2", mass="12")}, ["kept, R2: for code it prints R2, not R1"]),
        (
            {"first": a_row("line", code="R1", mass="12", x="1")},
            ["kept, R1: it prints a x that should not be there"],
        ),
        ({"first": None}, ["kept: it has 1 rows, not the 2 that it should have"]),
        ({"first": a_row("other", code="R1", mass="12")}, ["kept: it has 2 rows, not the 2 that it should have"]),
        ({"sums": None}, ["kept: it does not have one row of sums"]),
        ({"again": a_row("sum", mass="1,242", share="0.00")}, ["kept: it does not have one row of sums"]),
        (
            {"sums": a_row("sum", mass="1,243", share="0.00")},
            ["kept, sums: for mass it prints 1,243, not 1,242", "kept: the column mass does not add up to its sum"],
        ),
        ({"last": a_row("last", code="B1", mass="x")}, ["kept, B1: for mass it prints x, not 1,230"]),
        ({"last": a_row("last", mass="1,230")}, ["kept, last: for code it prints nothing, not B1"]),
    ],
)
def test_what_stands_in_a_table_is_said_by_its_place(other: dict[str, Any], said: list[str] | None) -> None:
    knot_map = a_map()
    expected = expected_of(*settled(knot_map), recount_of(*settled(knot_map)))
    (printed,) = sheets_read._tables_of([Sheet(1, 210.0, 297.0, Block("", {}, [kept(**other)]))])
    found = list(sheets_read._table(KEPT, printed, expected, {}))
    assert found == said if said is not None else len(found) == 2, found


def test_portions_of_a_table_are_put_together_until_its_sums() -> None:
    """A table that goes on overleaf repeats its title and its head; one with other numbers in its title is another."""
    first, second = kept(last=None, sums=None, note=None), kept(first=None)
    other = kept(title=a_row("title", title="Kept", number="4"))
    root = Block("", {}, [first, a_row("row", code="R1"), second, second, other])
    found = sheets_read._tables_of([Sheet(1, 210.0, 297.0, root)])
    assert [(each.key, len(each.rows), len(each.heads), len(each.sums)) for each in found] == [
        ("kept", 2, 2, 1),
        ("kept", 1, 1, 1),
        ("kept", 2, 1, 1),
    ]
    assert [each.title for each in found] == [{"number": ["3"]}, {"number": ["3"]}, {"number": ["4"]}]
    assert [each.notes for each in found] == [{"hank": ["100"]}] * 3


def test_a_column_adds_up_figure_by_figure() -> None:
    """A share of nothing is 0.00 in all, and rows that leave a column empty add nothing to it."""

    def wrong(sums: dict[str, str], *rows: dict[str, str]) -> list[str]:
        printed = sheets_read._Printed("kept", {}, rows=[a_row("line", **row) for row in rows])
        said = {name: [words] for name, words in sums.items()}
        return list(sheets_read._adding(printed, KEPT, said))

    right = ({"mass": "999.9", "share": "60.00"}, {"share": "40.00"}, {"mass": "0.2"})
    assert wrong({"mass": "1,000.1", "share": "100.00"}, *right) == []
    assert wrong({"mass": "1,000.2", "share": "100.00"}, *right) == ["kept: the column mass does not add up to its sum"]
    assert wrong({"mass": "1,000.1", "share": "99.00"}, *right) == ["kept: the column share does not add up to its sum"]
    assert wrong({"mass": "1,000.1", "share": "0.00"}, *right) == []
    assert wrong({"mass": "x", "share": "99.00"}, *right) == ["kept: the column share does not add up to its sum"]


def test_the_order_is_for_what_the_pile_takes_at_most() -> None:
    def tables(high: dict[str, str], need: dict[str, str], key: str = "order") -> list[str]:
        pile = sheets_read._Printed("pile", {}, rows=[a_row("line", code=c, mass_high=m) for c, m in high.items()])
        order = sheets_read._Printed(key, {}, rows=[a_row("line", code=c, need=m) for c, m in need.items()])
        return list(sheets_read._same_need([pile, order]))

    assert tables({"R1": "12", "B1": "7"}, {"R1": "12"}) == []
    for key in ("order", "bought"):
        assert tables({"R1": "12", "B1": "7", "A1": "9"}, {"B1": "8", "A1": "1", "Z1": "3"}, key) == [
            "A1: it takes 9 at most by the table of the pile, and 1 by the order",
            "B1: it takes 7 at most by the table of the pile, and 8 by the order",
        ]
    assert tables({"R1": "12"}, {"R1": "13"}, "lots") == []


@pytest.mark.parametrize(
    ("marks", "patches", "swatch", "said"),
    [
        ("both", False, {}, []),
        ("colour", False, {"symbols": ()}, []),
        ("symbol", False, {"colour": (1.0, 1.0, 1.0)}, []),
        ("both", True, {"symbols": ()}, []),
        ("both", False, {"colour": (0.5, 0.5, 0.5)}, ["kept: the swatch of Y000 has another colour"]),
        ("symbol", True, {"colour": (0.5, 0.5, 0.5), "symbols": ()}, ["kept: the swatch of Y000 has another colour"]),
        ("both", False, {"boxes": 2}, ["kept: the swatch of Y000 has another colour"]),
        ("both", False, {"boxes": 0}, ["kept: the swatch of Y000 has another colour"]),
        ("both", False, {"symbols": ()}, ["kept: the swatch of Y000 does not bear one symbol"]),
        ("both", False, {"symbols": (7, 7)}, ["kept: the swatch of Y000 does not bear one symbol"]),
        ("colour", False, {}, ["kept: the swatch of Y000 does not bear one symbol"]),
        ("both", True, {}, ["kept: the swatch of Y000 does not bear one symbol"]),
        ("both", False, {"symbols": (8,)}, ["kept: the swatch of Y000 bears another symbol"]),
        ("both", False, {"x": 4.0}, ["kept: the swatch of Y000 bears another symbol"]),
    ],
)
def test_a_swatch_shows_its_yarn(marks: str, patches: bool, swatch: dict[str, Any], said: list[str]) -> None:
    knot_map = a_map(chart={"marks": marks})
    expected = expected_of(*settled(knot_map), recount_of(*settled(knot_map)))
    srgb = tuple(part / 255 for part in knot_map.yarns[0].srgb)
    colour = swatch.get("colour", srgb)
    ink = (0.0,) if max(colour) > 0.5 else (1.0,)
    symbol = Text("", swatch.get("x", 0.5), 0.5, 2.0, 0.0, 2.0, "S", b"", True, ink)
    items: list[Item] = [Fill(0.0, 0.0, 3.0, 3.0, colour, True)] * swatch.get("boxes", 1)
    items += [replace(symbol, glyphs=glyph.to_bytes(2, "big")) for glyph in swatch.get("symbols", (7,))]
    table, line = replace(KEPT, patches=patches), Line({}, yarn=0)
    glyphs = {0: 7}
    assert list(sheets_read._swatch(a_row("line", *items), line, table, expected, glyphs)) == said
    assert list(sheets_read._swatch(a_row("line"), Line({}), table, expected, glyphs)) == []
    assert glyphs == {0: 7}


@pytest.mark.parametrize(
    ("old", "new", "one"),
    [
        ("/Imperial [0]", "/Imperial [1]", True),
        ("/Imperial [0]", "/Imperial [2]", False),
        ("/Imperial [0]", "/Imperial [0 0]", False),
        (" <</Imperial [0]>> BDC", " BMC", False),
        ("/kn-issue-sheet", "/kn-dye-sheet", True),
    ],
)
def test_sheets_of_two_kinds_are_refused(old: str, new: str, one: bool) -> None:
    knot_map = a_map()
    data = repacked(written(knot_map, "issue"), lambda text: text.replace(old, new), one)
    assert differences(data, knot_map) == ["its sheets are not all of one kind, in one system of units"]


def once_only(work: Callable[..., Any]) -> Callable[..., Any]:
    """Return `work`, done when it is first asked for, and with the same result ever after."""
    done: list[Any] = []

    def result(*asked: Any) -> Any:
        if not done:
            done.append(work(*asked))
        return done[0]

    return result


@pytest.mark.parametrize("sheet", WRITERS)
def test_each_value_that_is_printed_otherwise_is_found(monkeypatch: pytest.MonkeyPatch, sheet: str) -> None:
    """The first and the last value under each field's name are printed with another last figure, one at a time.

    What holds words alone may say the same in any language.
    """
    fields, seen, missed = Fields(monkeypatch), set[str](), []
    set_abreast = tablesheets.set_abreast
    for knot_map in (a_map(), a_map("hand-loomed")):
        # What is printed otherwise is set as before, so the tables of a rug are set once for all its faults.
        monkeypatch.setattr(tablesheets, "set_abreast", once_only(set_abreast))
        figures, again = figures_of(*settled(knot_map)), recount_of(*settled(knot_map))
        expected = expected_of(*settled(knot_map), again)
        fields.other, fields.printed = -1, []
        assert list(figure_differences(written(knot_map, sheet, figures=figures), expected, again, figures, None)) == []
        told = fields.printed[:]
        for place in fields.first_and_last():
            if told[place][0] not in seen:
                fields.other, fields.printed = place, []
                data = written(knot_map, sheet, figures=figures)
                if next(figure_differences(data, expected, again, figures, None), None) is None:
                    missed.append(told[place])
        seen |= {name for name, _ in told}
    assert [(name, value) for name, value in missed if any(map(str.isdigit, value)) and " " not in value] == []
