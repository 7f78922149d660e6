"""The loom page holds to the map in spite of lost storage, odd clocks, several tabs and revised maps."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from support.browsing import Tabs, browser, tabs
from support.generated import generated_map
from support.looming import SPOKEN, calls_by_hand, new_context, opened, page_of
from support.making import SettledMap, make_map, make_rug

from chartmaker.figures.reckoning import figures_of
from chartmaker.order.workshop import Workshop
from chartmaker.pages.loom.page import loom_page
from chartmaker.pages.loom.parts import part_names, parts_of

__all__ = ["browser", "tabs"]

DENIED = "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });"
FULL = "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); };"
#: Steps through every row as a caller would, and returns what is shown and spoken at each call.
WALK = """(rows) => { const read = (id) => document.getElementById(id).textContent;
document.getElementById("place-panel").open = true;
const walked = (row) => { const told = [];
  document.getElementById("go-row").value = row;
  document.querySelector("#go button").click(); document.getElementById("again").click();
  for (let step = 0; step < 2000 && read("count") !== "✓"; step++) {
    const spoken = window.spoken[window.spoken.length - 1].split("|")[0];
    told.push([read("lift"), read("count"), read("name"), spoken]);
    document.getElementById("done").click(); }
  return told; };
return Array.from({ length: rows }, (_, row) => walked(row + 1)); }"""


def a_map(columns: int = 40, rows: int = 30, seed: int = 3, **chart: object) -> SettledMap:
    cells = np.random.default_rng(seed).integers(0, 3, (rows, columns // 2)).repeat(2, axis=1)
    workshop = Workshop.model_validate({"chart": chart})
    return make_map(cells, make_rug(columns, rows), workshop)


def written(folder: Path, knot_map: SettledMap, name: str = "loom.html") -> Path:
    path = folder / name
    path.write_text(page_of(knot_map), encoding="utf-8")
    return path


@pytest.mark.parametrize("start", range(0, 30, 10))  # every choice below with every other
def test_every_run_of_generated_maps_is_shown_and_spoken_right(browser: Tabs, tmp_path: Path, start: int) -> None:
    for number in range(start, start + 10):
        knot_map = generated_map(19, number, most=14)
        path = written(tmp_path, knot_map, f"{number}.html")
        names = [yarn.called for yarn in knot_map.yarns]
        order, most = ("lift", "row")[number % 2], (20, 0, 4)[number % 3]
        halved = number % 5 < 2 and knot_map.columns > 1 and bool((knot_map.knots == knot_map.knots[:, ::-1]).all())
        reading = ("left to right", "right to left")[number // 2 % 2]
        context = new_context(browser, SPOKEN)
        with opened(context, path) as loom:
            choices = {"order": order, "most": str(most), "reading": reading, "speaking": "call"}
            loom.choose(**choices, **({"way": ("half", "ends")[number % 2]} if halved else {}))
            every: list[list[list[str]]] = loom.page.evaluate(WALK, knot_map.rows)
            for row, told in enumerate(every):
                back = reading == "right to left"
                options = {"back": back, "half": halved, "lift": order == "lift", "most": most}
                wanted = calls_by_hand(knot_map.knots[row], names, **options)  # type: ignore[arg-type]
                assert len(told) == len(wanted), (number, row)
                for (lift, knots, name, spoken), call in zip(told, wanted, strict=True):
                    assert (int(knots), name) == (call.knots, call.name)
                    assert lift == call.words(order)[: len(lift)]
                    assert spoken.removesuffix(".").endswith(call.words(order)), (number, row, spoken)
        browser.take_back()


@pytest.mark.parametrize("fault", [DENIED, FULL], ids=["denied", "full"])
def test_where_storage_fails_the_address_keeps_the_place(browser: Tabs, tmp_path: Path, fault: str) -> None:
    with opened(new_context(browser, fault), written(tmp_path, a_map())) as loom:
        loom.go(9)
        loom.press("PageDown", "PageDown")
        assert loom.place == (9, 2)
        assert loom.page.locator("#not-kept").is_visible()
        assert loom.words("#not-kept-code") in loom.page.url
        loom.reload()
        assert loom.place == (9, 2)
        assert "does not keep" in loom.words("#not-kept")


def test_a_short_code_goes_from_device_to_device(browser: Tabs, tmp_path: Path) -> None:
    path = written(tmp_path, a_map())
    with opened(new_context(browser), path) as one, opened(new_context(browser), path) as other:
        one.choose(most="4", reading="right to left")
        one.go(12)
        one.press("PageDown")
        one.open("place-panel")
        other.open("place-panel")
        code = one.words("#short-code")
        for wrong, words in ((f"{code[:-1]}{'0' if code[-1] != '0' else '1'}", "not a short code"), ("ABCD", "not a")):
            other.page.fill("#typed-code", wrong)
            other.page.click("#code-form button")
            assert words in other.words("#place-answer")
        other.page.fill("#typed-code", code.lower().replace("-", " "))
        other.page.click("#code-form button")
        assert "row 12, call 2" in other.words("#question")
        assert "11 rows apart" in other.words("#question")
        other.press("PageDown")
        assert other.place == (1, 0)  # no step is possible while it is not settled where the rug is
        other.page.click("#question-answers button >> nth=0")
        assert other.place == (12, 1)
        assert other.page.input_value("#reading") == "right to left"
        other.page.fill("#typed-code", code)
        other.page.click("#code-form button")
        assert "same place" in other.words("#place-answer")


def test_a_saved_place_is_read_from_its_file_and_hostile_files_do_nothing(browser: Tabs, tmp_path: Path) -> None:
    path = written(tmp_path, a_map())
    with opened(new_context(browser), path) as loom:
        loom.go(5)
        loom.press("PageDown")
        with loom.page.expect_download() as download:
            loom.page.click("#save-place")
        saved = json.loads(Path(download.value.path()).read_text())
    with opened(new_context(browser), path) as loom:
        loom.open("place-panel")
        bad = [b"", b"[" * 100_000, b'{"what":"chartmaker loom place","rug":"Test rug","places":3,"choices":4}']
        bad.append(json.dumps(saved | {"rug": "<img src=x>"}).encode())
        bad.append(json.dumps(saved | {"places": {"-1": {"row": -4, "call": "x"}}}).encode())
        for data in bad:
            loom.page.set_input_files("#place-file", {"name": "p.json", "mimeType": "text/json", "buffer": data})
            loom.page.wait_for_timeout(50)
            if loom.page.locator("#question").is_visible():
                loom.page.click("#question-answers button >> nth=-1")
            assert loom.place == (1, 0)
        data = json.dumps(saved).encode()
        loom.page.set_input_files("#place-file", {"name": "p.json", "mimeType": "text/json", "buffer": data})
        loom.page.wait_for_selector("#question:not([hidden])")
        loom.page.click("#question-answers button >> nth=0")
        assert loom.place == (5, 1)


def test_two_tabs_follow_each_other_and_never_write_over_what_they_have_not_seen(browser: Tabs, tmp_path: Path) -> None:
    path, context = written(tmp_path, a_map()), new_context(browser)
    with opened(context, path) as one, opened(context, path) as other:
        one.go(4)
        other.page.wait_for_function("document.documentElement.dataset.place === '3/0'")
        assert other.place == (4, 0)
        # This tab heard nothing of the other, as where a browser lets it sleep; its own writing is no event to itself.
        other.page.evaluate(
            """() => { const key = Object.keys(localStorage).find((each) => each.length > 60);
            const record = JSON.parse(localStorage[key]);
            record.places["-1"] = { row: 19, call: 2 }; record.tab = "another"; record.serial += 5;
            localStorage[key] = JSON.stringify(record); }"""
        )
        other.press("PageDown")
        assert "Another tab went on to row 20, call 3" in other.words("#question")
        other.page.click("#question-answers button >> nth=0")
        assert other.place == (20, 2)
        one.page.wait_for_function("document.documentElement.dataset.place === '19/2'")


def test_a_revised_map_says_which_finished_rows_differ(browser: Tabs, tmp_path: Path) -> None:
    old = a_map()
    cells = old.knots.copy()
    cells[[2, 3, 7, 20], :2] = (cells[[2, 3, 7, 20], :2] + 1) % 3
    new = make_map(cells, old.rug, old.workshop)
    context = new_context(browser)
    with opened(context, written(tmp_path, old)) as loom:
        loom.go(12)
        loom.press("PageDown")
    with opened(context, written(tmp_path, new, "revised.html")) as loom:
        told = loom.words("#question")
        assert f"row 11, but it belongs to map {old.map_code}" in told or f"map {old.map_code}" in told
        assert "Of the 11 finished rows 3 differ in this map: rows 3–4, 8." in told
        loom.page.click("#question-answers button >> nth=0")
        assert loom.place == (12, 0)
    with opened(context, written(tmp_path, old)) as loom:
        assert loom.place == (12, 1)  # the old map keeps its own place


def test_a_clock_that_jumps_loses_no_row(browser: Tabs, tmp_path: Path) -> None:
    clock = (
        "window.day = 20; const Real = Date; Date = class extends Real { constructor() { super(2031, 4, day, 9); } };"
    )
    with opened(new_context(browser, clock), written(tmp_path, a_map())) as loom:
        loom.choose(unit="row")
        for day in (20, 21, 3):
            loom.page.evaluate(f"window.day = {day}")
            for _ in range(4):  # two rows are tied: knots first, then weft
                loom.page.click("#done")
        assert loom.place == (7, 0)
        loom.open("days-panel")
        days = loom.page.locator("#log-table tbody tr").all_inner_texts()
        assert [line.split() for line in days] == [
            ["2031-05-21", "2", "80"],
            ["2031-05-20", "2", "80"],
            ["2031-05-03", "2", "80"],
        ]
        assert "80 knots a day so far, over 2 days. At this pace 12 days are left." in loom.words("#pace")


def test_what_is_left_to_tie_agrees_with_the_map(browser: Tabs, tmp_path: Path) -> None:
    knot_map = a_map()
    with opened(new_context(browser), written(tmp_path, knot_map)) as loom:
        loom.go(11)
        calls = calls_by_hand(knot_map.knots[10], ["0", "1", "2"])
        loom.press("PageDown", "PageDown")
        loom.open("yarn-panel")
        left = np.bincount(knot_map.knots[10:].ravel(), minlength=3)
        for call in calls[:2]:
            left[int(call.name)] -= call.knots
        with loom.page.expect_download() as download:
            loom.page.click("#yarn-panel-csv")
        lines = Path(download.value.path()).read_text().splitlines()
        assert [int(line.split(",")[4]) for line in lines[2:]] == left.tolist()
        figures = figures_of(knot_map, knot_map.workshop)
        grams = [line.mass_g.best / line.knots for line in figures.pile.yarns]
        assert [float(line.split(",")[5]) for line in lines[2:]] == pytest.approx(left * grams, abs=1.5)
        loom.go(1)
        printed = figures.issue.bundles_g[0].sum(axis=0).tolist()  # what the sheets that go with the yarn say
        shown = loom.page.locator("#yarn-table tbody tr").evaluate_all("r => r.map((e) => e.cells[2].textContent)")
        assert [float(words) for words in shown] == printed


def test_the_page_says_from_which_row_on_a_yarn_is_of_a_new_lot(browser: Tabs, tmp_path: Path) -> None:
    """The rug has 30 rows of 2 mm and sections of 10 rows, and one yarn has a stock for the first of them."""
    plain = a_map()
    workshop = Workshop.model_validate({"loom": {"section": "2 cm", "weigh": "1 g"}})
    first_g = figures_of(plain, workshop).issue.bundles_g[0].sum(axis=0)[1]
    yarns = tuple(replace(yarn, stock_g=float(first_g) if n == 1 else None) for n, yarn in enumerate(plain.yarns))
    with opened(new_context(browser), written(tmp_path, SettledMap(plain.knots, yarns, plain.rug, workshop))) as loom:
        assert loom.words("#pile").endswith("; from row 11 on Y001 is of the new lot")
        for row in (10, 11, 12):
            loom.go(row)
            told = loom.page.locator("#lot-now").is_visible() and "Y001" in loom.words("#lot-now")
            assert told == (row == 11), "who calls is told when the row comes"


def test_a_rug_beaten_too_tight_says_where_it_will_end(browser: Tabs, tmp_path: Path) -> None:
    """The rug has 30 rows of 2 mm. After 20 rows 4 cm are due; 3.8 cm is 5 % short and would end at 5.7 cm, not 6."""
    with opened(new_context(browser), written(tmp_path, a_map())) as loom:
        assert loom.words("#of-rows") == "of 30 rows; none is finished yet"  # not "0.0 cm are due"
        assert (
            loom.words("#pile") == "pile cut 10 mm, finished 8.5 mm"
        )  # the usual heights, rounded to half millimetres
        loom.open("length-panel")
        assert loom.words("#length-due") == ""
        loom.go(21)
        assert loom.words("#of-rows") == "of 30 rows; 4.0 cm are due"
        loom.open("length-panel")
        assert "4.0 cm" in loom.words("#length-due")
        for typed, words in (("4.0", "The length is right"), ("3.8", "too tight"), ("4,2", "too loosely")):
            loom.page.fill("#measured", typed)
            loom.page.click("#length-form button")
            assert words in loom.words("#length-found")
            if typed == "3.8":
                assert "5.0 % too short" in loom.words("#length-found")
                assert "the rug ends at 5.7 cm, not at 6.0 cm" in loom.words("#length-found")
        loom.page.fill("#measured", "400")
        loom.page.click("#length-form button")
        assert "not a length" in loom.words("#measured-fault")


@pytest.mark.parametrize(
    ("look", "contrast", "wide"),
    [("light", False, 900), ("dark", False, 320), ("light", True, 320), ("dark", True, 900)],
)
def test_axe_core_finds_nothing_and_nothing_is_too_small(
    browser: Tabs, tmp_path: Path, look: str, contrast: bool, wide: int
) -> None:
    with opened(
        new_context(browser, viewport={"width": wide, "height": 700}), written(tmp_path, a_map(strips=2))
    ) as loom:
        loom.go(14)
        loom.choose(look=look)
        loom.page.set_checked("#contrast", contrast)
        panels = loom.page.locator("details").evaluate_all("all => all.map((each) => (each.open = true, each.id))")
        assert len(panels) == 7
        loom.page.wait_for_timeout(50)
        found = Axe().run(loom.page).response["violations"]
        assert [(each["id"], [node["html"] for node in each["nodes"]]) for each in found] == []
        small = loom.page.locator("button, select, summary, input").evaluate_all(
            """all => all.filter((each) => each.offsetParent !== null)
            .map((each) => [each.id || each.textContent, (each.closest("label") || each).getBoundingClientRect()])
            .filter(([, box]) => box.height < 44 || box.width < 44).map(([name]) => name)"""
        )
        assert small == []
        assert loom.page.evaluate("document.documentElement.scrollWidth") <= wide  # nothing scrolls sideways
        moving = "[...document.querySelectorAll('*')].some((e) => getComputedStyle(e).transitionDuration !== '0s')"
        assert not loom.page.evaluate(moving)


def test_the_page_works_by_touch_alone_and_by_keyboard_alone(browser: Tabs, tmp_path: Path) -> None:
    context = new_context(browser, viewport={"width": 390, "height": 700}, has_touch=True)
    with opened(context, written(tmp_path, a_map())) as loom:
        loom.page.touchscreen.tap(150, 150)
        loom.page.touchscreen.tap(150, 150)
        assert loom.place == (1, 2)
        loom.page.tap("#back")
        assert loom.place == (1, 1)
        loom.page.evaluate("() => { document.activeElement.blur(); window.scrollTo(0, 0); }")
        for _ in range(60):
            loom.press("Tab")
            if loom.page.evaluate("document.activeElement.closest('#calling-panel summary') !== null"):
                break
        loom.press("Enter", "PageDown")  # a pedal works whatever has the focus
        assert loom.place == (1, 2)
        assert loom.page.evaluate("document.getElementById('calling-panel').open")


def test_the_parts_of_a_large_rug_together_hold_all_of_it(browser: Tabs, tmp_path: Path) -> None:
    knot_map = a_map(60, 70, strips=3)
    strips = (range(20), range(20, 40), range(40, 60))
    parts = parts_of(knot_map, strips, 700)
    names = part_names(70, strips, 700)
    assert names == tuple(part.file for part in parts) and names[0] == "loom.html" and names[-1] == "loom-3-2.html"
    figures = figures_of(knot_map, knot_map.workshop)
    for part in parts:
        (tmp_path / part.file).write_text("".join(loom_page(figures, part)), encoding="utf-8")
    context = new_context(browser)
    with opened(context, tmp_path / "loom.html") as loom:
        loom.go(35)
        loom.choose(unit="row")
        loom.page.click("#done")
        loom.page.click("#done")
        assert "All rows of this part are woven" in loom.words("#name")
        loom.page.click("#next-part")
        loom.page.wait_for_selector("html[data-ready]")
        assert loom.page.url.split("#")[0].endswith("loom-1-2.html")
        assert loom.place == (36, 0)
        shown = calls_by_hand(knot_map.knots[35, :20], [yarn.called for yarn in knot_map.yarns])
        assert loom.words("#count") == str(shown[0].knots)
        loom.requests[:] = [(tmp_path / "loom.html").as_uri()]
