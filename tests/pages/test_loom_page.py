"""The loom page in a real Chromium calls the rows of the map and keeps its place whatever happens."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from support.browsing import Tabs, browser, tabs
from support.looming import SPOKEN, calls_by_hand, new_context, opened, page_of
from support.making import SettledMap, make_rug, make_yarn

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop

__all__ = ["browser", "tabs"]

HOSTILE = "</script><img src=x onerror=\"document.title='broken'\"> ${1} {{data}} '\"&amp;"
RTL = "ورد جوري"
COLUMNS, ROWS = 61, 90
COLOURS = [(140, 40, 36), (32, 48, 92), (230, 218, 190), (96, 112, 66)]


def sample(name: str = HOSTILE, **chart: object) -> SettledMap:
    """Return a rug of odd width that mirrors both ways and has its corners left out."""
    rng = np.random.default_rng(5)
    quarter = rng.integers(0, 4, (15, 31)).repeat(3, axis=0).astype(np.uint16)
    quarter[:, 3:27] = np.where(rng.random((45, 1)) < 0.5, 1, quarter[:, 3:27])
    quarter[:4, :4] = NO_KNOT
    half = np.hstack([quarter, quarter[:, :-1][:, ::-1]])
    names = [HOSTILE, RTL, "Ivory", "Moss"]
    yarns = tuple(make_yarn(number, srgb) for number, srgb in enumerate(COLOURS))
    yarns = tuple(type(yarn)(yarn.code, named, yarn.srgb, yarn.lab) for yarn, named in zip(yarns, names, strict=True))
    workshop = Workshop.model_validate({"chart": {"strips": 2, **chart}})
    return SettledMap(np.vstack([half, half[::-1]]), yarns, make_rug(COLUMNS, ROWS, name=name), workshop)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("loom") / "loom.html"
    path.write_text(page_of(sample()), encoding="utf-8")
    return path


def names_of(knot_map: SettledMap) -> list[str]:
    return [yarn.called for yarn in knot_map.yarns]


def test_the_policy_forbids_every_request(browser: Tabs, file: Path) -> None:
    with opened(new_context(browser), file) as loom:
        policy = loom.page.get_attribute("meta[http-equiv]", "content") or ""
        assert policy.startswith("default-src 'none'; ")
        assert "unsafe" not in policy and "http" not in policy
        for source in ("new Image().src = 'https://example.invalid/a.png'", "fetch('https://example.invalid/b')"):
            loom.page.evaluate(f"() => {{ try {{ {source}; }} catch (fault) {{}} }}")
        loom.page.wait_for_function("window.violations.length >= 2")
        loom.page.evaluate("window.violations = []")
        loom.faults.clear()  # The policy refused these requests, as it should.
        loom.requests[1:] = []  # the requests were asked for, but refused before they left


def test_text_from_outside_stays_text(browser: Tabs, file: Path) -> None:
    with opened(new_context(browser), file) as loom:
        assert loom.page.title() == HOSTILE
        assert loom.words("h1") == HOSTILE
        loom.open("yarn-panel")
        assert HOSTILE in loom.words("#yarn-table")
        assert loom.page.locator("img").count() == 0
        assert RTL in loom.words("#yarn-table")


def test_on_a_telephone_no_table_is_cut_off_and_a_mirrored_rug_keeps_its_knot(browser: Tabs, tmp_path: Path) -> None:
    """Common practice: the hand that ties a knot open to the left ties it so in both halves."""
    path = tmp_path / "loom.html"
    for knot, said in (("asymmetric", "The knot itself is not mirrored."), ("symmetric", "")):
        plain = sample("Two halves")
        rug = plain.rug.model_copy(update={"knot": knot})
        yarns = tuple(replace(yarn, name="Mulberry cellar") for yarn in plain.yarns)
        path.write_text(page_of(SettledMap(plain.knots, yarns, rug, plain.workshop)), encoding="utf-8")
        with opened(new_context(browser, viewport={"width": 420, "height": 900}), path) as loom:
            assert loom.words("header").endswith(said or "mm")
            loom.open("yarn-panel")
            edge = "(id) => document.getElementById(id).getBoundingClientRect().right"
            assert loom.page.evaluate(edge, "yarn-table") <= 420 - 12


@pytest.mark.parametrize(("wide", "high"), [(320, 640), (390, 760), (1000, 800), (1024, 768), (1280, 800)])
def test_no_word_of_a_name_is_broken(browser: Tabs, tmp_path: Path, wide: int, high: int) -> None:
    names = ["Indigo midnight", "Mulberry cellar", "Unbleached highland", "Moss"]
    yarns = tuple(
        type(yarn)(yarn.code, name, yarn.srgb, yarn.lab) for yarn, name in zip(sample().yarns, names, strict=True)
    )
    knots = np.repeat(np.arange(4, dtype=np.uint16), 15)[None, :].repeat(20, axis=0)
    path = tmp_path / "loom.html"
    path.write_text(page_of(SettledMap(knots, yarns, make_rug(60, 20), Workshop())), encoding="utf-8")
    with opened(new_context(browser, viewport={"width": wide, "height": high}), path) as loom:
        for name in names:
            assert loom.words("#name") == name
            lines = loom.page.evaluate(
                """() => { const range = document.createRange();
                const words = document.createTreeWalker(document.getElementById("name"), 4).nextNode();
                return [...words.data.matchAll(/\\S+/g)].map((found) => {
                  range.setStart(words, found.index); range.setEnd(words, found.index + found[0].length);
                  return range.getClientRects().length; }); }"""
            )
            assert lines == [1] * len(name.split())
            assert loom.page.evaluate("document.documentElement.scrollWidth") <= wide
            loom.press("Space")


def test_the_place_survives_a_reload_in_the_middle_of_a_row(browser: Tabs, file: Path) -> None:
    context = new_context(browser)
    with opened(context, file) as loom:
        loom.go(7)
        loom.press("PageDown", "Space", "ArrowRight", "PageUp")
        assert loom.place == (7, 2)
        called = loom.words("#call")
        loom.reload()
        assert loom.place == (7, 2)
        assert loom.words("#call") == called
    with opened(context, file) as loom:  # the page is closed and opened again
        assert loom.place == (7, 2)


def test_a_row_is_called_to_its_end_and_the_next_begins(browser: Tabs, file: Path) -> None:
    knot_map = sample()
    with opened(new_context(browser), file) as loom:
        calls = calls_by_hand(knot_map.knots[0], names_of(knot_map))
        assert loom.words("#row") == "Row 1"
        assert loom.words("#other") == f"also row {ROWS}"
        loom.press(*["Space"] * len(calls))
        assert loom.words("#name") == "Row 1 is tied."
        assert "2 passes of weft" in loom.words("#reached")
        loom.press("Space")
        assert loom.place == (2, 0)
        loom.press("Backspace")
        assert loom.place == (1, len(calls))


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_the_calls_that_are_shown_and_spoken_are_those_of_the_map(browser: Tabs, file: Path, reading: str) -> None:
    knot_map = sample()
    with opened(new_context(browser, SPOKEN), file) as loom:
        loom.choose(reading=reading, speaking="call")
        for row in (0, 4, 44):
            loom.go(row + 1)
            loom.page.evaluate("() => { window.spoken = []; document.activeElement.blur(); }")
            loom.press("r")
            calls = calls_by_hand(knot_map.knots[row], names_of(knot_map), back=reading == "right to left")
            for call in calls:
                assert loom.words("#count") == str(call.knots)
                assert loom.words("#name") == call.name
                assert call.words() in loom.page.evaluate("document.getElementById('live').textContent")
                loom.press("Space")
            spoken = [said.split("|")[0] for said in loom.page.evaluate("window.spoken")]
            other = f"Row {row + 1}, which is also row {ROWS - row}"
            assert spoken[0] == f"{other}: {calls[0].words()}."
            assert spoken[1:-1] == [f"{call.words()}." for call in calls[1:]]


#: Replaces the browser's listening with one by which the test says what is heard (Web Speech API: `processLocally`,
#: `available`).
HEARING = """
window.SpeechRecognition = class {
  start() { window.listeners.push(this); } abort() { this.stopped = true; }
  static async available(asked) { return asked.processLocally ? "available" : "unavailable"; } };
Object.defineProperty(window.SpeechRecognition.prototype, "processLocally", { value: false, writable: true });
window.listeners = [];
window.hear = (words) => window.listeners[window.listeners.length - 1]
  .onresult({ results: [[{ transcript: words }]] });
"""


def test_a_spoken_answer_moves_the_place_and_other_talk_does_not(browser: Tabs, file: Path) -> None:
    with opened(new_context(browser, SPOKEN, HEARING), file) as loom:
        loom.go(7)
        loom.open("voice-panel")
        loom.page.check("#listening")
        assert loom.page.evaluate("window.listeners.map((each) => [each.processLocally, each.lang])") == [[True, "en"]]
        places = []
        for heard in (" Done", "tied", "three pink", "undone", "back", "again"):
            loom.page.evaluate("(words) => window.hear(words)", heard)
            places.append(loom.place)
        assert places == [(7, 1), (7, 2), (7, 2), (7, 2), (7, 1), (7, 1)]
        assert loom.page.evaluate("window.spoken.length") == 1  # the command "again"
        loom.page.evaluate("() => window.listeners[0].onend()")  # a browser stops listening after a silence
        assert loom.page.evaluate("window.listeners.length") == 2
        loom.page.uncheck("#listening")
        assert loom.page.evaluate("window.listeners[1].stopped")


def test_listening_over_a_network_is_not_offered(browser: Tabs, file: Path) -> None:
    far = HEARING.replace('? "available"', '? "downloadable"')
    with opened(new_context(browser, far), file) as loom:
        loom.open("voice-panel")
        assert not loom.page.is_visible("#listening")


#: Replaces the wake lock of the screen with one that notes what it was asked for (W3C Screen Wake Lock API).
SCREEN = """
window.asked = []; window.seen = "visible";
Object.defineProperty(document, "visibilityState", { get: () => window.seen });
Object.defineProperty(navigator, "wakeLock", { value: { request: async (what) => {
  const lock = new EventTarget(); window.asked.push(what);
  lock.release = async () => { window.asked.push("released"); lock.dispatchEvent(new Event("release")); };
  window.lock = lock; return lock; } } });
"""


def test_the_screen_stays_awake_while_the_page_is_seen(browser: Tabs, file: Path) -> None:
    with opened(new_context(browser, SCREEN), file) as loom:
        assert loom.page.evaluate("window.asked") == ["screen"]
        loom.press("PageDown", "PageDown")
        assert loom.page.evaluate("window.asked") == ["screen"]  # the screen is already kept awake
        hide = "(seen) => { window.seen = seen; document.dispatchEvent(new Event('visibilitychange')); }"
        # browsers release the lock when the page is hidden
        loom.page.evaluate("() => window.lock.dispatchEvent(new Event('release'))")
        loom.page.evaluate(hide, "hidden")
        assert loom.page.evaluate("window.asked") == ["screen"]
        loom.page.evaluate(hide, "visible")
        assert loom.page.evaluate("window.asked") == ["screen", "screen"]
        loom.open("look-panel")
        loom.page.uncheck("#awake")
        loom.page.wait_for_function("window.asked.length === 3")
        assert loom.page.evaluate("window.asked[2]") == "released"


def test_a_panel_is_printed_alone(browser: Tabs, file: Path, tmp_path: Path) -> None:
    """The printed PDF holds the panel's table, but neither calls nor keys."""
    with opened(new_context(browser, "window.print = () => {};"), file) as loom:
        loom.open("yarn-panel", "days-panel")
        called = loom.words("#done")
        loom.page.click("#yarn-panel-print")
        (tmp_path / "yarn.pdf").write_bytes(loom.page.pdf())
        loom.page.evaluate("() => window.dispatchEvent(new Event('afterprint'))")
        assert loom.page.is_visible("#done")
        (tmp_path / "all.pdf").write_bytes(loom.page.pdf())
    printed, whole = (
        "".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(tmp_path / name))
        for name in ("yarn.pdf", "all.pdf")
    )
    assert "Y002" in printed and "Ivory" in printed
    assert called not in printed and "Go to row" not in printed and "knots a day" not in printed
    assert called in whole
