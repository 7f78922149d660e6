"""The rows of a script that are printed again are exactly those that differ, read back from the paper."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from support.making import SettledMap, as_file, make_map, make_rug
from support.rows_reader import read_rows

from chartmaker.ground.errors import SheetError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.knots.rowscript import runs_of_csv
from chartmaker.order.workshop import Workshop
from chartmaker.sheets.rows.revisedrows import RevisedRows, revised_rows, revision_words, with_rows
from chartmaker.sheets.rows.rowsheets import plan_rows, write_rows_pdf

STRIPS = (range(30), range(30, 60))


def _map(*, mirrored: bool = False, outside: bool = False) -> SettledMap:
    cells = np.kron(np.random.default_rng(6).integers(0, 5, (60, 12)), np.ones((1, 5), dtype=int)).astype(np.uint16)
    if mirrored:
        cells[30:] = cells[:30][::-1]
    if outside:
        cells[:20, :4] = NO_KNOT
    return make_map(cells, make_rug(60, 60), Workshop.model_validate({"chart": {"paper": "A5", "strips": 2}}))


def _painted(knot_map: SettledMap, *places: tuple[int, int]) -> SettledMap:
    knots = knot_map.knots.copy()
    for row, column in places:
        knots[row, column] = (knots[row, column] + 1) % len(knot_map.yarns)
    return SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)


def _script(new: SettledMap, old: SettledMap) -> bytes:
    stream = io.BytesIO()
    write_rows_pdf(stream, new, new.workshop, revises=as_file(old))
    return stream.getvalue()


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_paper_has_the_rows_that_changed_and_no_others(mirrored: bool) -> None:
    old = _map(mirrored=mirrored)
    places = [(4, 7), (5, 8), (5, 40), (22, 59)]
    new = _painted(old, *places, *([(59 - row, column) for row, column in places] if mirrored else []))
    data = _script(new, old)
    told = read_rows(data)
    back = {1: [55, 56], 31: [38, 55]} if mirrored else {1: [], 31: []}
    assert {first: sorted(row for row, start in told if start == first) for first in (1, 31)} == {
        1: [5, 6, *back[1]],
        31: [6, 23, *back[31]],
    }
    for (row, _), (codes, _, (first, last), _) in told.items():
        wanted = [new.yarns[cell].code for cell in new.knots[row - 1, first - 1 : last].tolist()]
        assert codes == wanted
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)]
    assert f"map {old.map_code} becomes map {new.map_code}" in " ".join(pages[0].split())
    assert f"and replace those of map {old.map_code}" in " ".join(pages[0].split())
    assert f"replaces that sheet of map {old.map_code}" in " ".join(pages[1].split())
    for first, rows in ((1, [5, 6]), (31, [6, 23])):
        numbers = [
            int(each) for each in re.findall(r"\d+", pages[0].split(f"Strip {1 + first // 30} of 2:")[1].split(".")[0])
        ]
        assert numbers == sorted([*rows, *back[first]])


def test_the_row_above_a_changed_edge_is_printed_again_because_it_counts_from_there() -> None:
    old = _map(outside=True)
    knots = old.knots.copy()
    knots[7, 4] = NO_KNOT
    new = SettledMap(knots, old.yarns, old.rug, old.workshop)
    assert revised_rows(as_file(old), as_file(new), STRIPS).rows == ((7, 8), ())
    assert revised_rows(as_file(_map()), as_file(_painted(_map(), (7, 4))), STRIPS).rows == ((7,), ())
    assert revised_rows(as_file(old), as_file(_painted(old, (7, 9))), STRIPS).rows == ((7,), ())  # the edge stays


def test_a_broken_mirror_or_another_setting_asks_for_the_whole_script() -> None:
    old = _map(mirrored=True)
    broken = revised_rows(as_file(old), as_file(_painted(old, (3, 3))), STRIPS)
    assert "mirror" in broken.reason
    assert [len(rows) for rows in broken.rows] == [60, 60]
    from_right = old.workshop.model_copy(
        update={"chart": old.workshop.chart.model_copy(update={"reading": "right to left"})}
    )
    other = SettledMap(old.knots, old.yarns, old.rug, from_right)
    assert "settings" in revised_rows(as_file(old), as_file(other), STRIPS).reason
    with pytest.raises(SheetError, match="nothing has changed since map"):
        revised_rows(as_file(old), as_file(old), STRIPS)


def test_what_to_strike_out_is_told_by_numbers_that_fit_a_sheet() -> None:
    """Nobody strikes out by a list of some 400 numbers: the sheets behind say which rows they replace."""
    shop = Workshop.model_validate({"chart": {"paper": "A5", "strips": 1}})
    old = make_map(np.tile([[0, 1], [1, 0]], (400, 5)), make_rug(10, 800), shop)
    layout = plan_rows(old, shop)
    for every, told in ((2, "400 rows, all those that follow."), (200, "1, 201, 401, 601.")):
        revised = RevisedRows(old.map_code, (tuple(range(0, 800, every)),))
        words = revision_words(with_rows(layout, revised, 1), revised)
        assert words[1] == f"Strip 1 of 1: {told}" and len(words) == 4
    whole = RevisedRows(old.map_code, (tuple(range(800)),), "All of it changed.")
    reason, rest = revision_words(layout, whole)
    assert reason == "All of it changed." and f"whole script of map {old.map_code} off the loom" in rest


def test_rows_prints_rows_since_an_older_map(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    old = _map()
    new = _painted(old, (4, 7), (22, 59))
    for name, knot_map in (("old.png", old), ("new.png", new)):
        with (tmp_path / name).open("wb") as stream:
            write_knotpng(stream, knot_map, knot_map.workshop)
    for ending in ("csv", "txt", "pdf"):
        asked = ("rows", tmp_path / "new.png", "--since", tmp_path / "old.png", "--out", tmp_path / f"rows.{ending}")
        assert chartmaker(*asked, "--quiet").code == 0
    codes = [yarn.code for yarn in new.yarns]
    told = list(runs_of_csv((tmp_path / "rows.csv").read_text().splitlines(), codes))
    assert {(run.row, run.strip) for run in told} == {(4, 0), (22, 1)}
    assert all((new.knots[run.row, run.column : run.column + run.knots] == run.yarn).all() for run in told)
    lines = (tmp_path / "rows.txt").read_text().splitlines()
    assert [line.split(",")[0] for line in lines] == ["row 5", "row 23"]
    assert (tmp_path / "rows.pdf").read_bytes().startswith(b"%PDF")
    same = chartmaker("rows", tmp_path / "old.png", "--since", tmp_path / "old.png", "--out", tmp_path / "none.csv")
    assert same.code == 8
    assert not (tmp_path / "none.csv").exists()
