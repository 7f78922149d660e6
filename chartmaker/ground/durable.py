"""Files written so that they survive a power cut and keep the rights and the owner of the files they replace."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import stat
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from chartmaker.ground.errors import OutputError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert

#: Writes the content of a file to a binary stream; what it returns does not matter.
Writer = Callable[[BinaryIO], object]


def write_through(path: Path, writer: Writer, model: os.stat_result | None = None) -> None:
    """Write a new file through to the disk; `model` gives its rights and its owner."""
    with path.open("xb") as stream:
        if model is not None:
            take_after(path, model)
        writer(stream)
        stream.flush()
        os.fsync(stream.fileno())


def take_after(path: Path, model: os.stat_result) -> None:
    """Give a file or folder the rights of `model`, and its owner and group as far as this user may."""
    if hasattr(os, "chown"):
        with contextlib.suppress(PermissionError):
            os.chown(path, -1, model.st_gid)
        with contextlib.suppress(PermissionError):
            os.chown(path, model.st_uid, -1)
    path.chmod(stat.S_IMODE(model.st_mode))


def models_of(target: Path, names: Iterable[str]) -> dict[str, os.stat_result | None]:
    """Return, by name, the status whose rights and owner each new file takes; the folder's is under ``""``.

    A file that the old set does not have takes those of the last old file.
    """
    if not target.is_dir():
        return dict.fromkeys(("", *names))
    there = {path.name: path.stat() for path in sorted(target.iterdir()) if path.is_file() and not path.is_symlink()}
    last = list(there.values())[-1] if there else None
    return {"": target.stat()} | {name: there.get(name, last) for name in names}


def sync_folder(folder: Path) -> None:
    """Make sure that the renames in a folder are on the disk.

    Raises
    ------
    OSError
        If the disk does not confirm it. A system that cannot do this at all is not an error.
    """
    if os.name == "nt":  # Windows cannot open a folder
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, as hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def rename_new(part: Path, target: Path) -> None:
    """Rename without overwriting, also when another run makes the target at the same moment."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        if target.exists():
            raise FileExistsError(target) from None
        part.rename(target)


@contextlib.contextmanager
def claimed(part: Path) -> Iterator[bool]:
    """Lock a folder for as long as this run lives; yield whether no other run holds it."""
    try:
        import fcntl
    except ImportError:  # a system without such locks
        yield False
        return
    handle = os.open(part, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        alone = True
    except OSError:  # held by another, or on a file system without locks
        alone = False
    try:
        yield alone
    finally:
        os.close(handle)


def unconfirmed(target: Path, error: OSError) -> OutputError:
    """Return the error for a new file that is in place, cannot be undone, and could be lost in a power cut."""
    reason = error.strerror or str(error)
    return OutputError(
        say("the new output is in place, but the disk did not confirm it: {reason}", reason=reason), where=inert(target)
    )
