"""The data that a loom page carries inside it, each part in a `script` element that a browser does not run.

``page-facts``
    JSON: the rug, its map's ``sha256``, the grid with the rows and columns that this page holds, ``strips`` as columns,
    ``yarns`` (``code``, ``name``, ``call``, ``srgb``, ``shape`` of the symbol as an SVG's path, ``cutMm`` and
    ``pileMm``, how high the pile is cut and finished, ``knots``, ``grams`` and ``metres`` of the whole rug as they are
    printed), ``bundles`` as printed, in grams by yarn for each section of ``sectionRows``, ``lots``, the row from 1 and
    the code of each yarn of which a new lot begins, how the rug mirrors (``alike``) and whether its knot has sides
    (``oneHanded``), the length of a row on the loom, the words of the page.
``loom-rows``
    A line a block of ``blockRows`` rows, the first from row ``lowestRow``: base64 of a zlib stream (RFC 1950) of a byte
    a cell, row by row from the first woven, each from column ``firstColumn`` as seen from the pile side. A byte is the
    number of a yarn in ``yarns``, counted from 0, or 255 where there is no knot.
``loom-marks``
    Four letters (base64) for each row of the rug: the first three bytes of the SHA-256 of its cells, each cell as the
    code of its yarn with a line feed behind it, a place without a knot as the line feed alone.
"""

from __future__ import annotations

import base64
import hashlib
import zlib
from collections.abc import Iterator
from typing import Any

import numpy as np

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.colour import hex_of
from chartmaker.ground.rounding import half_up
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mirrors import mirrors_of
from chartmaker.knots.strips import strips_of
from chartmaker.pages.frames import LANGUAGE, data_element, facts_element
from chartmaker.pages.loom.parts import Part
from chartmaker.pages.loom.words import COUNTED, SENTENCES
from chartmaker.pages.words import word_table
from chartmaker.paper.symbols import symbols_of
from chartmaker.paper.symbols.outlines import symbol_paths
from chartmaker.reports.words import one_handed, whole_grams, whole_metres
from chartmaker.yarns.yarn import lab_of

#: In the page: no knot.
NOTHING = 255
#: A block is unpacked at once, also by a slow processor; it has at most so many rows, and about so many cells.
_BLOCK_ROWS, _BLOCK_CELLS = 64, 60_000
#: Yarns darker than this (CIELAB lightness) carry white symbols, as on the chart.
_DARK_LIGHTNESS = 52.0


def block_rows(columns: int) -> int:
    """Return how many rows of so many columns go into a block."""
    return max(1, min(_BLOCK_ROWS, _BLOCK_CELLS // columns))


def packed_rows(knot_map: KnotMap, part: Part) -> Iterator[str]:
    """Yield the blocks of the rows of `part`, those below it that are shown included, a line each."""
    cells = knot_map.knots[part.lowest_row : part.rows.stop, part.columns.start : part.columns.stop]
    step = block_rows(len(part.columns))
    for row in range(0, len(cells), step):
        block = cells[row : row + step]
        stream = zlib.compress(np.where(block == NO_KNOT, NOTHING, block).astype(np.uint8).tobytes(), 9)
        yield ("\n" if row else "") + base64.b64encode(stream).decode("ascii")


def marks_of(knot_map: KnotMap) -> Iterator[str]:
    """Yield the marks of the rows, four letters each."""
    codes = np.array([f"{yarn.code}\n".encode("ascii") for yarn in knot_map.yarns] + [b"\n"], dtype=object)
    for row in knot_map.knots:
        said = b"".join(codes[np.minimum(row, len(knot_map.yarns))].tolist())
        yield base64.b64encode(hashlib.sha256(said).digest()[:3]).decode("ascii")


def loom_facts(figures: Figures, part: Part) -> dict[str, Any]:
    """Return the facts of the page for `part` of the rug."""
    knot_map, workshop, labour = figures.knot_map, figures.workshop, figures.labour
    rug, mirrors = knot_map.rug, mirrors_of(knot_map.knots)
    return {
        "language": LANGUAGE,
        "name": inert(rug.name),
        "code": knot_map.map_code,
        "sha256": knot_map.sha256,
        "rows": knot_map.rows,
        "columns": knot_map.columns,
        "firstRow": part.rows.start,
        "endRow": part.rows.stop,
        "lowestRow": part.lowest_row,
        "firstColumn": part.columns.start,
        "endColumn": part.columns.stop,
        "blockRows": block_rows(len(part.columns)),
        "strips": [[strip.start, strip.stop] for strip in strips_of(rug, workshop)],
        "pageStrip": part.strip,
        "parts": part.neighbours,
        "reading": workshop.chart.reading,
        "alike": {"across": mirrors.across, "along": mirrors.along},
        "oneHanded": one_handed(rug),
        "columnMm": float(rug.density.knot_width_mm),
        "rowMm": float(rug.density.knot_height_mm),
        "loomRowMm": figures.foundation.loom_length_mm / knot_map.rows,
        "picks": figures.foundation.picks,
        "sectionRows": len(figures.issue.sections[0]),
        "lots": [{"row": row, "code": inert(yarn.code)} for yarn, _, row in figures.issue.changes],
        "bundles": [[half_up(grams) for grams in section] for section in figures.issue.bundles_g.sum(axis=1).tolist()],
        "knotsPerDay": labour.weavers * labour.knots_per_weaver_day.best,
        "yarns": _yarns(figures),
        "after": part.after,
        "words": word_table(SENTENCES, COUNTED),
    }


def _yarns(figures: Figures) -> list[dict[str, Any]]:
    yarns = figures.knot_map.yarns
    shapes = symbol_paths(symbols_of(yarns).tolist())
    dark = lab_of(yarns)[:, 0] < _DARK_LIGHTNESS
    grams, metres = whole_grams(figures), whole_metres(figures)
    return [
        {
            "code": inert(line.yarn.code),
            "name": inert(line.yarn.name),
            "call": inert(line.yarn.called),
            "srgb": hex_of(line.yarn.srgb),
            "dark": bool(dark[index]),
            "shape": shapes[index],
            "knots": line.knots,
            "grams": int(grams[index]),
            "metres": int(metres[index]),
            "cutMm": round(line.cut_mm, 2),
            "pileMm": round(line.pile_mm, 2),
        }
        for index, line in enumerate(figures.pile.yarns)
    ]


def data_elements(figures: Figures, part: Part) -> Iterator[str]:
    """Yield the script elements that hold the data."""
    yield from facts_element(loom_facts(figures, part))
    yield from data_element("loom-rows", "text/plain", packed_rows(figures.knot_map, part))
    yield from data_element("loom-marks", "text/plain", marks_of(figures.knot_map))
