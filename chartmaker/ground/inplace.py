"""A set written file by file, where its folder cannot be exchanged for another: a mount point, a shell's folder."""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import shutil
import time
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from chartmaker.ground.durable import Writer, claimed, sync_folder, write_through

#: The folder within the set's in which a run works; its journal says that the new files are whole and are to go in.
_PART = re.compile(r"\.[0-9a-f]{12}\.part")
_JOURNAL, _OLD = "journal", "old"
#: What was left without a journal, with nobody at it, for so long is nobody's.
_ABANDONED_S = 3600.0


def must_stay(folder: Path) -> bool:
    """Return whether a folder cannot be exchanged: something is mounted there, or a shell may stand in it."""
    return os.path.ismount(folder) or (folder.exists() and Path.cwd().exists() and folder.samefile(Path.cwd()))


def is_part(name: str) -> bool:
    """Return whether a name within a set's folder is that of a run's own working folder."""
    return _PART.fullmatch(name) is not None


@contextlib.contextmanager
def written(folder: Path, writers: Mapping[str, Writer], models: Mapping[str, os.stat_result | None]) -> Iterator[Path]:
    """Write the new files into a working folder within `folder`; remove it in the end, unless its journal is left."""
    part = folder / f".{secrets.token_hex(6)}.part"
    part.mkdir(mode=0o700)
    try:
        with claimed(part):
            for name, writer in writers.items():
                write_through(part / name, writer, models.get(name))
            sync_folder(part)
            yield part
    finally:
        if not (part / _JOURNAL).exists():
            shutil.rmtree(part, ignore_errors=True)


def move_in(part: Path, folder: Path, names: Collection[str], old_names: Collection[str]) -> None:
    """Put the new files in the places of the old; afterwards all are new, or all as before.

    A run that is killed within it leaves its journal, and `finish` of the next run completes what it says.

    Raises
    ------
    OSError
        If a step fails; then the old files are back.
    """
    old = part / _OLD
    old.mkdir()
    for name in old_names:
        try:
            os.link(folder / name, old / name, follow_symlinks=False)
        except OSError:  # a file system without hard links
            shutil.copy2(folder / name, old / name, follow_symlinks=False)
    sync_folder(old)
    try:
        write_through(part / _JOURNAL, lambda stream: None)
        sync_folder(part)
        for name in names:
            (part / name).replace(folder / name)
        for name in set(old_names) - set(names):
            (folder / name).unlink()
        sync_folder(folder)
    except BaseException:
        for name in names:
            if (old / name).exists():
                (old / name).replace(folder / name)
            elif not (part / name).exists():
                (folder / name).unlink(missing_ok=True)
        for name in set(old_names) - set(names):
            with contextlib.suppress(FileNotFoundError):
                (old / name).replace(folder / name)
        (part / _JOURNAL).unlink(missing_ok=True)
        raise
    (part / _JOURNAL).unlink()


def finish(folder: Path) -> None:
    """Complete what a killed run had begun to put in its place, and remove what such runs left."""
    for part in sorted(path for path in folder.iterdir() if is_part(path.name) and path.is_dir()):
        with claimed(part) as alone:
            if not alone:
                continue
            if (part / _JOURNAL).exists():
                for path in sorted(part.iterdir()):
                    if path.is_file() and not path.is_symlink() and path.name != _JOURNAL:
                        path.replace(folder / path.name)
                sync_folder(folder)
                shutil.rmtree(part)
            elif time.time() - part.stat().st_mtime > _ABANDONED_S:
                shutil.rmtree(part, ignore_errors=True)
