"""The printed tables add up in both systems of units, and nothing is missing from them."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, knot_maps, make_map, make_rug, settled
from support.worked import worked_example

from chartmaker.figures.calibration import calibrate_by_yarn, calibrate_in_all
from chartmaker.figures.reckoning import figures_of, remaining_after
from chartmaker.ground.measures import Units, measures_of
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Cost, Dye, Loom, Pile, Workshop
from chartmaker.reports.dyetables import base_table, buy_table, dye_table
from chartmaker.reports.figuretable import FigureTable
from chartmaker.reports.issuetables import issue_tables, issue_total
from chartmaker.reports.tables import calibration_tables, mass_table, remaining_tables, tables_of

BOTH = st.sampled_from(["metric", "imperial"])


def value(words: str) -> Decimal:
    return Decimal(words.replace(",", "") or 0)


def adds_up(table: FigureTable, column: int) -> bool:
    assert table.total is not None
    return sum((value(row[column]) for row in table.rows), Decimal(0)) == value(table.total[column])


@settings(max_examples=30)
@given(knot_maps(), BOTH)
def test_the_pile_adds_up_as_printed(knot_map: SettledMap, units: Units) -> None:
    pile = tables_of(figures_of(knot_map, knot_map.workshop), units)[0]
    for name in ("knots", "share %"):
        assert adds_up(pile, pile.header.index(name))
    for column in (6, 7, 8, 9, 10, 11):
        assert pile.total is not None
        difference = sum(value(row[column]) for row in pile.rows) - value(pile.total[column])
        assert abs(difference) <= Decimal(1).scaleb(value(pile.total[column]).as_tuple().exponent)  # type: ignore[arg-type]


@settings(max_examples=30)
@given(knot_maps(), BOTH, st.integers(1, 3))
def test_bundles_add_up_as_printed(knot_map: SettledMap, units: Units, weavers: int) -> None:
    workshop = Workshop(loom=Loom(section="15 mm", weavers=weavers))  # the shortest rug that is drawn has 16 mm
    figures = figures_of(*settled(SettledMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop)))
    tables, whole = issue_tables(figures, units), issue_total(figures, units)
    for table in (*tables, whole):
        assert len(table.header) == 3 + weavers + (table is whole)
        for column in table.right:
            assert adds_up(table, column)
        for row in (*table.rows, table.total):
            assert row is not None
            assert sum(value(w) for w in row[2 : 2 + weavers]) == value(row[2 + weavers])
    step = Decimal(5) if units == "metric" else Decimal("0.25")  # whole steps of 5 g, or quarters of an ounce
    assert all(value(word) % step == 0 for table in tables for row in table.rows for word in row[2:])
    for row in whole.rows:
        assert sum(value(each[-1]) for table in tables for each in table.rows if each[0] == row[0]) == value(row[-2])


def test_every_table_has_what_its_header_says() -> None:
    cells = np.zeros((100, 40), dtype=int)
    cells[10] = np.arange(40) % 3
    workshop = Workshop(
        pile=Pile(heights={"NOPE": "9 mm"}, strands=2),
        loom=Loom(warp="Ne 10 x9", section="2 cm"),
        dye=Dye(vessels=[{"name": "pot", "holds": "1 kg"}], undyed=("Y001",)),
        cost=Cost(pile_per_kg=10, currency="EUR", warp_per_kg=3),
    )
    figures = figures_of(*settled(make_map(cells, make_rug(40, 100), workshop)))
    calibration = calibrate_by_yarn(figures.knot_map, figures.workshop, {"Y000": 90.0})
    for units in ("metric", "imperial"):
        tables = (
            *tables_of(figures, units),  # type: ignore[arg-type]
            *issue_tables(figures, units),  # type: ignore[arg-type]
            *remaining_tables(remaining_after(figures, 30), units),  # type: ignore[arg-type]
            *calibration_tables(calibration, units),  # type: ignore[arg-type]
            *calibration_tables(calibrate_in_all(figures.knot_map, figures.workshop, 90.0), units),  # type: ignore[arg-type]
        )
        for table in tables:
            for row in (*table.rows, *((table.total,) if table.total else ())):
                assert len(row) == len(table.header)
            assert not table.yarns or len(table.yarns) == len(table.rows)
    words = {table.title: table for table in tables_of(figures)}
    assert "Cost in EUR" in words and "To look at" in words
    assert "total of the priced parts, the rug" in [row[0] for row in words["Cost in EUR"].rows]
    assert ("weft", "no price", "[cost] weft_per_kg") in words["Cost in EUR"].rows
    assert words["Sections, first woven first"].notes == ("Rows 11 to 20 go slowly, with many runs per row.",)
    assert "labour law" in words["Time"].notes[0]
    assert "trained supervision" in words["Dye order"].notes[-1]
    dye = words["Dye order"]
    assert [row[0] for row in dye.rows] == ["Y000", "Y002"]
    assert [row[0] for row in words["To buy undyed"].rows] == ["Y001"]
    assert "Ne 10 x9 (531 tex)" in {row[2] for row in words["Foundation"].rows}


def test_the_worked_example_is_printed_as_worked_out_by_hand() -> None:
    # The values are worked out by hand as described beside the example; the last row of each table is its total.
    figures = worked_example()
    tables = {table.title: table for table in tables_of(figures)}
    pile = tables["Pile yarn"]
    assert pile.header[2:] == (
        "knots",
        "share %",
        "fibre, count",
        "mm per knot",
        "m net",
        "g net",
        "m with waste",
        "g with waste",
        "g low",
        "g high",
    )
    assert [row[2:] for row in (*pile.rows, pile.total or ())] == [
        ("10,000", "50.00", "silk, tex 400 x 2", "50.00", "1,000", "400", "1,250", "500", "450", "550"),
        ("8,000", "40.00", "wool, tex 400 x 2", "50.00", "800", "320", "1,000", "400", "360", "440"),
        ("2,000", "10.00", "wool, tex 400 x 2", "50.00", "200", "80", "250", "100", "90", "110"),
        ("20,000", "100.00", "", "", "2,000", "800", "2,500", "1,000", "900", "1,100"),
    ]
    assert tables["Foundation"].rows == (
        ("size on the loom", "125 x 100 cm", "8.00 knots x 20.00 rows per dm, 2.03 x 5.08 per inch"),
        ("warp pitch on the loom", "6.250 mm", "0.2461 in"),
        ("warp ends", "210", "500 tex"),
        ("length of one warp end", "1.50 m", "1.64 yd"),
        ("warp in all", "315 m", "0.16 kg"),
        ("rows with weft", "200", "400 picks, 2 per row, 1000 tex"),
        ("weft in all", "550 m", "550 m"),
        ("weft mass", "0.55 kg", "0.55 kg"),
    )
    assert tables["The rug"].rows == (
        ("area", "1.00 m²", ""),
        ("mass as woven", "1.48 kg", "1.40 to 1.56 kg, off the loom, with its ends, before shearing"),
        ("by area, as woven", "1.48 kg/m²", "1.40 to 1.56"),
        (
            "mass as sheared",
            "1.43 kg",
            "1.35 to 1.50 kg, with its ends, shorn",
        ),
        ("by area, as sheared", "1.43 kg/m²", "1.35 to 1.50"),
    )
    dye = tables["Dye order"]
    assert dye.header[2:] == ("base yarn", "g at most", "g with allowance", "g in stock", "g to dye", "hanks", "lots")
    assert [row[2:] for row in (*dye.rows, dye.total or ())] == [
        ("silk, tex 400", "550", "605", "100", "600", "6", "300 g in pot, 9 litres; 300 g in pot, 9 litres"),
        ("wool, tex 400", "440", "484", "–", "500", "5", "300 g in pot, 9 litres; 200 g in pot, 6 litres"),
        ("", "", "", "", "1,100", "11", ""),
    ]
    buy = tables["To buy undyed"]
    assert buy.header[2:] == ("base yarn", "g at most", "g with allowance", "g in stock", "g to buy", "hanks")
    assert [row[2:] for row in (*buy.rows, buy.total or ())] == [
        ("wool, tex 400", "110", "121", "–", "200", "2"),
        ("", "", "", "", "200", "2"),
    ]
    assert tables["Time"].rows[:5] == (
        ("weavers side by side", "2", ""),
        ("knots per weaver per day", "5,000", "4,250 to 5,750"),
        ("working days", "2", "2 to 3"),
        ("months", "0.1", "0.1 to 0.2"),
        ("rows per day", "100.0", "85.0 to 115.0"),
    )
    assert [row[2] for row in tables["Time"].rows[5:]] == ["most 3, in row 151", "most 3"]
    sections = tables["Sections, first woven first"]
    assert sections.rows == (
        ("1 to 100", "10,000", "2.0", "2.0", "2", "0.89"),
        ("101 to 200", "10,000", "2.5", "2.5", "3", "1.11"),
    )
    assert sections.notes == ("None is much slower than the rest.",)
    assert tables["Cost in EUR"].rows == (
        ("pile yarn", "22.00", "19.80 to 24.20"),
        ("warp", "1.26", "1.26"),
        ("weft", "3.30", "3.30"),
        ("dyeing", "3.60", "3.24 to 3.96"),
        ("weaving", "120.00", "120.00 to 180.00"),
        ("washing and finishing", "5.00", "5.00"),
        ("total, the rug", "155.16", "152.60 to 217.72"),
        ("per square metre", "155.16", "152.60 to 217.72"),
        ("per square foot", "14.41", "14.18 to 20.23"),
    )


def test_the_formulas_printed_give_the_figures_printed() -> None:
    # Whoever checks the sheet with a pocket calculator uses what is printed: knots x strands x length per knot are the
    # net metres, metres x tex / 1000 are the grams (ASTM D2260), and net / (1 - waste) is issued. The example is 61,917
    # knots of Nm 5 x2 (400 tex) in one strand with 5 % waste, each within the rounding of what is printed.
    cells = np.zeros((331, 187), dtype=int)
    cells[7:90, 30:] = 1
    workshop = Workshop(pile=Pile(cut="12 mm", yarn="Nm 5 x2", waste="5%"), loom=Loom(warp="Ne 10 x9", binding="0 mm"))
    rug = make_rug(187, 331, "9/60 indian", pile="9 mm")
    figures = figures_of(*settled(make_map(cells, rug, workshop)))
    pile = tables_of(figures)[0]
    for row in (*pile.rows,):
        knots, each_mm = int(value(row[2])), float(row[5])
        metres, grams, issued_m, issued_g = (float(value(word)) for word in row[6:10])
        assert metres == pytest.approx(knots * each_mm / 1000, abs=0.51)
        assert grams == pytest.approx(metres * 0.4, abs=0.71)
        assert issued_m == pytest.approx(metres / 0.95, abs=1.04)
        assert issued_g == pytest.approx(grams / 0.95, abs=1.04)
    assert "net / (1 - [pile] waste of 5 %)" in {line.how for line in figures.reached}
    for name in ("m net", "g net", "m with waste", "g with waste", "g low", "g high"):
        assert adds_up(pile, pile.header.index(name))


@settings(max_examples=30)
@given(knot_maps(most_yarns=9), BOTH, st.sampled_from(["37 g", "250 g"]))
def test_lots_add_up_to_shades_and_shades_to_the_order(knot_map: SettledMap, units: Units, hank: str) -> None:
    dye = Dye(
        hank=hank, vessels=[{"name": "pot", "holds": "400 g", "least": "300 g"}, {"name": "jar", "holds": "260 g"}]
    )
    workshop = Workshop(pile=Pile(length_per_knot="25 cm", yarn="tex 200"), dye=dye)
    figures = figures_of(*settled(SettledMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop)))
    table = dye_table(figures.dye, measures_of(units))
    assert adds_up(table, 6) and adds_up(table, 7)
    for row in table.rows:
        lots = [value(words.split()[0]) for words in row[8].split("; ")]
        assert sum(lots) == value(row[6])


PAIRS, PAIRS_RIGHT = ("", "figure", "range or detail"), (1,)
#: The headings of each table and its columns of numbers, which stand flush right, in the order of the report.
HEADS = {
    "Pile yarn": (
        (
            "code",
            "yarn",
            "knots",
            "share %",
            "fibre, count",
            "mm per knot",
            "m net",
            "g net",
            "m with waste",
            "g with waste",
            "g low",
            "g high",
        ),
        (2, 3, 5, 6, 7, 8, 9, 10, 11),
    ),
    "Foundation": (PAIRS, PAIRS_RIGHT),
    "The rug": (PAIRS, PAIRS_RIGHT),
    "Dye order": (
        ("code", "yarn", "base yarn", "g at most", "g with allowance", "g in stock", "g to dye", "hanks", "lots"),
        (3, 4, 5, 6, 7),
    ),
    "To buy undyed": (
        ("code", "yarn", "base yarn", "g at most", "g with allowance", "g in stock", "g to buy", "hanks"),
        (3, 4, 5, 6, 7),
    ),
    "Time": (PAIRS, PAIRS_RIGHT),
    "Sections, first woven first": (
        ("rows", "knots", "runs per row", "colours per row", "colours", "runs against mean"),
        (1, 2, 3, 4, 5),
    ),
    "Cost in EUR": (PAIRS, PAIRS_RIGHT),
    "To look at": (("", "where", "what"), ()),
    "Assumed, because the rug file does not say": (("key", "taken", "basis", "why"), ()),
    "How the figures were reached": (("figure", "worked out as", "basis"), ()),
}
ISSUE_HEAD = ("code", "yarn", "weaver 1, g", "weaver 2, g", "in all, g")
MORE_HEADS = {
    "Section 1 of 2: rows 1 to 100": (ISSUE_HEAD, (2, 3, 4)),
    "Section 2 of 2: rows 101 to 200": (ISSUE_HEAD, (2, 3, 4)),
    "All sections together": ((*ISSUE_HEAD, "in all, m"), (2, 3, 4, 5)),
    "Left to weave": (PAIRS, PAIRS_RIGHT),
    "Pile yarn for what is left": HEADS["Pile yarn"],
    "Calibration": (PAIRS, PAIRS_RIGHT),
    "By colour": (("code", "knots", "g used", "g estimated", "mm per knot"), (1, 2, 3, 4)),
}


def test_each_table_has_its_headings_and_its_numbers_flush_right() -> None:
    figures = worked_example()
    tables = tables_of(figures)
    wanted = {title: head for title, head in HEADS.items() if title != "To look at" or figures.findings}
    assert {table.title: (table.header, table.right) for table in tables} == wanted
    assert [table.title for table in tables] == list(wanted)
    more = (
        *issue_tables(figures),
        issue_total(figures),
        *remaining_tables(remaining_after(figures, 150)),
        *calibration_tables(calibrate_by_yarn(figures.knot_map, figures.workshop, {"Y000": 600.0})),
    )
    assert {table.title: (table.header, table.right) for table in more} == MORE_HEADS
    for table in (*tables, *more):
        marked = [yarn.code for yarn in table.yarns]
        if "yarn" in table.header:
            assert marked == [row[0] for row in table.rows]
            assert [row[1] for row in table.rows] == [yarn.name for yarn in table.yarns]
        else:
            assert marked == []
    totals = {table.title: table.total for table in (*tables, *more) if table.total is not None}
    assert [next(word for word in total if word) for total in totals.values()] == ["in all"] * 8
    assert totals["Sections, first woven first"] == ("in all", "20,000", "2.2", "", "", "")


def test_findings_assumptions_and_ways_of_calculating_as_printed() -> None:
    cells = np.zeros((100, 40), dtype=int)
    figures = figures_of(*settled(make_map(cells, make_rug(40, 100), Workshop(pile=Pile(heights={"NOPE": "9 mm"})))))
    tables = {table.title: table for table in tables_of(figures)}
    found = [(finding.severity, finding.where, finding.what) for finding in figures.findings]
    assert list(tables["To look at"].rows) == found and found
    assumed = tables["Assumed, because the rug file does not say"].rows
    assert list(assumed) == [(a.key, a.value, a.basis, a.why) for a in figures.assumptions] and assumed
    reached = tables["How the figures were reached"].rows
    assert list(reached) == [(r.what, r.how, r.basis) for r in figures.reached] and reached


def test_the_worked_bundles_are_those_counted_by_hand() -> None:
    # A knot takes 50 mg with waste and 55 mg with the margin of 10 %, weighed in steps of 100 g. The first weaver ties
    # 5,000 of Y000 in each section: 275 g, so 300, then 550 in all, so 300 more. The second ties 5,000 of Y001, then
    # 3,000: 300, then 440 in all, so 200 more, and 2,000 of C-2, 110 g. A strand has 400 tex, or 2.5 m a gram.
    figures = worked_example()
    first, second = issue_tables(figures)
    whole = issue_total(figures)
    assert [t.title for t in (first, second)] == ["Section 1 of 2: rows 1 to 100", "Section 2 of 2: rows 101 to 200"]
    columns = ("weaver 1, g", "weaver 2, g", "in all, g", "in all, m")
    assert first.header == second.header == ("code", "yarn", *columns[:-1])  # a section's bundles are weighed
    assert whole.header == ("code", "yarn", *columns)
    assert [(row[0], *row[2:]) for row in second.rows] == [
        ("Y000", "300", "", "300"),
        ("Y001", "", "200", "200"),
        ("C-2", "", "200", "200"),
    ]
    assert [row[0] for row in first.rows] == ["Y000", "Y001"]
    assert whole.total is not None and whole.total[2:] == ("600", "700", "1,300", "3,250")
    assert [yarn.code for yarn in whole.yarns] == ["Y000", "Y001", "C-2"]


def test_the_worked_example_in_imperial_units() -> None:
    # NIST Handbook 44, appendix C: 1 yd = 0.9144 m, 1 lb = 453.59237 g, 1 in = 25.4 mm, 1 US gallon = 3.785411784 l.
    figures = worked_example()
    tables = {table.title: table for table in tables_of(figures, "imperial")}
    assert tables["Pile yarn"].header[5:] == (
        "in per knot",
        "yd net",
        "lb net",
        "yd with waste",
        "lb with waste",
        "lb low",
        "lb high",
    )
    assert tables["Pile yarn"].rows[0][5:] == ("1.9685", "1,093", "0.882", "1,367", "1.102", "0.992", "1.213")
    assert tables["Foundation"].rows[4] == ("warp in all", "344 yd", "0.3 lb")
    assert tables["The rug"].rows[0] == ("area", "10.76 ft²", "")
    assert tables["Dye order"].rows[1][3:8] == ("0.970", "1.067", "–", "1.102", "5")
    assert tables["Dye order"].rows[1][8] == "0.661 lb in pot, 2.4 US gal; 0.441 lb in pot, 1.6 US gal"
    assert issue_total(figures, "imperial").header[2:] == ("weaver 1, oz", "weaver 2, oz", "in all, oz", "in all, yd")


def test_what_is_left_of_the_worked_example() -> None:
    left, pile = remaining_tables(remaining_after(worked_example(), 150))
    assert left.rows == (
        ("rows", "50", "after row 150"),
        ("knots", "5,000", ""),
        ("working days", "1", "1"),
        ("pile yarn", "0.25 kg", "0.23 to 0.28 kg"),
        ("weft", "0.14 kg", "0.14 kg"),
    )
    assert [(row[0], row[2], row[3]) for row in pile.rows] == [
        ("Y000", "2,500", "50.00"),
        ("Y001", "500", "10.00"),
        ("C-2", "2,000", "40.00"),
    ]


def test_a_calibration_as_printed() -> None:
    # 600 g were used where 500 g were calculated, a fifth more than 50 mm a knot.
    worked = worked_example()
    first, colours = calibration_tables(calibrate_by_yarn(worked.knot_map, worked.workshop, {"Y000": 600.0}))
    assert first.rows == (
        ("yarn used", "600 g", "estimated 500 g, used 1.20 times that"),
        ("length per knot", "60.00 mm", "spread 5.0 %"),
    )
    assert first.notes[1:] == ('length_per_knot = "60.00 mm"', 'spread = "5%"', "waste = 0.2")
    assert colours.header == ("code", "knots", "g used", "g estimated", "mm per knot")
    assert colours.rows == (("Y000", "10,000", "600", "500", "60.00"),)


def test_a_tufted_rug_has_a_backing_table() -> None:
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")
    figures = figures_of(*settled(make_map(np.zeros((200, 200)), rug, Workshop(cost=Cost(pile_per_kg=1)))))
    titles = {table.title: table for table in tables_of(figures)}
    assert "Backing" in titles and "Foundation" not in titles
    # The rug is 1 m x 1 m, and the default margin is 15 cm on every side.
    assert titles["Backing"].rows == (
        ("size in the frame", "100 x 100 cm", "20.00 knots x 20.00 rows per dm, 5.08 x 5.08 per inch"),
        ("backing cloth", "1.69 m²", "with margins"),
        ("backing cloth in the rug", "0.30 kg", "0.24 to 0.36 kg"),
        ("latex in the rug", "1.20 kg", "0.96 to 1.44 kg"),
        ("second backing in the rug", "0.50 kg", "0.40 to 0.60 kg"),
    )
    assert titles["The rug"].rows[1][2].endswith("kg, with cloth, latex and second backing, before shearing")
    cost = titles["Cost, currency not named"]  # prices stand in the rug file, and their currency does not
    assert cost.notes == ("In the currency of the prices given: [cost] currency names it.",)
    assert [row[0] for row in titles["Time"].rows[:2]] == ["tufters side by side", "tufts per tufter per day"]


def test_stock_that_covers_a_shade_is_shown() -> None:
    from dataclasses import replace

    knot_map = make_map(np.zeros((50, 40)))
    stocked = replace(knot_map.yarns[0], stock_g=5000.0)
    figures = figures_of(*settled(SettledMap(knot_map.knots, (stocked,), knot_map.rug, knot_map.workshop)))
    order = next(table for table in tables_of(figures) if table.title == "Dye order")
    assert order.rows[0][-1] == "from stock"
    assert "Nothing to dye" in order.notes[-1] and not any("scalds" in note for note in order.notes)


def test_a_nought_means_enough_is_left_and_an_empty_place_no_yarn() -> None:
    cells = np.zeros((100, 40), dtype=int)
    cells[10, 3] = cells[60, 3] = 1  # the first weaver ties one knot of the second yarn in each section
    workshop = Workshop(loom=Loom(section="10 cm", weavers=2, binding="0 mm"))
    first, second = issue_tables(figures_of(*settled(make_map(cells, make_rug(40, 100), workshop))))
    assert first.rows[1][2:] == ("5", "", "5")
    assert first.notes == ()
    assert [row[0] for row in second.rows] == ["Y000", "Y001"]
    assert second.rows[1][2:] == ("0", "", "0")
    assert second.notes[0].startswith("Where a 0 is printed, what is left of an earlier bundle is enough")


def test_a_single_strand_is_not_mentioned_and_tex_is_not_repeated() -> None:
    workshop = Workshop(pile=Pile(yarn="tex 500", strands=1), loom=Loom(warp="tex 500"))
    tables = {t.title: t for t in tables_of(figures_of(*settled(make_map(np.zeros((50, 40)), None, workshop))))}
    assert tables["Pile yarn"].rows[0][4] == "wool, tex 500"
    assert dict(row[::2] for row in tables["Foundation"].rows)["warp ends"] == "500 tex"


def test_a_hank_weighs_the_same_in_every_table() -> None:
    """500 g are 1.10231 lb (NIST Handbook 44): nine hanks that were made to add up to 9.921 were 1.102 and 1.103."""
    cells = np.arange(2700).reshape(54, 50) % 9
    workshop = Workshop(dye=Dye(hank="500 g", undyed=("Y003",)))
    figures = figures_of(*settled(make_map(cells, make_rug(50, 54), workshop)))
    dyed, bought = (make(figures.dye, measures_of("imperial")) for make in (dye_table, buy_table))
    assert {row[6] for table in (dyed, bought) for row in table.rows} == {"1.102"}
    assert dyed.total is not None and dyed.total[6] == "8.816"  # the sum of what is printed
    assert all(row[8].startswith("1.102 lb in ") for row in dyed.rows)
    assert base_table(figures.dye, measures_of("imperial")).rows[0][1] == "8.816"


def test_the_mass_of_a_round_rug_is_that_of_the_rug_cut_out() -> None:
    """Off the loom it hangs in its ground yet, and weighs more than what is told here (common practice)."""
    rows, columns = np.mgrid[-1:1:80j, -1:1:60j]
    knots = np.where(rows**2 + columns**2 < 1, 0, NO_KNOT).astype(np.uint16)
    round_rug = make_rug(60, 80, shape="ellipse")
    for rug, words in ((round_rug, "cut out along its outline"), (make_rug(60, 80), "off the loom, with its ends")):
        table = mass_table(figures_of(*settled(make_map(knots, rug))), measures_of("metric"))
        assert words in {row[0]: row[2] for row in table.rows}["mass as woven"]


def test_what_shears_and_carver_take_is_said_of_rugs_that_they_take_it_from() -> None:
    cells = np.arange(2000).reshape(50, 40) // 1000
    for tables, said in (
        ({}, "with its ends, shorn"),
        ({"pile": {"cut": "8 mm"}}, "with its ends, nothing shorn"),
        ({"pile": {"carved": {"Y001": "5 mm"}}}, "with its ends, shorn and carved down"),
        (
            {"carve": {"grooves": ["Y000 | Y001"], "depth": "2 mm", "width": "2 mm"}},
            "with its ends, shorn, grooves not taken out",
        ),
    ):
        made = make_map(cells, make_rug(40, 50, pile="8 mm"), Workshop.model_validate(tables))
        rug = next(table for table in tables_of(figures_of(*settled(made))) if table.title == "The rug")
        assert next(row[2] for row in rug.rows if row[0] == "mass as sheared").endswith(f"kg, {said}")


def test_sections_that_go_slowly_and_follow_each_other_are_one_stretch() -> None:
    """Rows 11 to 20, 21 to 30 are rows 11 to 30 (common practice)."""
    cells = np.zeros((60, 40), dtype=int)
    cells[10:30] = cells[40:50] = np.arange(40) % 2
    made = make_map(cells, make_rug(40, 60, "40x50 per dm"), Workshop(loom=Loom(section="2 cm", kilim="0 mm")))
    notes = next(t.notes for t in tables_of(figures_of(*settled(made))) if t.title.startswith("Sections"))
    assert notes == ("Rows 11 to 30, 41 to 50 go slowly, with many runs per row.",)
