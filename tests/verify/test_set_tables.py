"""Values of a set's tables are compared one by one, and each that differs is named by its path or its line."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.altering import leaves
from support.making import SettledMap, make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.knots.rowscript import CSV_HEADER
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.figures import summary_of
from chartmaker.reports.records.maps import map_dict, rug_figures
from chartmaker.verify import tables
from chartmaker.verify.expected import expected_of
from chartmaker.verify.records import COLUMNS, Near, column_faults, records_of
from chartmaker.verify.recount.whole import recount_of


@pytest.mark.parametrize(
    ("found", "wanted", "said"),
    [
        ({"a": 1, "more": 2}, {"a": 1}, []),
        ({"a": {"b": [1, {"c": 2}]}}, {"a": {"b": [1, {"c": 3}]}}, ["a.b[1].c is 2, but the map gives 3"]),
        ({}, {"a": 1, "b": {}}, ["a is missing", "b is missing"]),
        ({"a": {}}, {"a": {"b": None}}, ["a.b is missing"]),
        ({"a": [1, 2]}, {"a": [1]}, ["a is [1, 2], but the map gives [1]"]),
        ({"a": True}, {"a": 1}, ["a is true, but the map gives 1"]),
        ({"a": 1}, {"a": True}, ["a is 1, but the map gives true"]),
        ({"a": 0}, {"a": None}, ["a is 0, but the map gives null"]),
        ({"a": [3, 4]}, {"a": [4, 3]}, ["a[0] is 3, but the map gives 4", "a[1] is 4, but the map gives 3"]),
        ({"a": 31.3}, {"a": Near(31.349, 1)}, []),
        ({"a": 31.5}, {"a": Near(31.349, 1)}, [f"a is 31.5, but the map gives {Near(31.349, 1)}"]),
        ({"a": "x" * 58}, {"a": ""}, [f'a is "{"x" * 58}", but the map gives ""']),
        ({"a": "x" * 59}, {"a": ""}, [f'a is "{"x" * 56}..., but the map gives ""']),
    ],
)
def test_each_value_is_compared_with_its_own(found: Any, wanted: Any, said: list[str]) -> None:
    assert list(tables.unlike(found, wanted, "")) == said


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"[1]", "it is not a JSON object"),
        (b'{"a": 1, "a": 2}', "a key stands in it twice"),
        (b'{"a": {"b": 1, "b": 1}}', "a key stands in it twice"),
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": -Infinity}', "-Infinity is not a number"),
        (b'{"a": ' + b"[" * 100_000 + b"]" * 100_000 + b"}", "nested too deeply"),
        (b"{", "Expecting"),
    ],
)
def test_a_summary_that_could_be_read_in_two_ways_is_refused(data: bytes, said: str) -> None:
    """Names in an object should be unique, and NaN is no number (RFC 8259, 4 and 6)."""
    with pytest.raises(ValueError, match=said):
        tables.summary_read(data)
    assert tables.summary_read(b'{"a": [1.5]}') == {"a": [1.5]}


def match(first: dict[str, Any], **more: Any) -> list[str]:
    """Return what is wrong with a match of two yarns, the second of which is tied in 10 knots and the first in 30."""
    one = {"code": "A", "knots": 30, "mean_de00": 1.0, "max_de00": 2.0, "p95_de00": 1.8, **first}
    two = {"code": "B", "knots": 10, "mean_de00": 3.0, "max_de00": 4.0, "p95_de00": 3.0}
    whole = {"mean_de00": 1.5, "max_de00": 4.0, "p95_de00": 2.0, "yarns": [two, one], **more}
    tied = [{"code": code, "knots": knots} for code, knots in (("A", 30), ("B", 10), ("C", 0))]
    return list(tables._match({"match": whole}, {"yarns": tied}))


@pytest.mark.parametrize(
    ("first", "more", "said"),
    [
        ({}, {}, None),
        ({"knots": 31}, {}, "match.yarns[0].knots is 31, but the map gives 30"),
        ({"code": "D"}, {}, "match.yarns[0].code is "),
        ({"mean_de00": None}, {}, "the match has an impossible value: "),
        ({"p95_de00": -0.1}, {}, "the match has an impossible value: "),
        ({"p95_de00": 2.1}, {}, "the match has an impossible value: "),
        ({"mean_de00": 2.1}, {}, "the match has an impossible value: "),
        ({}, {"max_de00": 160.1}, "the match has an impossible value: "),
        ({}, {"mean_de00": 1.6}, "the mean of the match is 1.6, and those of the yarns give 1.500"),
        ({}, {"yarns": None}, "match is missing"),
        ({}, {"yarns": []}, "match.yarns is [], but the map gives "),
    ],
)
def test_a_match_has_the_knots_of_the_map_and_values_that_can_be(
    first: dict[str, Any], more: dict[str, Any], said: str | None
) -> None:
    """The greatest difference is at least the mean and the 95th percentile; no two colours are 160 apart."""
    found = match(first, **more)
    assert found == [] if said is None else found[0].startswith(said)
    for missing in ({}, {"match": None}, {"match": []}):
        assert list(tables._match(missing, {"yarns": []})) == ["match is missing"]


HEAD = "code,name,srgb,knots,share,length_m,mass_g,fibre"
LINES = ("R1,'=Rose,#a02820,3,0.75,1.5,30.0,", "B1,Blue,#202c60,1,0.25,0.5,10.0,")


def wanted() -> list[dict[str, Any]]:
    """Return what the two lines must say; every other sum of a column is naught."""
    none = {name: Near(0.0, places) for name, places in COLUMNS.items()}
    numbers = {"share": Near(0.75, 6), "length_m": Near(1.5, 1, in_column=True), "mass_g": Near(30.0, 1)}
    other = {"share": Near(0.25, 6), "length_m": Near(0.5, 1, in_column=True), "mass_g": Near(10.0, 1)}
    return [
        {**none, "code": "R1", "name": "=Rose", "srgb": "#a02820", "knots": 3, "fibre": None, **numbers},
        {**none, "code": "B1", "name": "Blue", "srgb": "#202c60", "knots": 1, "fibre": None, **other},
    ]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ((HEAD, *LINES), []),
        ((HEAD, LINES[0].replace("'", ""), LINES[1]), ["line 2: name is '=Rose', but the map gives =Rose"]),
        ((HEAD, LINES[0], LINES[1].replace("10.0", "10.2")), ["line 3: mass_g is '10.2', but the map gives 10.0"]),
        ((HEAD, LINES[0], LINES[1].replace("0.5", "0.6")), ["the length_m of the yarns do not add up to the rug's"]),
        ((HEAD, LINES[0].replace("1.5", "1.4"), LINES[1].replace("0.5", "0.6")), []),
        ((HEAD, LINES[0], LINES[1] + "5"), ["line 3: fibre is '5', but the map gives nothing"]),
        ((HEAD, LINES[0], LINES[1] + ",x"), ["line 3 has 9 values, not 8"]),
        ((HEAD, LINES[0]), ["has 1 yarn, the map 2"]),
        ((HEAD, *LINES, LINES[1]), ["has 3 yarns, the map 2"]),
        ((HEAD + ",ghost", *(line + ",x" for line in LINES)), ["has columns that no list of yarns has: ghost"]),
        ((HEAD.replace("name", "code"), *LINES), ["does not have the columns of a list of yarns"]),
        ((HEAD.replace(",mass_g", ""), *LINES), ["does not have the columns of a list of yarns"]),
        ((), ["does not have the columns of a list of yarns"]),
        ((HEAD, '"R1'), ["is not CSV: unexpected end of data"]),
    ],
)
def test_each_cell_of_the_list_of_yarns_is_compared(lines: tuple[str, ...], said: list[str]) -> None:
    """A name that a spreadsheet would take for a formula stands behind a quote (common practice)."""
    found = tables.yarns_differences("\n".join(lines).encode(), wanted())
    assert found[:1] == said
    assert tables.yarns_differences(b"\xff", wanted())[0].startswith("is not CSV: ")


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        ("12", 12),
        ("-1.5", -1.5),
        ("1.5e-07", 1.5e-07),
        ("", None),
        ("1,5", None),
        ("1e5", None),
        ("nan", None),
        ("+1", None),
    ],
)
def test_numbers_in_cells_are_plain(cell: str, number: float | None) -> None:
    assert tables._number(cell) == number


def test_knots_that_differ_are_counted_and_placed() -> None:
    knots = np.zeros((4, 6), dtype=np.uint16)
    assert tables.same_knots(knots.copy(), knots) is None
    assert tables.same_knots(knots[:3, :5], knots) == "holds 5 x 3 knots, the map 6 x 4"
    other = knots.copy()
    other[1, 2] = other[3, 0] = 1
    assert tables.same_knots(other, knots) == "2 cells unlike the map's, the first in row 2, column 3"


def test_runs_stay_in_their_strips_and_in_their_order() -> None:
    made = make_map(np.array([[0, 0, 1, 1], *[[1, 1, 0, 0]] * 4]))
    expected = expected_of(*settled(made), recount_of(*settled(made)))
    runs = [(1, 1, 1, 2, "Y000"), (1, 1, 3, 2, "Y001")]
    runs += [(row, 1, start, 2, code) for row in range(2, 6) for start, code in ((1, "Y001"), (3, "Y000"))]
    head = f"{CSV_HEADER}\n"

    def wrong(*each: tuple[int, int, int, int, str]) -> list[str]:
        return tables.rows_differences(
            (head + "".join(f"{','.join(map(str, run))}\n" for run in each)).encode(), expected
        )

    assert len(expected.strips) == 1
    assert wrong(*runs) == []
    assert wrong(*runs[2:], *runs[:2]) == ["1 run out of their order"]
    assert wrong(*runs[:-1], (5, 2, 3, 2, "Y000")) == ["1 run outside the strip that they name"]
    assert wrong(*runs[:-1], (5, 1, 3, 2, "Y001")) == ["2 cells unlike the map's, the first in row 5, column 3"]
    assert wrong(*runs[:-1], (5, 1, 3, 2, "Y9"))[0].startswith("cannot be read: line 11")


def altered(value: Any) -> Any:
    """Return a value that is a last figure off or more: nothing is told with fewer than six decimals."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        places = len(repr(value).partition(".")[2]) if isinstance(value, float) else 0
        return round(value + 2.0 * 10.0**-places, 6) if places else value + 2
    return 1 if value is None else f"{value}x"


SHOPS: dict[str, dict[str, Any]] = {
    "knotted": {
        "pile": {"heights": {"Y001": "15 mm"}, "yarn": "Nm 5 x2", "strands": 2},
        "loom": {"weavers": 2, "thin_weft": "Ne 20 x2", "section": "10 cm", "shrinkage_along": 0.03, "weigh": "5 g"},
        "dye": {"hank": "100 g", "vessels": [{"name": "pot", "holds": "400 g"}], "undyed": ["Y002"]},
        "chart": {"strips": 2},
    },
    "tufted": {"loom": {"weavers": 2, "latex_per_m2": "900 g"}, "pattern": {"side": "front"}},
    "hand-loomed": {"loom": {"days": 3.5}},
}


@pytest.mark.parametrize("technique", SHOPS)
def test_each_value_of_a_summary_that_says_otherwise_is_found(technique: str) -> None:
    """What the writer puts into a summary is altered value by value, each by two of its last figure."""
    knots = np.arange(4000).reshape(50, 80) // 9 % 4
    shape = "ellipse" if technique == "knotted" else "rectangle"
    rug = make_rug(80, 50, technique=technique, pile="9 mm", shape=shape)
    plain = make_map(knots, rug, Workshop.model_validate(SHOPS[technique]))
    yarns = tuple(
        replace(yarn, stock_g=stock, fibre=fibre)
        for yarn, stock, fibre in zip(plain.yarns, (None, 60.0, 0.0, 3.0), ("silk", None, "wool", None), strict=True)
    )
    made = SettledMap(plain.knots, yarns, plain.rug, plain.workshop)
    figures, again = figures_of(*settled(made)), recount_of(*settled(made))
    wanted = records_of(expected_of(*settled(made), again), again, figures)
    told = {**summary_of(figures), "map": map_dict(*settled(made)), "rug": rug_figures(made.rug)}
    told = json.loads(json.dumps({key: value for key, value in told.items() if key in wanted}))
    assert list(tables.unlike(told, wanted, "")) == []
    missed = []
    for path in leaves(told):
        other = inner = json.loads(json.dumps(told))
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = altered(inner[path[-1]])
        if not any(tables.unlike(other, wanted, "")):
            missed.append(path)
    assert missed == [("rug", "density_assumption")], "a sentence that only the seal covers"
    for key, value in told.items():
        rest = {**told, key: {**value, "x": 1} if isinstance(value, dict) else value}
        assert list(tables.unlike(rest, wanted, "")) == [], "what only the summary has does not count"


@pytest.mark.parametrize(
    ("change", "faults"),
    [({}, []), ({"mass_g": 30.2}, ["mass_g"]), ({"mass_g": 29.8}, ["mass_g"]), ({"share": 0.750002}, ["share"])],
)
def test_rounded_columns_add_up_to_half_a_last_figure(change: dict[str, float], faults: list[str]) -> None:
    first = {name: value.value if isinstance(value, Near) else 0.0 for name, value in wanted()[0].items()}
    second = {name: value.value if isinstance(value, Near) else 0.0 for name, value in wanted()[1].items()}
    assert column_faults([{**first, **change}, second, "x"], wanted()) == faults
    near = {name: 0.04 if name == "mass_g" else 0.0 for name in COLUMNS}
    off = [{**each, **{name: Near(each[name].value + near[name], 1) for name in COLUMNS}} for each in wanted()]
    assert column_faults([first, second], off) == ["mass_g"]
    assert column_faults([first, {**second, "mass_g": None}], wanted()) == ["mass_g"]
