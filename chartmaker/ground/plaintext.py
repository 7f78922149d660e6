"""Records and tables as plain text for other programs: one JSON object, or the lines of a CSV table."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence

#: Letters that begin a formula in a spreadsheet.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def json_text(record: Mapping[str, object]) -> str:
    """Return one JSON object in plain ASCII, its keys in their order, without a line end."""
    return json.dumps(record, ensure_ascii=True, indent=2, allow_nan=False)


class _Echo:
    """A file that returns what is written to it, so that a table can be made line by line."""

    def write(self, text: str) -> str:
        return text


def table_lines(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the lines of a CSV table, the header first, each with its line end; fields are quoted only where needed."""
    writer = csv.writer(_Echo(), lineterminator="\n")
    yield writer.writerow(header)
    yield from map(writer.writerow, rows)


def no_formula(text: str) -> str:
    """Return `text` so that no spreadsheet takes it for a formula."""
    return "'" + text if text.startswith(FORMULA_STARTS) else text
