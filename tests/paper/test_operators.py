"""Operators have the names and operands of ISO 32000-1, annex A, and numbers are written as a PDF requires."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.paper import operators as op

#: Operands of each operator that is used, by ISO 32000-1, table A.1 and the tables that it refers to: n is a number, s
#: a string, a an array, N a name, d a name or dictionary.
OPERANDS = {
    "q": "", "Q": "", "cm": "nnnnnn", "Do": "N", "w": "n", "J": "n", "d": "an",
    "g": "n", "G": "n", "rg": "nnn", "RG": "nnn",
    "m": "nn", "l": "nn", "re": "nnnn", "S": "", "f": "", "B": "", "n": "",
    "BT": "", "ET": "", "Td": "nn", "Tm": "nnnnnn", "Tf": "Nn", "Tz": "n", "Ts": "n", "Tc": "n", "TL": "n",
    "Tj": "s", "TJ": "a", "'": "s", "BMC": "N", "BDC": "Nd", "EMC": "",
}  # fmt: skip
TOKEN = re.compile(
    r"(?P<d><<.*?>>(?=\s))|(?P<s><[0-9a-f]*>)|(?P<a>\[[^\]]*\])|(?P<N>/[!-.0-~]+)|(?P<n>[+-]?(?:\d+\.?\d*|\.\d+)(?=\s))"
    r"|(?P<operator>[A-Za-z']+)(?=\s|$)|(?P<space>\s+)"
)


def operators_in(content: str) -> list[tuple[str, str]]:
    """Return (operator, kinds of its operands) for a content stream, of which nothing may be left over."""
    found, kinds, place = [], "", 0
    while place < len(content):
        token = TOKEN.match(content, place)
        assert token is not None, content[place : place + 40]
        place, kind = token.end(), token.lastgroup or ""
        if kind == "operator":
            found.append((token.group(), kinds))
            kinds = ""
        elif kind != "space":
            kinds += kind
    assert kinds == ""
    return found


EACH = [
    (op.SAVE, "q"), (op.RESTORE, "Q"), (op.moved(1, 2.5), "cm"), (op.scaled(1 / 3, 2, 3, 4), "cm"),
    (op.cell_unit(1 / 3, 1 / 7, 3, 4), "cm"), (op.unit(72 / 25.4), "cm"), (op.drawn("Form"), "Do"),
    (op.fill_colour((0.5, 0.5, 0.5)), "g"), (op.fill_colour((1, 0, 1 / 3)), "rg"), (op.fill_rgb((1, 1, 1)), "rg"),
    (op.stroke_colour((0, 0, 0)), "G"), (op.stroke_colour((1, 0, 0)), "RG"), (op.line_width(0.1), "w"),
    (op.dashes([1, 2]), "d"), (op.dashes([]), "d"), (op.SQUARE_ENDS, "J"), (op.segments([(0, 1, 2, 3)] * 2), "m l m l"),
    (op.outline([(0, 0), (1, 0), (1, 1)]), "m l l"), (op.rectangle(1, 2, 3, 4), "re"),
    (op.lines(op.cell_rectangles([1, 2], [3, 4], [5, 6], [7, 8])), "re re"),
    (op.STROKE, "S"), (op.FILL, "f"), (op.FILL_AND_STROKE, "B"), (op.DROP, "n"),
    (op.BEGIN_TEXT, "BT"), (op.END_TEXT, "ET"), (op.text_moved(1, 2), "Td"), (op.text_moved_finely(1 / 3, 2), "Td"),
    (op.text_moved_by_hundredths(-5, 1234, op.shown("<0041>")), "Td Tj"), (op.text_upward(1, 2), "Tm"),
    (op.font("T", 3.5278), "Tf"),
    (op.squeezed(87.5), "Tz"), (op.lifted(1.5), "Ts"), (op.letter_spacing(0.25), "Tc"), (op.line_pitch(-2.5), "TL"),
    (op.shown(op.glyph_string([1, 0xFFFF])), "Tj"), (op.shown_shifted(f"{op.glyph_string([1])}-20"), "TJ"),
    (op.lines(op.next_lines_shown([b"\x00\x01", b"\x00\x02"])), "' '"),
    (op.span("row"), "BMC"), (op.span("cells", {"Box": (1, 2, 3, 4)}), "BDC"), (op.meant("ß\u0628"), "BDC"),
    (op.END_SPAN, "EMC"),
]  # fmt: skip


@pytest.mark.parametrize(("operators", "names"), EACH)
def test_each_operator_has_the_name_and_operands_of_the_standard(operators: op.Operator, names: str) -> None:
    found = operators_in(operators)
    assert [name for name, _ in found] == names.split()
    for name, kinds in found:
        assert kinds.replace("N", "d", 2)[1:] == "d" if name == "BDC" else kinds == OPERANDS[name]


def test_every_function_is_tried_above() -> None:
    text = " ".join(operators for operators, _ in EACH)
    assert {name for name, _ in operators_in(text)} == set(OPERANDS)


@given(st.floats(-9999, 9999))
def test_numbers_have_no_exponent_and_are_right_to_a_thousandth(value: float) -> None:
    """A number has no exponent (ISO 32000-1, 7.3.3). Six digits are kept: above 1,000 it is right to 0.0055."""
    said = op.number(value)
    assert re.fullmatch(r"-?\d+(\.\d{1,3})?", said)
    assert float(said) == pytest.approx(value, abs=0.0005001 if abs(value) < 999 else 0.0055)


def test_operators_on_a_line_are_parted_by_spaces_and_lines_by_newlines() -> None:
    assert op.line(op.SAVE, op.line_width(1), op.RESTORE) == "q 1 w Q"
    assert op.lines([op.SAVE, op.RESTORE]) == "q\nQ"
