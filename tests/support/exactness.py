"""A knot map is printed in every form, and each form is read back to knots."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import BinaryIO

import numpy as np

from chartmaker.figures.reckoning import figures_of
from chartmaker.jobs.outputs import put_rows_csv, put_text
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.pages.loom.page import loom_page
from chartmaker.pages.proof.page import proof_page
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from support import set_reader
from support.making import SettledMap, settled

#: The forms that are read back; the chart shows its cells by symbols, by colours, or by both.
FORMS = ("knots.png", "chart.pdf symbols", "chart.pdf colours", "rows.pdf", "rows.csv", "proof.html", "loom.html")


def wrong_cells(knot_map: SettledMap, printed: SettledMap) -> dict[str, tuple[int, int]]:
    """Return (cells read back, cells unlike those of `knot_map`) for each of FORMS, as `printed` has them.

    A form that the map's chart lacks is left out.
    """
    codes = np.array([*(yarn.code for yarn in knot_map.yarns), ""])
    wanted = codes[np.minimum(knot_map.knots, len(knot_map.yarns))]
    shape = wanted.shape
    chart = knot_map.workshop.chart
    read = {
        "knots.png": set_reader.png_grid(_bytes(lambda stream: write_knotpng(stream, *settled(printed)))),
        "rows.csv": set_reader.csv_grid(_bytes(lambda stream: put_rows_csv(stream, *settled(printed), None)), shape),
        "rows.pdf": set_reader.rows_grid(_bytes(lambda stream: write_rows_pdf(stream, *settled(printed))), shape),
        "proof.html": set_reader.page_grid(
            _bytes(lambda stream: put_text(stream, proof_page(printed))).decode("utf-8")
        ),
    }
    figures = figures_of(printed, printed.workshop)
    read["loom.html"] = set_reader.loom_grid("".join(loom_page(figures)))
    sheets = _bytes(lambda stream: write_chart(stream, printed, printed.workshop))
    told = set_reader.chart_grids(sheets, shape, marks=chart.marks, counts=chart.counts)
    outside = knot_map.knots == NO_KNOT  # there are no sheets that hold nothing else
    if chart.marks != "colour":
        read["chart.pdf symbols"] = np.where(outside & (told.codes == set_reader.UNSAID), "", told.codes)
    found = {form: (wanted.size, set_reader.differing(grid, wanted)) for form, grid in read.items()}
    if chart.marks != "symbol":
        colours = np.array([*(yarn.srgb for yarn in knot_map.yarns), (255, 255, 255)])
        off = np.abs(told.colours - colours[np.minimum(knot_map.knots, len(knot_map.yarns))]).max(axis=-1) > 1
        off &= ~(outside & (told.colours[..., 0] == -1))
        found["chart.pdf colours"] = (wanted.size, int(off.sum()))
    return {form: found[form] for form in FORMS if form in found}


def _bytes(write: Callable[[BinaryIO], object]) -> bytes:
    stream = io.BytesIO()
    write(stream)
    return stream.getvalue()
