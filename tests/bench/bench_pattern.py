"""How fast a full-size pattern is drawn from a large artwork, beside the obvious way of one polygon per run of pixels.

Run: ``python tests/bench/bench_pattern.py``. The artwork, 6 megapixels of outlined rosettes, is for a rug of 5 x 8 ft.
Processor seconds are printed, because other work on the machine does not change them much.
"""

from __future__ import annotations

import io
import time
import zlib

import numpy as np

from chartmaker.jobs.drawn import drawing_of
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.pattern import Pattern
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.lattice import Labels
from chartmaker.sheets.pattern.patternsheets import write_pattern_pdf
from chartmaker.yarns.yarn import Yarn

WIDTH, HEIGHT, YARNS = 1936, 3098, 8


def artwork() -> Labels:
    """Return the yarn of each pixel of a field of rosettes in a border."""
    row, column = np.mgrid[:HEIGHT, :WIDTH]
    down, across = row % 310 - 155, column % 242 - 121
    ring = np.hypot(down, across) + 14 * np.cos(6 * np.arctan2(down, across))
    labels = np.digitize(ring, (18, 40, 46, 88, 94, 128)).astype(np.int16)
    edge = np.minimum.reduce([row, column, HEIGHT - 1 - row, WIDTH - 1 - column])
    labels[edge < 150] = 7
    return labels


def runs_as_polygons(labels: Labels, width_mm: float) -> bytes:
    """Return the content of a PDF page that has a rectangle for each run of pixels of one yarn."""
    pixel = width_mm / labels.shape[1] * 72 / 25.4
    pieces = []
    for number, row in enumerate(labels):
        starts = np.flatnonzero(np.diff(row, prepend=-2))
        ends = np.append(starts[1:], len(row))
        y = (len(labels) - 1 - number) * pixel
        for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
            shade = row[start] / YARNS
            pieces.append(f"{shade:.3f} g {start * pixel:.3f} {y:.3f} {(end - start) * pixel:.3f} {pixel:.3f} re f")
    return zlib.compress("\n".join(pieces).encode())


def main() -> None:
    """Print the time and the size of both ways."""
    rug = Rug.model_validate({"size": "5x8ft", "density": "25x25 per dm", "technique": "tufted"})
    yarns = tuple(Yarn(f"Y{i}", f"Yarn {i}", (30 * i, 40, 90), (12.0 * i, 0.0, 0.0)) for i in range(YARNS))
    labels = artwork()
    down = np.linspace(0, HEIGHT - 1, rug.rows).astype(int)
    across = np.linspace(0, WIDTH - 1, rug.columns).astype(int)
    knot_map = KnotMap(labels[::-1][np.ix_(down, across)].astype(np.uint16), yarns, rug)
    workshop = Workshop(pattern=Pattern(roll="72 in"))
    begin = time.process_time()
    drawing = drawing_of(knot_map, workshop, labels)
    traced = time.process_time()
    stream = io.BytesIO()
    write_pattern_pdf(stream, drawing, workshop)
    ours, size = time.process_time() - begin, len(stream.getvalue())
    fields, lines = len(drawing.outlines.rings), len(drawing.outlines.lines)
    print(f"{labels.size / 1e6:.1f} megapixels, {fields} fields, {lines} thin lines")
    print(f"outlines: {traced - begin:.2f} s traced, {ours:.2f} s with the PDF, {size / 1e6:.2f} MB")
    begin = time.process_time()
    content = runs_as_polygons(labels, float(rug.woven_width_mm))
    print(f"a polygon a run: {time.process_time() - begin:.2f} s, {len(content) / 1e6:.2f} MB, no edge, no number")


if __name__ == "__main__":
    main()
