"""What is written is on the disk before it counts as written, and if a step fails the old content stays."""

from __future__ import annotations

import errno
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO

import pytest

from chartmaker.ground import durable, files, inplace, targets
from chartmaker.ground.errors import OutputError

OLD, NEW = {"a.txt": b"old a", "b.txt": b"old b"}, {"a.txt": b"new a", "b.txt": b"new b", "c.txt": b"new c"}


def writers(contents: dict[str, bytes]) -> dict[str, files.Writer]:
    def put(content: bytes) -> files.Writer:
        return lambda stream: stream.write(content) and None

    return {name: put(content) for name, content in contents.items()}


def state(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """Which files and folders were synced, exchanged or renamed, in order, by inode."""
    taken: list[tuple[str, int]] = []

    def noted(what: str, real: Callable[..., Any], inode: Callable[..., int]) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            taken.append((what, inode(*args)))
            return real(*args, **more)

        return call

    monkeypatch.setattr(os, "fsync", noted("sync", os.fsync, lambda handle: os.fstat(handle).st_ino))
    for name in ("rename", "replace"):
        monkeypatch.setattr(Path, name, noted("move", getattr(Path, name), lambda path, _to: path.stat().st_ino))
    monkeypatch.setattr(files, "_exchange", noted("move", files._exchange, lambda path, _to: path.stat().st_ino))
    return taken


@pytest.mark.parametrize("there", [False, True])
def test_a_set_is_synced_file_by_file_and_folder_by_folder(
    tmp_path: Path, steps: list[tuple[str, int]], there: bool
) -> None:
    """Syncing a file does not make its name durable; for that its folder must be synced as well (POSIX fsync(2))."""
    folder = tmp_path / "set"
    if there:
        files.write_set(folder, writers(OLD), targets.Replacing())
    steps.clear()
    files.write_set(folder, writers(NEW), targets.Replacing(there))
    moved = max(place for place, (what, _) in enumerate(steps) if what == "move")
    before, after = steps[:moved], steps[moved:]
    inodes = {path.stat().st_ino for path in folder.iterdir()}
    assert inodes <= {inode for what, inode in before if what == "sync"}
    assert ("sync", folder.stat().st_ino) in before
    assert ("sync", tmp_path.stat().st_ino) in after


@pytest.mark.parametrize("there", [False, True])
def test_a_file_is_synced_and_then_its_name(tmp_path: Path, steps: list[tuple[str, int]], there: bool) -> None:
    path = tmp_path / "file"
    if there:
        path.write_bytes(b"old")
    steps.clear()
    files.write_file(path, writers(NEW)["a.txt"], replace=there)
    assert steps[0] == ("sync", path.stat().st_ino)
    assert steps[-1] == ("sync", tmp_path.stat().st_ino)


@pytest.mark.parametrize("exchange", [True, False])
@pytest.mark.parametrize("there", [False, True])
def test_where_a_folder_cannot_be_synced_the_change_is_undone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool, exchange: bool
) -> None:
    folder, path = tmp_path / "set", tmp_path / "file"
    if there:
        files.write_set(folder, writers(OLD), targets.Replacing())
        path.write_bytes(b"old")
    if not exchange:
        monkeypatch.setattr(files, "_exchange", lambda _first, _second: False)

    def refuse(where: Path) -> None:
        if where == tmp_path:
            raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(files, "sync_folder", refuse)
    with pytest.raises(OutputError, match="Input/output error; nothing was changed"):
        files.write_set(folder, writers(NEW), targets.Replacing(there))
    with pytest.raises(OutputError, match="Input/output error; nothing was changed"):
        files.write_file(path, writers(NEW)["a.txt"], replace=there)
    assert sorted(path.name for path in tmp_path.iterdir()) == (["file", "set"] if there else [])
    if there:
        assert (state(folder), path.read_bytes()) == (OLD, b"old")


def test_a_system_that_cannot_sync_folders_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for code, fine in ((errno.EINVAL, True), (errno.ENOTSUP, True), (errno.EIO, False)):

        def refuse(_handle: int, code: int = code) -> None:
            raise OSError(code, os.strerror(code))

        monkeypatch.setattr(os, "fsync", refuse)
        if fine:
            durable.sync_folder(tmp_path)
        else:
            with pytest.raises(OSError, match="Input/output"):
                durable.sync_folder(tmp_path)


@pytest.mark.parametrize("stays", [False, True])
def test_the_folder_is_looked_at_again_before_anything_is_exchanged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stays: bool
) -> None:
    """A file that somebody else puts there while the set is written must not be lost."""
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing())
    monkeypatch.setattr(inplace, "must_stay", lambda _folder: stays)

    def and_meanwhile(stream: BinaryIO) -> None:
        (folder / "notes.txt").write_text("mine")
        stream.write(b"new")

    with pytest.raises(OutputError, match=r"notes\.txt"):
        files.write_set(folder, writers(NEW) | {"b.txt": and_meanwhile}, targets.Replacing(True))
    assert state(folder) == OLD | {"notes.txt": b"mine"}

    def another(stream: BinaryIO) -> None:
        (tmp_path / "link").symlink_to("mine")
        (tmp_path / "mine").mkdir()
        stream.write(b"new")

    with pytest.raises(OutputError, match="is not a file"):
        files.write_file(tmp_path / "link", another, replace=True)
    assert (tmp_path / "mine").is_dir()


@pytest.mark.parametrize(("age_s", "swept"), [(3590.0, False), (3610.0, True)])
def test_only_remains_older_than_an_hour_are_removed(tmp_path: Path, age_s: float, swept: bool) -> None:
    folder, left = tmp_path / "set", tmp_path / ".set.0123456789ab.part"
    files.write_set(folder, writers(OLD), targets.Replacing())
    left.mkdir()
    (left / "a.txt").write_bytes(b"half")
    os.utime(left, (time.time() - age_s,) * 2)
    files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert left.exists() is not swept


@pytest.mark.parametrize("stays", [False, True])
def test_rights_and_owner_survive_a_replacement(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stays: bool) -> None:
    folder, path = tmp_path / "set", tmp_path / "file"
    files.write_set(folder, writers(OLD), targets.Replacing())
    path.write_bytes(b"old")
    folder.chmod(0o700)
    for each in (path, *folder.iterdir()):
        each.chmod(0o600)
        if os.geteuid() == 0:
            os.chown(each, 12345, 23456)
    before = folder.stat(), path.stat()
    monkeypatch.setattr(inplace, "must_stay", lambda _folder: stays)
    files.write_set(folder, writers(NEW), targets.Replacing(True))
    files.write_file(path, writers(NEW)["a.txt"], replace=True)
    assert state(folder) == NEW
    for now, then in ((folder.stat(), before[0]), *((each.stat(), before[1]) for each in (path, *folder.iterdir()))):
        assert (now.st_mode, now.st_uid, now.st_gid) == (then.st_mode, then.st_uid, then.st_gid)


def test_a_set_in_the_working_folder_of_a_shell_is_written_in_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing())
    monkeypatch.chdir(folder)
    before = folder.stat().st_ino
    files.write_set(Path(), writers(NEW), targets.Replacing(True))
    assert (folder.stat().st_ino, state(Path())) == (before, NEW)


def test_moved_file_by_file_the_set_is_all_old_or_all_new_whatever_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(inplace, "must_stay", lambda folder: folder.exists())
    for at in range(1, 200):
        folder = tmp_path / f"set{at}"
        folder.mkdir()
        files.write_set(folder, writers(OLD), targets.Replacing(True))
        calls = 0

        def failing(real: Callable[..., Any], at: int = at) -> Callable[..., Any]:
            def call(*args: Any, **more: Any) -> Any:
                nonlocal calls
                calls += 1
                if calls == at:
                    raise OSError(errno.EIO, os.strerror(errno.EIO))
                return real(*args, **more)

            return call

        with monkeypatch.context() as patch:
            for owner, name in ((Path, "open"), (Path, "replace"), (Path, "mkdir"), (os, "fsync")):
                patch.setattr(owner, name, failing(getattr(owner, name)))
            try:
                files.write_set(folder, writers(NEW), targets.Replacing(True))
                failed = False
            except OutputError:
                failed = True
        assert state(folder) == (OLD if failed else NEW), at
        if calls < at:
            assert at > 12  # every step was made to fail once
            return
    raise AssertionError


def test_a_run_killed_while_it_moves_file_by_file_is_completed_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The process is ended in the middle of the moves, and the next run that looks at the folder completes the set."""
    monkeypatch.setattr(inplace, "must_stay", lambda folder: folder.exists())
    for at in range(1, 4):
        folder = tmp_path / f"set{at}"
        folder.mkdir()
        files.write_set(folder, writers(OLD), targets.Replacing(True))
        child = os.fork()
        if child == 0:
            moved, real = 0, Path.replace

            def killed(path: Path, target: Path, at: int = at, real: Callable[..., Path] = real) -> Path:
                nonlocal moved
                moved += 1
                if moved == at:
                    os._exit(9)
                return real(path, target)

            Path.replace = killed  # type: ignore[method-assign]
            files.write_set(folder, writers(NEW), targets.Replacing(True))
            os._exit(0)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
        with pytest.raises(OutputError, match="--replace"):
            targets.check_folder(folder, NEW, targets.Replacing())
        assert state(folder) == NEW


def test_an_old_set_that_cannot_be_removed_is_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing())
    monkeypatch.setattr(shutil, "rmtree", lambda *_args, **_more: None)
    with pytest.raises(OutputError, match=r"the set is written, but the old one could not be removed: remove .*\.part"):
        files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == NEW
