"""With the cache folder or without it the bytes are the same, whatever happens to the files in it."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from skimage import data
from support.ordering import Result

from chartmaker.ground import cachefolder as module
from chartmaker.ground.cachefolder import VARIABLE, CacheFolder, lasting, packed, unpacked
from chartmaker.ground.memory import Values

DTYPES = ("|u1", "<i8", "<f8", "|b1", "<u2")


def made(*values: np.ndarray) -> Callable[[], Values]:
    return lambda: values


def never() -> Values:
    raise AssertionError("this was kept")


@given(st.lists(st.tuples(st.sampled_from(DTYPES), st.lists(st.integers(0, 5), max_size=3)), max_size=4), st.data())
def test_arrays_come_back_as_they_were_and_no_damage_passes(
    shapes: list[tuple[str, list[int]]], chance: st.DataObject
) -> None:
    values = tuple(np.arange(int(np.prod(shape))).astype(kind).reshape(shape) for kind, shape in shapes)
    whole = b"".join(packed(values))
    back = unpacked(bytearray(whole))
    assert [(value.dtype.str, value.shape, value.tobytes()) for value in back] == [
        (value.dtype.str, value.shape, value.tobytes()) for value in values
    ]
    assert all(value.flags.writeable for value in back)
    place = chance.draw(st.integers(0, len(whole) - 1))
    damaged = bytearray(whole)
    damaged[place] ^= chance.draw(st.integers(1, 255))
    for bad in (damaged, bytearray(whole[:place]), bytearray(whole + b"\0")):
        with pytest.raises(ValueError):
            unpacked(bad)


def test_a_result_is_kept_under_all_that_it_depends_on(tmp_path: Path) -> None:
    kept = CacheFolder(tmp_path / "cache")
    value = np.arange(6.0).reshape(2, 3)
    for _ in range(2):
        assert kept.recall("work", (1, value), made(value))[0].tolist() == value.tolist()
    assert CacheFolder(tmp_path / "cache").recall("work", (1, value), never)[0].tolist() == value.tolist()
    for work, of in (("other", (1, value)), ("work", (2, value)), ("work", (1, value + 1))):
        assert kept.recall(work, of, made(np.array([9])))[0] == 9


def test_a_changed_program_finds_nothing_of_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = CacheFolder(tmp_path / "cache")
    kept.recall("work", 1, made(np.array([1])))
    monkeypatch.setattr(module, "_program", lambda: b"changed")
    assert kept.recall("work", 1, made(np.array([2])))[0] == 2
    # where the program's own code cannot be read, nothing is kept
    monkeypatch.setattr(module, "_program", lambda: None)
    assert [int(kept.recall("work", 1, made(np.array([n])))[0][0]) for n in (3, 4)] == [3, 4]


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions as POSIX has them")
def test_only_the_user_can_read_it_and_no_name_stands_in_it(tmp_path: Path) -> None:
    old = os.umask(0)
    try:
        CacheFolder(tmp_path / "home" / "cache").recall("secret.png", "secret.png", made(np.array([1])))
    finally:
        os.umask(old)
    folder = tmp_path / "home" / "cache"
    (entry,) = folder.iterdir()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700 and stat.S_IMODE(entry.stat().st_mode) == 0o600
    assert b"secret" not in entry.read_bytes() and "secret" not in entry.name


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions as POSIX has them")
def test_a_folder_that_others_may_write_to_is_not_used(tmp_path: Path) -> None:
    folder = tmp_path / "cache"
    CacheFolder(folder).recall("work", 1, made(np.array([1])))
    folder.chmod(0o777)
    assert CacheFolder(folder).recall("work", 1, made(np.array([2])))[0] == 2
    folder.chmod(0o700)
    assert CacheFolder(folder).recall("work", 1, never)[0] == 1


def test_the_least_recently_used_entries_make_room_for_new_ones(tmp_path: Path) -> None:
    kept = CacheFolder(tmp_path, most_bytes=10_000)
    for number in range(6):
        kept.recall("work", number, made(np.full(3000, number, np.uint8)))
        for age, entry in enumerate(sorted(tmp_path.iterdir(), key=lambda path: -path.stat().st_mtime_ns)):
            os.utime(entry, (1e9 - age, 1e9 - age))
        if number >= 1:
            kept.recall("work", 0, never)  # this entry is in use all the time
    assert sum(path.stat().st_size for path in tmp_path.iterdir()) <= 10_000
    assert kept.recall("work", 5, never)[0][0] == 5
    assert kept.recall("work", 1, made(np.array([99])))[0] == 99
    kept.recall("work", "large", made(np.zeros(20_000, np.uint8)))
    assert kept.recall("work", 5, never)[0][0] == 5  # an entry that is too large for the folder displaces nothing


def test_remains_of_a_killed_process_are_removed_later(tmp_path: Path) -> None:
    kept = CacheFolder(tmp_path)
    for name, age in ((".left.1", 7200), (".busy.2", 60)):
        (tmp_path / name).write_bytes(b"half")
        stamp = (tmp_path / name).stat().st_mtime - age
        os.utime(tmp_path / name, (stamp, stamp))
    kept.recall("work", 1, made(np.array([1])))
    assert {path.name for path in tmp_path.glob(".*")} == {".busy.2"}


@pytest.mark.parametrize("fault", ["mkdir", "open", "replace", "stat", "scandir"])
def test_no_fault_of_the_folder_is_an_error(fault: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk, a read-only disk and a lack of rights each raise an OSError in one of these calls."""

    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    owner = os if fault in ("open", "scandir") else Path
    with monkeypatch.context() as patch:
        patch.setattr(owner, fault, fail)
        kept = CacheFolder(tmp_path / "cache")
        assert [int(kept.recall("work", 1, made(np.array([n])))[0][0]) for n in (1, 1)] == [1, 1]
    assert not list(tmp_path.rglob(".*"))


def test_the_place_of_the_folder_and_how_to_turn_it_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The place is that of the XDG Base Directory Specification for data that is not essential."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert not isinstance(lasting(), CacheFolder)  # the tests themselves turn the cache off
    monkeypatch.delenv(VARIABLE)
    found = lasting()
    assert isinstance(found, CacheFolder)
    found.recall("work", 1, made(np.array([1])))
    if sys.platform.startswith("linux"):
        assert [path.parent for path in tmp_path.rglob("*") if path.is_file()] == [tmp_path / "chartmaker"]


def photograph(folder: Path) -> Path:
    """Write a small photograph beside the order's card."""
    Image.fromarray(data.astronaut()[::4, ::4]).save(folder / "photo.png")
    return folder / "photo.png"


ASKED = ("--size", "12x12 cm", "--density", "40x50 per dm", "--fit", "crop", "--colours", "3")


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.mark.parametrize("kind", ["flat", "shaded", "stippled", "dyed"])
def test_a_set_is_the_same_to_the_byte_with_the_cache_and_without(
    kind: str, order: Path, chartmaker: Callable[..., Result], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    monkeypatch.delenv(VARIABLE)
    card = ("--card", tmp_path / "wool.csv", "--keep", "R1")[: 4 if kind == "shaded" else 2]
    asked: tuple[object, ...] = (order,) if kind == "flat" else (photograph(tmp_path), *ASKED)
    asked += () if kind in ("flat", "dyed") else card
    asked += ("--set", "design.stipple=0.5") if kind == "stippled" else ()
    for out, more in (("one", ()), ("two", ()), ("three", ("--no-cache",))):
        (tmp_path / out).mkdir()
        command = ("make", *asked, "--out", tmp_path / out / "set")
        if kind != "flat":
            command = ("knot", *asked, "--out", tmp_path / out / "knots.png")
        assert chartmaker(*command, "--quiet", *more).code == 0
        if out == "one":
            entries = {path.name for path in (tmp_path / "xdg").rglob("*") if path.is_file()}
            assert len(entries) >= 3
    assert files(tmp_path / "one") == files(tmp_path / "two") == files(tmp_path / "three")
    # all of it was found in the cache
    assert {path.name for path in (tmp_path / "xdg").rglob("*") if path.is_file()} == entries


def test_damaged_entries_and_others_at_work_change_nothing(
    order: Path, chartmaker: Callable[..., Result], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two processes fill the folder at once, and then each of its entries is damaged in a different way."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    monkeypatch.delenv(VARIABLE)
    outs = [tmp_path / f"{n}.png" for n in range(4)]
    command = [sys.executable, "-m", "chartmaker", "knot", str(order), "--quiet", "--out"]
    at_once = [subprocess.Popen([*command, str(out)]) for out in outs[:2]]
    assert [process.wait() for process in at_once] == [0, 0]
    entries = [path for path in (tmp_path / "xdg").rglob("*") if path.is_file()]
    assert entries and not any(path.name.startswith(".") for path in entries)
    for number, path in enumerate(entries):
        whole = path.read_bytes()
        path.write_bytes((whole[:-1], b"", whole[:200] + b"?" + whole[201:], b"x" * len(whole))[number % 4])
    for out, more in ((outs[2], ()), (outs[3], ("--no-cache",))):
        assert chartmaker("knot", order, "--out", out, "--quiet", *more).code == 0
    assert len({out.read_bytes() for out in outs}) == 1
    for path in entries:
        unpacked(bytearray(path.read_bytes()))  # the damaged entries were replaced
