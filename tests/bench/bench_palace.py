"""How time and memory grow with the rug, up to palace carpets, beside the obvious general-purpose way.

Run: ``python tests/bench/bench_palace.py [--from KNOTS] [--upto KNOTS]``. Each rug is 1 : 2 at 12/60 (12 knots in
0.9 inch, 60 in 4.5 inch), all ornament, 10 colours, no mirroring, drawn at 1.4 pixels a knot. `chartmaker make` writes
its whole set. The other way only resizes and quantises with Pillow and draws each cell with reportlab, a rectangle and
a string each; it is run up to two million knots. The table goes to stdout.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
from PIL import Image

PIXELS_A_KNOT = 1.4
#: Numbers of columns and rows; the last two are a rug of 20 x 40 ft at 12/60 and one of 57 million knots.
GRIDS = ((500, 1000), (1000, 2000), (1600, 3200), (3200, 6400), (5340, 10_680))
GENERAL_UP_TO = 2_000_000
COLOURS = ["7b1e26", "20304f", "e8dcc0", "b98a3e", "3f5a3c", "8a5a3a", "d9b48a", "54648c", "a8514a", "2b211d"]


def draw_artwork(path: Path, columns: int, rows: int) -> None:
    """Draw outlined rosettes on a ground that changes, a band at a time, so that drawing takes little memory."""
    width, height = round(columns * PIXELS_A_KNOT), round(rows * PIXELS_A_KNOT)
    picture = Image.new("P", (width, height))
    picture.putpalette(bytes.fromhex("".join(COLOURS)))
    x = np.arange(width) / PIXELS_A_KNOT
    for top in range(0, height, 512):
        y = np.arange(top, min(top + 512, height))[:, None] / PIXELS_A_KNOT
        across, along = x % 60 - 30, y % 72 - 36
        ring = np.hypot(across, along) + 6 * np.cos(8 * np.arctan2(along, across))
        number = (x // 60 + 3 * (y // 72)).astype(int)
        label = np.where(np.abs(ring - 26) < 0.8, 9, (ring // 7).astype(int) % 4 * 2 + number % 2)
        picture.paste(Image.fromarray(label.astype(np.uint8)), (0, top))
    picture.convert("RGB").save(path, compress_level=1)


def write_rug(folder: Path, columns: int, rows: int) -> None:
    card = "code,name,colour\n" + "".join(f"Y{n:02d},Yarn {n},#{colour}\n" for n, colour in enumerate(COLOURS))
    (folder / "card.csv").write_text(card)
    (folder / "rug.toml").write_text(
        f"""[rug]
name = "Palace"
width = "{columns / 160:.6f} ft"
length = "{rows / 160:.6f} ft"
density = "12/60 indian"
[design]
artwork = "artwork.png"
style = "flat"
[yarns]
card = "card.csv"
[chart]
paper = "A3"
whole = true
"""
    )


def general(artwork: Path, columns: int, rows: int, out: Path) -> None:
    """Convert the obvious way: Pillow resizes and quantises, reportlab draws a rectangle and a string a cell."""
    from reportlab.pdfgen.canvas import Canvas

    Image.MAX_IMAGE_PIXELS = None
    small = Image.open(artwork).convert("RGB").resize((columns, rows), Image.Resampling.BOX).quantize(10)
    cells, palette = np.asarray(small), np.array(small.getpalette()).reshape(-1, 3) / 255
    canvas = Canvas(str(out), pagesize=(842, 1191))
    for top in range(0, rows, 120):
        for left in range(0, columns, 90):
            canvas.setFont("Helvetica", 6)
            for y, row in enumerate(cells[top : top + 120, left : left + 90].tolist()):
                for x, cell in enumerate(row):
                    canvas.setFillColorRGB(*palette[cell])
                    canvas.rect(30 + x * 8.5, 30 + y * 8.5, 8.5, 8.5)
                    canvas.drawString(32 + x * 8.5, 32 + y * 8.5, chr(65 + cell))
            canvas.showPage()
    canvas.save()


def measured(command: list[str], folder: Path) -> tuple[float, float]:
    """Return the seconds that a command takes and the greatest memory, in MB, of all its processes together."""
    began = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    peak, over = 0, threading.Event()

    def watch() -> None:
        nonlocal peak
        while not over.wait(0.02):
            peak = max(peak, sum(_resident_kb(number) for number in (process.pid, *_children(process.pid))))

    watcher = threading.Thread(target=watch)
    watcher.start()
    status = process.wait()
    over.set()
    watcher.join()
    if status:
        sys.exit(f"{' '.join(command)}: exit code {status}")
    return time.perf_counter() - began, peak / 1000


def _children(number: int) -> list[int]:
    try:
        return [int(child) for child in Path(f"/proc/{number}/task/{number}/children").read_text().split()]
    except OSError:
        return []


def _resident_kb(number: int) -> int:
    try:
        lines = Path(f"/proc/{number}/status").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("VmRSS")), 0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--upto", type=int, default=60_000_000, help="leave out rugs with more knots")
    parser.add_argument("--from", dest="least", type=int, default=0, help="leave out rugs with fewer knots")
    parser.add_argument("--general", nargs=4, metavar=("ARTWORK", "COLUMNS", "ROWS", "OUT"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.general:
        artwork, columns, rows, out = asked.general
        return general(Path(artwork), int(columns), int(rows), Path(out))
    print(f"{os.cpu_count()} cores")
    print("     knots (million)   make: s    s a million   memory MB   | general: s   s a million   memory MB")
    for columns, rows in GRIDS:
        knots = columns * rows
        if not asked.least <= knots <= asked.upto:
            continue
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            draw_artwork(folder / "artwork.png", columns, rows)
            write_rug(folder, columns, rows)
            make = [sys.executable, "-m", "chartmaker", "make", "rug.toml", "--out", "set", "--quiet"]
            seconds, megabytes = measured(make, folder)
            line = f"{knots / 1e6:20.2f} {seconds:9.0f} {seconds / knots * 1e6:14.1f} {megabytes:11.0f}   |"
            if knots <= GENERAL_UP_TO:
                way = [sys.executable, __file__, "--general", "artwork.png", str(columns), str(rows), "general.pdf"]
                seconds, megabytes = measured(way, folder)
                line += f" {seconds:10.0f} {seconds / knots * 1e6:13.1f} {megabytes:11.0f}"
            print(line, flush=True)
    return None


if __name__ == "__main__":
    main()
