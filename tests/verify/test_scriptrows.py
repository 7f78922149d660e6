"""Rows of a script are read back mark by mark: each that is not a row as a weaver reads it is refused, with the reason.

The rows are laid out by hand, in common practice's order: a number, runs of knots with their yarns, and a total.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Fill, Group, Item, Text
from chartmaker.verify import scriptrows
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.scriptrows import Place, Script, UnreadableRowError, read_block

GLYPHS = {0: 7, 1: 8}
#: What a mark may be: its kind, then what it prints.
Mark = tuple[Any, ...]


def letters(words: str, x: float, y: float, **more: Any) -> Text:
    """Return words of a millimetre a letter, whose middle is at the height `y`."""
    plain = Text(words, x, y - 0.73, 2.0, 0.0, float(len(words)), "T", b"", True, (0.0,))
    return replace(plain, **more)


def span(tag: str, fields: dict[str, str], x: float, y: float) -> Block:
    """Return a mark that prints each of its fields behind the one before."""
    found = Block(tag, {})
    for name, words in fields.items():
        found.items.append(Block(name, {}, [letters(words, x, y)]))
        x += len(words)
    return found


def drawn(knots: str, code: str, *, glyph: int | None, colour: Sequence[float] | None, **more: Any) -> Block:
    """Return a run as it is drawn once and then repeated: its swatch, its number and its yarn."""
    items: list[Item] = []
    if colour is not None:
        items.append(Fill(0.0, -1.0, 2.0, 2.0, tuple(colour), True))
    if glyph is not None:
        size, x = more.get("symbol", (1.4, 0.3))
        ink = more.get("ink", (0.0,) if max(colour or (1.0,)) > 0.5 else (1.0,))
        own = {"font": "S", "glyphs": glyph.to_bytes(2, "big"), "size_mm": size, "y_mm": -0.7, "colour": ink}
        items.append(Group("S", 0.0, 0.0, Block("", {}, [letters("", x, 0.0, **own)])))
    x = 2.5
    told = {"knots": knots, **({"call": more["call"]} if "call" in more else {}), "code": code}
    for name in more.get("order", told):
        items.append(Block(name, {}, [letters(told[name], x, more.get("up", {}).get(name, 0.0))]))
        x += len(told[name]) + 0.5
    return Block("", {}, [Block("run", {}, items)])


class Drawn:
    """A strip of a map with a script of it, whose blocks are laid out mark by mark."""

    def __init__(self, knots: Any, *, leftward: bool = False, picked: bool = False, **chart: Any) -> None:
        reading = "right to left" if leftward else "left to right"
        workshop = Workshop.model_validate({"chart": {"reading": reading, "marks": "both", **chart}})
        cells = np.array(knots, dtype=np.uint16)
        made = make_map(cells, make_rug(cells.shape[1], cells.shape[0], SQUARE), workshop)
        self.expected: Expected = expected_of(made, workshop)
        self.script = Script(self.expected, 1, glyphs=dict(GLYPHS), codes={y.code: n for n, y in enumerate(made.yarns)})
        self.place = Place(range(self.expected.columns), None, 0, self.expected.rows, {}, picked)
        self.leftward = leftward

    def run(self, knots: Any, code: str, **more: Any) -> Block:
        yarn = self.script.codes.get(code, 0)
        colour = [part / 255 for part in self.expected.yarns[yarn].srgb]
        return drawn(str(knots), code, **{"glyph": GLYPHS.get(yarn), "colour": colour, **more})

    def block(self, *marks: Mark, y: float = 100.0) -> Block:
        """Return a block of rows with a gap of a millimetre between its marks; a leftward one begins at the right."""
        found, x, way = Block("script-row", {}), 100.0 if self.leftward else 20.0, -1 if self.leftward else 1
        start = x
        for kind, *told in marks:
            if kind == "line":
                x, y = start, y - (told[0] if told else 5.0)
                continue
            if kind == "gap":
                x += way * told[0]
                continue
            if kind in ("run", "drawn"):
                root = told[0] if kind == "drawn" else self.run(*told)
                wide = max(t.x_mm + t.length_mm for t in root.texts())
                left = x - wide if self.leftward else x
                found.items.append(Group("R", left, y, root))
            else:
                names = {"row": "number", "total": "total", "times": "times", "close": "bracket", "as-row": "like"}
                fields = told[0] if isinstance(told[0], dict) else {names.get(kind, kind): str(told[0])}
                wide = sum(map(len, fields.values()))
                found.items.append(span(kind, fields, x - wide if self.leftward else x, y))
            x += way * (wide + 1.0)
        return found

    def read(self, *marks: Mark, y: float = 100.0, below: float = 200.0) -> list[int]:
        cells, reached = read_block(self.script, self.block(*marks, y=y), self.place, below)
        assert reached == pytest.approx(y - 5.0 * sum(kind == "line" for kind, *_ in marks))
        return cells.tolist()


def plain(**more: Any) -> Drawn:
    """Return a strip of four rows of six knots, of two yarns."""
    return Drawn([[0, 0, 0, 1, 1, 1], [0] * 6, [1] * 6, [0, 1, 0, 1, 0, 1]], **more)


def end(column: int) -> Mark:
    return ("column-reached", {"reached": str(column)})


ROW = (("row", 1), ("run", 3, "Y000"), ("run", 3, "Y001"), end(6), ("total", 6))
BENT = (("row", 1), ("run", 3, "Y000"), end(3), ("line",), ("run", 3, "Y001"), end(6), ("total", 6))
GROUPED = (("row", 1), ("times", 3), ("run", 1, "Y000"), ("run", 1, "Y001"), ("close", ")"), end(6), ("total", 6))


@pytest.mark.parametrize("leftward", [False, True])
@pytest.mark.parametrize(
    ("marks", "cells"),
    [
        (ROW, [0, 0, 0, 1, 1, 1]),
        (BENT, [0, 0, 0, 1, 1, 1]),
        (GROUPED, [0, 1, 0, 1, 0, 1]),
        ((("row", 1), ("run", 2, "Y000"), *GROUPED[1:5], end(6), ("total", 8)), None),
        ((("row", 1), ("run", 2, "Y000"), ("times", 2), *GROUPED[2:]), [0, 0, 0, 1, 0, 1]),
        ((("row", 1), ("jump", {"places": "6"}), end(6), ("total", 0)), [NO_KNOT] * 6),
        ((("row", 1), ("run", 6, "Y001"), end(6), ("total", 6)), [1] * 6),
    ],
)
def test_a_row_is_read_run_by_run(marks: tuple[Mark, ...], cells: list[int] | None, leftward: bool) -> None:
    """A row read from the right reaches the columns of the left."""
    if leftward:
        marks = tuple(
            end(7 - int(told[0]["reached"])) if kind == "column-reached" else (kind, *told) for kind, *told in marks
        )
    made = plain(leftward=leftward)
    if cells is None:
        with pytest.raises(UnreadableRowError, match="more knots than the rug has columns"):
            made.read(*marks)
        return
    assert made.read(*marks) == cells
    assert (made.place.row, made.place.counted, made.place.told[0].tolist()) == (1, [0], cells)


def other(marks: Sequence[Mark], place: int, *instead: Mark) -> tuple[Mark, ...]:
    """Return marks with others in the place of one."""
    return (*marks[:place], *instead, *marks[place + 1 :])


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        (other(ROW, 2, ("gap", -12), ROW[2]), "its runs do not stand in the order of reading"),
        (other(BENT, 3, ("line", -5)), "its runs do not stand in the order of reading"),
        (other(ROW, 2, ("gap", -1.8), ROW[2]), "two of its marks are printed into each other"),
        (other(ROW, 3, ("gap", -1.4), end(6)), "two of its marks are printed into each other"),
        (other(ROW, 4, ("gap", -1.4), ROW[4]), None),  # what is set behind it is checked with all that overlaps
        ((*GROUPED[:3], end(1), ("line",), *GROUPED[3:]), "a group is parted at the end of a line"),
        (other(ROW, 1, ("run", 0, "Y000")), "a run has no number of knots that the row can have"),
        (other(ROW, 1, ("run", 7, "Y000")), "a run has no number of knots that the row can have"),
        (other(ROW, 1, ("run", "x", "Y000")), "a run has no number of knots that the row can have"),
        (other(GROUPED, 1), "a group ends that did not begin"),
        (other(GROUPED, 1, ("times", 0)), "a group is tied more often than the row can have"),
        (other(GROUPED, 1, ("times", 4)), "a group is tied more often than the row can have"),
        (other(GROUPED, 4), "a group does not end"),
        (other(GROUPED, 2, GROUPED[1], GROUPED[2]), "'3' is not a run"),
        (other(ROW, 1, ("jump", {"places": "3"}), *ROW[1:2]), "it has more knots than the rug has columns"),
        (other(GROUPED, 2, ("jump", {"places": "1"})), "a group has places without knots"),
        (other(ROW, 4, ("total", 5)), "its total says 5, but its runs give 6"),
        (other(ROW, 4), "its total says nothing, but its runs give 6"),
        ((*ROW, ROW[2]), "something stands behind its total"),
        ((*ROW, end(6)), "something stands behind its total"),
        (other(ROW, 1, ("sign", "x"), ROW[1]), "'x' is not a run"),
        (other(ROW, 3), "its lines do not all say the column that they reach"),
        (other(BENT, 2), "its lines do not all say the column that they reach"),
        (other(ROW, 3, end(5)), "a line does not end with column 6, which it reaches"),
        (other(ROW, 3, ("column-reached", {"reached": "6", "x": "1"})), "a line does not end with column 6, "),
        (other(BENT, 2, end(4)), "a line does not end with column 3, which it reaches"),
        (other(ROW, 3, ("line", 0.5), end(6)), "two of its marks are printed into each other"),
        (other(ROW, 0, ("row", 2)), "[2] stand where its numbers should"),
        (other(ROW, 0, ("row", "x")), "[-1] stand where its numbers should"),
        (other(ROW, 0, ("row", 1), ("row", 2)), "[1, 2] stand where its numbers should"),
        (other(ROW, 0), "it bears no number"),
        ((("row", 1), ("as-row", 1), ("total", 6)), "it is said to be as a row that is not on its sheet"),
        (other(ROW, 1, ("run", 3, "Z9")), "'Z9' is not a yarn of the map"),
    ],
)
def test_what_is_not_a_row_is_refused(marks: tuple[Mark, ...], said: str | None) -> None:
    made = plain()
    if said is None:
        assert made.read(*marks) == [0, 0, 0, 1, 1, 1]
        return
    with pytest.raises(UnreadableRowError) as refused:
        made.read(*marks)
    assert str(refused.value).startswith(said)


def test_rows_follow_each_other_down_the_sheet() -> None:
    """A later row may say that it is as one further up, and stands below the one before, at most on its line."""
    made = plain()
    assert made.read(*ROW) == [0, 0, 0, 1, 1, 1]
    assert made.read(("row", 2), ("run", 6, "Y000"), end(6), ("total", 6), y=95, below=100) == [0] * 6
    as_first = (("row", 3), ("as-row", 1), end(6), ("total", 6))
    with pytest.raises(UnreadableRowError, match="it does not stand below the row before"):
        made.read(*as_first, y=90.5, below=90)
    assert made.read(*as_first, y=90.3, below=90) == [0, 0, 0, 1, 1, 1]
    for marks, said in (
        ((("row", 4), ("as-row", 4), end(6), ("total", 6)), "as a row that is not on its sheet"),
        ((("row", 4), ("run", 1, "Y000"), ("as-row", 1), end(6), ("total", 6)), "as a row that is not on its sheet"),
        ((("row", 4), ("as-row", 1), end(6), ("total", 5)), "its total says 5, but its runs give 6"),
        ((("row", 4), ("as-row", 1), end(5), ("total", 6)), "a line does not end with column 6"),
        ((("row", 5), *ROW[1:]), r"\[5\] stand where its numbers should"),
    ):
        made.place.row = 3
        with pytest.raises(UnreadableRowError, match=said):
            made.read(*marks, y=80)
    assert made.place.counted[:3] == [0, 1, 2]


def test_rows_alike_are_told_once_with_their_numbers_line_by_line() -> None:
    made = plain()
    same = (*ROW, ("line",), ("row", 2), ("row", 3))
    assert made.read(*same) == [0, 0, 0, 1, 1, 1]
    assert (made.place.row, made.place.counted) == (3, [0, 1, 2])
    for wrong in ((("row", 2), ("row", 4)), (("row", 3), ("row", 2)), (("row", 2), ("row", 3), ("row", 4), ("row", 5))):
        with pytest.raises(UnreadableRowError, match="stand where its numbers should"):
            plain().read(*ROW, ("line",), *wrong)


def test_the_rows_of_a_mirrored_rug_bear_both_numbers() -> None:
    """Of five rows the first is tied again as the last, and the third, in the centre, once."""
    half = [[0] * 6, [1] * 6]
    made = Drawn([*half, [0, 1, 0, 1, 0, 1], *half[::-1]])
    assert [scriptrows.numbers_of(made.expected, row) for row in range(3)] == [(1, 5), (2, 4), (3,)]
    assert made.read(("row", 1), ("row", 5), ("run", 6, "Y000"), end(6), ("total", 6)) == [0] * 6
    with pytest.raises(UnreadableRowError, match=r"\[2\] stand where its numbers should"):
        made.read(("row", 2), ("run", 6, "Y001"), end(6), ("total", 6))
    assert made.read(("row", 2), ("row", 4), ("run", 6, "Y001"), end(6), ("total", 6)) == [1] * 6
    assert made.read(("row", 3), *GROUPED[1:]) == [0, 1, 0, 1, 0, 1]
    many = Drawn([*half, half[1], half[1], *half[::-1]])
    assert many.read(("row", 1), ("row", 6), ("run", 6, "Y000"), end(6), ("total", 6)) == [0] * 6


def test_a_sheet_of_some_rows_may_leave_rows_out_but_not_turn_back() -> None:
    made = plain(picked=True)
    assert made.read(("row", 2), ("run", 6, "Y000"), end(6), ("total", 6)) == [0] * 6
    assert made.read(("row", 4), *GROUPED[1:]) == [0, 1, 0, 1, 0, 1]
    assert (made.place.row, made.place.counted, sorted(made.place.told)) == (4, [1, 3], [1, 3])
    for number in (4, 5, 0):
        with pytest.raises(UnreadableRowError, match="stand where its numbers should"):
            made.read(("row", number), *GROUPED[1:])


EDGED = [[9, 9, 0, 0, 0, 9], [9, 0, 0, 0, 0, 0], [9] * 6, [9, 9, 9, 0, 0, 0]]


def jump(**fields: int) -> Mark:
    return ("jump", {name: str(value) for name, value in fields.items()})


@pytest.mark.parametrize(
    ("leftward", "row", "marks"),
    # How far a row begins from where the row below begins is said as it is read: a step to the left or the right.
    [
        (False, 0, (jump(from_column=3), ("run", 3, "Y000"), end(5), ("total", 3))),
        (False, 1, (jump(from_column=2, left=1, below=1), ("run", 5, "Y000"), end(6), ("total", 5))),
        (False, 1, (jump(from_column=2), ("run", 5, "Y000"), end(6), ("total", 5))),
        (False, 3, (jump(from_column=4), ("run", 3, "Y000"), end(6), ("total", 3))),
        (True, 0, (jump(from_column=5), ("run", 3, "Y000"), end(3), ("total", 3))),
        (True, 1, (("run", 5, "Y000"), end(2), ("total", 5))),
    ],
)
def test_a_row_that_begins_behind_empty_places_says_at_which_column(
    leftward: bool, row: int, marks: tuple[Mark, ...]
) -> None:
    knots = np.where(np.array(EDGED) == 9, NO_KNOT, EDGED)
    made = Drawn(knots, leftward=leftward)
    made.place.row = row
    cells = made.read(("row", row + 1), *marks)
    wanted = knots[row, :: -1 if leftward else 1].tolist()
    assert cells == wanted[: len(cells)] and set(wanted[len(cells) :]) <= {NO_KNOT}


@pytest.mark.parametrize(
    ("row", "jumps", "said"),
    [
        (1, jump(from_column=2, right=1, below=1), "so far from where the row below begins"),
        (1, jump(from_column=2, left=2, below=1), "so far from where the row below begins"),
        (1, jump(from_column=2, left=1, below=2), "so far from where the row below begins"),
        (1, jump(from_column=2, before=1, below=1), "so far from where the row below begins"),
        (1, jump(from_column=2, below=1), "so far from where the row below begins"),
        (3, jump(from_column=2, left=1, below=3), "so far from where the row below begins"),
        (0, jump(from_column=2, left=1, below=0), "so far from where the row below begins"),
        (1, jump(from_column=1), "a run has no number of knots that the row can have"),
        (1, jump(from_column=2, twin_column=5), "it begins at column 2, and in the other strip at 5"),
    ],
)
def test_a_row_that_begins_elsewhere_than_it_says_is_refused(row: int, jumps: Mark, said: str) -> None:
    made = Drawn(np.where(np.array(EDGED) == 9, NO_KNOT, EDGED))
    made.place.row = row
    with pytest.raises(UnreadableRowError, match=said):
        made.read(("row", row + 1), jumps, ("run", 5, "Y000"), end(6), ("total", 5))


def test_a_strip_that_stands_for_two_names_the_columns_of_both() -> None:
    """Column 2 of eight is column 7 from the other side, and whoever ties there begins before or after, not left."""
    knots = np.zeros((2, 8), dtype=np.uint16)
    knots[0, [0, 1, 6, 7]] = knots[1, [0, 7]] = NO_KNOT

    def made() -> Drawn:
        found = Drawn(knots, strips=2)
        found.place = Place(range(4), range(4, 8), 1, 2, {})
        return found

    def marks(jumps: Mark, **reached: int) -> tuple[Mark, ...]:
        told = {name: str(value) for name, value in reached.items()}
        return (("row", 2), jumps, ("run", 3, "Y000"), ("column-reached", told), ("total", 3))

    right = jump(from_column=2, twin_column=7, before=1, below=1)
    assert made().read(*marks(right, reached=4, twin_reached=5)) == [NO_KNOT, 0, 0, 0]
    for jumps, reached, said in (
        (jump(from_column=2), {"reached": 4, "twin_reached": 5}, "in the other strip at no column"),
        (jump(from_column=2, twin_column=6), {"reached": 4, "twin_reached": 5}, "in the other strip at 6"),
        (jump(from_column=2, twin_column=7, left=1, below=1), {"reached": 4, "twin_reached": 5}, "so far from where"),
        (jump(from_column=2, twin_column=7, after=1, below=1), {"reached": 4, "twin_reached": 5}, "so far from where"),
        (right, {"reached": 4}, "a line does not end with column 4"),
        (right, {"reached": 4, "twin_reached": 6}, "a line does not end with column 4"),
    ):
        with pytest.raises(UnreadableRowError, match=said):
            made().read(*marks(jumps, **reached))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, None),
        ({"call": "Rose"}, "Y000 is called 'Rose'"),
        ({"glyph": 8}, "the swatch of Y000 is not that of its yarn"),
        ({"glyph": None}, "the swatch of Y000 is not that of its yarn"),
        ({"colour": None}, "the swatch of Y000 is not that of its yarn"),
        ({"colour": (0.5, 0.5, 0.5)}, "the swatch of Y000 is not that of its yarn"),
        ({"colour": (0.5,)}, "the swatch of Y000 is not that of its yarn"),
        ({"symbol": (0.7, 0.3)}, "the swatch of Y000 is not that of its yarn"),
        ({"symbol": (1.4, 2.3)}, "the swatch of Y000 is not that of its yarn"),
        ({"ink": "its own"}, "the swatch of Y000 is not that of its yarn"),
        ({"order": ("code", "knots")}, "the number of a run does not stand before its name and its code"),
        ({"up": {"code": 0.1}}, "the number of a run does not stand before its name and its code"),
    ],
)
def test_a_run_shows_its_yarn(more: dict[str, Any], said: str | None) -> None:
    made = plain()
    if more.get("ink") == "its own":
        more = {"ink": tuple(part / 255 for part in made.expected.yarns[0].srgb)}
    marks = other(ROW, 1, ("drawn", made.run(3, "Y000", **more)))
    if said is None:
        assert made.read(*marks) == [0, 0, 0, 1, 1, 1]
        return
    with pytest.raises(UnreadableRowError) as refused:
        made.read(*marks)
    assert str(refused.value) == said


def test_a_yarn_with_a_name_to_call_is_called_by_it() -> None:
    made = plain()
    named = tuple(replace(each, call="Rose") if each.code == "Y000" else each for each in made.expected.yarns)
    made.script.expected = replace(made.expected, yarns=named)
    assert made.read(*other(ROW, 1, ("drawn", made.run(3, "Y000", call="Rose")))) == [0, 0, 0, 1, 1, 1]
    for more, shown in (({}, "''"), ({"call": "Blue"}, "'Blue'")):
        made.place.row = 0
        with pytest.raises(UnreadableRowError, match=f"Y000 is called {shown}"):
            made.read(*other(ROW, 1, ("drawn", made.run(3, "Y000", **more))))


@pytest.mark.parametrize(
    ("marks", "right", "wrong"),
    [
        ("symbol", {"colour": (1.0,)}, {"colour": None}),
        ("symbol", {"colour": (1.0, 1.0, 1.0)}, {"colour": (0.9, 0.9, 0.9)}),
        ("colour", {"glyph": None}, {}),
    ],
)
def test_swatches_show_what_the_chart_marks_with(marks: str, right: dict[str, Any], wrong: dict[str, Any]) -> None:
    made = plain(marks=marks)
    own = [("drawn", made.run(3, code, **right)) for code in ("Y000", "Y001")]
    assert made.read(ROW[0], *own, *ROW[3:]) == [0, 0, 0, 1, 1, 1]
    made.place.row = 0
    with pytest.raises(UnreadableRowError, match="the swatch of Y000 is not that of its yarn"):
        made.read(ROW[0], ("drawn", made.run(3, "Y000", **wrong)), *own[1:], *ROW[3:])


def test_either_every_run_has_a_swatch_or_none() -> None:
    """A script of very long rows is set as text alone, whose legend shows the swatches once."""
    made = plain()
    bare = [("drawn", made.run(3, code, glyph=None, colour=None)) for code in ("Y000", "Y001")]
    assert made.read(ROW[0], *bare, *ROW[3:]) == [0, 0, 0, 1, 1, 1]
    made.place.row = 0
    for more in ({}, {"glyph": None}, {"colour": None}):
        with pytest.raises(UnreadableRowError, match="only some of its runs have a swatch"):
            made.read(ROW[0], bare[0], ("drawn", made.run(3, "Y001", **more)), *ROW[3:])
