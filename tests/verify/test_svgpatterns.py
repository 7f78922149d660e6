"""The SVG of a pattern may hold its fields, lines and numbers and nothing else, each number in a field of its yarn."""

from __future__ import annotations

import re

import pytest
from support import standing
from support.making import settled
from support.repacking import packed

from chartmaker.readback.pdffile import UnreadableError
from chartmaker.verify.carvings import carving_differences, expected_carving
from chartmaker.verify.guides import guide_differences
from chartmaker.verify.patterns import ExpectedPattern, expected_pattern, pattern_differences
from chartmaker.verify.svgpatterns import svg_differences


@pytest.fixture(scope="module")
def drawn() -> tuple[str, ExpectedPattern]:
    return standing.paper("svg").decode(), expected_pattern(*settled(standing.tufted()))


def found(svg: str, expected: ExpectedPattern) -> list[str]:
    return list(svg_differences(svg.encode(), expected))


TEXT = r'<text x="([\d.]+)" y="([\d.]+)"(.*?)>(\d)</text>'
#: What is altered, by what, and what is then said.
CHANGED: dict[str, tuple[str, str, str]] = {
    "another colour": (r'fill="#a0', 'fill="#b0', "a field of Y001 has another colour"),
    "another yarn": (r'data-yarn="Y001"', 'data-yarn="Y002"', "a field of Y002 has the number 2"),
    "another number of a field": (r'data-number="2"', 'data-number="3"', "a field of Y001 has the number 3"),
    "another number": (TEXT, r'<text x="\1" y="\2"\3>9</text>', "the number 9 does not stand in a field of its yarn"),
    "a number moved": (TEXT, r'<text x="\1" y="440"\3>\4</text>', " does not stand in a field of its yarn"),
    "a number off the rug": (TEXT, r'<text x="-5" y="\2"\3>\4</text>', " does not stand in a field of its yarn"),
    "a number gone": (TEXT, "", "mm2 has no number"),
    "a number of dust": (r'font-size="[\d.]+"', 'font-size="1.3"', "cannot be read"),
    "a number of nothing": (r'fill="#0033ff"', 'fill="none"', "cannot be read"),
    "a number in white": (r'fill="#0033ff"', 'fill="#ffffff"', "cannot be read"),
    "another map": (r'data-map="\w', 'data-map="x', "it is not the drawing of map"),
    "another window": (r'viewBox="0 0 400', 'viewBox="0 0 401', "its drawing is not in true size"),
    "a window aside": (r'viewBox="0 0', 'viewBox="3 0', "its drawing is not in true size"),
    "another width": (r'width="400.000mm"', 'width="401.000mm"', "its width is 401.000mm, not 400.0 mm"),
    "no window": (r' viewBox="[^"]*"', "", "its drawing is not in true size"),
    "no size of a number": (r' font-size="[^"]*"', "", "cannot be read"),
    "no colour of a number": (r' fill="#0033ff"', "", "cannot be read"),
    "no yarn of a field": (r' data-yarn="Y001"', "", "a field of  has the number 2"),
    "no number of a field": (r' data-number="2"', "", "a field of Y001 has the number "),
    "no width": (r' width="400.000mm"', "", "its width is , not 400.0 mm"),
    "another height": (r'height="450.000mm"', 'height="450.000cm"', "its height is 450.000cm, not 450.0 mm"),
}
REFUSED = {
    "a field moved": (r"<path ", '<path transform="translate(9)" '),
    "all fields moved": (r'<g id="fields"', '<g transform="scale(2)" id="fields"'),
    "a field hidden": (r"<path ", '<path style="display:none" '),
    "a field let through": (r"<path ", '<path opacity="0" '),
    "a picture over it": (r"</svg>", "<image/></svg>"),
    "a link": (r"</svg>", "<a/></svg>"),
    "an element of another kind": (r"</svg>", '<path xmlns="x:y"/></svg>'),
    "a style": (r"</svg>", "<style>path{display:none}</style></svg>"),
    "a script": (r"</svg>", "<script/></svg>"),
    "a declaration": (r"<svg ", '<!DOCTYPE svg [<!ENTITY a "b">]><svg '),
    "half of it": (r"</g>\s*</svg>", ""),
    "a field without outline": (r' d="M[^"]*"', ' d=""'),
    "a field beyond the rug": (r' d="M', ' d="M90000 90000L90001 90000L0 0ZM'),
}


def test_a_true_drawing_is_no_difference(drawn: tuple[str, ExpectedPattern]) -> None:
    assert found(*drawn) == []


def test_a_field_may_reach_a_little_beyond_the_rug_on_each_side(drawn: tuple[str, ExpectedPattern]) -> None:
    """What lies outside is cut off with the rug; it is no fault, and stands for nothing at the opposite side."""
    svg = drawn[0]
    for inside, beyond in (("M400.000", "M401.000"), ("L400.000", "L401.000"), ("L0.000", "L-1.000")):
        svg = svg.replace(inside, beyond)
    svg = svg.replace(" 450.000L", " 451.000L").replace(" 0.000L", " -1.000L").replace(" 0.000Z", " -1.000Z")
    assert svg.count("401.000") > 4 and svg.count("-1.000") > 2 and svg.count("451.000") > 0
    assert found(svg, drawn[1]) == []


@pytest.mark.parametrize("what", CHANGED)
def test_what_is_changed_in_a_drawing_is_found(drawn: tuple[str, ExpectedPattern], what: str) -> None:
    old, new, said = CHANGED[what]
    svg = re.sub(old, new, drawn[0], count=1)
    assert svg != drawn[0]
    assert any(said in words for words in found(svg, drawn[1])), found(svg, drawn[1])


@pytest.mark.parametrize("what", REFUSED)
def test_what_a_drawing_does_not_need_is_refused(drawn: tuple[str, ExpectedPattern], what: str) -> None:
    old, new = REFUSED[what]
    svg = re.sub(old, new, drawn[0], count=1)
    assert svg != drawn[0]
    with pytest.raises(UnreadableError):
        found(svg, drawn[1])


@pytest.mark.parametrize("name", ["pattern", "guide", "carving"])
def test_papers_of_a_tufter_do_nothing_either(name: str) -> None:
    data, rug = standing.paper(name), standing.carved() if name == "carving" else standing.tufted()
    acting = packed(data, {}, lambda head: head.replace(b"/Type /Catalog", b"/OpenAction [null] /Type /Catalog"))
    assert acting != packed(data, {})
    with pytest.raises(UnreadableError, match="it holds OpenAction"):
        if name == "carving":
            list(carving_differences(acting, expected_carving(*settled(rug))))
        else:
            reader = pattern_differences if name == "pattern" else guide_differences
            list(reader(acting, expected_pattern(*settled(rug))))
