"""What a collection's folder already holds: sets that are whole and unchanged, and the remains of killed runs."""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
import os
import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from chartmaker.collection.records import record_of
from chartmaker.ground.durable import claimed, sha256_of
from chartmaker.ground.errors import ChartmakerError, OutputError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import phrase, say
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.sealing import MOST_SUMMARY_BYTES, SUMMARY
from chartmaker.knots.knotpng import read_knotpng
from chartmaker.pages.collection.thumbnail import thumbnail_png

#: The file that describes the whole collection to programs.
RECORD = "collection.json"
CHANGED = phrase("was changed since the collection was made; move it away, or --replace-changed if you mean it")
_MOST_RECORD_BYTES = 2_000_000_000
_PART = re.compile(r"\..{1,40}\.[0-9a-f]{12}\.part")


def kept_record(folder: Path, rests_on: str, before: dict[str, Any] | None) -> dict[str, Any] | None:
    """Return the record of the set in `folder` if it is whole and rests on what is asked for; else None.

    A file is taken for the one that was written if it is not newer than the summary, which is written last; otherwise
    it is read and its SHA-256 decides.

    Parameters
    ----------
    folder : Path
    rests_on : str
        The hash of all that the set should rest on.
    before : dict, optional
        What collection.json said about the set; its small picture then need not be drawn again.
    """
    try:
        said = json.loads(read_whole(folder / SUMMARY, MOST_SUMMARY_BYTES, OutputError, say("summary")))
        record = record_of(said)
        written = dict(said["files"]["written"])
        if record["rests_on"] != rests_on or not _is_whole(folder, written):
            return None
        if before is not None and before.get("rests_on") == rests_on and isinstance(before.get("thumbnail"), str):
            return record | {"thumbnail": before["thumbnail"]}
        knot_map = read_knotpng(folder / "knots.png").knot_map
    except (ChartmakerError, OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    return record | {"thumbnail": base64.b64encode(thumbnail_png(knot_map)).decode("ascii")}


def _is_whole(folder: Path, written: dict[str, str]) -> bool:
    """Say whether all files are there, as they were written."""
    made_ns = os.stat(folder / SUMMARY).st_mtime_ns  # noqa: PTH116
    for name, sha256 in written.items():
        path = folder / Path(name).name
        found = path.lstat()
        if max(found.st_mtime_ns, found.st_ctime_ns) > made_ns + 2_000_000_000 and sha256_of(path) != sha256:
            return False
    return True


def sets_before(out: Path) -> dict[str, dict[str, Any]]:
    """Return what collection.json in `out` said about each set, by its name; empty if there is none of ours.

    Raises
    ------
    OutputError
        If there is a collection.json that is not ours.
    """
    path = out / RECORD
    if not path.exists():
        return {}
    try:
        said = json.loads(read_whole(path, _MOST_RECORD_BYTES, OutputError, RECORD))
        return {each["name"]: each for each in said["sets"] if isinstance(said["chartmaker"], str)}
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        message = "this file is not of a collection that chartmaker made; move it away or give another --out"
        raise OutputError(say(message), where=inert(path)) from error


def check_reports(out: Path, names: Iterable[str], *, changed: bool = False) -> None:
    """Refuse a record or reports in `out` that are not of this collection, or were changed since it was made.

    Parameters
    ----------
    names : iterable of str
        The reports that are to be written beside collection.json, which says what each of them was.
    changed : bool
        Whether reports that were changed may be replaced.

    Raises
    ------
    OutputError
    """
    ours = os.path.lexists(out / RECORD)
    said = _said(out) if ours else {}
    if not changed and said and said.get("record") != seal_of(said):
        raise OutputError(say(CHANGED), where=inert(out / RECORD))
    known = _reports_known(said)
    for name in names:
        path = out / name
        if not os.path.lexists(path):
            continue
        if path.is_symlink() or not path.is_file():
            raise OutputError(say("is not a file; choose another name"), where=inert(path))
        if not ours:
            message = "this file is not of a collection that chartmaker made; move it away or give another --out"
            raise OutputError(say(message), where=inert(path))
        if known is not None and not changed and sha256_of(path) not in known.get(name, ()):
            raise OutputError(say(CHANGED), where=inert(path))


def _said(out: Path) -> dict[str, Any]:
    """Return what collection.json says; nothing where it is no record at all, which is refused when sets are planned.

    Raises
    ------
    OutputError
        If it is no regular file.
    """
    try:
        said = json.loads(read_whole(out / RECORD, _MOST_RECORD_BYTES, OutputError, RECORD))
    except (ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def sealed(record: dict[str, Any]) -> dict[str, Any]:
    """Return the record of a collection with its own SHA-256 as `record`, so that an edit of it is noticed."""
    return record | {"record": seal_of(record)}


def seal_of(record: dict[str, Any]) -> dict[str, str]:
    """Return the SHA-256 of a record without its own seal."""
    rest = {key: value for key, value in record.items() if key != "record"}
    return {"sha256": hashlib.sha256(json.dumps(rest, ensure_ascii=True, indent=2).encode("ascii")).hexdigest()}


def _reports_known(said: dict[str, Any]) -> dict[str, set[str]] | None:
    """Return the SHA-256 that each report may have; None where collection.json is of a version that did not say."""
    try:
        kinds = [said["files"][kind] for kind in ("written", "before") if kind in said["files"]]
        return {name: {kind[name] for kind in kinds if name in kind} for name in said["files"]["written"]}
    except (KeyError, TypeError):
        return None


@contextlib.contextmanager
def alone_at(out: Path) -> Iterator[None]:
    """Hold the folder of a collection, and clear away what killed runs left in it, before and after.

    Raises
    ------
    OutputError
        If another run holds the folder, or it cannot be made.
    """
    try:
        out.mkdir(exist_ok=True)
    except OSError as error:
        message = say("the folder cannot be made: {reason}", reason=error.strerror or error)
        raise OutputError(message, where=inert(out)) from error
    with claimed(out) as alone:
        if not alone:
            raise OutputError(say("another run is making this collection; wait until it has ended"), where=inert(out))
        _sweep(out)
        try:
            yield
        finally:
            _sweep(out)


def _sweep(out: Path) -> None:
    """Remove unfinished sets that no run holds."""
    for left in out.glob(".*.part"):
        with contextlib.suppress(OSError):
            if _PART.fullmatch(left.name) and left.is_dir() and not left.is_symlink():
                with claimed(left) as alone:
                    if alone:
                        shutil.rmtree(left, ignore_errors=True)
