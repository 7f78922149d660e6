"""Remarks on the making: yarns that are hardly tied, rows that ask too much, and colours that the artwork loses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from support.making import SettledMap, make_map, make_rug, make_yarn, settled

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placed, Placement, evenly_placed, place
from chartmaker.checks.finer import lost_drawing
from chartmaker.checks.matches import colour_misses
from chartmaker.checks.proportions import stretched
from chartmaker.checks.scarce import scarce_yarns
from chartmaker.checks.weaving import MOST_COLOURS, hard_rows
from chartmaker.colours.style import StyleChoice
from chartmaker.convert.conversion import Conversion
from chartmaker.convert.report import MatchReport, YarnMatch
from chartmaker.ground.colour import ciede2000
from chartmaker.knots.strips import seats_of
from chartmaker.order.design import Design
from chartmaker.order.workshop import Workshop


def with_specks(**yarn: object) -> SettledMap:
    """Return a rug of 60,000 knots in two yarns with 30 knots of a third that looks like the second."""
    cells = np.zeros((250, 240), dtype=np.uint16)
    cells[100:] = 1
    cells[3, 10:40] = 2
    yarns = (make_yarn(0, (30, 40, 90)), make_yarn(1, (200, 60, 50)), make_yarn(2, (204, 64, 52), **yarn))
    return SettledMap(cells, yarns, make_rug(240, 250), Workshop())


def test_a_yarn_that_is_not_worth_a_dye_lot_goes_into_the_nearest() -> None:
    knot_map = with_specks()
    (finding,) = scarce_yarns(knot_map, knot_map.workshop)
    away = float(ciede2000(np.array(knot_map.yarns[2].lab), np.array(knot_map.yarns[1].lab)))
    assert "Y002 Yarn 2 is tied in only 30 knots" in finding.what
    assert f"nearest yarn is Y001 Yarn 1, {away:.1f} away" in finding.what
    assert finding.severity == "warning"
    assert min(place[2] for place in finding.places) == 10
    assert max(place[3] for place in finding.places) == 40


def test_an_accent_in_its_own_colour_is_only_noted() -> None:
    knot_map = with_specks()
    accent = (*knot_map.yarns[:2], make_yarn(2, (250, 230, 40)))
    (finding,) = scarce_yarns(*settled(SettledMap(knot_map.knots, accent, knot_map.rug, knot_map.workshop)))
    assert finding.severity == "note"


def test_a_yarn_in_store_needs_no_lot() -> None:
    assert list(scarce_yarns(*settled(with_specks(stock_g=100.0)))) == []
    workshop = Workshop.model_validate({"dye": {"undyed": ["Y002"]}})
    specks = with_specks()
    assert list(scarce_yarns(*settled(SettledMap(specks.knots, specks.yarns, specks.rug, workshop)))) == []


@pytest.mark.parametrize("weavers", [1, 2])
def test_rows_with_too_many_colours_name_the_weaver_s_strip(weavers: int) -> None:
    cells = np.zeros((60, 200), dtype=np.uint16)
    cells[20:23, 100:] = np.repeat(np.arange(MOST_COLOURS + 1), 4)
    knot_map = make_map(cells, workshop=Workshop.model_validate({"loom": {"weavers": weavers}}))
    (finding,) = hard_rows(knot_map, knot_map.workshop)
    assert "3 rows of a weaver's strip ask for more than 24 colours in a row, up to 25" in finding.what
    assert finding.places == ((20, 23, 0 if weavers == 1 else 100, 200),)
    cells[20:23, 100:] = np.repeat(np.arange(MOST_COLOURS), 4).repeat(2)[:100]
    assert list(hard_rows(*settled(make_map(cells, workshop=knot_map.workshop)))) == []


def test_rows_that_change_at_every_knot_are_found() -> None:
    cells = np.zeros((60, 120), dtype=np.uint16)
    cells[30] = np.arange(120) % 2
    cells[31] = np.arange(120) // 2 % 2
    (finding,) = hard_rows(*settled(make_map(cells)))
    assert "1 row of a weaver's strip changes yarn" in finding.what
    assert "every 1.00 knots" in finding.what
    assert finding.places == ((30, 31, 0, 120),)
    tufted = make_map(cells, make_rug(120, 60, pile="12 mm", technique="tufted"))
    # because tufting follows outlines, area by area, and not rows (common practice)
    assert list(hard_rows(tufted, tufted.workshop)) == []


def test_the_worst_row_is_named_with_the_columns_of_its_weaver() -> None:
    """A row within a calmer stretch, of a weaver whose columns are those that the chart names: 26 and 25 of 51 here."""
    cells = np.zeros((60, 51), dtype=np.uint16)
    cells[20, :26], cells[22, :26], cells[24, :26] = np.arange(26) % 4 // 3, np.arange(26) % 2, np.arange(26) % 4 // 3
    cells[40, 26:] = np.arange(25) % 2
    cells[40, 30] = 0
    knot_map = make_map(cells, workshop=Workshop.model_validate({"loom": {"weavers": 2}}))
    first, second = seats_of(knot_map.rug, knot_map.workshop)
    (finding,) = hard_rows(knot_map, knot_map.workshop)
    assert finding.where == f"worst in row 23, columns {first.start + 1} to {first.stop}"
    assert "2 rows of a weaver's strip change yarn" in finding.what and "every 1.00 knots at worst" in finding.what
    assert {place[2:] for place in finding.places} == {(each.start, each.stop) for each in (first, second)}


def conversion_of(knot_map: SettledMap, *matches: YarnMatch) -> Conversion:
    report = MatchReport(1.0, 2.0, 9.0, matches)
    style = StyleChoice("flat", "told so")
    placed = Placed(
        Artwork(np.zeros((knot_map.rows, knot_map.columns, 3), np.uint8)),
        evenly_placed(0, 0, knot_map.rows, knot_map.columns, knot_map.rows, knot_map.columns),
        "",
    )
    return Conversion(knot_map, report, style, 0, 0, "", placed, None, False, ())


def test_a_yarn_that_misses_the_artwork_is_named_with_how_far() -> None:
    knot_map = with_specks()
    matches = (
        YarnMatch("Y000", 24_000, 1.0, 2.0, 3.0),
        YarnMatch("Y001", 35_970, 7.25, 9.0, 12.0),
        YarnMatch("Y002", 30, 9.5, 11.0, 12.0),
    )
    conversion = conversion_of(knot_map, *matches)
    first, second = colour_misses(conversion)
    assert (first.where, first.severity, second.where, second.severity) == (
        "yarn Y001",
        "warning",
        "yarn Y002",
        "note",
    )
    assert "7.2 away by CIEDE2000 on average" in first.what
    assert "No yarn that may be used is nearer" in first.what
    mixed = conversion_of(knot_map, *(replace(match, mixed=match.knots) for match in matches))
    assert list(colour_misses(mixed)) == []  # where shades are mixed knot by knot, the card need not lack anything
    gone = conversion_of(knot_map, YarnMatch("GONE", 9, 9.5, 11.0, 12.0))
    assert list(colour_misses(gone)) == []  # specks of this yarn were tidied away after the conversion
    assert "more shades" in next(iter(colour_misses(replace(conversion, dyed=True)))).what


def test_stretching_says_by_how_much_and_which_way() -> None:
    rug = make_rug(200, 300, "40x40 per dm")  # the rug is 50 x 75 cm
    (finding,) = stretched(evenly_placed(0, 0, 1400, 1000, 300, 200), rug)
    # 1,000 pixels make 50 cm across and 1,400 make 75 cm along, so a pixel is 0.5 by 0.5357 mm
    assert "stretched by 7.1 % lengthwise" in finding.what
    (finding,) = stretched(evenly_placed(0, 0, 1500, 900, 300, 200), rug)
    assert "stretched by 11.1 % widthwise" in finding.what
    assert list(stretched(evenly_placed(0, 0, 1510, 1000, 300, 200), rug)) == []


def drawn(lines_px: int) -> tuple[Artwork, Placement, SettledMap]:
    """Return artwork of 6 pixels a knot with pale lines on a dark ground, and a rug of the dark yarn alone."""
    srgb = np.full((360, 240, 3), (20, 30, 60), dtype=np.uint8)
    srgb[:, 62 : 62 + lines_px] = (240, 235, 220)
    srgb[301 : 301 + lines_px, :120] = (240, 235, 220)
    rug = make_rug(40, 60, "40x40 per dm")
    artwork = Artwork(srgb)
    yarns = (make_yarn(0, (20, 30, 60)), make_yarn(1, (238, 233, 222)))
    cells = np.zeros((60, 40), dtype=np.uint16)
    cells[0, 0] = 1
    return artwork, place(artwork, rug, Design()).placement, SettledMap(cells, yarns, rug, Workshop())


@pytest.mark.parametrize("lines_px", [1, 2, 4])
def test_a_line_finer_than_a_knot_is_missed_where_the_knots_do_not_show_it(lines_px: int) -> None:
    artwork, frame, bare = drawn(lines_px)
    (finding,) = lost_drawing(bare, artwork, frame)
    assert finding.severity == "warning"
    assert "finer than a knot (2.5 mm x 2.5 mm)" in finding.what
    assert max(place[1] for place in finding.places) == 60
    # The line across lies 301 pixels from the top, which is 50 knots down: row 9 from below, over 20 columns.
    assert any(place[0] <= 9 < place[1] and place[2] == 0 for place in finding.places)
    kept = bare.knots.copy()
    kept[:, 10] = 1
    kept[9, :20] = 1
    assert list(lost_drawing(SettledMap(kept, bare.yarns, bare.rug, bare.workshop), artwork, frame)) == []


def test_wide_lines_and_coarse_artwork_hold_nothing_finer_than_a_knot() -> None:
    artwork, frame, bare = drawn(30)
    kept = bare.knots.copy()
    kept[:, 10:15], kept[5:10, :20] = 1, 1
    assert list(lost_drawing(SettledMap(kept, bare.yarns, bare.rug, bare.workshop), artwork, frame)) == []
    coarse = Artwork(artwork.srgb[::6, ::6])
    assert list(lost_drawing(bare, coarse, place(coarse, bare.rug, Design()).placement)) == []
