"""Foreign text files, read whole under a limit."""

from __future__ import annotations

from pathlib import Path

from chartmaker.ground.errors import ChartmakerError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert


def read_utf8(path: Path, most_bytes: int, error_class: type[ChartmakerError], what: str) -> str:
    """Return the text of the file at `path`, a byte-order mark left out.

    Parameters
    ----------
    path : Path
    most_bytes : int
        A larger file is refused.
    error_class : type of ChartmakerError
        Raised if it cannot be read, is too large, or is not UTF-8; names the line.
    what : str
        What the file is called in a message.
    """
    where = inert(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or inert(error)
        raise error_class(say("cannot read the {what}: {reason}", what=what, reason=reason), where=where) from error
    if len(data) > most_bytes:
        most = most_bytes // 1_000_000
        raise error_class(say("this is no {what}: it is larger than {most} MB", what=what, most=most), where=where)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        place = say("{file}, line {number}", file=where, number=line)
        raise error_class(say("not UTF-8 text; save the {what} as UTF-8", what=what), where=place) from error
