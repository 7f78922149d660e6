"""Files from outside, read whole and once, up to a limit and only if they are regular files."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from chartmaker.ground.errors import ChartmakerError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert


def read_whole(path: Path, most_bytes: int, error_class: type[ChartmakerError], what: str) -> bytes:
    """Return the content of the file at `path`.

    The file is opened without waiting for a writer, and its kind is checked before anything is read, so that a pipe, a
    device or an endless file is refused at once.

    Parameters
    ----------
    path : Path
    most_bytes : int
        A larger file is refused.
    error_class : type of ChartmakerError
        Raised if the file is not a regular one, is too large, or cannot be read.
    what : str
        What the file is called in a message.
    """
    where = inert(path)
    try:
        with os.fdopen(os.open(path, _FLAGS), "rb") as stream:
            found = os.fstat(stream.fileno())
            if not stat.S_ISREG(found.st_mode):
                raise error_class(say("the {what} must be a file, and this is not one", what=what), where=where)
            if found.st_size <= most_bytes:
                data = stream.read(found.st_size)
                if not (rest := stream.read(min(most_bytes - len(data), _BLOCK_BYTES) + 1)):
                    return data
                data += rest  # it has grown since, or its size is not known beforehand
                while rest and len(data) <= most_bytes:
                    rest = stream.read(_BLOCK_BYTES)
                    data += rest
                if len(data) <= most_bytes:
                    return data
    except (OSError, ValueError) as error:
        if isinstance(error, IsADirectoryError):
            raise error_class(say("the {what} must be a file, and this is not one", what=what), where=where) from error
        reason = getattr(error, "strerror", None) or inert(error)
        raise error_class(say("cannot read the {what}: {reason}", what=what, reason=reason), where=where) from error
    most = f"{most_bytes / 1e9:g} GB" if most_bytes >= 1e9 else f"{most_bytes / 1e6:g} MB"
    raise error_class(say("this cannot be a {what}: it is larger than {most}", what=what, most=most), where=where)


_BLOCK_BYTES = 1_000_000
#: Without O_NONBLOCK, opening a pipe would wait until somebody writes into it.
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
