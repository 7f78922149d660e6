"""How fast the chart's sheets are drawn, beside the obvious way of one rectangle and one string a cell.

Run: ``python tests/bench/bench_sheets.py``. The table goes to stdout; docs quote nothing that it does not print.
"""

from __future__ import annotations

import io
import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from support.making import SettledMap

from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Chart, Workshop
from chartmaker.paper.symbols import FIRST_CODE, symbol_font
from chartmaker.sheets.chart.cells import palette_of
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.chart.layout import Layout, layout_of
from chartmaker.yarns.yarn import Yarn

POINTS_PER_MM = 72 / 25.4


def ornament(width: str, length: str, yarns: int = 12) -> SettledMap:
    """Return a rug full of small ornament: outlined rosettes on a shading ground, with few runs of over six knots."""
    rug = Rug.model_validate({"name": "Bench", "width": width, "length": length, "density": "100 kpsi"})
    row, column = np.mgrid[: rug.rows, : rug.columns]
    ring = np.hypot((row % 48) - 24, (column % 40) - 20)
    petals = ring + 5 * np.cos(6 * np.arctan2((row % 48) - 24, (column % 40) - 20))
    knots = ((petals / 3.1).astype(int) + (row // 48 + column // 40) * 5) % yarns
    tones = np.linspace(20, 235, yarns).astype(int)
    card = tuple(
        Yarn(f"Y{i:02d}", f"Tone {i}", (int(t), int(255 - t), 120), (float(t) / 2.55, 0.0, 0.0))
        for i, t in enumerate(tones)
    )
    return SettledMap(knots.astype(np.uint16), card, rug, Workshop(chart=Chart(whole=True)))


def obvious(knot_map: SettledMap, layout: Layout, pages: int) -> bytes:
    """Draw only the cells of the first `pages` grid sheets, with a rectangle and a string for each."""
    stream = io.BytesIO()
    pdfmetrics.registerFont(TTFont("Knots", io.BytesIO(symbol_font()), shapable=False))
    palette = palette_of(knot_map.yarns, "both")
    frame = layout.frame
    canvas = Canvas(
        stream,
        pagesize=(frame.paper.width_mm * POINTS_PER_MM, frame.paper.height_mm * POINTS_PER_MM),
        pageCompression=1,
    )
    width, height = frame.cell_width_mm * POINTS_PER_MM, frame.cell_height_mm * POINTS_PER_MM
    for page in layout.pages[:pages]:
        canvas.setFont("Knots", height * 0.74)
        for r, row in enumerate(page.rows):
            for c, column in enumerate(page.columns):
                yarn = int(knot_map.knots[row, column])
                x, y = frame.grid.x_mm * POINTS_PER_MM + c * width, frame.grid.y_mm * POINTS_PER_MM + r * height
                canvas.setFillColorRGB(*palette.colours[yarn])
                canvas.rect(x, y, width, height, fill=1, stroke=1)
                canvas.setFillGray(1 if palette.dark[yarn] else 0)
                canvas.drawString(x + width * 0.13, y + height * 0.13, chr(FIRST_CODE + int(palette.glyphs[yarn])))
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def seconds(work: Callable[[], object]) -> float:
    """Return the processor time of one call."""
    start = time.process_time()
    work()
    return time.process_time() - start


class Counted(io.RawIOBase):
    """A stream that counts what is written to it and keeps nothing else."""

    length = 0

    def write(self, data: object) -> int:
        size = len(data)  # type: ignore[arg-type]
        self.length += size
        return size


def main() -> None:
    """Print the comparison."""
    knot_map = ornament("2 m", "3 m")
    layout = layout_of(knot_map, knot_map.workshop, 1)
    full = max(len(page.rows) * len(page.columns) for page in layout.pages)
    plain_pages = 6
    slow = obvious(knot_map, layout, 1)
    plain = [seconds(lambda: obvious(knot_map, layout, plain_pages)) / plain_pages for _ in range(3)]
    stream = Counted()
    write_chart(stream, knot_map, knot_map.workshop)  # type: ignore[arg-type]
    ours = [seconds(lambda: write_chart(io.BytesIO(), knot_map, knot_map.workshop)) / layout.sheets for _ in range(3)]
    print(f"{knot_map.columns} x {knot_map.rows} knots, {layout.sheets} sheets of A4, up to {full} cells a sheet")
    print("                                   sheets/s    bytes a sheet")
    print(f"one rect, one string a cell        {1 / min(plain):8.1f}    {len(slow):10,d}")
    print(f"the chart, with all that is on it  {1 / min(ours):8.1f}    {stream.length // layout.sheets:10,d}")
    print(f"ratio                              {min(plain) / min(ours):8.1f}")
    print("memory at its peak while writing (tracemalloc), by sheets:")
    for width, length in (("1 m", "1.5 m"), ("2 m", "3 m"), ("4 m", "6 m")):
        large = ornament(width, length)
        tracemalloc.start()
        sheets = write_chart(Counted(), large, large.workshop)  # type: ignore[arg-type]
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(f"  {sheets:6d} sheets, {large.knots.size:11,d} knots: {peak / 1e6:6.1f} MB")


if __name__ == "__main__":
    main()
