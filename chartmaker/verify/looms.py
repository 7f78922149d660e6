"""The loom page is read back by code of its own: every cell, every run, and what the page says of the rug."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import math
import re
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import hex_of
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.verify.difference import Difference
from chartmaker.verify.expected import Expected
from chartmaker.verify.proofs import UNREADABLE, scripts_of
from chartmaker.verify.tables import same_knots, unlike

#: The names that a loom page's files may have; the page of a large rug has further parts.
FILE = re.compile(r"loom(-[1-9]\d{0,2}-[1-9]\d{0,3})?\.html")
#: How the page writes a place without a knot.
NOTHING = 255
#: Neither a section of the rug nor a block has more rows than this.
MOST_BLOCK_CELLS = 4_000_000
DATA = {"page-facts", "loom-rows", "loom-marks"}


@dataclass(frozen=True, eq=False)
class LoomPart:
    """What one file says: its facts, and its cells from `lowest_row` and `first_column` on."""

    facts: dict[str, Any]
    outside: str
    marks: str
    lowest_row: int
    first_column: int
    cells: KnotArray


def read_part(data: bytes) -> LoomPart:
    """Return what a file of a loom page says.

    Raises
    ------
    ValueError
        If it cannot be read, or holds more than such a page.
    """
    try:
        texts, outside = scripts_of(data.decode("utf-8"), DATA)
        facts = json.loads(texts["page-facts"])
        rows = range(int(facts["lowestRow"]), int(facts["endRow"]))
        columns = range(int(facts["firstColumn"]), int(facts["endColumn"]))
        step = int(facts["blockRows"])
        if min(len(rows), len(columns), step) < 1 or step * len(columns) > MOST_BLOCK_CELLS:
            raise ValueError(say("its grid is not a grid"))
        blocks = texts["loom-rows"].split("\n")
        sizes = [min(step, rows.stop - row) * len(columns) for row in rows[::step]]
        cells = np.concatenate([_block(*each) for each in zip(blocks, sizes, strict=True)])
    except UNREADABLE as error:
        raise ValueError(say("does not hold a rug that can be read: {error}", error=repr(error))) from error
    knots = cells.reshape(len(rows), len(columns)).astype(np.uint16)
    knots[knots == NOTHING] = NO_KNOT
    return LoomPart(facts, outside, texts["loom-marks"], rows.start, columns.start, knots)


def _block(packed: str, size: int) -> NDArray[np.uint8]:
    unpacking = zlib.decompressobj()
    cells = unpacking.decompress(base64.b64decode(packed, validate=True), size)
    if len(cells) != size or unpacking.unconsumed_tail or not unpacking.eof:
        raise ValueError(say("a block of rows has another size"))
    return np.frombuffer(cells, dtype=np.uint8)


def loom_differences(pages: Mapping[str, bytes], expected: Expected) -> Iterator[Difference]:
    """Yield how the loom page, whose files are given by name, differs from the map."""
    covered = np.zeros((expected.rows, expected.columns), dtype=bool)
    for name, data in pages.items():
        try:
            part = read_part(data)
            yield from (Difference(name, words) for words in _differences(part, expected, covered))
        except UNREADABLE as error:
            yield Difference(name, str(error))
    if not covered.all() and pages:
        yield Difference(next(iter(pages)), say("rows of the map are on no loom page"))


def _differences(part: LoomPart, expected: Expected, covered: NDArray[np.bool_]) -> Iterator[str]:
    yield from unlike(part.facts, _wanted(expected), "")
    yield from _measures(part.facts, expected)
    titles = re.findall(r"<(?:title|bdi id=\"rug-name\")>(.*?)</", part.outside, re.DOTALL)
    named = [html.unescape(each) for each in titles] == [inert(expected.rug.name)] * 2
    coded = re.search(rf"<span class=\"code\">(?:[^<]*\W)?{expected.code}(?:\W[^<]*)?</span>", part.outside)
    if not named or coded is None:
        yield say("its title is not the rug's name with the map code")
    if part.marks != "".join(_marks(expected)):
        yield say("its marks of rows, which tell one map from another, are not the map's")
    height, width = part.cells.shape
    place = np.s_[part.lowest_row : part.lowest_row + height, part.first_column : part.first_column + width]
    wanted = expected.knots[place]
    if wanted.shape != part.cells.shape:
        yield say("it holds rows or columns that the rug does not have")
        return
    if words := same_knots(part.cells, wanted):
        yield words
    yield from _runs(part, expected)
    told = np.s_[int(part.facts["firstRow"]) : part.lowest_row + height, place[1]]
    if covered[told].any():
        yield say("it tells rows that another page tells as well")
    covered[told] = True


def _wanted(expected: Expected) -> dict[str, Any]:
    knots = expected.knots
    return {
        "name": inert(expected.rug.name),
        "code": expected.code,
        "sha256": expected.sha256,
        "rows": expected.rows,
        "columns": expected.columns,
        "strips": [[strip.start, strip.stop] for strip in expected.strips],
        "reading": expected.chart.reading,
        "alike": {
            "across": expected.columns > 1 and bool((knots == knots[:, ::-1]).all()),
            "along": expected.rows > 1 and bool((knots == knots[::-1]).all()),
        },
        "yarns": [
            {
                "code": yarn.code,
                "name": inert(yarn.name),
                "call": inert(yarn.call or yarn.name),
                "srgb": hex_of(yarn.srgb),
            }
            for yarn in expected.yarns
        ],
        "lots": [
            {"row": int(lot["lot_row"].replace(",", "")), "code": inert(lot["lot_code"])} for lot in expected.lots
        ],
        "oneHanded": expected.rug.knot != "symmetric",
        "picks": expected.loom_numbers.get("picks", 2),
    }


def _measures(facts: dict[str, Any], expected: Expected) -> Iterator[str]:
    """Yield which lengths and masses are not the rug's, and whether two yarns share a symbol."""
    row_mm = float(expected.rug.density.knot_height_mm)
    measures = {
        "rowMm": row_mm,
        "columnMm": float(expected.rug.density.knot_width_mm),
        "loomRowMm": row_mm * expected.loom_length_factor,
    }
    for name, value in measures.items():
        if not math.isclose(facts[name], value, rel_tol=1e-9):
            yield say("its {name} is {words!r}, not the map's", name=name, words=facts[name])
    for index, yarn in enumerate(facts["yarns"]):
        knots = int(expected.counts[index])
        if expected.grams and (yarn["knots"] != knots or abs(yarn["grams"] - expected.grams[index]) >= 1):
            code = expected.yarns[index].code
            yield say("it gives {code} {printed!r}", code=code, printed=yarn["grams"])
        if expected.metres and abs(yarn["metres"] - expected.metres[index]) >= 1:
            yield say("it gives {code} another length", code=expected.yarns[index].code)
        if expected.heights_mm and (yarn["cutMm"], yarn["pileMm"]) != tuple(
            round(mm, 2) for mm in expected.heights_mm[index]
        ):
            yield say("it gives the pile of {code} another height", code=expected.yarns[index].code)
    if expected.bundles_g and facts["bundles"] != [[math.floor(g + 0.5) for g in own] for own in expected.bundles_g]:
        yield say("its bundles are not the rug's")
    if expected.section_rows and facts["sectionRows"] != expected.section_rows:
        yield say("its sections have {printed!r} rows", printed=facts["sectionRows"])
    if expected.knots_a_day and not math.isclose(facts["knotsPerDay"], expected.knots_a_day, rel_tol=1e-9):
        yield say("it reckons with {printed!r} knots a day", printed=facts["knotsPerDay"])
    if len({yarn["shape"] for yarn in facts["yarns"]}) != len(expected.yarns):
        yield say("two of its yarns have one symbol")


def _marks(expected: Expected) -> Iterator[str]:
    """Yield the mark of each row, reckoned from the codes of its cells."""
    codes = [yarn.code for yarn in expected.yarns]
    for row in expected.knots:
        said = "".join(f"{codes[cell] if cell != NO_KNOT else ''}\n" for cell in row.tolist())
        yield base64.b64encode(hashlib.sha256(said.encode("ascii")).digest()[:3]).decode("ascii")


def _runs(part: LoomPart, expected: Expected) -> Iterator[str]:
    """Yield how many rows of the page have other runs than the map, whose runs are cut at the edges of its strips."""
    first, width = part.first_column, part.cells.shape[1]
    wrong = 0
    for strip in expected.strips:
        if strip.start < first or strip.stop > first + width:
            continue
        for row, cells in enumerate(part.cells[:, strip.start - first : strip.stop - first], start=part.lowest_row):
            wrong += _run_list(cells) != _run_list(expected.knots[row, strip.start : strip.stop])
    if wrong:
        yield say_n("{n} row has other runs than the map", "{n:,} rows have other runs than the map", wrong)


def _run_list(cells: KnotArray) -> list[tuple[int, int]]:
    """Return the runs of one row of a strip as (knots, yarn)."""
    ends = np.append(np.flatnonzero(cells[1:] != cells[:-1]), len(cells) - 1)
    return list(zip(np.diff(ends, prepend=-1).tolist(), cells[ends].tolist(), strict=True))
