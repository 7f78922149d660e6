"""The page of a collection in a real Chromium shows rugs to scale, finds, sorts and compares them, by keyboard too."""

from __future__ import annotations

import base64
import copy
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page
from support.browsing import Tabs, browser, tabs, visited
from support.making import make_rug, make_yarn

from chartmaker.knots.knotmap import KnotMap
from chartmaker.pages.collection.page import collection_page
from chartmaker.pages.collection.thumbnail import SIDE_PX, thumbnail, thumbnail_png

__all__ = ["browser", "tabs"]

HOSTILE = "</script><img src=x onerror=\"document.title='broken'\"> ${1} {{data}} '\"&amp;"


def picture() -> str:
    stream = io.BytesIO()
    Image.new("RGB", (20, 30), (160, 40, 32)).save(stream, "PNG")
    return base64.b64encode(stream.getvalue()).decode("ascii")


def a_set(name: str, width_cm: float, length_cm: float, knots: int, way: str, warnings: int = 0) -> dict[str, Any]:
    yarns = [{"code": "R1", "name": f"Madder {HOSTILE}", "srgb": "#a02820", "mass_g": knots / 100}]
    if way == "dusk":
        yarns.append({"code": "B1", "name": "Indigo", "srgb": "#202c60", "mass_g": 12.3})
    return {
        "name": name,
        "design": name.split("-")[0],
        "size": f"{width_cm:g}x{length_cm:g} cm",
        "colourway": way,
        "quality": "",
        "state": "made",
        "error": None,
        "exit_code": 0,
        "set": "all",
        "title": name,
        "map": f"{knots:08x}",
        "knots": knots,
        "width_cm": width_cm,
        "length_cm": length_cm,
        "density": "40x50 per dm",
        "mass_g": knots / 50,
        "pile_g": knots / 100,
        "weavers": 2,
        "days": knots / 12000,
        "weaver_days": knots / 6000,
        "cost": knots / 1000,
        "cost_complete": True,
        "currency": "EUR",
        "thumbnail": picture(),
        "yarns": yarns,
        "findings": {"error": 0, "warning": warnings, "note": 0},
        "remarks": [["warning", f"Two stray knots {HOSTILE}", "row 3"]] * warnings,
    }


def record() -> dict[str, Any]:
    sets = [
        a_set("harbour-small", 60, 90, 108_000, "dawn", warnings=2),
        a_set("harbour-large", 120, 180, 432_000, "dusk"),
        a_set("meadow-runner", 70, 300, 420_000, "dawn"),
    ]
    failed = {
        "name": "meadow-odd",
        "design": "meadow",
        "size": "",
        "colourway": "dusk",
        "quality": "",
        "state": "failed",
    }
    sets.append({**failed, "state": "failed", "error": f"the card has no yarn {HOSTILE}", "exit_code": 4})
    lot = {"from_stock": False, "wanted_g": 900.0, "mass_g": 1000.0, "hanks": 2, "vessel": "pot", "liquor_l": 40.0}
    lot |= {"by": "2027-02-15", "parts": 1, "rugs": {"harbour-small": 2}}
    shade = {"code": "R1", "name": HOSTILE, "srgb": "#a02820", "undyed": False, "mass_g": 800.0, "lots": [lot]}
    turn = {
        "loom": "north",
        "set": "harbour-small",
        "weavers": 2,
        "days": 9,
        "start": "2027-03-01",
        "end": "2027-03-10",
    }
    turn |= {"late_end": "2027-03-13", "yarn_by": "2027-02-15"}
    bought = {"what": "warp", "count": "Ne 10 x9", "amount": 812.3, "unit": "g", "by": "2027-02-15", "in_all": 1624.6}
    return {
        "collection": {"name": f"Season {HOSTILE}", "sets": 4, "made": 3, "failed": 1},
        "sets": sets,
        "store": {
            "pieces": 3,
            "shades": [shade],
            "purchases": [bought],
            "remarks": [],
            "cautions": ["Add acid to water."],
        },
        "looms": {"honest": "No promise.", "turns": [turn], "unplaced": [{"set": "harbour-large", "why": "too wide"}]},
    }


@pytest.fixture
def page(browser: Tabs, tmp_path: Path) -> Iterator[Page]:
    path = tmp_path / "collection.html"
    path.write_text("".join(collection_page(record())), encoding="utf-8")
    with visited(browser.new_context(viewport={"width": 1280, "height": 860}), path) as seen:
        yield seen.page


def shown(page: Page) -> list[str]:
    return page.locator("#rugs h3").all_text_contents()


NAMES = ["harbour-small", "harbour-large", "meadow-runner", "meadow-odd"]


def test_every_rug_is_there_to_scale_and_opens_its_set(page: Page) -> None:
    assert shown(page) == NAMES
    boxes = [image.bounding_box() for image in page.locator("#rugs img").all()]
    per_cm = {
        (round(b["width"] / w, 2), round(b["height"] / h, 2)) for b, (w, h) in zip(boxes, SIZES, strict=True) if b
    }
    assert len(boxes) == 3 and per_cm == {(0.7, 0.7)}
    assert page.locator("#rugs a").first.get_attribute("href") == "harbour-small/proof.html"
    first = page.locator("#rugs > li").first.inner_text()
    for words in ("60 x 90 cm", "108,000 knots", "2.16 kg", "9 days of 2 weavers", "108.00 EUR", "2 warnings"):
        assert words in first
    page.fill("#scale", "140")
    box = page.locator("#rugs img").first.bounding_box()
    assert box is not None and round(box["width"]) == 84


SIZES = [(60, 90), (120, 180), (70, 300)]


def test_hostile_names_stay_mere_text(page: Page) -> None:
    assert page.title() == f"Season {HOSTILE}"
    assert page.locator("img[src=x]").count() == 0
    assert f"the card has no yarn {HOSTILE}" in page.locator("#rugs > li").last.inner_text()
    page.locator("#rugs summary").first.click()
    assert HOSTILE in page.locator("#rugs details li").first.inner_text()
    assert HOSTILE in page.locator("#dye-order td").first.inner_text()


def test_rugs_are_found_filtered_and_sorted(page: Page) -> None:
    page.keyboard.press("/")
    page.keyboard.type("stray HARBOUR")
    assert shown(page) == NAMES[:1]
    assert page.locator("#shown").inner_text() == "1 of 4 sets"
    page.fill("#find", "no such rug")
    assert page.locator("#shown").inner_text() == "No rug is like that."
    page.fill("#find", "")
    page.select_option("#design", label="meadow")
    assert shown(page) == NAMES[2:]
    page.select_option("#design", label="any")
    for value, names in (("some", NAMES[:1]), ("none", NAMES[1:3]), ("failed", NAMES[3:]), ("", NAMES)):
        page.select_option("#finding", value)
        assert shown(page) == names
    for key, names in (
        ("knots", ["meadow-odd", "harbour-small", "meadow-runner", "harbour-large"]),
        ("area", ["meadow-odd", "harbour-small", "meadow-runner", "harbour-large"]),
        ("name", ["harbour-large", "harbour-small", "meadow-odd", "meadow-runner"]),
        ("findings", ["harbour-large", "meadow-runner", "harbour-small", "meadow-odd"]),
    ):
        page.select_option("#sort", key)
        assert shown(page) == names
    page.check("#downward")
    assert shown(page) == ["meadow-odd", "harbour-small", "meadow-runner", "harbour-large"]
    assert not page.locator("#quality").is_visible()  # there is nothing to choose from


def test_two_rugs_are_compared_by_keyboard_alone(page: Page) -> None:
    boxes = page.locator("#rugs input[type=checkbox]")
    boxes.nth(0).focus()
    page.keyboard.press("Space")
    assert "Choose a second rug to compare with harbour-small." in page.locator("#compared").inner_text()
    boxes.nth(1).focus()
    page.keyboard.press("Space")
    said = re.sub(r"\s+", " ", page.locator("#beside").inner_text())
    assert "Knots 108,000 knots 432,000 knots" in said
    assert "B1 Indigo none 0.01 kg" in said
    heights = [image.bounding_box() for image in page.locator("#beside img").all()]
    assert heights[0] and heights[1] and heights[0]["height"] * 2 == pytest.approx(heights[1]["height"], abs=1)
    boxes.nth(2).focus()
    page.keyboard.press("Space")
    assert [box.is_checked() for box in boxes.all()] == [False, True, True]
    page.keyboard.press("Escape")
    assert not page.locator("#compared").is_visible()
    assert [box.is_checked() for box in boxes.all()] == [False, False, False]
    assert page.evaluate("document.activeElement.type") == "checkbox"


def test_the_dye_order_the_purchases_and_the_looms_are_shown(page: Page) -> None:
    dye = page.locator("#dye-order tbody td").all_inner_texts()
    assert dye[1:] == ["0.80", "1", "pot", "1.00", "2", "40.0", "2027-02-15", "2 x harbour-small"]
    assert "Add acid to water." in page.locator("#dye-order").inner_text()
    assert page.locator("#purchases tbody td").all_inner_texts() == [
        *("warp", "Ne 10 x9", "0.81 kg", "2027-02-15", "1.62 kg")
    ]
    assert page.locator("#loom-plan tbody td").all_inner_texts()[:2] == ["north", "harbour-small"]
    assert "harbour-large: too wide" in page.locator("#loom-plan").inner_text()
    turn = page.locator(".gantt .turn").bounding_box()
    late = page.locator(".gantt .late").bounding_box()
    assert turn and late  # ten days, and then three more
    assert late["width"] / turn["width"] == pytest.approx(0.3, abs=0.02)
    assert "No promise." in page.locator("#loom-plan").inner_text()


def test_without_looms_the_page_says_how_to_give_them(browser: Tabs, tmp_path: Path) -> None:
    empty = copy.deepcopy(record())
    empty["looms"] = {"honest": "", "turns": [], "unplaced": []}
    path = tmp_path / "collection.html"
    path.write_text("".join(collection_page(empty)), encoding="utf-8")
    with visited(browser.new_context(), path) as seen:
        assert "give [looms.NAME]" in seen.words("#loom-plan")


def test_what_differs_in_the_parts_of_several_sizes_is_a_table(browser: Tabs, tmp_path: Path) -> None:
    """Parts that are not the same in all sizes each have a line, in hostile words too; a fixed design has none."""
    sized = record()
    same = ["band 1", "9 knots wide at the sides, 9 at the ends"]
    sized["sets"][0]["parts"] = [["field", "32 x 52 knots"], same, ["band 1, across", f"3 repeats {HOSTILE}"]]
    sized["sets"][1]["parts"] = [["field", "52 x 92 knots"], same]
    path = tmp_path / "collection.html"
    path.write_text("".join(collection_page(sized)), encoding="utf-8")
    with visited(browser.new_context(), path) as seen:
        cells = seen.page.locator("#laid th, #laid td").all_inner_texts()
        assert cells == [
            *("Part", "60x90 cm", "120x180 cm"),
            *("field", "32 x 52 knots", "52 x 92 knots"),
            *("band 1, across", f"3 repeats {HOSTILE}", "none"),
        ]
        assert seen.page.locator('nav a[href="#laid-part"]').is_visible()
    path.write_text("".join(collection_page(record())), encoding="utf-8")
    with visited(browser.new_context(), path) as seen:
        assert not seen.page.locator("#laid-part").is_visible()
        assert not seen.page.locator('nav a[href="#laid-part"]').is_visible()


def test_a_small_picture_is_the_mean_light_of_the_knots_under_it() -> None:
    # Half of the knots are red and half white: by hand, the mean of linear light by area (Grassmann's law).
    knots = np.indices((720, 360)).sum(axis=0) % 2
    knots[:360, :] = 0
    yarns = (make_yarn(0, (139, 26, 26)), make_yarn(1, (31, 58, 95)))
    knot_map = KnotMap(knots.astype(np.uint16), yarns, make_rug(360, 720, "10x10 per dm"))
    small = thumbnail(knot_map)
    assert max(small.shape[:2]) == SIDE_PX
    top, foot = small[2, 5, :3], small[-3, 5, :3]
    assert tuple(foot) == (139, 26, 26)
    assert tuple(top) == (0x67, 0x2D, 0x47)  # the published value for an equal blend: #672d47
    with Image.open(io.BytesIO(thumbnail_png(knot_map))) as png:
        assert png.size == (small.shape[1], small.shape[0])
