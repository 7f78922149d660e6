"""The data in a proof page are decoded with the standard library's own HTML, base64, zlib and JSON readers."""

from __future__ import annotations

import base64
import json
import zlib

import colour
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import knot_maps, make_map
from support.set_reader import scripts_of

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.colour import hex_of
from chartmaker.ground.findings import Finding
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.pages.proof.page import proof_page


def cells_of(text: str, knot_map: KnotMap) -> np.ndarray:
    raw = zlib.decompress(base64.b64decode(text))
    return np.frombuffer(raw, dtype=np.uint8).reshape(knot_map.rows, knot_map.columns)


def check_knots(page: str, knot_map: KnotMap) -> None:
    scripts = scripts_of(page)
    cells = cells_of(scripts["proof-knots"], knot_map).astype(int)
    assert ((cells == 255) == (knot_map.knots == NO_KNOT)).all()
    assert (cells[cells != 255] == knot_map.knots[knot_map.knots != NO_KNOT]).all()
    facts = json.loads(scripts["page-facts"])
    assert (facts["rows"], facts["columns"]) == knot_map.knots.shape
    assert [yarn["code"] for yarn in facts["yarns"]] == [yarn.code for yarn in knot_map.yarns]
    assert [yarn["srgb"] for yarn in facts["yarns"]] == [hex_of(yarn.srgb) for yarn in knot_map.yarns]
    counts = np.bincount(cells[cells != 255], minlength=len(knot_map.yarns))
    assert [yarn["knots"] for yarn in facts["yarns"]] == counts.tolist()


@settings(max_examples=40)
@given(knot_maps(most_yarns=255))
def test_every_knot_comes_back(knot_map: KnotMap) -> None:
    check_knots("".join(proof_page(knot_map)), knot_map)


def test_a_large_map_comes_back_over_many_pieces() -> None:
    """Noise cannot be compressed, so the base64 text runs over several pieces."""
    cells = np.random.default_rng(5).integers(0, 255, (1500, 1000))
    knot_map = make_map(cells)
    check_knots("".join(proof_page(knot_map)), knot_map)


@settings(max_examples=15)
@given(knot_maps(most_columns=25, most_rows=25), st.integers(0, 2**32 - 1))
def test_differences_are_those_of_the_reference_library(knot_map: KnotMap, seed: int) -> None:
    """The artwork has one pixel a knot, and the reference is CIEDE2000 of the library colour-science."""
    art = np.random.default_rng(seed).integers(0, 256, (knot_map.rows, knot_map.columns, 3), dtype=np.uint8)
    page = scripts_of("".join(proof_page(knot_map, Artwork(art))))
    facts = json.loads(page["page-facts"])
    found = cells_of(page["proof-difference"], knot_map)
    lab = colour.XYZ_to_Lab(
        colour.sRGB_to_XYZ(art[::-1] / 255), colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    )
    yarns = np.array([yarn.lab for yarn in knot_map.yarns])
    there = knot_map.knots != NO_KNOT
    expected = colour.delta_E(lab[there], yarns[knot_map.knots[there]], method="CIE 2000")
    assert (found[~there] == 255).all()
    step = facts["difference"]["step"]
    assert step == 0.1
    np.testing.assert_allclose(found[there] * step, np.minimum(expected, 25.4), rtol=0, atol=0.06)
    for number, yarn in enumerate(facts["yarns"]):
        of_yarn = expected[knot_map.knots[there] == number]
        assert (of_yarn <= yarn["difference"] + 0.06).mean() >= 0.5 or yarn["difference"] == 25.4
        assert (of_yarn < yarn["difference"] - 0.06).mean() < 0.5


def test_where_there_is_no_artwork_nothing_is_compared() -> None:
    knot_map = make_map(np.zeros((20, 30)))
    coverage = np.zeros((20, 30), dtype=np.uint8)
    coverage[:5] = 255  # the top row of the picture
    page = scripts_of("".join(proof_page(knot_map, Artwork(np.zeros((20, 30, 3), dtype=np.uint8), coverage))))
    found = cells_of(page["proof-difference"], knot_map)
    assert (found[:15] == 255).all()
    assert (found[15:] < 255).all()


@settings(max_examples=40)
@given(st.text(max_size=40), st.text(max_size=40))
def test_no_text_can_end_the_element_that_holds_it(what: str, where: str) -> None:
    knot_map = make_map(np.zeros((13, 13)))
    finding = Finding(f"</script><!--{what}", f"{where}\u2028<script>alert(1)</script>", "note", ((0, 1, 2, 3),))
    page = "".join(proof_page(knot_map, None, [finding], {"Y000": f"&lt;{what}"}))
    assert page.count("<script") == 3  # two elements hold data and one the page
    assert page.count("</script") == 3
    assert "<!--" not in page
    facts = scripts_of(page)["page-facts"]
    assert facts.isascii()
    assert not set("<>&\n") & set(facts)
    (told,) = json.loads(facts)["findings"]
    assert told["what"].startswith("</script><!--")
    assert told["places"] == [[0, 1, 2, 3]]
