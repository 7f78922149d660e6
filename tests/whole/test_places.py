"""Sets are written to difficult places: a full or read-only disk, links, a pipe, and a folder that many runs want."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from support.small_order import order, set_of

from chartmaker.cli.faults import run
from chartmaker.jobs.outputs import SET_NAMES


def run_alone(root: Path, script: str, folder: Path, *before: str) -> str:
    """Run a script of the tests in a process of its own, and return what it prints."""
    path = os.pathsep.join([str(root), str(root / "tests")])
    done = subprocess.run(
        [*before, sys.executable, str(root / "tests" / "support" / script), str(folder)],
        env=os.environ | {"PYTHONPATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_full_disk_or_a_read_only_one_changes_nothing(root: Path, tmp_path: Path) -> None:
    """It uses a real file system of 8 MB in a mount namespace of its own, and fails where it cannot have one."""
    assert shutil.which("unshare"), "install util-linux"
    ways = [way for way in ("-m", "-rm") if subprocess.run(["unshare", way, "true"], check=False).returncode == 0]
    assert ways, "neither root nor a user namespace may mount here, so a full disk was not tried"
    said = run_alone(root, "small_disk.py", tmp_path, "unshare", ways[0])
    assert int(said.split()[0]) >= 4


def test_twenty_runs_at_once_never_mix(root: Path, tmp_path: Path) -> None:
    assert run_alone(root, "crowd.py", tmp_path) == "never mixed, never lost\n"


def make(rug_file: Path, out: Path, *more: str) -> int:
    return run(["make", str(rug_file), "--out", str(out), "--replace", "--quiet", *more])


def test_links_are_followed_but_never_out_of_the_set(tmp_path: Path) -> None:
    one, two = (order(tmp_path, name, seed, size="3x4 cm") for seed, name in enumerate(("one", "two")))
    (tmp_path / "out").symlink_to("real")
    (tmp_path / "real").mkdir()
    assert make(one, tmp_path / "out") == 0
    old = set_of(tmp_path / "real")
    assert set(old or ()) == set(SET_NAMES)
    (tmp_path / "mine.pdf").write_bytes(b"mine")
    (tmp_path / "real" / "chart.pdf").unlink()
    (tmp_path / "real" / "chart.pdf").symlink_to(tmp_path / "mine.pdf")
    assert make(two, tmp_path / "out") == 7  # a link is not the file that was made
    assert make(two, tmp_path / "out", "--replace-changed") == 0
    assert (tmp_path / "out").is_symlink()
    assert not any(path.is_symlink() for path in (tmp_path / "real").iterdir())
    assert (tmp_path / "mine.pdf").read_bytes() == b"mine"


@pytest.mark.parametrize("command", ["make", "knot"])
def test_a_pipe_is_refused_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str) -> None:
    rug_file, pipe = order(tmp_path, "one", 0, size="3x4 cm"), tmp_path / "pipe"
    os.mkfifo(pipe)
    assert run([command, str(rug_file), "--out", str(pipe), "--replace", "--quiet"]) == 7
    assert "choose another name" in capsys.readouterr().err
    assert pipe.is_fifo()
