"""The tables of a set, which are summary.json, yarns.csv and rows.csv, are read back and compared with the map."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from typing import Any

import numpy as np

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.language import phrase, say, say_n
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import KnotArray
from chartmaker.knots.rowscript import Run, expand, runs_of_csv
from chartmaker.verify.difference import cells_words, first_few
from chartmaker.verify.expected import Expected
from chartmaker.verify.records import Near, column_faults
from chartmaker.verify.remarks import cost_faults, finding_faults, match_faults

#: The columns that every list of yarns has.
YARN_COLUMNS = {"code", "name", "srgb", "knots", "share", "length_m", "mass_g"}
#: Letters that begin a formula in a spreadsheet.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
#: No two colours are farther apart than this, by CIEDE2000.
MOST_DE00 = 160.0


def unlike(found: Any, expected: Any, path: str) -> Iterator[str]:
    """Yield how `found` differs from `expected`, key by key; keys that only `found` has do not count."""
    if isinstance(expected, dict) and isinstance(found, dict):
        for key, value in expected.items():
            here = f"{path}.{key}" if path else key
            if key not in found:
                yield say("{path} is missing", path=here)
            else:
                yield from unlike(found[key], value, here)
    elif isinstance(expected, list) and isinstance(found, list) and len(expected) == len(found):
        for index, (one, other) in enumerate(zip(found, expected, strict=True)):
            yield from unlike(one, other, f"{path}[{index}]")
    elif isinstance(expected, Near):
        if not expected.accepts(found):
            yield say("{path} is {found}, but the map gives {wanted}", path=path, found=_short(found), wanted=expected)
    elif found != expected or isinstance(found, bool) != isinstance(expected, bool):
        wanted = _short(expected)
        yield say("{path} is {found}, but the map gives {wanted}", path=path, found=_short(found), wanted=wanted)


def _short(value: Any) -> str:
    text = json.dumps(value, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


class DoubledKeyError(ValueError):
    """A JSON object has a key twice, so that readers may read different things."""


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise DoubledKeyError(say("a key stands in it twice"))
    return found


def summary_read(data: bytes) -> dict[str, Any]:
    """Return what summary.json says.

    Raises
    ------
    ValueError
        If it is not a JSON object, or has a key twice.
    """
    try:
        found = json.loads(data, object_pairs_hook=_once, parse_constant=_no_number)
    except RecursionError as error:
        raise ValueError(say("its objects are nested too deeply")) from error
    if not isinstance(found, dict):
        raise ValueError(say("it is not a JSON object"))
    return found


def _no_number(name: str) -> float:
    raise ValueError(say("{name} is not a number", name=name))


def summary_differences(data: bytes, expected: dict[str, Any], figures: Figures) -> list[str]:
    """Return how summary.json differs from `expected`, which holds all that the map and its settings decide.

    Its findings are compared with those that follow from `figures`.
    """
    try:
        found = summary_read(data)
    except ValueError as error:
        return [say("is not JSON: {error}", error=error)]

    def wrong() -> Iterator[str]:
        yield from unlike(found, expected, "")
        yarns = found.get("yarns")
        for name in column_faults(yarns if isinstance(yarns, list) else [], expected["yarns"]):
            yield say("the {name} of the yarns do not add up to the rug's", name=name)
        yield from _match(found, expected)
        yield from finding_faults(found.get("findings"), figures)
        yield from cost_faults(found.get("cost"), expected["pile"]["area_m2"].value)

    return list(first_few(wrong()))


def _match(found: dict[str, Any], expected: dict[str, Any]) -> Iterator[str]:
    """Yield where `match` does not have the map's knots, has impossible values, or does not add up."""
    match = found.get("match")
    yarns = match.get("yarns") if isinstance(match, dict) else None
    if not isinstance(match, dict) or not isinstance(yarns, list):
        yield say("{path} is missing", path="match")
        return
    wanted = [{"code": yarn["code"], "knots": yarn["knots"]} for yarn in expected["yarns"] if yarn["knots"]]
    by_code = sorted((yarn for yarn in yarns if isinstance(yarn, dict)), key=lambda yarn: str(yarn.get("code")))
    unlike_map = list(unlike(by_code, sorted(wanted, key=lambda yarn: str(yarn["code"])), "match.yarns"))
    yield from unlike_map
    if unlike_map:
        return
    for each in (match, *(yarn for yarn in yarns if isinstance(yarn, dict))):
        numbers = [each.get(name) for name in ("mean_de00", "p95_de00", "max_de00")]
        real = [number for number in numbers if isinstance(number, int | float) and 0 <= number <= MOST_DE00]
        if len(real) != 3 or max(real) != real[2]:
            yield say("the match has an impossible value: {found}", found=_short(each))
            return
    yield from match_faults(match, by_code)


def yarns_differences(data: bytes, wanted: list[dict[str, Any]]) -> list[str]:
    """Return how yarns.csv differs from the records of the yarns, cell by cell."""
    try:
        found = list(csv.reader(io.StringIO(data.decode("utf-8")), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        return [say("is not CSV: {error}", error=error)]
    if not found or len(set(found[0])) != len(found[0]) or not set(found[0]) >= YARN_COLUMNS:
        return [say("does not have the columns of a list of yarns")]
    if wanted and (more := sorted(set(found[0]) - wanted[0].keys())):
        return [say("has columns that no list of yarns has: {names}", names=inert(", ".join(more)))]
    if len(found) - 1 != len(wanted):
        words = "has {n} yarn, the map {yarns}", "has {n:,} yarns, the map {yarns}"
        return [say_n(*words, len(found) - 1, yarns=len(wanted))]

    def wrong() -> Iterator[str]:
        names = found[0]
        for line, (cells, yarn) in enumerate(zip(found[1:], wanted, strict=True), start=2):
            if len(cells) != len(names):
                words = "line {line} has {cells} values, not {wanted}"
                yield say(words, line=line, cells=len(cells), wanted=len(names))
                continue
            for name, cell in zip(names, cells, strict=True):
                if name in yarn and not _is_cell(cell, yarn[name]):
                    words = "line {line}: {name} is {cell!r}, but the map gives {wanted}"
                    due = say("nothing") if yarn[name] is None else yarn[name]
                    yield say(words, line=line, name=name, cell=cell, wanted=due)
        numbers = [{name: _number(cell) for name, cell in zip(names, cells, strict=False)} for cells in found[1:]]
        for name in column_faults(numbers, wanted):
            yield say("the {name} of the yarns do not add up to the rug's", name=name)

    return list(first_few(wrong()))


def _number(cell: str) -> float | None:
    return float(cell) if re.fullmatch(r"-?\d{1,15}(\.\d{1,9})?(e-\d\d)?", cell) else None


def _is_cell(cell: str, value: Any) -> bool:
    """Return whether a cell gives a value; one that a spreadsheet would take for a formula stands behind a quote."""
    if isinstance(value, Near):
        return value.accepts(_number(cell))
    text = "" if value is None else str(value)
    return cell == ("'" + text if text[:1] in FORMULA else text)


_OUTSIDE = phrase("{n} run outside the strip that they name"), phrase("{n:,} runs outside the strip that they name")
_UNORDERED = phrase("{n} run out of their order"), phrase("{n:,} runs out of their order")


def rows_differences(data: bytes, expected: Expected) -> list[str]:
    """Return how the knots of rows.csv differ from the map's, and its strips from the loom's."""
    codes, strips = [yarn.code for yarn in expected.yarns], expected.strips
    faults = {_OUTSIDE: 0, _UNORDERED: 0}

    def watched(runs: Iterator[Run]) -> Iterator[Run]:
        last = -1
        for run in runs:
            strip = strips[run.strip] if 0 <= run.strip < len(strips) else range(0)
            faults[_OUTSIDE] += not (strip.start <= run.column and run.column + run.knots <= strip.stop)
            faults[_UNORDERED] += run.row < last
            last = run.row
            yield run

    try:
        lines = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8")
        knots = expand(watched(runs_of_csv(lines, codes)), expected.rows, expected.columns)
    except (UnicodeDecodeError, KnotFileError) as error:
        return [f"cannot be read: {error}"]
    words = cells_words(knots != expected.knots, "unlike the map's")
    return [*([words] if words else []), *(say_n(*sentences, number) for sentences, number in faults.items() if number)]


def same_knots(found: Any, knots: KnotArray) -> str | None:
    """Return how an array of knots differs from the map's, or None."""
    if found.shape != knots.shape:
        sizes = {"columns": found.shape[1], "rows": found.shape[0], "wide": knots.shape[1], "high": knots.shape[0]}
        return say("holds {columns} x {rows} knots, the map {wide} x {high}", **sizes)
    return cells_words(np.asarray(found != knots), say("unlike the map's"))
