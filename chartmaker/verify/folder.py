"""A set of files read back, then held against its knot map."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from chartmaker.artwork.raster import open_raster
from chartmaker.ground import files
from chartmaker.ground.errors import KnotFileError, OutputError
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import read_knotpng
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.reports.records.figures import summary_of
from chartmaker.reports.records.maps import map_dict, rug_figures
from chartmaker.techniques.reckoning import figures_of
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.difference import MOST_NAMED, Difference, first_few
from chartmaker.verify.proofs import page_differences, picture_differences
from chartmaker.verify.scripts import script_differences
from chartmaker.verify.tables import rows_differences, summary_differences, yarns_differences


@dataclass(frozen=True, eq=False)
class Verdict:
    """The set's map, the files that were read, what differs."""

    knot_map: KnotMap
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
    knot_map = read_knotpng(folder / "knots.png")
    figures = figures_of(knot_map)
    expected = {"map": map_dict(knot_map), "rug": rug_figures(knot_map.rug), **summary_of(figures)}
    written = _written(folder)
    readers: dict[str, Callable[[bytes], Iterable[str]]] = {
        "summary.json": lambda data: summary_differences(data, expected),
        "rows.csv": lambda data: rows_differences(data, knot_map),
        "yarns.csv": lambda data: yarns_differences(data, figures),
        "proof.html": lambda data: page_differences(data, knot_map),
        "proof.png": lambda _data: picture_differences(_pixels(folder / "proof.png"), knot_map),
        "chart.pdf": lambda data: chart_differences(data, knot_map, cover_facts(figures)),
        "rows.pdf": lambda data: script_differences(data, knot_map),
    }
    found: list[Difference] = []
    read = ["knots.png"]
    parts = progress.parts(dict.fromkeys(("knots.png", *readers), 1))
    for name in ("knots.png", *readers):
        parts[name].doing(say("reading {name}", name=name))
        try:
            data = (folder / name).read_bytes()
        except OSError as error:
            found.append(Difference(name, f"cannot be read: {error.strerror}"))
            continue
        found += [Difference(name, words) for words in _sealed(name, data, written)]
        if name in readers:
            read.append(name)
            found += [Difference(name, words) for words in _few(readers[name], data)]
    return Verdict(knot_map, tuple(read), tuple(found))


def _few(reader: Callable[[bytes], Iterable[str]], data: bytes) -> list[str]:
    """Return what differs, the first few by name, or why the file cannot be read."""
    try:
        return list(first_few(reader(data), 2 * MOST_NAMED))
    except (ValueError, KnotFileError) as error:
        return [f"cannot be read: {error}"]


def _written(folder: Path) -> dict[str, Any]:
    """Return the SHA-256 of the files as summary.json says them; nothing where it does not."""
    try:
        written = json.loads((folder / "summary.json").read_bytes())["files"]["written"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}
    return written if isinstance(written, dict) else {}


def _sealed(name: str, data: bytes, written: dict[str, Any]) -> Iterable[str]:
    if name == "summary.json":
        return
    if name not in written:
        yield "summary.json does not give its SHA-256"
    elif hashlib.sha256(data).hexdigest() != written[name]:
        yield "is not the file that was written with summary.json: its SHA-256 is another"


def _pixels(path: Path) -> Any:
    return np.asarray(open_raster(path, ("PNG",), KnotFileError, "proof").convert("RGB"))
