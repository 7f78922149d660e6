"""A page in a real Chromium that cannot reach any network and notes what the page requests and what goes wrong."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
#: Notes in the window whatever a page's own policy refuses.
WATCHED = (
    "window.violations = []; document.addEventListener('securitypolicyviolation',"
    " event => window.violations.push(event.violatedDirective + ' ' + event.blockedURI));"
)
#: Clears all that pages keep, which is one storage for all files of a disk, and says whether that could be done.
CLEARED = "() => { try { localStorage.clear(); sessionStorage.clear(); return true; } catch (fault) { return false; } }"
#: The tests read the canvas back far more often than the page does, and Chromium remarks on that.
NO_FAULT = "willReadFrequently"


@contextmanager
def chromium() -> Iterator[Browser]:
    program = shutil.which("chromium")
    assert program is not None, "Chromium is missing: install the Debian package chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


class Tabs:
    """The contexts of a browser, whose tabs serve one test after another, since a new one costs half a second.

    Parameters
    ----------
    browser : Browser
    blank : Path
        An empty page, which a tab shows between two tests.
    """

    def __init__(self, browser: Browser, blank: Path) -> None:
        self._browser, self._blank = browser, blank
        self._idle: dict[str, list[BrowserContext]] = {}
        self._lent: list[tuple[str, BrowserContext]] = []
        blank.write_text("<!doctype html><title>blank</title>", encoding="utf-8")

    def new_context(self, *scripts: str, **options: Any) -> BrowserContext:
        """Return a context with these options where nothing is kept, which runs `scripts` before those of each page."""
        kind = repr((scripts, sorted(options.items())))
        idle = self._idle.setdefault(kind, [])
        if idle:
            context = idle.pop()
        else:
            context = self._browser.new_context(**options)
            context.set_default_timeout(10_000)
            for script in (WATCHED, *scripts):
                context.add_init_script(script)
        self._lent.append((kind, context))
        return context

    def take_back(self) -> None:
        """Clear what was handed out for the next test: of each context one blank tab is left, and nothing stored."""
        for kind, context in self._lent:
            page, *others = context.pages or [context.new_page()]
            for other in others:
                other.close()
            _LEFT.pop(context, None)
            page.goto(self._blank.as_uri())
            page.mouse.move(0, 0)
            if page.evaluate(CLEARED):
                self._idle[kind].append(context)
            else:
                context.close()
        self._lent.clear()


#: The last page of a context that was visited, which is closed when another is, as there may be none.
_LEFT: dict[BrowserContext, Page] = {}


@pytest.fixture(scope="module")
def tabs(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tabs]:
    with chromium() as browser:
        yield Tabs(browser, tmp_path_factory.mktemp("tabs") / "blank.html")


@pytest.fixture
def browser(tabs: Tabs) -> Iterator[Tabs]:
    yield tabs
    tabs.take_back()


@dataclass
class Visit:
    """An open page, with everything that it requested and every fault, message and dialog."""

    page: Page
    requests: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def words(self, selector: str) -> str:
        return self.page.locator(selector).inner_text()


@contextmanager
def visited(context: BrowserContext, path: Path) -> Iterator[Visit]:
    """Open a page from its folder, and check in the end that it used no network, broke no policy and had no fault."""
    if context in _LEFT:
        _LEFT.pop(context).close()
    page = next((each for each in context.pages if each.title() == "blank"), None) or context.new_page()
    seen = Visit(page)
    heard: dict[str, Any] = {
        "request": lambda request: seen.requests.append(request.url),
        "pageerror": lambda error: seen.faults.append(str(error)),
        "console": lambda told: None if NO_FAULT in told.text else seen.faults.append(told.text),
        "dialog": lambda dialog: (seen.faults.append(dialog.message), dialog.dismiss()),
    }
    for event, hear in heard.items():
        page.on(event, hear)
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready]")
    yield seen
    assert seen.faults == []
    assert page.evaluate("window.violations") == []
    inside = ("blob:", "data:")
    assert {url.split("#")[0] for url in seen.requests if not url.startswith(inside)} == {path.as_uri()}
    for event, hear in heard.items():
        page.remove_listener(event, hear)
    if context in _LEFT:
        page.close()
    else:
        _LEFT[context] = page
