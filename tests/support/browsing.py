"""A page in a real Chromium that cannot reach any network and notes what the page requests and what goes wrong."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

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


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


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
    context.set_default_timeout(10_000)
    page = context.new_page()
    seen = Visit(page)
    page.on("request", lambda request: seen.requests.append(request.url))
    page.on("pageerror", lambda error: seen.faults.append(str(error)))
    page.on("console", lambda told: None if NO_FAULT in told.text else seen.faults.append(told.text))
    page.on("dialog", lambda dialog: (seen.faults.append(dialog.message), dialog.dismiss()))
    page.add_init_script(
        "window.violations = []; document.addEventListener('securitypolicyviolation',"
        " event => window.violations.push(event.violatedDirective + ' ' + event.blockedURI));"
    )
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready]")
    yield seen
    assert seen.faults == []
    assert page.evaluate("window.violations") == []
    inside = ("blob:", "data:")
    assert {url.split("#")[0] for url in seen.requests if not url.startswith(inside)} == {path.as_uri()}
    page.close()
