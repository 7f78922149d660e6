"""The loom page of the example on a processor slowed down six times: how long until it shows, how long a step takes.

    python tests/bench/bench_loom.py

The aim is a first paint within 1 s and 50 ms of work for a step, its layout included.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from chartmaker.jobs import figures_of, make_map, read_map, read_order  # noqa: E402
from chartmaker.pages.loom.page import loom_page  # noqa: E402

SLOWER, STEPS = 6, 60
STEP = """async () => { const began = performance.now();
document.getElementById("done").click(); document.body.getBoundingClientRect();
const worked = performance.now() - began;
await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 0)));
return [worked, performance.now() - began]; }"""


def main() -> None:
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        make_map(read_order(ROOT / "examples" / "quince_garden.toml"), folder / "knots.png")
        found = read_map(folder / "knots.png")
        text = "".join(loom_page(figures_of(found.knot_map, found.workshop)))
        (folder / "loom.html").write_text(text, encoding="utf-8")
        print(f"{len(text.encode()):,} bytes, {len(text.encode()) / found.knot_map.tied:.2f} a knot")
        program = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 390, "height": 760})
        session = page.context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        page.goto((folder / "loom.html").as_uri())
        page.wait_for_selector("html[data-ready]")
        page.wait_for_timeout(500)
        painted = page.evaluate("performance.getEntriesByName('first-contentful-paint').map((e) => e.startTime)")
        print(f"first paint {painted[0]:.0f} ms at {SLOWER}x slower")
        times = []
        for _ in range(STEPS):
            times.append(page.evaluate(STEP))
            page.wait_for_timeout(220)
        worked, shown = (sorted(each) for each in zip(*times, strict=True))
        for what, values in (("work of a step", worked), ("step until painted", shown)):
            print(f"{what}: median {values[STEPS // 2]:.1f} ms, worst {values[-1]:.1f} ms")
        browser.close()


if __name__ == "__main__":
    main()
