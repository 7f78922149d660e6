"""A set of files read back, then held against its knot map."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from chartmaker.artwork.raster import MOST_BYTES, open_raster
from chartmaker.figures.cost import REACHED as COST_REACHED
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground import files
from chartmaker.ground.errors import KnotFileError, OutputError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import read_knotpng
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.figures import reached_dict, summary_of
from chartmaker.reports.records.maps import map_dict, rug_figures
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.difference import MOST_NAMED, Difference, first_few
from chartmaker.verify.expected import expected_of
from chartmaker.verify.proofs import page_differences, picture_differences
from chartmaker.verify.scripts import script_differences
from chartmaker.verify.tables import rows_differences, summary_differences, yarns_differences
from chartmaker.yarns.yarn import number_fault_of


@dataclass(frozen=True, eq=False)
class Verdict:
    """The set's map with its settings, the files that were read, what differs."""

    knot_map: KnotMap
    workshop: Workshop
    files: tuple[str, ...]
    differences: tuple[Difference, ...]


def verify_folder(folder: Path, progress: Progress = SILENT) -> Verdict:
    """Read every file of the set in `folder` back and compare it with the knot map there.

    Raises
    ------
    KnotFileError
        If there is no knot map to compare with.
    OutputError
        If `folder` is none.
    """
    if not files.is_folder(folder):
        raise OutputError("is no folder of a set that chartmaker made", where=inert(folder))
    found_map = read_knotpng(folder / "knots.png")
    said = _summary(folder)
    workshop = found_map.workshop
    knot_map = _stocked(found_map.knot_map, said)
    figures = figures_of(knot_map, workshop)
    expected = {"map": map_dict(knot_map, workshop), "rug": rug_figures(knot_map.rug), **summary_of(figures)}
    if figures.cost is None and said.get("cost") is not None:  # reckoned with prices that the map does not hold
        del expected["cost"]
        expected["reached"].append(reached_dict(COST_REACHED))
    written = _written(said)
    readers: dict[str, Callable[[bytes], Iterable[str]]] = {
        "summary.json": lambda data: summary_differences(data, expected),
        "rows.csv": lambda data: rows_differences(data, knot_map, workshop),
        "yarns.csv": lambda data: yarns_differences(data, figures),
        "proof.html": lambda data: page_differences(data, knot_map),
        "proof.png": lambda _data: picture_differences(_pixels(folder / "proof.png"), knot_map),
        "chart.pdf": lambda data: chart_differences(data, expected_of(knot_map, workshop, figures)),
        "rows.pdf": lambda data: script_differences(data, expected_of(knot_map, workshop)),
    }
    found: list[Difference] = []
    read = ["knots.png"]
    parts = progress.parts(dict.fromkeys(("knots.png", *readers), 1))
    for name in ("knots.png", *readers):
        parts[name].doing(say("reading {name}", name=name))
        try:
            data = read_whole(folder / name, MOST_BYTES, KnotFileError, name)
        except KnotFileError as error:
            found.append(Difference(name, error.message))
            continue
        found += [Difference(name, words) for words in _sealed(name, data, written)]
        if name in readers:
            read.append(name)
            found += [Difference(name, words) for words in _few(readers[name], data)]
    return Verdict(knot_map, workshop, tuple(read), tuple(found))


def _few(reader: Callable[[bytes], Iterable[str]], data: bytes) -> list[str]:
    """Return what differs, the first few by name, or why the file cannot be read."""
    try:
        return list(first_few(reader(data), 2 * MOST_NAMED))
    except (ValueError, KnotFileError) as error:
        return [f"cannot be read: {error}"]


def _summary(folder: Path) -> dict[str, Any]:
    """Return what summary.json says; nothing where it cannot be read."""
    try:
        said = json.loads(read_whole(folder / "summary.json", MOST_BYTES, KnotFileError, "summary.json"))
    except (KnotFileError, ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def _written(said: dict[str, Any]) -> dict[str, Any]:
    """Return the SHA-256 of the files as the summary says them; nothing where it does not."""
    files_said = said.get("files")
    written = files_said.get("written") if isinstance(files_said, dict) else None
    return written if isinstance(written, dict) else {}


def _stocked(knot_map: KnotMap, said: dict[str, Any]) -> KnotMap:
    """Return the map with the stock that the summary gives each yarn: the dye order needs it, the map lacks it."""
    try:
        stock = {shade["code"]: shade["stock_g"] for shade in said["dye"]["shades"]}
        usable = {code: grams for code, grams in stock.items() if number_fault_of((0, 0, 0), grams, None) is None}
    except (KeyError, TypeError):
        return knot_map
    yarns = tuple(replace(yarn, stock_g=usable.get(yarn.code, yarn.stock_g)) for yarn in knot_map.yarns)
    return KnotMap(knot_map.knots, yarns, knot_map.rug)


def _sealed(name: str, data: bytes, written: dict[str, Any]) -> Iterable[str]:
    if name == "summary.json":
        return
    if name not in written:
        yield "summary.json does not give its SHA-256"
    elif hashlib.sha256(data).hexdigest() != written[name]:
        yield "is not the file that was written with summary.json: its SHA-256 is another"


def _pixels(path: Path) -> Any:
    return np.asarray(open_raster(path, ("PNG",), KnotFileError, "proof").convert("RGB"))
