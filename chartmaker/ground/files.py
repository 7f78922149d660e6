"""Files and whole folders written all or nothing."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import glob
import os
import re
import secrets
import shutil
import time
from collections.abc import Callable, Collection, Mapping
from functools import partial
from pathlib import Path
from typing import NamedTuple

from chartmaker.ground import inplace
from chartmaker.ground.durable import (
    Writer,
    claimed,
    models_of,
    rename_new,
    sync_folder,
    take_after,
    unconfirmed,
    write_through,
)
from chartmaker.ground.errors import OutputError
from chartmaker.ground.holding import held_back
from chartmaker.ground.language import say
from chartmaker.ground.targets import IN_THE_WAY, Replacing, check_file, check_folder, present, reporting
from chartmaker.ground.textsafe import inert

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
#: An unfinished set that no run holds is abandoned after this time.
_ABANDONED_S = 3600.0


def _beside(path: Path) -> Path:
    """Return a fresh hidden name in the same folder, so that a rename never crosses file systems."""
    return path.parent / f"{_hidden(path)}.{secrets.token_hex(6)}.part"


def _hidden(path: Path) -> str:
    return f".{path.name[:40]}"


def write_file(path: Path, writer: Writer, *, replace: bool, inputs: Collection[Path] = ()) -> None:
    """Write one file, so that afterwards it is either entirely new or just as before.

    Parameters
    ----------
    path : Path
    writer : callable
        Writes the content to the binary stream that it is given.
    replace : bool
        Whether an existing file may be replaced; its rights and its owner stay.
    inputs : collection of Path
        What the command reads, which is never replaced.

    Raises
    ------
    OutputError
        If the file exists and may not be replaced, or cannot be written.
    """
    write_files({path: writer}, replace=replace, inputs=inputs)


def write_files(writers: Mapping[Path, Writer], *, replace: bool = False, inputs: Collection[Path] = ()) -> None:
    """Write several files that belong together: all of them, or none.

    All are finished beside their places before the first is renamed; if one cannot be put in place, those before it
    are taken back.

    Parameters
    ----------
    writers : mapping of Path to Writer
    replace : bool
        Whether files that are there may be replaced.
    inputs : collection of Path
        What the command reads, which is never replaced.

    Raises
    ------
    OutputError
        If a file exists and may not be replaced, or cannot be written.
    """
    written: list[_Written] = []
    placed: list[_Written] = []
    try:
        for path, writer in writers.items():
            check_file(path, replace=replace, inputs=inputs)
            target = Path(os.path.realpath(path)) if path.is_symlink() else path
            written.append(_Written(path, target, _beside(target), _beside(target), target.exists()))
            with reporting(path):
                write_through(written[-1].part, writer, target.stat() if written[-1].there else None)
        for path in writers:
            check_file(path, replace=replace, inputs=inputs)
        with held_back():
            for each in written:
                with reporting(each.path):
                    try:
                        _put_in_place(each.part, each.target, each.kept, replace=replace)
                    except FileExistsError as error:
                        message = say("exists already; give another name, or --replace")
                        raise OutputError(message, where=inert(each.path)) from error
                placed.append(each)
    except BaseException:
        for each in placed if len(placed) < len(writers) else ():
            with contextlib.suppress(OSError):
                if each.kept.exists():
                    each.kept.replace(each.target)
                elif not each.there:
                    each.target.unlink(missing_ok=True)
        raise
    finally:
        for each in written:
            each.part.unlink(missing_ok=True)
            each.kept.unlink(missing_ok=True)


class _Written(NamedTuple):
    """A finished file: its name, its place, where it and the old one lie meanwhile, and whether there is an old one."""

    path: Path
    target: Path
    part: Path
    kept: Path
    there: bool


def _put_in_place(part: Path, target: Path, kept: Path, *, replace: bool) -> None:
    """Rename the finished file to its place; put the old one back if the disk does not confirm it."""
    there = replace and target.exists()
    if there:
        with contextlib.suppress(OSError):  # a file system without hard links
            os.link(target, kept)
    if replace:
        part.replace(target)
    else:
        rename_new(part, target)
        part.unlink(missing_ok=True)
    try:
        sync_folder(target.parent)
    except OSError as error:
        try:
            if kept.exists():
                kept.replace(target)
            elif there:
                raise unconfirmed(target, error) from error
            else:
                target.unlink(missing_ok=True)
        except OSError:
            raise unconfirmed(target, error) from error
        raise


def _exchange(first: Path, second: Path) -> bool:
    """Exchange two folders in one step; return False where the system cannot do that."""
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


def _sweep(target: Path, names: Collection[str]) -> None:
    """Remove unfinished sets beside `target` whose runs were killed an hour ago or more."""
    if not target.exists():  # one of them may be the set that stood here
        return
    for left in target.parent.glob(f"{glob.escape(_hidden(target))}.*.part"):
        with contextlib.suppress(OSError):
            ours = re.fullmatch(r"[0-9a-f]{12}", left.name.split(".")[-2]) and left.is_dir() and not left.is_symlink()
            if not ours or time.time() - left.stat().st_mtime < _ABANDONED_S:
                continue
            with claimed(left) as alone:
                if alone and {path.name for path in left.iterdir()} <= set(names):
                    shutil.rmtree(left, ignore_errors=True)


def write_set(
    folder: Path,
    writers: Mapping[str, Writer],
    may: Replacing,
) -> None:
    """Write a folder of files, so that afterwards it holds either the whole new set or just what it held before.

    The folder and its files keep their rights and owners. A folder that cannot be exchanged for another, because
    something is mounted there or a shell may stand in it, is written file by file with a journal.

    Parameters
    ----------
    folder : Path
        Made if it does not exist; its parent must exist.
    writers : mapping of file name to callable
        They are called in this order.
    may : Replacing
        What may be replaced.

    Raises
    ------
    OutputError
        If the folder exists and may not be replaced, holds files of others, or cannot be written.
    """
    look = partial(check_folder, folder, writers, may)
    look()
    target = Path(os.path.realpath(folder))
    with reporting(folder):
        models = models_of(target, writers)
        if inplace.must_stay(target):
            _write_in_place(target, writers, models, look)
            return
        part = _beside(target)
        try:
            part.mkdir(mode=0o777 if models[""] is None else 0o700)
            with claimed(part):
                _sweep(target, writers)
                for name, writer in writers.items():
                    write_through(part / name, writer, models[name])
                sync_folder(part)
                if (model := models[""]) is not None:
                    take_after(part, model)
            look()
            with held_back():
                old = _move_in(part, target, replace=may.replace)
                try:
                    sync_folder(target.parent)
                except OSError as error:
                    try:
                        _move_back(part, target, old)
                    except OSError:
                        raise unconfirmed(target, error) from error
                    raise
                if old is not None:
                    _clear_away(old, folder)
        finally:
            shutil.rmtree(part, ignore_errors=True)


def _write_in_place(
    target: Path,
    writers: Mapping[str, Writer],
    models: Mapping[str, os.stat_result | None],
    look: Callable[[], None],
) -> None:
    """Write the set file by file into the folder that is there."""
    with inplace.written(target, writers, models) as part:
        look()
        with held_back():
            inplace.move_in(part, target, list(writers), present(target))
            _clear_away(part, target)


def _clear_away(old: Path, folder: Path) -> None:
    """Remove the old set, or raise an error that says where it is left."""
    shutil.rmtree(old, ignore_errors=True)
    if old.exists():
        said = say("the set is written, but the old one could not be removed: remove {old}", old=inert(old))
        raise OutputError(said, where=inert(folder))


def _move_in(part: Path, target: Path, *, replace: bool) -> Path | None:
    """Put the finished folder in its place; return where the old one is now, or None if there was none."""
    try:
        part.rename(target)  # succeeds where nothing, or an empty folder, is in the way
        return None
    except OSError as error:
        if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
            raise
        if not replace:  # another run was there first
            raise OutputError(say(IN_THE_WAY), where=inert(target)) from error
    if _exchange(part, target):
        return part
    aside = _beside(target)
    target.rename(aside)
    try:
        part.rename(target)
    except OSError:
        aside.rename(target)
        raise
    return aside


def _move_back(part: Path, target: Path, old: Path | None) -> None:
    """Undo `_move_in`."""
    if old is None:
        target.rename(part)
    elif old == part:
        _exchange(part, target)
    else:
        target.rename(part)
        old.rename(target)
