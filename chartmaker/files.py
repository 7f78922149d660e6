"""Files written all or nothing: one file, or a folder as a set."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import os
import secrets
import shutil
from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path
from typing import BinaryIO

from chartmaker.errors import OutputError
from chartmaker.textsafe import inert

Writer = Callable[[BinaryIO], None]

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2


def is_file(path: Path) -> bool:
    """Say if there is a file; under a name that no system takes, too long or with a NUL, there is none."""
    return os.path.isfile(path)  # noqa: PTH113  (Path.is_file raises for such names)


def is_folder(path: Path) -> bool:
    """Say if there is a folder; under a name that no system takes there is none."""
    return os.path.isdir(path)  # noqa: PTH112


def _beside(path: Path) -> Path:
    """Return a fresh hidden name in the same folder, so that a rename never crosses file systems."""
    return path.parent / f".{path.name[:40]}.{secrets.token_hex(6)}.part"


@contextlib.contextmanager
def _reporting(path: Path) -> Iterator[None]:
    """Turn the operating system's refusals into an OutputError that names `path`."""
    try:
        yield
    except OSError as error:
        if error.errno == errno.ENOSPC:
            reason = "the disk is full; make room, nothing was changed"
        else:
            reason = f"cannot be written: {error.strerror or error}; nothing was changed"
        raise OutputError(reason, where=inert(path)) from error
    except ValueError as error:  # a NUL byte in a path
        raise OutputError(f"is no usable name: {inert(error)}", where=inert(path)) from error


def _sync_folder(folder: Path) -> None:
    """Make a rename durable, where the system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write_through(path: Path, writer: Writer) -> None:
    with path.open("xb") as stream:
        writer(stream)
        stream.flush()
        os.fsync(stream.fileno())


def check_file(path: Path, *, replace: bool) -> None:
    """Refuse a target that exists, unless it may be replaced; a target that is no plain file always.

    Raises
    ------
    OutputError
    """
    with _reporting(path):
        if not path.parent.is_dir():
            raise OutputError(f"the folder {inert(path.parent)} does not exist; make it first", where=inert(path))
        if os.path.lexists(path):
            if path.exists() and not path.is_file():
                raise OutputError("is not a file; choose another name", where=inert(path))
            if not replace:
                raise OutputError("exists already; give another name, or --replace", where=inert(path))


def write_file(path: Path, writer: Writer, *, replace: bool) -> None:
    """Write one file: afterwards it is wholly the new one or wholly as before.

    Parameters
    ----------
    path : Path
    writer : callable
        Writes the content to the binary stream that it is given.
    replace : bool
        Whether an existing file may be replaced.

    Raises
    ------
    OutputError
        If it exists and may not be replaced, or cannot be written.
    """
    check_file(path, replace=replace)
    target = Path(os.path.realpath(path)) if path.is_symlink() else path
    part = _beside(target)
    with _reporting(path):
        try:
            _write_through(part, writer)
            if replace:
                part.replace(target)
            else:
                _rename_new(part, target)
        except FileExistsError as error:
            raise OutputError("exists already; give another name, or --replace", where=inert(path)) from error
        finally:
            part.unlink(missing_ok=True)
        _sync_folder(target.parent)


def _rename_new(part: Path, target: Path) -> None:
    """Rename without overwriting, also when another run makes the target at the same moment."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        if target.exists():
            raise FileExistsError(target) from None
        part.rename(target)


def _exchange(first: Path, second: Path) -> bool:
    """Exchange two folders in one step; False where the system cannot."""
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    done = call(_AT_FDCWD, os.fsencode(first), _AT_FDCWD, os.fsencode(second), _RENAME_EXCHANGE)
    if done == 0:
        return True
    code = ctypes.get_errno()
    if code in (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP):
        return False
    raise OSError(code, os.strerror(code), str(second))


def check_folder(folder: Path, names: Collection[str], *, replace: bool) -> None:
    """Refuse an output folder that holds anything, unless it holds only `names` and may be replaced.

    Raises
    ------
    OutputError
    """
    where = inert(folder)
    with _reporting(folder):
        if not os.path.lexists(folder):
            if not folder.parent.is_dir():
                raise OutputError(f"the folder {inert(folder.parent)} does not exist; make it first", where=where)
            return
        if not folder.is_dir():
            raise OutputError("is not a folder; choose another name", where=where)
        present = sorted(entry.name for entry in folder.iterdir())
    if present and not replace:
        raise OutputError("the folder exists and is not empty; give another --out, or --replace", where=where)
    foreign = [name for name in present if name not in names]
    if foreign:
        raise OutputError(
            f"holds files that chartmaker did not write ({inert(', '.join(foreign[:5]))}); it would lose them: "
            "move them away or give another --out",
            where=where,
        )


def write_set(folder: Path, writers: Mapping[str, Writer], *, replace: bool) -> None:
    """Write a folder of files: afterwards it is wholly the new set or wholly as before.

    Parameters
    ----------
    folder : Path
        Made if it is not there; its parent must be.
    writers : mapping of file name to callable
        In the order in which they are called.
    replace : bool
        Whether an existing set may be replaced.

    Raises
    ------
    OutputError
        If it exists and may not be replaced, holds foreign files, or cannot be written.
    """
    check_folder(folder, writers, replace=replace)
    target = Path(os.path.realpath(folder))
    part = _beside(target)
    with _reporting(folder):
        try:
            part.mkdir()
            for name, writer in writers.items():
                _write_through(part / name, writer)
            _sync_folder(part)
            check_folder(folder, writers, replace=replace)
            _move_in(part, target)
            _sync_folder(target.parent)
        finally:
            shutil.rmtree(part, ignore_errors=True)


def _move_in(part: Path, target: Path) -> None:
    """Put the finished folder in its place; what was there is left at `part`'s name."""
    try:
        part.rename(target)  # succeeds where nothing, or an empty folder, is in the way
        return
    except OSError as error:
        if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
            raise
    if _exchange(part, target):
        return
    aside = _beside(target)
    target.rename(aside)
    try:
        part.rename(target)
    except OSError:
        aside.rename(target)
        raise
    shutil.rmtree(aside, ignore_errors=True)
