"""What a run does to the outside world, as the interpreter's own audit events report it (PEP 578)."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
#: Events that name what they change in their first arguments, with the number of these arguments.
_CHANGES = {
    "os.mkdir": 1,
    "os.remove": 1,
    "os.rmdir": 1,
    "os.rename": 2,
    "os.link": 2,
    "os.symlink": 2,
    "os.truncate": 1,
    "os.chmod": 1,
    "os.chown": 1,
    "os.utime": 1,
}
#: Events of starting a program, or of sending or fetching anything.
_FORBIDDEN = ("socket.", "http.", "urllib.", "ftplib.", "smtplib.", "subprocess.", "webbrowser.", "os.exec", "os.fork")
_ALSO_FORBIDDEN = ("os.system", "os.posix_spawn", "os.spawn", "pty.spawn")


@dataclass
class Deeds:
    """What was written to, and the names of events that a run must not cause."""

    written: set[Path] = field(default_factory=set)
    forbidden: list[str] = field(default_factory=list)


_watches: list[Deeds] = []


def _note(event: str, arguments: tuple[Any, ...]) -> None:
    if not _watches:
        return
    if event.startswith((*_FORBIDDEN, *_ALSO_FORBIDDEN)):
        _watches[-1].forbidden.append(f"{event} {arguments!r}")
    named: tuple[Any, ...] = ()
    if event == "open" and isinstance(arguments[2], int) and arguments[2] & _WRITES:
        named = arguments[:1]
    elif event in _CHANGES:
        named = arguments[: _CHANGES[event]]
    for name in named:
        if isinstance(name, str | bytes | os.PathLike):
            _watches[-1].written.add(Path(os.path.abspath(os.fsdecode(name))))  # noqa: PTH100


@contextmanager
def watched() -> Iterator[Deeds]:
    """Watch what is done inside the block; a hook cannot be removed again, so there is one for all."""
    if _note not in _installed:
        sys.addaudithook(_note)
        _installed.append(_note)
    deeds = Deeds()
    _watches.append(deeds)
    try:
        yield deeds
    finally:
        _watches.remove(deeds)


_installed: list[Any] = []
