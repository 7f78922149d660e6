"""Runs `make` on a real disk that is full or read-only, as a program where it may mount (`unshare -m`)."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
from pathlib import Path

from chartmaker.cli.faults import run
from chartmaker.jobs import outputs
from support.small_order import order, set_of

PICTURE = b"a picture " * 20_000


def make(rug_file: Path, out: Path) -> tuple[int, str]:
    with contextlib.redirect_stderr(io.StringIO()) as said:
        ended = run(["make", str(rug_file), "--out", str(out), "--replace", "--quiet"])
    return ended, said.getvalue()


def mounted(*options: str) -> None:
    subprocess.run(["mount", *options], check=True)


def full(disk: Path, one: Path, two: Path) -> int:
    """Fill the disk, leaving a little more each time until the set has room, and return how often it had none."""
    out, ballast = disk / "out", disk / "ballast"
    assert make(one, out)[0] == 0
    old = set_of(out)
    size = sum(path.stat().st_size for path in out.iterdir())
    for refused in range(17):
        free = os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize
        ballast.write_bytes(bytes(free - size * refused // 8))
        ended, said = make(two, out)
        assert sorted(path.name for path in disk.iterdir()) == ["ballast", "out"]
        ballast.unlink()
        if ended == 0:
            assert set_of(out) != old
            return refused
        assert ended == 7, said
        assert "the disk is full; nothing was changed, make room and try again" in said
        assert set_of(out) == old
    raise AssertionError("it never had room")


def read_only(disk: Path, one: Path, two: Path) -> None:
    """Make the disk read-only under a set, and then only the folder of the set."""
    out = disk / "out"
    old = set_of(out)
    mounted("-o", "remount,ro", str(disk))
    for target in (out, disk / "new"):
        ended, said = make(one, target)
        assert (ended, "Read-only file system; nothing was changed" in said) == (7, True), said
    mounted("-o", "remount,rw", str(disk))
    mounted("--bind", str(out), str(out))
    mounted("-o", "remount,ro,bind", str(out))
    ended, said = make(one, out)
    assert (ended, "nothing was changed" in said) == (7, True), said
    assert set_of(out) == old
    assert [path.name for path in disk.iterdir()] == ["out"]


def main() -> None:
    """Try both in the folder that is given."""
    folder = Path(sys.argv[1])
    outputs.proof_picture_bytes = lambda *_: PICTURE  # drawing the proof pictures would take most of the time
    one, two = (order(folder, name, seed, size="3x4 cm") for seed, name in enumerate(("one", "two")))
    disk = folder / "disk"
    disk.mkdir()
    mounted("-t", "tmpfs", "-o", "size=8m", "tmpfs", str(disk))
    assert disk.is_mount()
    refused = full(disk, one, two)
    read_only(disk, one, two)
    sys.stdout.write(f"{refused} times full\n")


if __name__ == "__main__":
    main()
