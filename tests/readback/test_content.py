"""What a page prints is read operator by operator (ISO 32000-1, Annex A), and what could hide it is refused."""

from __future__ import annotations

import pytest

from chartmaker.readback.content import POINTS_PER_MM, Contents
from chartmaker.readback.pdffile import UnreadableError
from chartmaker.readback.printed import Block, Fill, Group, Line, Picture, Text, flat


class Letters:
    """A font whose glyphs mean letters by their number and are half an em wide."""

    def read(self, token: bytes) -> tuple[str, float, bytes]:
        glyphs = bytes.fromhex(token[1:-1].decode("ascii"))
        if len(glyphs) % 2:
            raise UnreadableError("half a letter")
        return "".join(map(chr, glyphs[1::2])), len(glyphs) / 4, glyphs


def reading(content: str, most: int = 1000, **forms: str | None) -> Block:
    found = {name: None if body is None else body.encode() for name, body in forms.items()}
    return Contents({"T": Letters(), "S": Letters()}, found.__getitem__, most).page(content.encode())  # type: ignore[dict-item]


def in_points(content: str, **forms: str | None) -> list[tuple[object, ...]]:
    """Return what is drawn, each with its place and its size in points, to a millionth."""
    told: list[tuple[object, ...]] = []
    for item, dx, dy in flat(reading(content, **forms)):
        x, y = ((place + moved) * POINTS_PER_MM for place, moved in zip((item.x_mm, item.y_mm), (dx, dy), strict=True))
        if isinstance(item, Text):
            sizes = [value * POINTS_PER_MM for value in (item.size_mm, item.pitch_mm, item.length_mm)]
            told.append((item.words, round(x, 6), round(y, 6), *(round(each, 6) for each in sizes), item.colour))
        elif isinstance(item, Fill | Picture):
            wide, high = item.width_mm * POINTS_PER_MM, item.height_mm * POINTS_PER_MM
            box = tuple(round(each, 6) + 0.0 for each in (x, y, wide, high))
            told.append((item.colour, item.edge, *box) if isinstance(item, Fill) else (item.name, *box))
    return told


A, B = "<0041>", "<00410042>"
DRAWN = {
    f"BT /T 10 Tf 5 7 Td {B} Tj ET": [("AB", 5, 7, 10, 10, 10, (0.0,))],
    f"BT /T 10 Tf 5 7 Td 1 2 Td {A} Tj ET": [("A", 6, 9, 10, 10, 5, (0.0,))],
    f"BT /T 10 Tf {A} Tj {A} Tj ET": [("A", 0, 0, 10, 10, 5, (0.0,)), ("A", 5, 0, 10, 10, 5, (0.0,))],
    f"BT /T 10 Tf 2 Tc {B} Tj {A} Tj ET": [("AB", 0, 0, 10, 12, 14, (0.0,)), ("A", 14, 0, 10, 12, 7, (0.0,))],
    f"BT /T 10 Tf 50 Tz 2 Tc {B} Tj ET": [("AB", 0, 0, 10, 6, 7, (0.0,))],
    f"BT /T 10 Tf 12 TL 3 50 Td {A} ' {A} ' ET": [("A", 3, 38, 10, 10, 5, (0.0,)), ("A", 3, 26, 10, 10, 5, (0.0,))],
    f"BT /T 10 Tf 12 TL 3 50 Td\n{A} '\n{B} '\nET": [
        ("A", 3, 38, 10, 10, 5, (0.0,)),
        ("AB", 3, 26, 10, 10, 10, (0.0,)),
    ],
    f"BT /T 10 Tf [{A} -500 {A} 100 {A}] TJ ET": [
        *(("A", 0, 0, 10, 10, 5, (0.0,)), ("A", 10, 0, 10, 10, 5, (0.0,)), ("A", 14, 0, 10, 10, 5, (0.0,))),
    ],
    f"BT /T 10 Tf 50 Tz [{A} -500 {A}] TJ ET": [("A", 0, 0, 10, 5, 2.5, (0.0,)), ("A", 5, 0, 10, 5, 2.5, (0.0,))],
    f"BT /T 10 Tf 2 0 0 2 30 40 Tm {A} Tj 1 1 Td {A} Tj ET": [
        ("A", 30, 40, 20, 20, 10, (0.0,)),
        ("A", 32, 42, 20, 20, 10, (0.0,)),
    ],
    f"BT /T 10 Tf 0 1 -1 0 30 40 Tm {A} Tj {A} Tj ET": [
        ("A", 30, 40, 10, 10, 5, (0.0,)),
        ("A", 30, 45, 10, 10, 5, (0.0,)),
    ],
    f"BT /T 10 Tf 9 9 Td {A} Tj ET BT {A} Tj ET": [("A", 9, 9, 10, 10, 5, (0.0,)), ("A", 0, 0, 10, 10, 5, (0.0,))],
    f"2 0 0 2 5 6 cm BT /T 10 Tf 1 1 Td 0.5 g {A} Tj ET": [("A", 7, 8, 20, 20, 10, (0.5,))],
    f"1 0 0 rg q 0 g 1 0 0 1 9 9 cm Q BT /T 10 Tf {A} Tj ET": [("A", 0, 0, 10, 10, 5, (1.0, 0.0, 0.0))],
    f"BT 3 Ts /T 10 Tf {A} Tj ET": [("A", 0, 0, 10, 10, 5, (0.0,))],
    "1 2 3 4 re f": [((0.0,), False, 1, 2, 3, 4)],
    "0.5 g 1 2 3 4 re 5 6 7 8 re f": [((0.5,), False, 1, 2, 3, 4), ((0.5,), False, 5, 6, 7, 8)],
    "0 1 0 rg 1 2 3 4 re B": [((0.0, 1.0, 0.0), True, 1, 2, 3, 4)],
    "1 2 m 5 2 l 3 9 l h f": [((0.0,), False, 1, 2, 4, 7)],
    "1 2 3 4 re n 0 0 1 1 re f": [((0.0,), False, 0, 0, 1, 1)],
    "1 2 m 3 4 l S 0 0 1 1 re f": [((0.0,), False, 0, 0, 1, 1)],
    "1 2 m 3 4 l n 0 0 1 1 re 5 5 1 1 re f": [((0.0,), False, 0, 0, 1, 1), ((0.0,), False, 5, 5, 1, 1)],
    "0 0 0 RG 0 G 1 J [1 2] 0 d 4 w 1 2 m 9 2 l S": [],
    "5 w 1 2 m 9 2 l S": [(None, False, -1.5, -0.5, 13, 5)],
    "5 w 1 2 m 9 2 l 9 30 l S": [(None, False, -1.5, -0.5, 13, 5), (None, False, 6.5, -0.5, 5, 33)],
    "5 w 1 2 8 9 re S": [(None, False, -1.5, -0.5, 13, 14)],
    "2 0 0 2 0 0 cm 2.2 w 1 2 m 9 2 l S": [(None, False, -0.2, 1.8, 20.4, 4.4)],
    "2 0 0 3 5 6 cm 1 2 3 4 re f": [((0.0,), False, 7, 12, 6, 12)],
    "q 10 0 0 20 3 4 cm /P Do Q 0 0 1 1 re f": [("P", 3, 4, 10, 20), ((0.0,), False, 0, 0, 1, 1)],
    "q 2 0 0 2 3 4 cm /X Do Q /X Do": [((0.0,), False, 3, 4, 2, 2), ((0.0,), False, 0, 0, 1, 1)],
    "1 0 0 rg /X Do q 1 0 0 1 5 5 cm /X Do Q": [
        ((1.0, 0.0, 0.0), False, 0, 0, 1, 1),
        ((1.0, 0.0, 0.0), False, 5, 5, 1, 1),
    ],
    "/kn-a BMC 0 0 1 1 re f EMC": [((0.0,), False, 0, 0, 1, 1)],
    "q 1 0 0 1 3 4 cm /kn-run BMC 0 0 1 1 re f EMC Q": [((0.0,), False, 3, 4, 1, 1)],
    f"BT /T 10 Tf /Span <</ActualText <FEFF0058>>> BDC {A} Tj {A} Tj EMC {A} Tj ET": [
        *(("X", 0, 0, 10, 10, 5, (0.0,)), ("", 5, 0, 10, 10, 5, (0.0,)), ("A", 10, 0, 10, 10, 5, (0.0,))),
    ],
    f"BT /T 10 Tf /Span <</Lang (x)>> BDC {A} Tj EMC ET": [("A", 0, 0, 10, 10, 5, (0.0,))],
}


@pytest.mark.parametrize("content", DRAWN)
def test_operators_draw_what_the_standard_says(content: str) -> None:
    assert in_points(content, P=None, X="0 0 1 1 re f") == DRAWN[content]


def test_tags_hold_what_stands_between_them_with_their_values() -> None:
    root = reading(
        f"/kn-row <</Rows [1 20] /Box [0.5 -1 2 3]>> BDC BT /T 9 Tf {A} Tj ET\n"
        f"/Span <</ActualText <FEFF0058>>> BDC BT {A} Tj ET EMC /kn-in BMC EMC EMC\n"
        "q 1 0 0 1 72 144 cm /kn-run BMC 0 0 1 1 re f EMC Q\nq 1 0 0 1 0 0 cm /kn-run BMC 0 0 1 1 re f EMC Q"
    )
    row, *runs = root.items
    assert isinstance(row, Block)
    assert (row.tag, row.values) == ("row", {"Rows": (1.0, 20.0), "Box": (0.5, -1.0, 2.0, 3.0)})
    assert [each.words for each in row.texts()] == ["A", "X"]
    assert [each.tag for each in row.blocks()] == ["in"]
    assert all(isinstance(each, Group) and each.name == "run" for each in runs)
    assert [(each.x_mm, each.y_mm) for each in runs if isinstance(each, Group)] == [(25.4, 50.8), (0.0, 0.0)]
    assert len({id(each.root) for each in runs if isinstance(each, Group)}) == 1  # it is worked out once


def lines_in_points(content: str, **forms: str | None) -> list[tuple[object, ...]]:
    """Return each line with its ends, its width and its colour, in points."""
    items = [item for item, _, _ in flat(reading(content, **forms))]
    assert all(isinstance(item, Line) for item in items)
    ends = [(item.x_mm, item.y_mm, item.to_x_mm, item.to_y_mm, item.width_mm) for item in items]  # type: ignore[union-attr]
    told = [tuple(round(each * POINTS_PER_MM, 6) for each in every) for every in ends]
    return [(*each, item.colour) for each, item in zip(told, items, strict=True)]  # type: ignore[union-attr]


LINES = {
    "1 2 m 9 5 l S": [(1, 2, 9, 5, 1, (0.0,))],
    "0.5 G 2 w 1 2 m 9 5 l 7 8 l S": [(1, 2, 9, 5, 2, (0.5,)), (9, 5, 7, 8, 2, (0.5,))],
    "0 1 0.5 RG 1 2 m 9 5 l S 3 4 m 5 6 l S": [
        *((1, 2, 9, 5, 1, (0.0, 1.0, 0.5)), (3, 4, 5, 6, 1, (0.0, 1.0, 0.5))),
    ],
    "1 2 m 9 5 l 3 3 m 4 4 l S": [(1, 2, 9, 5, 1, (0.0,)), (3, 3, 4, 4, 1, (0.0,))],
    "1 2 m 9 5 l n 3 3 m 4 4 l S": [(3, 3, 4, 4, 1, (0.0,))],
    "2 0 0 3 10 20 cm 0.5 w 1 2 m 9 5 l S": [(12, 26, 28, 35, 1, (0.0,))],  # as wide as where it is narrowest
    "q 3 w 1 G Q 1 2 m 9 5 l S": [(1, 2, 9, 5, 1, (0.0,))],
    "q 3 w 0.2 G /L Do Q /L Do": [(0, 0, 4, 0, 3, (0.2,)), (0, 0, 4, 0, 1, (0.0,))],
    "4.2 w 1 2 m 9 2 l S": [(1, 2, 9, 2, 4.2, (0.0,))],  # just below 1.5 mm
}


@pytest.mark.parametrize("content", LINES)
def test_lines_are_drawn_from_point_to_point_with_their_ink(content: str) -> None:
    assert lines_in_points(content, L="0 0 m 4 0 l S") == LINES[content]


def test_texts_say_which_way_they_run_and_with_which_glyphs() -> None:
    texts = list(reading(f"BT /T 9 Tf {B} Tj /S 9 Tf 0 1 -1 0 30 40 Tm {A} Tj ET").texts())
    assert [(each.upright, each.font, each.glyphs) for each in texts] == [(True, "T", b"\0A\0B"), (False, "S", b"\0A")]


def test_a_repeated_drawing_is_drawn_anew_where_anything_but_its_place_differs() -> None:
    """A form inherits colours, fonts and spaces (8.10.1), so one with others is another drawing."""
    shown = f"BT {A} Tj ET"
    sizes = [
        (text.size_mm * POINTS_PER_MM, text.pitch_mm * POINTS_PER_MM, text.font, text.colour)
        for before in ("", "/S 9 Tf", "/T 8 Tf", "2 Tc", "50 Tz", "0.5 g", "2 0 0 2 0 0 cm")
        for text, _, _ in flat(reading(f"/T 9 Tf q 1 0 0 1 7 7 cm /X Do Q {before} q /X Do Q", X=shown))
        if isinstance(text, Text)
    ]
    plain = (pytest.approx(9), pytest.approx(9), "T", (0.0,))
    own = [plain, (9, 9, "S", (0.0,)), (8, 8, "T", (0.0,)), (9, 11, "T", (0.0,)), (9, 4.5, "T", (0.0,))]
    own += [(9, 9, "T", (0.5,)), (18, 18, "T", (0.0,))]
    assert sizes[::2] == [plain] * 7
    assert [(pytest.approx(size), pytest.approx(pitch), *more) for size, pitch, *more in own[1:]] == sizes[3::2]
    shown = f"BT 3 50 Td {A} ' ET"
    texts = [item for item, _, _ in flat(reading("/T 9 Tf 5 TL /X Do 6 TL /X Do", X=shown)) if isinstance(item, Text)]
    assert [round(text.y_mm * POINTS_PER_MM, 6) for text in texts] == [45, 44]


REFUSED = {
    "1 2 3 4 re W f": "operators that no chart has|damaged",
    "/G gs": "is not complete|damaged",
    "BT 3 Tr ET": "damaged|no chart has",
    "q 1 q": "no chart has",
    "q": "is not complete",
    "q q Q": "is not complete",
    "Q": "damaged",
    "1 2 3 4": "is not complete",
    "BT": "is not complete",
    "BT BT ET ET": "damaged",
    f"/T 9 Tf {A} Tj": "damaged",
    f"BT /T 9 Tf {A} Tj ET {A} Tj": "damaged",
    "BT /T 9 Tf (A) Tj ET": "damaged",
    "BT /T 9 Tf <004> Tj ET": "damaged|half",
    f"BT /U 9 Tf {A} Tj ET": "does not have",
    f"BT {A} Tj ET": "does not have",
    f"BT /T 0 Tf {A} Tj ET": "askew or is set backwards",
    f"BT /T -9 Tf {A} Tj ET": "askew or is set backwards",
    f"BT /T 9 Tf 0 Tz {A} Tj ET": "askew or is set backwards",
    f"BT /T 9 Tf -1 0 0 1 0 0 Tm {A} Tj ET": "askew or is set backwards",
    f"BT /T 9 Tf 1 0.5 0 1 0 0 Tm {A} Tj ET": "askew or is set backwards",
    f"BT /T 9 Tf 0 -1 1 0 0 0 Tm {A} Tj ET": "askew or is set backwards",
    f"BT /T 9 Tf {A} 5 TJ ET": "damaged",
    f"BT /T 9 Tf [{A} TJ ET": "damaged|no chart has",
    "BT 1 2 3 Td ET": "damaged",
    "BT 1 2 3 4 5 Tm ET": "damaged",
    "1 0.1 0 1 0 0 cm 1 2 3 4 re f": "a shape in it stands askew",
    "1 0 0.1 1 0 0 cm 1 2 3 4 re f": "a shape in it stands askew",
    "1 0.1 0 1 0 0 cm /X Do": "a drawing in it stands askew",
    "1 0 0.1 1 0 0 cm /P Do": "a drawing in it stands askew",
    "/Z Do": "damaged",
    "/Loop Do": "nested too deeply",
    "/kn-a BMC": "is not complete",
    "EMC": "is not complete",
    "/kn-a BMC EMC EMC": "is not complete",
    "/Artifact BMC EMC": "spans of another kind",
    "/Span BMC": "is not complete",
    "/kn-a BMC " * 42 + "EMC " * 42: "damaged",
    "q " * 42 + "Q " * 42: "damaged",
    "/kn-a <</Rows [1 (x)]>> BDC EMC": "damaged",
    "/kn-a [1] BDC EMC": "a tag in it is damaged",
    "1 2 nan 4 re f": "not a number",
    "1 2 inf 4 re f": "not a number",
    "1 2 1_0 4 re f": "not a number",
    "1 2 3 re f": "damaged",
    "1 f": "no chart has",
    "5 BT ET": "no chart has",
    "BT 5 ET": "no chart has",
    "1 h": "no chart has",
    "1 n": "no chart has",
    "1 S": "no chart has",
    "1 Q": "no chart has",
    "/kn-a BMC 1 EMC": "no chart has",
    "x w": "damaged",
    "x G": "damaged",
    "1 2 rg": "damaged",
    "1 2 g": "damaged",
    "1 " * 4097 + "re": "damaged",
}


@pytest.mark.parametrize("content", REFUSED, ids=lambda content: content[:40])
def test_what_no_chart_needs_is_refused(content: str) -> None:
    with pytest.raises(UnreadableError, match=REFUSED[content]):
        reading(content, most=9000, P=None, X="0 0 1 1 re f", Loop="/Loop Do")


def test_graphics_states_and_tags_are_nested_as_deep_as_a_chart_needs() -> None:
    reading("q " * 41 + "Q " * 41)
    reading("/kn-a BMC " * 40 + "EMC " * 40)
    forms = {f"F{depth}": f"/F{depth + 1} Do" for depth in range(9)}
    reading("/F5 Do", **forms | {"F9": "0 0 1 1 re f"})
    with pytest.raises(UnreadableError, match="nested too deeply"):
        reading("/F4 Do", **forms | {"F9": "0 0 1 1 re f"})


@pytest.mark.parametrize(
    ("content", "operators"),
    [
        ("0 0 1 1 re f", 6),
        ("\n".join(["0 0 1 1 re f"] * 10_000), 60_000),
        (f"BT /T 9 Tf\n{A} '\n{A} '\nET", 7),
        ("q 1 0 0 1 3 4 cm /kn-run BMC f EMC Q", 12),
        ("/X Do /X Do", 4 + 6),
    ],
)
def test_no_more_is_read_than_a_chart_of_the_rug_can_need(content: str, operators: int) -> None:
    """Every operand and operator counts, and a drawing that is repeated counts once."""
    reading(content, most=operators, X="0 0 1 1 re f")
    with pytest.raises(UnreadableError, match="more drawing than"):
        reading(content, most=operators - 1, X="0 0 1 1 re f")
