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

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.language import English, field, fields_of, speaking
from chartmaker.order.workshop import Workshop
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
    "hand-loomed": lambda: a_map("hand-loomed"),
    "ten weavers, symbols alone": lambda: a_map(loom={"weavers": 10}, chart={"marks": "symbol"}),
    "no vessels": lambda: a_map(dye={"vessels": [], "undyed": []}, pile={"heights": {}, "length_per_knot": "42 mm"}),
}


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


#: For each sheet the fields into which a fault of the writer is put, one at a time.
FIELDS = {
    "figures": [
        *("code", "knots", "share", "count", "strands", "cut", "length_per_knot", "net_length", "net_mass", "length"),
        *("mass", "mass_low", "mass_high", "figure", "low", "high", "detail", "across", "width_cm", "tex", "need"),
        *("wanted", "stock", "order", "hanks", "vessel", "liquor", "first", "last", "runs", "colours", "pace", "most"),
        *("taken", "unit", "map", "sheets", "columns", "density"),
    ],
    "dye": [
        "code",
        "lightness",
        "a",
        "number",
        "lots",
        "mass",
        "hanks",
        "vessel",
        "liquor",
        "shades",
        "stock",
        "allowance",
    ],
    "issue": [
        "code",
        "bundle1",
        "bundle2",
        "mass",
        "length",
        "number",
        "first",
        "unit",
        "sheet",
        "knots",
        "step",
        "margin",
    ],
}


@pytest.mark.parametrize(("sheet", "name"), [(sheet, name) for sheet, names in FIELDS.items() for name in names])
def test_each_value_that_is_printed_otherwise_is_found(monkeypatch: pytest.MonkeyPatch, sheet: str, name: str) -> None:
    """One value under each field's name is printed with another last digit, under the same tag."""
    plain, done = tablesheets.Sheet.text, []

    def text(self: Any, x: float, y: float, words: str, *rest: Any, **more: Any) -> float:
        for start, end, field_name in fields_of(words):
            if field_name == name and not done:
                done.append(words)
                changed = words[:start] + other_digit(words[start:end]) + words[end:]
                words = type(words)(changed, fields_of(words))  # type: ignore[call-arg]
        return plain(self, x, y, words, *rest, **more)

    knot_map = a_map()
    figures = figures_of(*settled(knot_map))
    monkeypatch.setattr(tablesheets.Sheet, "text", text)
    data = written(knot_map, sheet, figures=figures)
    monkeypatch.undo()
    assert done
    assert differences(data, knot_map), name


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
    from chartmaker.reports import issuetables

    plain = issuetables.weighed
    monkeypatch.setattr(issuetables, "weighed", lambda need_g, step_g: plain(need_g, step_g) + step_g)


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
