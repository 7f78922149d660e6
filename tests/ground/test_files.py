"""Files and sets are written all or nothing, as failures at every step show."""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO

import pytest

from chartmaker.ground import durable, files, targets
from chartmaker.ground.errors import OutputError

OLD = {"a.txt": b"old a", "b.txt": b"old b"}
NEW = {"a.txt": b"new a", "b.txt": b"new b"}


def put(content: bytes, stream: BinaryIO) -> None:
    stream.write(content)


def writers(contents: dict[str, bytes]) -> dict[str, files.Writer]:
    return {name: partial(put, content) for name, content in contents.items()}


def state(folder: Path) -> dict[str, bytes] | None:
    """Return what a folder holds, or None where there is no folder."""
    return {p.name: p.read_bytes() for p in folder.iterdir()} if folder.exists() else None


def leftovers(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir() if path.name.endswith(".part")]


class Failing:
    """Makes the n-th call to the operating system fail, once or every time from then on."""

    def __init__(self, at: int, code: int, persistent: bool) -> None:
        self.at, self.code, self.persistent, self.calls, self.fired = at, code, persistent, 0, False

    def wrap(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            self.calls += 1
            if self.calls == self.at or (self.persistent and self.calls > self.at):
                self.fired = True
                raise OSError(self.code, os.strerror(self.code))
            return real(*args, **kwargs)

        return call


def inject(monkeypatch: pytest.MonkeyPatch, failing: Failing) -> None:
    for owner, name in ((Path, "open"), (os, "fsync"), (Path, "rename"), (Path, "replace"), (Path, "mkdir")):
        monkeypatch.setattr(owner, name, failing.wrap(getattr(owner, name)))
    monkeypatch.setattr(os, "link", failing.wrap(os.link))
    monkeypatch.setattr(files, "_exchange", failing.wrap(files._exchange))


@pytest.mark.parametrize("persistent", [False, True])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EACCES])
@pytest.mark.parametrize("replace", [False, True])
def test_a_set_is_all_old_or_all_new_whatever_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, persistent: bool, replace: bool
) -> None:
    at, clean = 0, False
    while not clean:
        at += 1
        folder = tmp_path / f"set{at}"
        if replace:
            files.write_set(folder, writers(OLD), targets.Replacing(False))
        failing = Failing(at, code, persistent)
        failed = False
        with monkeypatch.context() as patch:
            inject(patch, failing)
            try:
                files.write_set(folder, writers(NEW), targets.Replacing(replace))
            except OutputError as error:
                failed = True
                assert str(folder) in str(error)
        before = OLD if replace else None
        assert state(folder) in (before, NEW)
        if failed and not persistent:
            assert state(folder) == before
        if not failed:
            assert state(folder) == NEW
        assert not leftovers(tmp_path)
        clean = not failing.fired
    assert at > 6  # every step was made to fail at least once


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EACCES])
@pytest.mark.parametrize("replace", [False, True])
def test_a_file_is_all_old_or_all_new_whatever_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, replace: bool
) -> None:
    at, clean = 0, False
    while not clean:
        at += 1
        path = tmp_path / f"{at}.txt"
        if replace:
            path.write_bytes(b"old")
        failing = Failing(at, code, persistent=True)
        failed = False
        with monkeypatch.context() as patch:
            inject(patch, failing)
            try:
                files.write_file(path, partial(put, b"new"), replace=replace)
            except OutputError:
                failed = True
        now = path.read_bytes() if path.exists() else None
        assert now in (b"new", b"old" if replace else None)
        assert failed or now == b"new"
        assert not leftovers(tmp_path)
        clean = not failing.fired


def test_a_writer_that_fails_leaves_the_old_set(tmp_path: Path) -> None:
    def fail(stream: BinaryIO) -> None:
        stream.write(b"half")
        raise KeyboardInterrupt

    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    with pytest.raises(KeyboardInterrupt):
        files.write_set(folder, {"a.txt": partial(put, b"new a"), "b.txt": fail}, targets.Replacing(True))
    assert state(folder) == OLD
    assert not leftovers(tmp_path)


class Halted(BaseException):
    """The exception that these tests' handler of a signal raises."""


@pytest.fixture
def halting() -> Iterator[None]:
    """While this fixture is in use SIGTERM raises Halted."""

    def halt(_number: int, _frame: object) -> None:
        raise Halted

    before = signal.signal(signal.SIGTERM, halt)
    yield
    assert signal.getsignal(signal.SIGTERM) is halt
    signal.signal(signal.SIGTERM, before)


@pytest.mark.usefixtures("halting")
@pytest.mark.parametrize("exchange", [True, False])
def test_a_signal_waits_while_a_set_is_put_in_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exchange: bool
) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    rename, exchanged = Path.rename, files._exchange

    def signalled(*paths: Path) -> bool:
        signal.raise_signal(signal.SIGTERM)
        done = exchange and exchanged(*paths)
        signal.raise_signal(signal.SIGTERM)
        return done

    monkeypatch.setattr(files, "_exchange", signalled)
    monkeypatch.setattr(Path, "rename", lambda *paths: (signal.raise_signal(signal.SIGTERM), rename(*paths))[1])
    with pytest.raises(Halted):
        files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == NEW
    assert not leftovers(tmp_path)


@pytest.mark.usefixtures("halting")
@pytest.mark.parametrize("replace", [False, True])
def test_a_signal_waits_while_a_file_is_put_in_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, replace: bool
) -> None:
    path = tmp_path / "file"
    if replace:
        path.write_bytes(b"old")
    for owner, name in ((os, "link"), (Path, "replace")):
        real = getattr(owner, name)
        signalled = lambda *paths, real=real: (real(*paths), signal.raise_signal(signal.SIGTERM))[0]  # noqa: E731
        monkeypatch.setattr(owner, name, signalled)
    with pytest.raises(Halted):
        files.write_file(path, partial(put, b"new"), replace=replace)
    assert path.read_bytes() == b"new"
    assert not leftovers(tmp_path)


def test_without_the_exchange_call_the_set_is_still_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    monkeypatch.setattr(files, "_exchange", lambda _first, _second: False)
    files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == NEW
    assert not leftovers(tmp_path)


@pytest.mark.parametrize("at", [1, 2, 3])
def test_without_the_exchange_call_a_failure_leaves_the_old_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """The old set is renamed aside and the new one into its place, and each rename in turn is refused."""
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    failing = Failing(at, errno.EACCES, persistent=False)
    monkeypatch.setattr(files, "_exchange", lambda _first, _second: False)
    monkeypatch.setattr(Path, "rename", failing.wrap(Path.rename))
    with pytest.raises(OutputError, match="nothing was changed"):
        files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert failing.fired
    assert state(folder) == OLD
    assert not leftovers(tmp_path)


class OtherSystem:
    """A C library whose call for an exchange fails with a code, or that has no such call."""

    def __init__(self, code: int) -> None:
        if code:
            self.renameat2 = lambda *_: (ctypes.set_errno(code), -1)[1]


@pytest.mark.parametrize("code", [0, errno.ENOSYS, errno.EINVAL, errno.ENOTSUP])
def test_on_systems_without_an_exchange_the_set_is_replaced_in_steps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    monkeypatch.setattr(ctypes, "CDLL", lambda _name, use_errno: OtherSystem(code))
    files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == NEW
    assert not leftovers(tmp_path)


def test_an_exchange_that_is_refused_leaves_the_old_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    monkeypatch.setattr(ctypes, "CDLL", lambda _name, use_errno: OtherSystem(errno.EIO))
    with pytest.raises(OutputError, match=os.strerror(errno.EIO)):
        files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == OLD
    assert not leftovers(tmp_path)


def test_on_systems_without_locks_no_remains_are_removed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a lock nobody can tell whether a run is still working on the remains."""
    folder, half = tmp_path / "set", tmp_path / ".set.0123456789ab.part"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    files.write_set(half, writers(OLD), targets.Replacing(False))
    os.utime(half, (0, 0))
    monkeypatch.setitem(sys.modules, "fcntl", None)
    files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == NEW
    assert state(half) == OLD


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_another_run_wrote_meanwhile_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    """The other run writes its file after this one has looked for one; this holds without hard links as well."""
    path = tmp_path / "file"
    real = os.link

    def overtaken(part: Path, target: Path) -> None:
        target.write_bytes(b"first")
        if not links:
            raise OSError(errno.EPERM, os.strerror(errno.EPERM))
        real(part, target)

    monkeypatch.setattr(os, "link", overtaken)
    with pytest.raises(OutputError, match="exists already"):
        files.write_file(path, partial(put, b"new"), replace=False)
    assert path.read_bytes() == b"first"
    assert not leftovers(tmp_path)


def test_existing_files_are_not_overwritten_unasked(tmp_path: Path) -> None:
    folder, path = tmp_path / "set", tmp_path / "file"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    path.write_bytes(b"old")
    with pytest.raises(OutputError, match="--replace"):
        files.write_set(folder, writers(NEW), targets.Replacing(False))
    with pytest.raises(OutputError, match="--replace"):
        files.write_file(path, partial(put, b"new"), replace=False)
    assert state(folder) == OLD
    assert path.read_bytes() == b"old"


def test_a_folder_with_somebody_elses_files_is_never_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(OutputError, match=r"notes\.txt"):
        files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == OLD | {"notes.txt": b"mine"}


def test_an_empty_folder_may_be_replaced(tmp_path: Path) -> None:
    (tmp_path / "set").mkdir()
    files.write_set(tmp_path / "set", writers(NEW), targets.Replacing(False))
    assert state(tmp_path / "set") == NEW


def test_remains_of_a_killed_run_are_removed_and_nothing_else(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    files.write_set(folder, writers(OLD), targets.Replacing(False))
    hour_ago = time.time() - 3700
    names = {
        "swept": ".set.0123456789ab.part",
        "of today": ".set.1123456789ab.part",
        "held by a run": ".set.2123456789ab.part",
        "with another's file": ".set.3123456789ab.part",
        "of another set": ".set2.0123456789ab.part",
        "no name of ours": ".set.mine.part",
    }
    for what, name in names.items():
        (tmp_path / name).mkdir()
        (tmp_path / name / ("notes.txt" if what == "with another's file" else "a.txt")).write_bytes(b"half")
        if what != "of today":
            os.utime(tmp_path / name, (hour_ago, hour_ago))
    with durable.claimed(tmp_path / names["held by a run"]) as alone:
        assert alone
        files.write_set(folder, writers(NEW), targets.Replacing(True))
    assert state(folder) == NEW
    assert set(leftovers(tmp_path)) == {name for what, name in names.items() if what != "swept"}


def test_an_old_set_that_was_moved_aside_is_never_removed_as_remains(tmp_path: Path) -> None:
    """Without the exchange call a killed run may leave the old set aside and nothing in its place."""
    aside = tmp_path / ".set.0123456789ab.part"
    files.write_set(aside, writers(OLD), targets.Replacing(False))
    os.utime(aside, (0, 0))
    files.write_set(tmp_path / "set", writers(NEW), targets.Replacing(True))
    assert state(aside) == OLD


def test_links_are_followed_to_what_they_name(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    files.write_file(tmp_path / "link", partial(put, b"new"), replace=True)
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"
    files.write_set(tmp_path / "set", writers(OLD), targets.Replacing(False))
    (tmp_path / "setlink").symlink_to("set")
    files.write_set(tmp_path / "setlink", writers(NEW), targets.Replacing(True))
    assert (tmp_path / "setlink").is_symlink()
    assert state(tmp_path / "set") == NEW


def test_targets_that_are_no_file_or_folder_are_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_bytes(b"")
    for name in ("pipe", "folder"):
        with pytest.raises(OutputError, match="is not a file"):
            files.write_file(tmp_path / name, partial(put, b""), replace=True)
    for name in ("pipe", "file"):
        with pytest.raises(OutputError, match="is not a folder"):
            files.write_set(tmp_path / name, writers(NEW), targets.Replacing(True))
    with pytest.raises(OutputError, match="does not exist"):
        files.write_file(tmp_path / "no" / "file", partial(put, b""), replace=True)
    with pytest.raises(OutputError, match="does not exist"):
        files.write_set(tmp_path / "no" / "set", writers(NEW), targets.Replacing(True))
    for name in ("a\0b", "a\ud800b"):  # half of a surrogate pair cannot be written in UTF-8
        with pytest.raises(OutputError, match="not a usable name"):
            files.write_file(tmp_path / name, partial(put, b""), replace=True)
        with pytest.raises(OutputError, match="not a usable name"):
            files.write_set(tmp_path / name, writers(NEW), targets.Replacing(True))


def test_an_error_of_a_writer_is_not_blamed_on_the_file(tmp_path: Path) -> None:
    def broken(_stream: BinaryIO) -> None:
        raise ValueError("oh")

    with pytest.raises(ValueError, match="oh"):
        files.write_set(tmp_path / "set", {"a": broken}, targets.Replacing(False))
    with pytest.raises(ValueError, match="oh"):
        files.write_file(tmp_path / "file", broken, replace=False)
    assert list(tmp_path.iterdir()) == []


def test_of_two_runs_at_once_the_second_replaces_nothing_unasked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first run puts its set in place after the second has looked whether there is one."""
    folder = tmp_path / "set"
    real = files._move_in

    def overtaken(*paths: Path, replace: bool) -> None:
        shutil.copytree(tmp_path / "first", folder)
        real(*paths, replace=replace)

    files.write_set(tmp_path / "first", writers(OLD), targets.Replacing(False))
    monkeypatch.setattr(files, "_move_in", overtaken)
    with pytest.raises(OutputError, match="--replace"):
        files.write_set(folder, writers(NEW), targets.Replacing(False))
    assert state(folder) == OLD
    assert not leftovers(tmp_path)


@pytest.mark.parametrize("replace", [False, True])
def test_runs_at_once_never_mix(tmp_path: Path, replace: bool) -> None:
    folder = tmp_path / "set"
    sets = [{name: f"{name} of {run}".encode() * 1000 for name in OLD} for run in range(20)]
    won: list[int] = []

    def run(index: int) -> None:
        try:
            files.write_set(folder, writers(sets[index]), targets.Replacing(replace))
            won.append(index)
        except OutputError:
            pass

    threads = [threading.Thread(target=run, args=(index,)) for index in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert state(folder) in [sets[index] for index in won]
    assert replace or len(won) == 1
    assert not leftovers(tmp_path)


def test_several_files_are_written_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    names = [tmp_path / name for name in ("a", "b", "c")]
    names[0].write_text("old")

    def failing(part: Path, target: Path, kept: Path, *, replace: bool, put: Any = files._put_in_place) -> None:
        if target.name == "c":
            raise OSError(28, "No space left on device")
        put(part, target, kept, replace=replace)

    monkeypatch.setattr(files, "_put_in_place", failing)
    with pytest.raises(OutputError, match="the disk is full"):
        files.write_files({path: lambda stream: stream.write(b"new") for path in names}, replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["a"] and names[0].read_text() == "old"
    monkeypatch.undo()
    files.write_files({path: lambda stream: stream.write(b"new") for path in names}, replace=True)
    assert [path.read_text() for path in names] == ["new"] * 3
    assert len(list(tmp_path.iterdir())) == 3
