"""The loom page in a real browser: made of an array, opened from a folder, read as a weaver would."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from chartmaker.figures.reckoning import figures_of
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.pages.loom.page import loom_page
from support.making import SettledMap

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
#: Notes in window what the page would say aloud, in place of the browser's own voice.
SPOKEN = """
window.spoken = [];
window.SpeechSynthesisUtterance = function (words) { this.words = words; };
Object.defineProperty(window, "speechSynthesis", { value: {
  speak: (told) => window.spoken.push(told.words + "|" + told.rate + "|" + told.lang), cancel: () => {},
  getVoices: () => [{ name: "Nadezh", lang: "cs-CZ" }], addEventListener: () => {},
} });
"""
#: Lets steps follow each other as fast as a test makes them.
QUICK = "let ms = 0; performance.now = () => (ms += 1000);"


def page_of(knot_map: SettledMap) -> str:
    return "".join(loom_page(figures_of(knot_map, knot_map.workshop)))


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = shutil.which("chromium")
    assert program is not None, "Chromium is missing: install the Debian package chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


@dataclass
class Loom:
    """A page at the loom, with what it asked of the world."""

    page: Page
    path: Path
    requests: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def place(self) -> tuple[int, int]:
        """The row, counted from 1, and the calls of it that are tied."""
        row, call = self.page.evaluate("document.documentElement.dataset.place").split("/")
        return int(row) + 1, int(call)

    def words(self, selector: str) -> str:
        return self.page.locator(selector).inner_text()

    def open(self, *panels: str) -> None:
        for panel in panels:
            self.page.evaluate("id => { document.getElementById(id).open = true; }", panel)

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def go(self, row: int) -> None:
        self.open("place-panel")
        self.page.fill("#go-row", str(row))
        self.page.click("#go button")

    def choose(self, **choices: str) -> None:
        self.open("calling-panel", "voice-panel", "look-panel")
        for name, value in choices.items():
            self.page.select_option(f"#{name}", value)

    def reload(self) -> None:
        self.page.reload()
        self.page.wait_for_selector("html[data-ready]")


def new_context(browser: Browser, *scripts: str, **options: Any) -> BrowserContext:
    context = browser.new_context(**{"viewport": {"width": 900, "height": 700}, **options})
    context.set_default_timeout(10_000)
    for script in (QUICK, *scripts):
        context.add_init_script(script)
    return context


@contextmanager
def opened(context: BrowserContext, path: Path) -> Iterator[Loom]:
    """Open a page; it must ask nothing of any network, break no policy and raise no fault."""
    page = context.new_page()
    loom = Loom(page, path)
    page.on("request", lambda request: loom.requests.append(request.url))
    page.on("pageerror", lambda error: loom.faults.append(str(error)))
    page.on("console", lambda told: loom.faults.append(told.text))
    page.on("dialog", lambda dialog: (loom.faults.append(dialog.message), dialog.dismiss()))
    page.add_init_script(
        "window.violations = []; document.addEventListener('securitypolicyviolation',"
        " event => window.violations.push(event.violatedDirective + ' ' + event.blockedURI));"
    )
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready]")
    yield loom
    assert loom.faults == []
    assert page.evaluate("window.violations") == []
    assert {request.split("#")[0] for request in loom.requests if not request.startswith("blob:")} == {path.as_uri()}


@dataclass(frozen=True)
class Call:
    """A call as the map gives it: places passed over, knots, the yarn's name, whether one weaver ties it alone."""

    lift: int
    knots: int
    name: str
    edge: bool = False
    middle: bool = False

    def words(self, order: str = "row") -> str:
        lift = f"{'lift' if order == 'lift' else 'skip'} {self.lift}, " if self.lift else ""
        alone = "in the middle, for one weaver alone, " if self.middle else ""
        return f"{'from the edge again, ' if self.edge else ''}{lift}{alone}{self.knots} {self.name}"


def calls_by_hand(
    cells: np.ndarray, names: list[str], *, back: bool = False, half: bool = False, lift: bool = False, most: int = 20
) -> list[Call]:
    """Return the calls of a row, knot by knot, as a person would count them.

    Parameters
    ----------
    cells : ndarray of int, shape (columns,)
        Of the strip that is called.
    """
    row = [int(cell) for cell in (cells[::-1] if back else cells)]
    middle = len(row) // 2 if half and len(row) % 2 else -1
    told = row[: -(-len(row) // 2)] if half else row
    passes = [None]
    if lift:
        passes = list(dict.fromkeys(cell for cell in told if cell != NO_KNOT))
    found: list[Call] = []
    for colour in passes:
        first, passed, place = True, 0, 0
        while place < len(told):
            wanted = told[place] != NO_KNOT if colour is None else told[place] == colour
            if not wanted:
                passed, place = passed + 1, place + 1
                continue
            knots, start = 0, place
            while place < len(told) and told[place] == told[start] and knots < (most or len(told)):
                if place == middle and place != start:
                    break
                knots, place = knots + 1, place + 1
                if start == middle:
                    break
            edge = lift and first and bool(found)
            found.append(Call(passed, knots, names[told[start]], edge, start == middle))
            passed, first = 0, False
    return found
