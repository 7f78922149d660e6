"""The reports on a collection as files: a table, a record for programs, and a page."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO

from chartmaker import __version__
from chartmaker.collection.keeping import RECORD, check_reports, sealed
from chartmaker.collection.together import (
    Together,
    dye_lines,
    loom_lines,
    purchase_lines,
    together_of,
    together_record,
)
from chartmaker.collection.told import SetTold, Told
from chartmaker.ground import files
from chartmaker.ground.durable import sha256_of
from chartmaker.ground.plaintext import json_text, no_formula, table_lines
from chartmaker.pages.collection.page import collection_page

#: The page of the collection.
PAGE = "collection.html"
#: The columns of collection.csv.
HEADER = (
    *("set", "design", "size", "colourway", "quality", "state", "rug", "map", "columns", "rows", "knots"),
    *("width_cm", "length_cm", "rug_kg", "pile_kg", "weavers", "days", "cost", "currency"),
    *("errors", "warnings", "notes", "why"),
)


def table_of(told: Told) -> Iterator[str]:
    """Yield the lines of collection.csv, one for each set."""
    yield from table_lines(HEADER, map(_row, told.sets))


def _row(each: SetTold) -> list[object]:
    wanted, record = each.wanted, each.record
    words = [wanted.name, wanted.design, wanted.size, wanted.colourway, wanted.quality]
    first: list[object] = [no_formula(word) for word in words]
    if record is None:
        return [*first, state_of(each), *[""] * (len(HEADER) - 7), no_formula(" ".join(each.error.split()))]
    plain = [record[key] for key in ("columns", "rows", "knots", "width_cm", "length_cm")]
    kilograms = [f"{record[key] / 1000:.3f}" for key in ("mass_g", "pile_g")]
    cost = "" if record["cost"] is None else record["cost"]
    found = [record["findings"][severity] for severity in ("error", "warning", "note")]
    return [
        *first,
        state_of(each),
        no_formula(record["title"]),
        record["map"],
        *plain,
        *kilograms,
        record["weavers"],
        record["days"],
        cost,
        no_formula(record["currency"]),
        *found,
        "",
    ]


def state_of(each: SetTold) -> str:
    """Return whether there is a set; whether this run made it is left out, so that the files stay the same."""
    return "made" if each.state == "kept" else each.state


def record_of_all(told: Told, together: Together) -> dict[str, Any]:
    """Return collection.json: every set under the names that scripts rely on, then what they take together."""
    return {
        "chartmaker": __version__,
        "collection": {
            "name": told.season.file.sets.name,
            "sets": len(told.sets),
            "made": len(told.sets) - len(told.failed),
            "failed": len(told.failed),
        },
        "sets": [_set_record(each) for each in told.sets],
        **together_record(together),
    }


def _set_record(each: SetTold) -> dict[str, Any]:
    wanted = each.wanted
    named = {"name": wanted.name, "design": wanted.design, "size": wanted.size}
    named |= {"colourway": wanted.colourway, "quality": wanted.quality, "state": state_of(each)}
    return {**named, "error": each.error or None, "exit_code": each.exit_code, **(each.record or {})}


#: The reports beside collection.json, which says what each of them was when it was written.
BESIDE = ("collection.csv", "dye-order.csv", "purchases.csv", "looms.csv", PAGE)


def write_reports(told: Told, out: Path, *, replace_changed: bool = False) -> Together:
    """Write the reports on a collection into its folder, each file all or nothing; return what the rugs take together.

    The record names the SHA-256 of the others, so that a later run can tell them from files of somebody else. While
    they are written it names those that they replace as well: whenever the run is killed, each is one of the two.

    Raises
    ------
    OutputError
        If one of them cannot be written, is not of this collection, or was changed and may not be replaced.
    """
    together = together_of(told)
    record = record_of_all(told, together)
    pieces: tuple[Iterable[str], ...] = (
        table_of(told),
        dye_lines(together),
        purchase_lines(together),
        loom_lines(together),
        collection_page(record),
    )
    reports = {name: "".join(each).encode("utf-8") for name, each in zip(BESIDE, pieces, strict=True)}
    check_reports(out, BESIDE, changed=replace_changed)
    written = {name: hashlib.sha256(data).hexdigest() for name, data in reports.items()}
    before = {name: sha256_of(out / name) for name in BESIDE if (out / name).exists()}
    if any(written[name] != sha256 for name, sha256 in before.items()) or not before:
        _write(out / RECORD, json_text(sealed(record | {"files": {"written": written, "before": before}})) + "\n")
    for name, data in reports.items():
        files.write_file(out / name, partial(_put, data), replace=True)
    _write(out / RECORD, json_text(sealed(record | {"files": {"written": written}})) + "\n")
    return together


def _write(path: Path, text: str) -> None:
    files.write_file(path, partial(_put, text.encode("utf-8")), replace=True)


def _put(data: bytes, stream: BinaryIO) -> None:
    stream.write(data)
