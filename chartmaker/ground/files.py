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
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from chartmaker.ground import inplace
from chartmaker.ground.durable import (
    Writer,
    claimed,
    models_of,
    rename_new,
    sha256_of,
    sync_folder,
    take_after,
    unconfirmed,
    write_through,
)
from chartmaker.ground.errors import OutputError
from chartmaker.ground.holding import held_back
from chartmaker.ground.language import phrase, say
from chartmaker.ground.textsafe import inert

#: Gives the files of the set in a folder with their SHA-256, None for one whose SHA-256 is not known.
Sealed = Callable[[Path], Mapping[str, str | None]]


@dataclass(frozen=True)
class Replacing:
    """What of an output folder may be replaced.

    Attributes
    ----------
    replace : bool
        Whether a set that is there may be.
    changed : bool
        Whether files of the set may be that were changed since it was made.
    sealed : callable, optional
        Tells the files of the set; without it those that have the names of the new ones are the set.
    inputs : collection of Path
        What the command reads, which never may be.
    """

    replace: bool = False
    changed: bool = False
    sealed: Sealed | None = None
    inputs: Collection[Path] = ()


_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
#: What was left unfinished, with nobody at it, for so long is nobody's.
_ABANDONED_S = 3600.0
#: So often a folder is looked at anew because another run changed it meanwhile.
_MOST_LOOKS = 100
_IN_THE_WAY = phrase("the folder exists and is not empty; give another --out, or --replace")


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
            reason = say("the disk is full; make room, nothing was changed")
        else:
            reason = say("cannot be written: {fault}; nothing was changed", fault=error.strerror or error)
        raise OutputError(reason, where=inert(path)) from error


def _check_name(path: Path) -> None:
    """Refuse what no system takes as a name: a NUL, or characters that it cannot spell."""
    try:
        usable = b"\0" not in os.fsencode(path)
    except UnicodeEncodeError:
        usable = False
    if not usable:
        raise OutputError(say("is no usable name; choose another"), where=inert(path))


def _check_parent(path: Path) -> None:
    if not path.parent.is_dir():
        message = say("the folder {folder} does not exist; make it first", folder=inert(path.parent))
        raise OutputError(message, where=inert(path))


def _refuse_inputs(path: Path, inputs: Iterable[Path]) -> None:
    """Refuse to write over a file that this command reads."""
    for read in inputs:
        if read.exists() and path.exists() and path.samefile(read):
            raise OutputError(say("this file is read by the command itself; give another --out"), where=inert(path))


def check_file(path: Path, *, replace: bool, inputs: Iterable[Path] = ()) -> None:
    """Refuse a target that exists, unless it may be replaced; a target that is no plain file or an input always.

    Raises
    ------
    OutputError
    """
    _check_name(path)
    with _reporting(path):
        _check_parent(path)
        if os.path.lexists(path):
            if path.exists() and not path.is_file():
                raise OutputError(say("is not a file; choose another name"), where=inert(path))
            _refuse_inputs(path, inputs)
            if not replace:
                raise OutputError(say("exists already; give another name, or --replace"), where=inert(path))


def write_file(path: Path, writer: Writer, *, replace: bool, inputs: Collection[Path] = ()) -> None:
    """Write one file: afterwards it is wholly the new one or wholly as before.

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
        If it exists and may not be replaced, or cannot be written.
    """
    check_file(path, replace=replace, inputs=inputs)
    target = Path(os.path.realpath(path)) if path.is_symlink() else path
    part, kept = _beside(target), _beside(target)
    with _reporting(path):
        try:
            write_through(part, writer, target.stat() if replace and target.exists() else None)
            check_file(path, replace=replace, inputs=inputs)
            with held_back():
                _put_in_place(part, target, kept, replace=replace)
        except FileExistsError as error:
            raise OutputError(say("exists already; give another name, or --replace"), where=inert(path)) from error
        finally:
            part.unlink(missing_ok=True)
            kept.unlink(missing_ok=True)


def _put_in_place(part: Path, target: Path, kept: Path, *, replace: bool) -> None:
    """Rename the finished file to its place; if the disk does not confirm it, put back what was there."""
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


def check_folder(
    folder: Path,
    names: Collection[str],
    may: Replacing,
) -> None:
    """Refuse an output folder that holds anything but a set that may be replaced.

    Parameters
    ----------
    folder : Path
    names : collection of str
        The files that are to be written.
    may : Replacing

    Raises
    ------
    OutputError
    """
    where = inert(folder)
    _check_name(folder)
    with _reporting(folder):
        if not os.path.lexists(folder):
            _check_parent(folder)
            return
        if not folder.is_dir():
            raise OutputError(say("is not a folder; choose another name"), where=where)
        inplace.finish(folder)
        for _ in range(_MOST_LOOKS):
            seen = _which(folder)
            try:
                _check_present(folder, names, may)
                return
            except (OutputError, FileNotFoundError):
                if _which(folder) == seen:
                    raise  # else another run put its set in place meanwhile, and two sets were looked at as one
        raise OutputError(say("other runs keep changing this folder; wait for them to end"), where=where)


def _which(folder: Path) -> tuple[int, int, int]:
    """Return what tells a folder from another that has taken its place, or from itself when it was changed."""
    found = folder.stat()
    return found.st_ino, found.st_mtime_ns, found.st_ctime_ns


def _check_present(folder: Path, names: Collection[str], may: Replacing) -> None:
    """Refuse what is in an output folder, unless it may be replaced."""
    where = inert(folder)
    present = _present(folder)
    if not present:
        return
    if not may.replace:
        raise OutputError(say(_IN_THE_WAY), where=where)
    ours = dict.fromkeys(names) if may.sealed is None else may.sealed(folder)
    foreign = [name for name in present if name not in ours or (folder / name).is_dir()]
    if foreign:
        raise OutputError(
            say(
                "holds files that chartmaker did not write ({names}), which would be lost: move them "
                "away or give another --out",
                names=inert(", ".join(foreign[:5])),
            ),
            where=where,
        )
    for name in present:
        _refuse_inputs(folder / name, may.inputs)
    others = [] if may.changed else [name for name in present if _is_changed(folder / name, ours[name])]
    if others:
        raise OutputError(
            say(
                "these files were changed since the set was made: {names}; move them away, or replace them too with "
                "--replace-changed",
                names=inert(", ".join(others[:5])),
            ),
            where=where,
        )


def _present(folder: Path) -> list[str]:
    """Return what a folder holds, the working folders of runs left out."""
    return sorted(entry.name for entry in folder.iterdir() if not inplace.is_part(entry.name))


def _is_changed(path: Path, sha256: str | None) -> bool:
    """Return whether a file of the set is another than the one that was written, so far as that is known."""
    return sha256 is not None and (path.is_symlink() or sha256_of(path) != sha256)


def _sweep(target: Path, names: Collection[str]) -> None:
    """Remove unfinished sets beside `target` whose runs were killed outright, an hour ago or more."""
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
    """Write a folder of files: afterwards it is wholly the new set or wholly as before.

    Rights and owners of the folder and of its files stay. A folder that cannot be exchanged for another, because
    something is mounted there or a shell may stand in it, is written file by file with a journal.

    Parameters
    ----------
    folder : Path
        Made if it is not there; its parent must be.
    writers : mapping of file name to callable
        In the order in which they are called.
    may : Replacing
        What may be replaced.

    Raises
    ------
    OutputError
        If it exists and may not be replaced, holds foreign files, or cannot be written.
    """
    look = partial(check_folder, folder, writers, may)
    look()
    target = Path(os.path.realpath(folder))
    with _reporting(folder):
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
            inplace.move_in(part, target, list(writers), _present(target))
            _clear_away(part, target)


def _clear_away(old: Path, folder: Path) -> None:
    """Remove the old set, or say that it is left."""
    shutil.rmtree(old, ignore_errors=True)
    if old.exists():
        said = say("the set is written, but the old one could not be removed: remove {old}", old=inert(old))
        raise OutputError(said, where=inert(folder))


def _move_in(part: Path, target: Path, *, replace: bool) -> Path | None:
    """Put the finished folder in its place; return where the old one now is, None if there was none."""
    try:
        part.rename(target)  # succeeds where nothing, or an empty folder, is in the way
        return None
    except OSError as error:
        if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
            raise
        if not replace:  # another run was there first
            raise OutputError(say(_IN_THE_WAY), where=inert(target)) from error
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
