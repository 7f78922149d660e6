"""The loom page in a real browser is made from an array, opened from a folder, and read as a weaver would read it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import BrowserContext

from chartmaker.figures.reckoning import figures_of
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.pages.loom.page import loom_page
from support.browsing import Tabs, Visit, visited
from support.making import SettledMap

#: Notes in the window what the page would say aloud, in place of the browser's own voice.
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


@dataclass
class Loom(Visit):
    """A page at the loom, which tests read and work as a weaver would."""

    @property
    def place(self) -> tuple[int, int]:
        """The row, counted from 1, and how many of its calls are tied."""
        row, call = self.page.evaluate("document.documentElement.dataset.place").split("/")
        return int(row) + 1, int(call)

    def open(self, *panels: str) -> None:
        for panel in panels:  # the page fills a panel when it is told that it opened, which comes a moment later
            self.page.evaluate(
                """id => new Promise((filled) => { const panel = document.getElementById(id);
                if (panel.open) filled();
                panel.addEventListener("toggle", () => setTimeout(filled, 0), { once: true }); panel.open = true; })""",
                panel,
            )

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


def new_context(browser: Tabs, *scripts: str, **options: Any) -> BrowserContext:
    return browser.new_context(QUICK, *scripts, **{"viewport": {"width": 900, "height": 700}, **options})


@contextmanager
def opened(context: BrowserContext, path: Path) -> Iterator[Loom]:
    """Open a page of the loom, which must use no network, break no policy and raise no fault."""
    with visited(context, path) as seen:
        yield Loom(seen.page, seen.requests, seen.faults)


@dataclass(frozen=True)
class Call:
    """A call as the map gives it: places passed over, knots, the yarn's name, and whether one weaver ties it alone."""

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
    """Return the calls of a row, counted knot by knot as a person would.

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
