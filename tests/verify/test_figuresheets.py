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

from chartmaker.figures.issuing import Issue
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import English, field, fields_of, speaking
from chartmaker.ground.measures import Units
from chartmaker.ground.sentence import Sentence
from chartmaker.order.workshop import Workshop
from chartmaker.reports.issuetables import bundle_findings, issue_tables
from chartmaker.reports.records.figures import summary_of
from chartmaker.sheets.tables import dyesheets, figuresheets, issuesheets, tablelayout, tablesheets
from chartmaker.verify.expected import expected_of
from chartmaker.verify.figuresheets import figure_differences
from chartmaker.verify.recount.whole import recount_of

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


@pytest.mark.parametrize("sheet", WRITERS)
def test_each_value_that_is_printed_otherwise_is_found(monkeypatch: pytest.MonkeyPatch, sheet: str) -> None:
    """The first and the last value under each field's name are printed with another last figure, one at a time.

    What holds words alone may say the same in any language.
    """
    fields, seen, missed = Fields(monkeypatch), set[str](), []
    for knot_map in (a_map(), a_map("hand-loomed")):
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
