"""Files written all or nothing: one file, or a folder as a set."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import glob
import os
import re
import secrets
import shutil
import signal
import threading
import time
from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path
from types import FrameType
from typing import BinaryIO

from chartmaker.ground.errors import OutputError
from chartmaker.ground.textsafe import inert

Writer = Callable[[BinaryIO], None]

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
#: What was left unfinished, with nobody at it, for so long is nobody's.
_ABANDONED_S = 3600.0
_IN_THE_WAY = "the folder exists and is not empty; give another --out, or --replace"


def is_folder(path: Path) -> bool:
    """Say if there is a folder; under a name that no system takes there is none."""
    return os.path.isdir(path)  # noqa: PTH112  (Path.is_dir raises for a name that is too long)


def _beside(path: Path) -> Path:
    """Return a fresh hidden name in the same folder, so that a rename never crosses file systems."""
    return path.parent / f"{_hidden(path)}.{secrets.token_hex(6)}.part"


def _hidden(path: Path) -> str:
    return f".{path.name[:40]}"


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


def _check_name(path: Path) -> None:
    """Refuse what no system takes as a name: a NUL, or characters that it cannot spell."""
    try:
        usable = b"\0" not in os.fsencode(path)
    except UnicodeEncodeError:
        usable = False
    if not usable:
        raise OutputError("is no usable name; choose another", where=inert(path))


@contextlib.contextmanager
def _held_back() -> Iterator[None]:
    """Let signals that ask the run to stop wait until the block is done: what it does must not be cut in two."""
    if threading.current_thread() is not threading.main_thread():  # signals are not handled here
        yield
        return
    waiting: list[int] = []
    handlers: dict[int, Callable[[int, FrameType | None], object]] = {}
    try:
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None and callable(handler := signal.getsignal(number)):
                handlers[number] = handler
                signal.signal(number, lambda number, _frame: waiting.append(number))
        yield
    finally:
        for number, handler in handlers.items():
            signal.signal(number, handler)
        if waiting:
            signal.raise_signal(waiting[0])


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
    _check_name(path)
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
            with _held_back():
                if replace:
                    part.replace(target)
                else:
                    _rename_new(part, target)
                    part.unlink(missing_ok=True)
                _sync_folder(target.parent)
        except FileExistsError as error:
            raise OutputError("exists already; give another name, or --replace", where=inert(path)) from error
        finally:
            part.unlink(missing_ok=True)


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
    _check_name(folder)
    with _reporting(folder):
        if not os.path.lexists(folder):
            if not folder.parent.is_dir():
                raise OutputError(f"the folder {inert(folder.parent)} does not exist; make it first", where=where)
            return
        if not folder.is_dir():
            raise OutputError("is not a folder; choose another name", where=where)
        present = sorted(entry.name for entry in folder.iterdir())
    if present and not replace:
        raise OutputError(_IN_THE_WAY, where=where)
    foreign = [name for name in present if name not in names]
    if foreign:
        raise OutputError(
            f"holds files that chartmaker did not write ({inert(', '.join(foreign[:5]))}); it would lose them: "
            "move them away or give another --out",
            where=where,
        )


@contextlib.contextmanager
def _claimed(part: Path) -> Iterator[bool]:
    """Hold a folder for this run as long as it lives; yield whether no other does."""
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


def _sweep(target: Path, names: Collection[str]) -> None:
    """Remove unfinished sets beside `target` whose runs were killed outright, an hour ago or more."""
    if not target.exists():  # one of them may be the set that stood here
        return
    for left in target.parent.glob(f"{glob.escape(_hidden(target))}.*.part"):
        with contextlib.suppress(OSError):
            ours = re.fullmatch(r"[0-9a-f]{12}", left.name.split(".")[-2]) and left.is_dir() and not left.is_symlink()
            if not ours or time.time() - left.stat().st_mtime < _ABANDONED_S:
                continue
            with _claimed(left) as alone:
                if alone and {path.name for path in left.iterdir()} <= set(names):
                    shutil.rmtree(left, ignore_errors=True)


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
            with _claimed(part):
                _sweep(target, writers)
                for name, writer in writers.items():
                    _write_through(part / name, writer)
                _sync_folder(part)
            check_folder(folder, writers, replace=replace)
            with _held_back():
                _move_in(part, target, replace=replace)
                _sync_folder(target.parent)
                shutil.rmtree(part, ignore_errors=True)
        finally:
            shutil.rmtree(part, ignore_errors=True)


def _move_in(part: Path, target: Path, *, replace: bool) -> None:
    """Put the finished folder in its place; what was there is left at `part`'s name."""
    try:
        part.rename(target)  # succeeds where nothing, or an empty folder, is in the way
        return
    except OSError as error:
        if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
            raise
        if not replace:  # another run was there first
            raise OutputError(_IN_THE_WAY, where=inert(target)) from error
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
