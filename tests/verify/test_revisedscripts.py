"""Rows that are printed again are proved against both maps, and one that is missing, wrong or unnamed is found."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from support.altering import other_digit
from support.making import SettledMap, as_file, make_map, make_rug
from support.pseudo import Pseudo

from chartmaker.ground.language import English, fields_of, speaking
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.paper.drawing import Sheet
from chartmaker.readback.printed import Block, Text
from chartmaker.sheets.rows import revisedrows, rowsheets
from chartmaker.verify import revisedscripts
from chartmaker.verify.expected import expected_of
from chartmaker.verify.revisedscripts import rows_revision_differences
from chartmaker.verify.scriptrows import Script
from chartmaker.verify.sheets import Sheet as ReadSheet
from chartmaker.verify.twomaps import old_map


def a_map(*, mirrored: bool = False, round_: bool = False, **chart: object) -> SettledMap:
    cells = np.kron(np.random.default_rng(6).integers(0, 4, (40, 12)), np.ones((1, 5), dtype=int)).astype(np.uint16)
    if mirrored:
        cells[20:] = cells[:20][::-1]
        cells[:, 30:] = cells[:, :30][:, ::-1]
    if round_:
        rows, columns = np.mgrid[-1:1:40j, -1:1:60j]
        cells[rows**2 + columns**2 > 1.1] = NO_KNOT
    workshop = Workshop.model_validate({"chart": {"paper": "A5", "strips": 2, **chart}})
    return make_map(cells, make_rug(60, 40), workshop)


def painted(rug: SettledMap, *places: tuple[int, int], yarn: int | None = None) -> SettledMap:
    knots = rug.knots.copy()
    for row, column in places:
        knots[row, column] = (knots[row, column] + 1) % 3 if yarn is None else yarn
    return SettledMap(knots, rug.yarns, rug.rug, rug.workshop)


def mirrored_places(*places: tuple[int, int]) -> list[tuple[int, int]]:
    return [(r, c) for row, column in places for r in (row, 39 - row) for c in (column, 59 - column)]


def edge(rug: SettledMap, row: int, which: int = 0) -> tuple[int, int]:
    """Return the first knot of a row from the left, or the last one."""
    return row, int(np.flatnonzero(rug.knots[row] != NO_KNOT)[which])


def broken(rug: SettledMap) -> SettledMap:
    return painted(rug, (3, 3))


def recalled(rug: SettledMap) -> SettledMap:
    return replace(rug, yarns=(replace(rug.yarns[0], call="Rose"), *rug.yarns[1:]))


def read_otherwise(rug: SettledMap) -> SettledMap:
    other = rug.workshop.model_copy(
        update={"chart": rug.workshop.chart.model_copy(update={"reading": "right to left"})}
    )
    return replace(rug, workshop=other)


CHANGES: dict[str, tuple[SettledMap, Callable[[SettledMap], SettledMap]]] = {
    "some rows": (a_map(), lambda rug: painted(rug, (4, 7), (5, 8), (5, 40), (22, 59))),
    "many rows": (a_map(), lambda rug: painted(rug, *((row, 7) for row in range(0, 40, 2)))),
    "mirrored": (a_map(mirrored=True), lambda rug: painted(rug, *mirrored_places((4, 7), (19, 29), (12, 0)))),
    "a mirror broken": (a_map(mirrored=True), broken),
    "an edge moved": (a_map(round_=True), lambda rug: painted(rug, edge(rug, 4), (9, 30), yarn=NO_KNOT)),
    "an edge moved, read from the right": (
        a_map(round_=True, reading="right to left"),
        lambda rug: painted(rug, edge(rug, 4, -1), (30, 29), yarn=NO_KNOT),
    ),
    "a name called": (a_map(), recalled),
    "other weavers": (a_map(), lambda rug: with_loom(rug, weavers=2)),
    "strips by weavers": (a_map(strips=None), lambda rug: with_loom(rug, weavers=3)),
    "another picks": (a_map(), lambda rug: with_loom(rug, picks=3)),
    "another reading": (a_map(), read_otherwise),
}


def with_loom(rug: SettledMap, **loom: Any) -> SettledMap:
    return replace(rug, workshop=rug.workshop.model_copy(update={"loom": rug.workshop.loom.model_copy(update=loom)}))


def written(new: SettledMap, old: SettledMap) -> bytes:
    stream = io.BytesIO()
    rowsheets.write_rows_pdf(stream, new, new.workshop, revises=as_file(old))
    return stream.getvalue()


def differences(data: bytes, new: SettledMap, old: SettledMap) -> list[str]:
    return list(rows_revision_differences(data, expected_of(new, new.workshop), as_file(old)))


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("language", [English(), Pseudo()], ids=["English", "Pseudo"])
def test_rows_that_are_printed_again_are_proved(change: str, language: Any) -> None:
    old, of = CHANGES[change]
    new = of(old)
    with speaking(language):
        data = written(new, old)
    assert differences(data, new, old) == []


@pytest.mark.parametrize("change", ["some rows", "mirrored", "an edge moved", "an edge moved, read from the right"])
def test_a_row_that_is_missing_is_found(monkeypatch: pytest.MonkeyPatch, change: str) -> None:
    """Each of the rows is left out in turn and named nowhere."""
    old, of = CHANGES[change]
    new = of(old)
    plain = revisedrows.revised_rows
    rows = plain(as_file(old), as_file(new), (range(30), range(30, 60))).rows
    told = [(0, row) for row in rows[0] if change != "mirrored" or row < 20]
    told += [(1, row) for row in rows[1] if change != "mirrored"]  # which is printed with the first strip
    for strip, row in told:

        def fewer(*given: Any, strip: int = strip, row: int = row) -> Any:
            found = plain(*given)
            fewer = (tuple(r for r in each if (n, r) != (strip, row)) for n, each in enumerate(found.rows))
            return replace(found, rows=tuple(fewer))

        monkeypatch.setattr(rowsheets, "revised_rows", fewer)
        assert any("is not told" in each for each in differences(written(new, old), new, old)), (strip, row)


def test_what_is_printed_wrongly_or_not_named_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    old, of = CHANGES["some rows"]
    new = of(old)
    data = written(new, old)
    assert any("the runs are not the map's" in each for each in differences(data, painted(new, (22, 50)), old))
    assert any("differs in column 11" in each for each in differences(data, painted(new, (30, 10)), old))
    assert any("for old it prints" in each for each in differences(data, new, painted(old, (1, 1))))
    assert list(rows_revision_differences(data, expected_of(new, new.workshop), None)) != []
    plain = Sheet.text
    for name in ("old", "map", "strip", "rows", "sheet", "first_row", "last_row", "name"):
        done: list[str] = []

        def text(self: Sheet, x: float, y: float, words: str, *rest: Any, **more: Any) -> float:
            for start, end, field_name in fields_of(words):
                if field_name == name and not done:  # noqa: B023
                    done.append(words)  # noqa: B023
                    changed = words[:start] + other_digit(words[start:end]) + words[end:]
                    words = type(words)(changed, fields_of(words))  # type: ignore[call-arg]
            return plain(self, x, y, words, *rest, **more)

        monkeypatch.setattr(Sheet, "text", text)
        altered = written(new, old)
        monkeypatch.undo()
        assert done and differences(altered, new, old), name


def test_verify_takes_them_beside_the_set(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    """A set is made, its map touched up, its rows printed again and held to the set with --since."""
    from support.small_order import small_rug

    small_rug(tmp_path)
    assert chartmaker("make", tmp_path / "rug.toml", "--out", tmp_path / "set", "--quiet").code == 0
    knots, edited = tmp_path / "set" / "knots.png", tmp_path / "edited.png"
    assert chartmaker("swap", knots, "--merge", "W1:B1", "--out", edited, "--quiet").code == 0
    assert chartmaker("rows", knots, "--since", edited, "--out", tmp_path / "new.pdf", "--quiet").code == 0
    told = chartmaker("verify", tmp_path / "set", "--sheets", tmp_path / "new.pdf", "--since", edited)
    assert told.code == 0, told.out
    assert chartmaker("verify", tmp_path / "set", "--sheets", tmp_path / "new.pdf").code == 9
    other = chartmaker("verify", tmp_path / "set", "--sheets", tmp_path / "new.pdf", "--since", knots)
    assert other.code == 9 and re.search("for old it prints", other.out + other.err)


HALVES = (range(30), range(30, 60))


def a_script(rug: SettledMap, told: dict[range, list[int]]) -> Script:
    found = Script(expected_of(rug, rug.workshop), 1)
    found.told = told
    return found


@pytest.mark.parametrize(
    ("old", "places", "told", "said"),
    # A row in which the maps differ is told anew in its own strip; so is each row above one that begins elsewhere.
    [
        (a_map(), [(4, 7)], {HALVES[0]: [4]}, []),
        (a_map(), [(4, 7)], {HALVES[0]: [3, 4, 5]}, []),
        (a_map(), [(4, 7)], {HALVES[1]: [4]}, ["row 5 is not told anew, and differs in column 8"]),
        (a_map(), [(4, 7), (9, 8)], {HALVES[0]: [4]}, ["row 10 is not told anew, and differs in column 9"]),
        (a_map(), [(4, 7), (4, 40)], {HALVES[0]: [4]}, ["row 5 is not told anew, and differs in column 41"]),
        (a_map(), [(4, 7), (4, 40)], {HALVES[0]: [4], HALVES[1]: [4]}, []),
        (a_map(), [], {}, []),
        (a_map(mirrored=True), mirrored_places((4, 7)), {HALVES[0]: [4]}, []),
        (
            a_map(mirrored=True),
            mirrored_places((4, 7)),
            {HALVES[0]: [5]},
            ["row 5 is not told anew, and differs in column 8"],
        ),
    ],
)
def test_what_differs_is_told_anew(old: SettledMap, places: Any, told: Any, said: list[str]) -> None:
    new = painted(old, *places)
    assert list(revisedscripts._lacking(a_script(new, told), old_map(as_file(old)), anew=False)) == said


def test_the_row_above_one_that_begins_elsewhere_is_told_as_well() -> None:
    """Row 6 says how far from the beginning of row 5 it begins itself, in the strip whose edge has moved."""
    old = a_map()
    new = painted(old, (4, 0), yarn=NO_KNOT)
    words = "row 6 is not told, and the row below begins elsewhere"
    before = old_map(as_file(old))
    assert list(revisedscripts._lacking(a_script(new, {HALVES[0]: [4, 5]}), before, anew=False)) == []
    assert list(revisedscripts._lacking(a_script(new, {HALVES[0]: [4]}), before, anew=False)) == [words]
    last = painted(old, (39, 0), yarn=NO_KNOT)
    assert list(revisedscripts._lacking(a_script(last, {HALVES[0]: [39]}), before, anew=False)) == []
    within = painted(old, (4, 7), yarn=NO_KNOT)
    assert list(revisedscripts._lacking(a_script(within, {HALVES[0]: [4]}), before, anew=False)) == []
    end = painted(old, (4, 29), yarn=NO_KNOT)
    assert list(revisedscripts._lacking(a_script(end, {HALVES[0]: [4]}), before, anew=False)) == []
    leftward = read_otherwise(old), read_otherwise(end)
    found = revisedscripts._lacking(a_script(leftward[1], {HALVES[0]: [4]}), old_map(as_file(leftward[0])), anew=False)
    assert list(found) == [words]


def test_a_script_that_is_told_whole_lacks_no_row() -> None:
    old = a_map()
    rows = list(range(40))
    before = old_map(as_file(old))
    assert list(revisedscripts._lacking(a_script(old, dict.fromkeys(HALVES, rows)), before, anew=True)) == []
    for told, said in (
        ({HALVES[0]: rows}, "row 1 is not told anew, and differs in column 31"),
        ({HALVES[0]: rows, HALVES[1]: rows[:-1]}, "row 40 is not told anew, and differs in column 31"),
        ({HALVES[0]: rows[1:], HALVES[1]: rows}, "row 1 is not told anew, and differs in column 1"),
    ):
        assert list(revisedscripts._lacking(a_script(old, told), before, anew=True)) == [said]


@pytest.mark.parametrize(("leftward", "begins"), [(False, [0, 2, -1, 3]), (True, [0, 1, -1, 0])])
def test_where_rows_begin_is_counted_as_they_are_read(leftward: bool, begins: list[int]) -> None:
    knots = np.array([[1, 1, 1, 1], [9, 9, 1, 9], [9, 9, 9, 9], [9, 9, 9, 1]], dtype=np.uint16)
    knots[knots == 9] = NO_KNOT
    assert revisedscripts._begins(knots, leftward=leftward).tolist() == begins


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ([(1, ["3–5,", "9"], None), (2, ["1"], None)], []),
        ([(1, [], 4), (2, [], 1)], []),
        ([(1, ["3–5"], None), (2, ["1"], None)], ["strip 1: it names other rows than those that follow"]),
        ([(1, ["3–6,", "9"], None), (2, ["1"], None)], ["strip 1: it names other rows than those that follow"]),
        ([(1, [], 5), (2, [], 2)], [f"strip {n}: it names other rows than those that follow" for n in (1, 2)]),
        ([(1, ["3–5,", "9"], 5), (2, ["1"], None)], ["strip 1: it names other rows than those that follow"]),
        ([(1, ["3–5,", "9"], None)], ["it does not name the strips whose rows follow"]),
        ([(2, ["1"], None), (1, ["3–5,", "9"], None)], ["it does not name the strips whose rows follow"]),
        ([], ["it does not name the strips whose rows follow"]),
    ],
)
def test_the_rows_that_are_named_are_those_that_follow(named: Any, said: list[str]) -> None:
    script = a_script(a_map(), {HALVES[0]: [2, 3, 4, 8], HALVES[1]: [0]})
    rows = [revisedscripts._Named(*each) for each in named]
    assert list(revisedscripts._unlike(rows, script, anew=False)) == said
    assert list(revisedscripts._unlike(rows, script, anew=True)) == (said if named else [])


def test_the_rows_of_a_mirrored_rug_are_named_by_both_numbers() -> None:
    script = a_script(a_map(mirrored=True), {HALVES[0]: [0, 3]})
    named = [revisedscripts._Named(1, ["1,", "4,", "37,", "40"])]
    assert list(revisedscripts._unlike(named, script, anew=False)) == []
    named[0].listed = ["1,", "4"]
    assert list(revisedscripts._unlike(named, script, anew=False)) != []


def test_strips_are_named_one_after_another_with_their_rows() -> None:
    letters = Text("", 0.0, 0.0, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))

    def line(**fields: str) -> Block:
        told: list[Any] = [Block(name, {}, [replace(letters, words=words)]) for name, words in fields.items()]
        return Block(revisedscripts.TAG, {}, told)

    root = Block(
        "", {}, [line(rows="7"), line(strip="1"), line(rows="3–5,"), line(rows="9"), line(strip="2", count="3")]
    )
    found = revisedscripts._named(ReadSheet(1, 148.0, 210.0, root))
    assert [(each.strip, each.numbers, each.count) for each in found] == [(1, [3, 4, 5, 9], None), (2, [], 3)]
    assert revisedscripts.is_rows_revision(ReadSheet(1, 148.0, 210.0, root))
    assert not revisedscripts.is_rows_revision(ReadSheet(1, 148.0, 210.0, Block("", {}, [Block("revision", {})])))
    one = revisedscripts._Named(1, ["7–5", "1–9999999"])
    assert len(one.numbers) == 1_000_001, "a damaged range does not fill the memory"
