"""The tables of a set read back: summary.json, yarns.csv, rows.csv."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any

import numpy as np

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.language import counted
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.rowscript import Run, expand, runs_of_csv
from chartmaker.knots.strips import strips_of
from chartmaker.order.workshop import Workshop
from chartmaker.reports.yarnlist import yarns_csv_lines
from chartmaker.verify.difference import cells_words, first_few


def _unlike(found: Any, expected: Any, path: str) -> Iterator[str]:
    """Yield how `found` differs from `expected`, key by key; keys that only `found` has are no difference."""
    if isinstance(expected, dict) and isinstance(found, dict):
        for key, value in expected.items():
            here = f"{path}.{key}" if path else key
            if key not in found:
                yield f"{here} is missing"
            else:
                yield from _unlike(found[key], value, here)
    elif isinstance(expected, list) and isinstance(found, list) and len(expected) == len(found):
        for index, (one, other) in enumerate(zip(found, expected, strict=True)):
            yield from _unlike(one, other, f"{path}[{index}]")
    elif found != expected or isinstance(found, bool) != isinstance(expected, bool):
        yield f"{path} is {_short(found)}, the map gives {_short(expected)}"


def _short(value: Any) -> str:
    text = json.dumps(value)
    return text if len(text) <= 60 else text[:57] + "..."


def summary_differences(data: bytes, expected: dict[str, Any]) -> list[str]:
    """Return how summary.json differs from `expected`, the keys that the map alone decides."""
    try:
        found = json.loads(data)
    except (ValueError, RecursionError) as error:
        return [f"is not JSON: {error}"]
    return list(first_few(_unlike(found, json.loads(json.dumps(expected)), "")))


def yarns_differences(data: bytes, figures: Figures) -> list[str]:
    """Return how yarns.csv differs from the figures, cell by cell."""
    try:
        found = list(csv.reader(io.StringIO(data.decode("utf-8")), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        return [f"is not CSV: {error}"]
    expected = list(csv.reader(yarns_csv_lines(figures)))
    if len(found) != len(expected):
        return [f"has {counted(len(found) - 1, 'yarn')}, the map {len(expected) - 1}"]

    def cells() -> Iterator[str]:
        for line, (one, other) in enumerate(zip(found, expected, strict=True), start=1):
            if len(one) != len(other):
                yield f"line {line} has {len(one)} values, not {len(other)}"
                continue
            for name, value, wanted in zip(expected[0], one, other, strict=True):
                if value != wanted:
                    yield f"line {line}: {name} is {value!r}, the map gives {wanted!r}"

    return list(first_few(cells()))


def rows_differences(data: bytes, knot_map: KnotMap, workshop: Workshop) -> list[str]:
    """Return how the knots that rows.csv says differ from the map's, and the strips from the loom's."""
    codes = [yarn.code for yarn in knot_map.yarns]
    strips = strips_of(knot_map.rug, workshop)
    faults = {"outside the strip that they name": 0, "out of their order": 0}
    outside, unordered = faults

    def watched(runs: Iterator[Run]) -> Iterator[Run]:
        last = -1
        for run in runs:
            strip = strips[run.strip] if 0 <= run.strip < len(strips) else range(0)
            faults[outside] += not (strip.start <= run.column and run.column + run.knots <= strip.stop)
            faults[unordered] += run.row < last
            last = run.row
            yield run

    try:
        lines = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8")
        knots = expand(watched(runs_of_csv(lines, codes)), knot_map.rows, knot_map.columns)
    except (UnicodeDecodeError, KnotFileError) as error:
        return [f"cannot be read: {error}"]
    words = cells_words(knots != knot_map.knots, "unlike the map's")
    return [
        *([words] if words else []),
        *(f"{counted(number, 'run')} {what}" for what, number in faults.items() if number),
    ]


def same_knots(found: Any, knot_map: KnotMap) -> str | None:
    """Return how an array of knots differs from the map's, or None."""
    if found.shape != knot_map.knots.shape:
        return f"holds {found.shape[1]} x {found.shape[0]} knots, the map {knot_map.columns} x {knot_map.rows}"
    return cells_words(np.asarray(found != knot_map.knots), "unlike the map's")
