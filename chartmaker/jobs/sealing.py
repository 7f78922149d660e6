"""Which files in a folder belong to a set made by chartmaker, according to the set's own summary."""

from __future__ import annotations

import json
from pathlib import Path

from chartmaker.ground.errors import OutputError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say

#: A summary has a few hundred kilobytes at most; anything larger than this is something else.
MOST_SUMMARY_BYTES = 200_000_000
SUMMARY = "summary.json"


def sealed_files(folder: Path) -> dict[str, str | None]:
    """Return the SHA-256 of the files that the summary in `folder` names; None for the summary itself.

    A folder without a summary, or with one that is not ours, holds no set, and the result is empty.
    """
    try:
        said = json.loads(read_whole(folder / SUMMARY, MOST_SUMMARY_BYTES, OutputError, say("summary")))
        written = said["files"]["written"]
        named = {str(name): str(sha256) for name, sha256 in written.items()}
    except (OutputError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}
    return {**named, SUMMARY: None} if "chartmaker" in said else {}
