"""The chart is right to the knot: read back from the PDF by renderers that are no part of the project."""

from __future__ import annotations

import io
from pathlib import Path

import chart_reader as reader
import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rugs import rug_of

from chartmaker.knotmap import NO_KNOT, KnotMap
from chartmaker.sheets.chart import write_chart
from chartmaker.sheets.paper import SHEETS_MM

DRAWINGS = Path(__file__).parents[2] / "fixtures" / "drawings"


def chart_bytes(knot_map: KnotMap, **more: object) -> bytes:
    stream = io.BytesIO()
    write_chart(stream, knot_map, **more)  # type: ignore[arg-type]
    return stream.getvalue()


def read_back(data: bytes, knot_map: KnotMap, *, shrink: float = 1.0) -> None:
    """Compare every sheet's symbols and colours with the map; raise if a single cell differs.

    The colour is read from the rendered page, the symbol from the text layer through the sheet's own legend.
    """
    document, sheets = reader.read_chart(data)
    settings_ = knot_map.workshop.chart
    codes = [yarn.code for yarn in knot_map.yarns]
    colours = np.array([yarn.srgb for yarn in knot_map.yarns] + [(255, 255, 255)])
    wanted = np.where(knot_map.knots == NO_KNOT, len(codes), knot_map.knots)
    seen = np.zeros(wanted.shape, dtype=int)
    for sheet in sheets:
        printed = {}
        if settings_.marks != "symbol":
            printed = reader.cell_colours(sheet, reader.raster(document, sheet, 32 / min(sheet.pitch)))
        rows, columns = reader.turned(sheet)
        for row, rug_row in rows:
            for column, rug_column in columns:
                yarn = wanted[rug_row - 1, rug_column - 1]
                seen[rug_row - 1, rug_column - 1] += 1
                where = f"sheet {sheet.index + 1}, row {rug_row}, column {rug_column}"
                if printed:
                    assert np.abs(np.array(printed[row, column]) - colours[yarn]).max() <= 1, where
                if settings_.marks != "colour":
                    symbol = sheet.symbols.get((row, column))
                    assert (None if symbol is None else sheet.codes[symbol]) == (
                        None if yarn == len(codes) else codes[yarn]
                    ), where
    assert seen[wanted != len(codes)].min(initial=1) >= 1, "a knot is on no sheet"


@st.composite
def knot_maps(draw: st.DrawFn) -> KnotMap:
    """Maps of many sizes, shapes, yarns, on every paper."""
    rows = draw(st.integers(2, 70))
    columns = draw(st.integers(2, 70))
    yarns = draw(st.one_of(st.integers(1, 14), st.integers(15, 250)))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    run = draw(st.sampled_from([1, 3, 9]))
    knots = np.repeat(rng.integers(0, yarns, (rows, -(-columns // run))), run, axis=1)[:, :columns]
    if draw(st.booleans()):  # an outline
        y, x = np.mgrid[:rows, :columns]
        knots[((y + 0.5) / rows * 2 - 1) ** 2 + ((x + 0.5) / columns * 2 - 1) ** 2 > 1.1] = NO_KNOT
    if draw(st.booleans()):
        knots[:, columns - columns // 2 :] = knots[:, : columns // 2][:, ::-1]
    if draw(st.booleans()):
        knots[rows - rows // 2 :] = knots[: rows // 2][::-1]
    if (knots == NO_KNOT).all():
        knots[0, 0] = 0
    colours = rng.integers(0, 256, (yarns, 3))
    if yarns > 2 and draw(st.booleans()):
        colours[1] = colours[0]  # the symbol alone tells them apart
    across = draw(st.integers(4, min(60, 2 * columns)))
    along = min(max(across * draw(st.integers(6, 20)) // 10, 4), 2 * rows)
    return rug_of(
        knots,
        colours,
        density=(across, along),
        paper=draw(st.sampled_from(sorted(SHEETS_MM))),
        orientation=draw(st.sampled_from(["portrait", "landscape"])),
        cell=f"{draw(st.integers(20, 45)) / 10} mm",
        square=along * 2 > across * 5 or draw(st.booleans()),
        marks=draw(st.sampled_from(["both", "both", "symbol", "colour"])),
        strips=draw(st.integers(1, min(4, columns))),
        reading=draw(st.sampled_from(["left to right", "right to left"])),
        bold_every=draw(st.integers(2, 12)),
        whole=draw(st.booleans()),
    )


@settings(max_examples=220, deadline=None, suppress_health_check=list(HealthCheck))
@given(knot_maps())
def test_every_cell_of_every_sheet(knot_map: KnotMap) -> None:
    read_back(chart_bytes(knot_map), knot_map)
