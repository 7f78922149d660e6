"""The text of a file from outside."""

from __future__ import annotations

from chartmaker.ground.errors import ChartmakerError
from chartmaker.ground.language import say


def text_of(data: bytes, error_class: type[ChartmakerError], what: str, where: str) -> str:
    """Return UTF-8 text without its byte-order mark.

    Parameters
    ----------
    data : bytes
        The content of the file.
    error_class : type of ChartmakerError
        Raised if it is not UTF-8; names the line.
    what, where : str
        What the file is called in a message, and its name.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        place = say("{file}, line {number}", file=where, number=line)
        raise error_class(say("not UTF-8 text; save the {what} as UTF-8", what=what), where=place) from error
