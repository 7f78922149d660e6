"""Whatever a page says of a rug, altered by itself, is found, and a page that reaches for anything is refused."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from support.altering import leaves
from support.looming import page_of
from support.making import SQUARE, SettledMap, make_map, make_rug, settled

from chartmaker.checks import check_map
from chartmaker.figures.carving import carving_of
from chartmaker.figures.reckoning import figures_of
from chartmaker.order.carve import Carve
from chartmaker.order.workshop import Workshop
from chartmaker.pages.proof.page import proof_page
from chartmaker.reports.records.maps import finding_dicts
from chartmaker.reports.words import yarn_words
from chartmaker.verify import proofs
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.looms import loom_differences
from chartmaker.verify.recount.whole import recount_of


def a_map() -> SettledMap:
    """Return a rug of four yarns at two heights, with single knots and two strips."""
    knots = np.arange(600).reshape(20, 30) // 7 % 3
    knots[3, 3] = knots[9, 9] = 3
    tables = {"chart": {"strips": 2}, "pile": {"heights": {"Y001": "15 mm"}}}
    return make_map(knots, make_rug(30, 20, SQUARE), Workshop.model_validate(tables))


def known() -> Expected:
    return expected_of(*settled(a_map()), recount_of(*settled(a_map())))


Read = Callable[[str], list[str]]


def proof() -> tuple[str, Read]:
    made = a_map()
    figures = figures_of(*settled(made))
    findings = (*check_map(*settled(made)), *figures.findings)
    carving = carving_of(made.yarns, made.rug, made.workshop)
    page = "".join(proof_page(made, None, findings, yarn_words(figures), carving))
    expected, told = known(), finding_dicts(findings)
    assert told
    return page, lambda other: proofs.page_differences(other.encode(), expected, told)


def loom() -> tuple[str, Read]:
    expected = known()
    read = lambda other: [each.what for each in loom_differences({"loom.html": other.encode()}, expected)]  # noqa: E731
    return page_of(a_map()), read


def altered(value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, str) and (digits := list(re.finditer(r"\d", value))):
        place = digits[-1].start()
        return f"{value[:place]}{(int(value[place]) + 5) % 10}{value[place + 1 :]}"
    return value + "x" if isinstance(value, str) else value + 3 if value is not None else 1


def facts_of(page: str) -> tuple[str, dict[str, Any], str]:
    """Return what stands before the facts of a page, the facts, and what stands behind them."""
    found = re.search(r'(<script id="page-facts"[^>]*>)(.*?)(</script>)', page, re.DOTALL)
    assert found
    return page[: found.start(2)], json.loads(found[2]), page[found.end(2) :]


@pytest.mark.parametrize(
    ("of", "free"),
    # What only steers the page or is drawn on it is its own: how symbols look, what shades are dark.
    [
        (proof, {"language", "artwork", "difference", "factFields"}),
        (loom, {"language", "blockRows", "pageStrip", "dark", "shape"}),
    ],
)
def test_each_value_of_a_page_that_says_otherwise_is_found(of: Callable[[], tuple[str, Read]], free: set[str]) -> None:
    page, read = of()
    before, facts, behind = facts_of(page)
    assert read(page) == []
    missed = []
    for path in leaves(facts, without="words"):  # which may be in any language
        told = inner = json.loads(json.dumps(facts))
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = altered(inner[path[-1]])
        if not read(f"{before}{json.dumps(told)}{behind}") and not free.intersection(path):
            missed.append(path)
    assert missed == []


SCRIPT = "alert(1);"
NAMED = base64.b64encode(hashlib.sha256(SCRIPT.encode()).digest()).decode()
POLICY = f"<meta content=\"default-src 'none'; script-src 'sha256-{NAMED}'\">"
FACTS = '<script id="page-facts" type="text/plain">{}</script>'
RUN = f"<script>{SCRIPT}</script>"


@pytest.mark.parametrize(
    ("page", "said"),
    [
        (f"{POLICY}a{FACTS}b{RUN}c", None),
        (f"{POLICY}{FACTS}{RUN}<title>http://a onload=b</title><style>https:</style><bdi id=x><img></bdi>", None),
        (f"{POLICY}{FACTS}{FACTS}{RUN}", "a script that such a page"),
        (f"{POLICY}{FACTS}{RUN}{RUN}", "a script that such a page"),
        (f"{POLICY}{FACTS.replace('page-', 'other-')}{RUN}", "a script that such a page"),
        (f"{POLICY}{FACTS}{RUN[:-1]}", "a script that such a page"),
        (f"{POLICY}{FACTS}{RUN.replace('1', '2')}", "a script that such a page"),
        (f"{POLICY}{FACTS}", "a script that such a page"),
        (f"{POLICY}{FACTS}{RUN}<SCRIPT src=x>", "a script that such a page"),
        (f"{POLICY}{FACTS}{RUN}</script>", "a script that such a page"),
        (f"{POLICY.replace('default', 'other')}{FACTS}{RUN}", "more than a page that needs no network"),
        *(
            (f"{POLICY}{FACTS}{RUN}{more}", "more than a page that needs no network")
            for more in (
                *("<iframe>", "<object>", "<embed>", "<link>", "<BASE>", "<img src=x>", "<frame>", "<applet>"),
                *("<p onclick = a>", "http://a", "https://a", "javascript:a"),
            )
        ),
    ],
)
def test_a_page_has_its_own_script_and_reaches_nothing(page: str, said: str | None) -> None:
    """A policy that names the script's hash keeps any other from running (W3C CSP 3, 6.7.3)."""
    if said is not None:
        with pytest.raises(ValueError, match=said):
            proofs.scripts_of(page, {"page-facts"})
        return
    texts, outside = proofs.scripts_of(page, {"page-facts"})
    assert texts == {"page-facts": "{}", "": SCRIPT}
    assert outside == page.replace(FACTS, "").replace(RUN, "")


def test_a_page_has_the_summary_s_findings_with_their_places() -> None:
    places = [{"first_row": 3, "last_row": 5, "first_column": 8, "last_column": 9}]
    told = [{"what": "It is odd.", "where": "row 3", "severity": "note", "places": places}]
    right = {"what": "It is odd.", "where": "row 3", "severity": "note", "places": [[2, 5, 7, 9]]}
    assert list(proofs._findings([right], told)) == list(proofs._findings([right], None)) == []
    other = {**right, "what": "C'est impair.", "where": "rang 3"}
    assert list(proofs._findings([other], told)) == [], "words may be in another language"
    for wrong in (
        [],
        [right, right],
        [{**right, "where": "row 4"}],
        [{**right, "severity": "warning"}],
        [{**other, "severity": "warning"}],
        *([{**other, "places": [place]}] for place in ([3, 5, 7, 9], [2, 6, 7, 9], [2, 5, 8, 9], [2, 5, 7, 8])),
    ):
        assert list(proofs._findings(wrong, told)) != []


def test_the_middle_of_the_differences_is_that_of_the_page_s_own_knots() -> None:
    """Of 4, 1, 9 and 3 steps of 0.25 the lower middle is 3, which is 0.75 and is told as 0.8; 255 is unknown."""
    made = make_map(np.repeat([0, 1], 10).reshape(2, 10), make_rug(10, 2, SQUARE))
    expected = expected_of(*settled(made))
    steps = np.full((2, 10), 255, dtype=np.uint8)
    steps[0, :4] = 4, 1, 9, 3

    def wrong(*middles: float | None) -> list[str]:
        facts = {"difference": {"step": 0.25}, "yarns": [{"difference": each} for each in middles]}
        return list(proofs._middles(facts, steps, replace(expected, yarns=made.yarns[:2])))

    assert wrong(0.8, None) == []
    assert wrong(1.0, None) == ["its difference of Y000 is 1.0, and its knots give 0.8"]
    assert wrong(0.8, 0.1) == ["its difference of Y001 is 0.1, and its knots give nothing"]
    assert wrong(None, None) == ["its difference of Y000 is nothing, and its knots give 0.8"]


def test_a_page_says_which_parts_are_low_and_where_grooves_run() -> None:
    made = make_map(np.arange(40).reshape(4, 10) % 2, make_rug(10, 4, SQUARE))
    level = replace(expected_of(*settled(made)), finished_mm=(10.0, 10.0))
    carve = Carve(
        grooves=("Y001 | Y000", "round Y001", "round Z9", "Y000 | Z9"), depth_mm=Fraction(3), width_mm=Fraction(5, 2)
    )
    grooved = {"heights": [], "grooves": [[1, 0], [1, None]], "depth": "3", "width": "2.5"}
    low = replace(level, finished_mm=(10.0, 7.5))
    assert proofs._carved(level, Carve()) is None
    assert proofs._carved(level, Carve(grooves=("round Z9",))) is None
    assert proofs._carved(level, carve) == grooved
    assert proofs._carved(low, carve) == {**grooved, "heights": ["10", "7.5"]}
    assert proofs._carved(low, Carve()) == {"heights": ["10", "7.5"], "grooves": [], "depth": "0", "width": "0"}


@pytest.mark.parametrize(
    ("cells", "pixels", "edges"),
    [
        (10, 240, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]),
        (10, 239, [0, 1, 2, 3, 4, 6, 7, 8, 9, 10]),
        (10, 50, [0, 5, 10]),
        (10, 20, [0, 10]),
    ],
)
def test_areas_are_at_least_two_dozen_pixels_wide(cells: int, pixels: int, edges: list[int]) -> None:
    found, places = proofs._areas(cells, pixels)
    assert found.tolist() == edges
    assert places.tolist() == [round(each * pixels / cells) for each in edges]


def test_an_area_covers_parts_of_its_outermost_cells() -> None:
    """Three cells of 4 pixels: an area from 2 to 10, a pixel within its edges, covers 1, 4 and 1 pixels of them."""
    covered = proofs._covered(np.array([2, 10]), 1, 3, 12)
    assert covered.tolist() == [[1.0, 4.0, 1.0]]
    assert proofs._covered(np.array([0, 6, 12]), 0, 3, 12).tolist() == [[4.0, 2.0, 0.0], [0.0, 2.0, 4.0]]
    light = np.arange(24, dtype=float).reshape(2, 4, 3)
    assert proofs._means(light, np.array([0, 2, 4]), 0).tolist() == [[7.5, 8.5, 9.5], [13.5, 14.5, 15.5]]
    wide = np.arange(36, dtype=float).reshape(1, 12, 3)
    assert proofs._means(wide, np.array([0, 6, 12]), 1).tolist() == [[7.5, 8.5, 9.5], [25.5, 26.5, 27.5]]
