"""Verify reads the loom page back, whole or in parts, and the page is small enough to open on a phone."""

from __future__ import annotations

import json

import numpy as np
from support.looming import page_of
from support.making import make_map, make_rug

from chartmaker.figures.reckoning import figures_of
from chartmaker.order.workshop import Workshop
from chartmaker.pages.loom.page import loom_page
from chartmaker.pages.loom.parts import parts_of
from chartmaker.verify.expected import expected_of
from chartmaker.verify.looms import loom_differences, read_part
from chartmaker.verify.recount.whole import recount_of


def test_parts_together_are_the_map_and_one_that_is_missing_is_noticed() -> None:
    cells = np.random.default_rng(8).integers(0, 9, (70, 60))
    knot_map = make_map(cells, make_rug(60, 70), Workshop.model_validate({"chart": {"strips": 3}}))
    figures = figures_of(knot_map, knot_map.workshop)
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    parts = parts_of(knot_map, (range(20), range(20, 40), range(40, 60)), 700)
    pages = {part.file: "".join(loom_page(figures, part)).encode() for part in parts}
    assert len(pages) == 6
    assert list(loom_differences(pages, expected)) == []
    assert list(loom_differences({"loom.html": page_of(knot_map).encode()}, expected)) == []
    other = {name: page.replace(b'"lots":[]', b'"lots":[{"row":7,"code":"Y001"}]') for name, page in pages.items()}
    assert other != pages and any("lots" in each.what for each in loom_differences(other, expected))
    del pages["loom-2-2.html"]
    assert [each.what for each in loom_differences(pages, expected)] == ["rows of the map are on no loom page"]


def test_each_figure_that_the_page_reckons_with_is_read() -> None:
    """A weaver is told the metres left, the knots of a section and the days to come by them."""
    knot_map = make_map(np.random.default_rng(9).integers(0, 3, (90, 40)), make_rug(40, 90))
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    page = page_of(knot_map)
    facts = read_part(page.encode()).facts
    assert list(loom_differences({"loom.html": page.encode()}, expected)) == []
    for name, more in (("metres", 1), ("sectionRows", 1), ("knotsPerDay", 1), ("grams", 1), ("knots", 1)):
        value = facts["yarns"][1][name] if name in facts["yarns"][1] else facts[name]
        other = page.replace(f'"{name}":{json.dumps(value)}', f'"{name}":{json.dumps(value + more)}', 1)
        assert other != page
        assert len(list(loom_differences({"loom.html": other.encode()}, expected))) == 1, name


def test_two_million_knots_of_noise_stay_below_six_megabytes() -> None:
    cells = np.random.default_rng(1).integers(0, 250, (1600, 1250))
    assert len(page_of(make_map(cells, make_rug(1250, 1600))).encode()) < 6_000_000
