"""What an output may replace, checked before it is made and once more before it is put in place."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from chartmaker.ground import inplace
from chartmaker.ground.durable import sha256_of
from chartmaker.ground.errors import OutputError
from chartmaker.ground.language import phrase, say
from chartmaker.ground.textsafe import inert

#: How often a folder is looked at again because another run has changed it meanwhile.
_MOST_LOOKS = 100
IN_THE_WAY = phrase("the folder exists and is not empty; give another --out, or --replace")
#: Gives the files of the set in a folder with their SHA-256, None for one whose SHA-256 is not known.
Sealed = Callable[[Path], Mapping[str, str | None]]


@dataclass(frozen=True)
class Replacing:
    """Which parts of an output folder may be replaced.

    Attributes
    ----------
    replace : bool
        Whether an existing set may be replaced.
    changed : bool
        Whether files that were changed since the set was made may be replaced too.
    sealed : callable, optional
        Tells which files belong to the set; without it, those with the names of the new files do.
    inputs : collection of Path
        What the command reads, which may never be replaced.
    """

    replace: bool = False
    changed: bool = False
    sealed: Sealed | None = None
    inputs: Collection[Path] = ()


def is_folder(path: Path) -> bool:
    """Say whether there is a folder; a name that no system accepts is not one."""
    return os.path.isdir(path)  # noqa: PTH112  (Path.is_dir raises for a name that is too long)


@contextlib.contextmanager
def reporting(path: Path) -> Iterator[None]:
    """Turn the operating system's refusals into an OutputError that names `path`."""
    try:
        yield
    except OSError as error:
        if error.errno == errno.ENOSPC:
            reason = say("the disk is full; nothing was changed, make room and try again")
        else:
            reason = say("cannot be written: {fault}; nothing was changed", fault=error.strerror or error)
        raise OutputError(reason, where=inert(path)) from error


def _check_name(path: Path) -> None:
    """Refuse what no system accepts as a name: a NUL, or characters that it cannot encode."""
    try:
        usable = b"\0" not in os.fsencode(path)
    except UnicodeEncodeError:
        usable = False
    if not usable:
        raise OutputError(say("is not a usable name; choose another"), where=inert(path))


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
    """Refuse a target that exists unless it may be replaced, and always one that is an input or not a plain file.

    Raises
    ------
    OutputError
    """
    _check_name(path)
    with reporting(path):
        _check_parent(path)
        if os.path.lexists(path):
            if path.exists() and not path.is_file():
                raise OutputError(say("is not a file; choose another name"), where=inert(path))
            _refuse_inputs(path, inputs)
            if not replace:
                raise OutputError(say("exists already; give another name, or --replace"), where=inert(path))


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
    with reporting(folder):
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
                    raise  # otherwise another run put its set in place meanwhile, and the names came from two sets
        raise OutputError(say("other runs keep changing this folder; wait until they have ended"), where=where)


def _which(folder: Path) -> tuple[int, int, int]:
    """Return what changes when another folder takes the place of this one, or when its content changes."""
    found = folder.stat()
    return found.st_ino, found.st_mtime_ns, found.st_ctime_ns


def _check_present(folder: Path, names: Collection[str], may: Replacing) -> None:
    """Refuse an output folder whose content may not be replaced."""
    where = inert(folder)
    there = present(folder)
    if not there:
        return
    if not may.replace:
        raise OutputError(say(IN_THE_WAY), where=where)
    ours = dict.fromkeys(names) if may.sealed is None else may.sealed(folder)
    foreign = [name for name in there if name not in ours or (folder / name).is_dir()]
    if foreign:
        raise OutputError(
            say(
                "holds files that chartmaker did not write ({names}), which would be lost: move them "
                "away or give another --out",
                names=inert(", ".join(foreign[:5])),
            ),
            where=where,
        )
    for name in there:
        _refuse_inputs(folder / name, may.inputs)
    others = [] if may.changed else [name for name in there if _is_changed(folder / name, ours[name])]
    if others:
        raise OutputError(
            say(
                "these files were changed since the set was made: {names}; move them away, or replace them too with "
                "--replace-changed",
                names=inert(", ".join(others[:5])),
            ),
            where=where,
        )


def present(folder: Path) -> list[str]:
    """Return the names in a folder, without the working folders of runs."""
    return sorted(entry.name for entry in folder.iterdir() if not inplace.is_part(entry.name))


def _is_changed(path: Path, sha256: str | None) -> bool:
    """Return whether a file of the set differs from the one that was written, as far as that is known."""
    return sha256 is not None and (path.is_symlink() or sha256_of(path) != sha256)
