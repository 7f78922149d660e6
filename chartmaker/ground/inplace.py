"""A set written file by file, where its folder cannot be exchanged: it is a mount point, or a shell stands in it."""

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

#: A run works in a folder of its own within the set's; a journal there says that the new files are complete.
_PART = re.compile(r"\.[0-9a-f]{12}\.part")
_JOURNAL, _OLD = "journal", "old"
#: A working folder without a journal that no run holds is abandoned after this time.
_ABANDONED_S = 3600.0


def must_stay(folder: Path) -> bool:
    """Return whether a folder cannot be exchanged: something is mounted there, or a shell may stand in it."""
    return os.path.ismount(folder) or (folder.exists() and Path.cwd().exists() and folder.samefile(Path.cwd()))


def is_part(name: str) -> bool:
    """Return whether a name in a set's folder is that of the working folder of a run."""
    return _PART.fullmatch(name) is not None


@contextlib.contextmanager
def written(folder: Path, writers: Mapping[str, Writer], models: Mapping[str, os.stat_result | None]) -> Iterator[Path]:
    """Write the new files into a working folder within `folder`; remove it at the end unless its journal is there."""
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
    """Put the new files in place of the old ones, so that afterwards all are new or all are as before.

    A run that is killed while it does this leaves its journal, and the next run completes the move with `finish`.

    Raises
    ------
    OSError
        If a step fails; the old files are back in place then.
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
    """Complete the move that a killed run had begun, and remove the working folders that such runs left."""
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
