"""Measures how soon the example's loom page shows and how long a step takes, on a processor slowed down six times.

    python tests/bench/bench_loom.py
    python tests/bench/bench_loom.py --large      # a rug of 57 million knots, in parts; each is opened

The aim is a first paint within 1 s and 50 ms of work for a step, its layout included.
"""

from __future__ import annotations

import argparse
import dataclasses
import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from chartmaker.jobs import figures_of, make_map, read_map, read_order  # noqa: E402
from chartmaker.jobs.outputs import loom_page_writers  # noqa: E402
from chartmaker.knots.knotmap import KnotMap  # noqa: E402

SLOWER, STEPS = 6, 60
STEP = """async () => { const began = performance.now();
document.getElementById("done").click(); document.body.getBoundingClientRect();
const worked = performance.now() - began;
await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 0)));
return [worked, performance.now() - began]; }"""


LARGE_ROWS, LARGE_COLUMNS = 7600, 7500


def timed_page(page: Page, file: Path, steps: int) -> tuple[float, list[float], list[float]]:
    """Return milliseconds until the first paint, then, sorted, the work of each step and the time until it shows."""
    page.goto(file.as_uri())
    page.wait_for_selector("html[data-ready]")
    page.wait_for_timeout(500)
    painted = page.evaluate("performance.getEntriesByName('first-contentful-paint').map((e) => e.startTime)")
    times = []
    for _ in range(steps):
        times.append(page.evaluate(STEP))
        page.wait_for_timeout(220)
    worked, shown = (sorted(each) for each in zip(*times, strict=True))
    return painted[0], worked, shown


def enlarged(knot_map: KnotMap) -> KnotMap:
    """Return a rug of 57 million knots at the same density, made by laying the map beside and above itself."""
    times = (-(-LARGE_ROWS // knot_map.rows), -(-LARGE_COLUMNS // knot_map.columns))
    rug = knot_map.rug
    size = {"width_mm": 100 * LARGE_COLUMNS / rug.density.across_per_dm}
    size["length_mm"] = 100 * LARGE_ROWS / rug.density.along_per_dm
    large = rug.model_copy(update=size)
    knots = np.tile(knot_map.knots, times)[:LARGE_ROWS, :LARGE_COLUMNS]
    return dataclasses.replace(knot_map, knots=knots, rug=large)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--large", action="store_true")
    large = asked.parse_args().large
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        make_map(read_order(ROOT / "examples" / "quince_garden.toml"), folder / "knots.png")
        found = read_map(folder / "knots.png")
        knot_map = enlarged(found.knot_map) if large else found.knot_map
        began = time.process_time()
        writers = loom_page_writers(figures_of(knot_map, found.workshop))
        for file, write in writers.items():
            with (folder / file).open("wb") as stream:
                write(stream)
        print(f"{len(writers)} pages of {knot_map.tied:,} knots, {time.process_time() - began:.1f} s of a core")
        sizes = [(folder / file).stat().st_size for file in writers]
        print(f"{sum(sizes):,} bytes, {sum(sizes) / knot_map.tied:.2f} a knot; the largest page {max(sizes):,}")
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 390, "height": 760})
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        for file in writers:
            painted, worked, shown = timed_page(page, folder / file, 10 if large else STEPS)
            print(f"{file}: first paint {painted:.0f} ms at {SLOWER}x slower", end="; ")
            print(f"work of a step: median {worked[len(worked) // 2]:.1f} ms, worst {worked[-1]:.1f} ms", end="; ")
            print(f"until painted: median {shown[len(shown) // 2]:.1f} ms, worst {shown[-1]:.1f} ms")
        browser.close()


if __name__ == "__main__":
    main()
