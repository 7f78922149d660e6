"""The command `collection`: what it prints, how it ends, and what it leaves behind when it is killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from support.seasons import bytes_of, season


def test_it_says_which_sets_it_made_and_which_were_there(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    path = season(tmp_path, 'set = "figures"')
    dry = chartmaker("collection", path, "--out", tmp_path / "out", "--dry-run")
    assert dry.code == 0 and "8 sets would be made:" in dry.out and not (tmp_path / "out").exists()
    made = chartmaker("collection", path, "--out", tmp_path / "out")
    assert (made.code, made.err) == (0, "")
    assert "8 sets were made." in made.out
    again = chartmaker("collection", path, "--out", tmp_path / "out", "--json")
    told = json.loads(again.out)
    assert {each["state"] for each in told["sets"]} == {"kept"} and told["left"] == []
    assert chartmaker("collection", path, "--out", tmp_path / "out", "--quiet").out == ""


def test_a_single_set_that_fails_decides_the_exit_code(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    path = season(tmp_path, 'set = "figures"', tail='[colourways.odd]\nR1 = "R9"\n', designs=1)
    done = chartmaker("collection", path, "--out", tmp_path / "out")
    assert done.code == 10
    assert "2 sets could not be made" in done.err
    assert "d0-rug-6x8-cm-odd: the colourway names R9, which the card does not have" in done.out
    assert "4 sets were made." in done.out


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("[collection]\n", 3, "rugs is missing"),
        ("[collection]\nrugs = []\n", 3, "rugs"),
        ("[collection\n", 3, "is not a TOML file"),
    ],
)
def test_a_wrong_file_is_one_message(
    tmp_path: Path, chartmaker: Callable[..., Any], text: str, code: int, said: str
) -> None:
    (tmp_path / "bad.toml").write_text(text)
    done = chartmaker("collection", tmp_path / "bad.toml", "--out", tmp_path / "out")
    assert done.code == code and said in done.err and done.out == ""
    assert not (tmp_path / "out").exists()


def test_a_size_of_memory_has_its_unit(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    path = season(tmp_path, 'set = "figures"', designs=1)
    assert chartmaker("collection", path, "--out", tmp_path / "out", "--memory", "6").code == 2
    assert chartmaker("collection", path, "--out", tmp_path / "out", "--memory", "1 MB").code == 10
    assert chartmaker("collection", path, "--out", tmp_path / "out", "--memory", "2 GB").code == 0


def processes() -> dict[int, int]:
    """Return the parent of each process that runs."""
    found = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        found[int(path.parent.name)] = int(words[1])
    return found


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="the processes are found in /proc")
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
def test_a_killed_run_leaves_only_whole_sets_and_the_next_goes_on_from_there(
    tmp_path: Path, number: signal.Signals
) -> None:
    path, out = season(tmp_path, designs=1), tmp_path / "out"
    command = [sys.executable, "-m", "chartmaker", "collection", str(path), "--out", str(out), "--quiet"]
    run = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    while not any(out.glob("d0-*/summary.json")):
        assert run.poll() is None
        time.sleep(0.02)
    children = [pid for pid, parent in processes().items() if parent == run.pid]
    run.send_signal(number)
    assert run.wait(timeout=20) in (-signal.SIGKILL, 143)
    deadline = time.monotonic() + 10
    while set(children) & set(processes()) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not set(children) & set(processes())
    there = {each.name: bytes_of(each) for each in out.glob("d0-*")}
    assert len(there) >= 1 and all("summary.json" in names and len(names) >= 8 for names in there.values())
    assert subprocess.run(command, check=False).returncode == 0
    assert not list(out.glob(".*.part"))
    assert len(list(out.glob("d0-*"))) == 4
    assert {name: bytes_of(out / name) for name in there} == there


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="the processes are found in /proc")
def test_a_worker_that_is_killed_is_replaced(tmp_path: Path) -> None:
    path, out = season(tmp_path), tmp_path / "out"
    command = [sys.executable, "-m", "chartmaker", "collection", str(path), "--out", str(out), "--json"]
    run = subprocess.Popen(command, stdout=subprocess.PIPE)
    killed = 0
    while run.poll() is None and killed < 4:
        for pid in [pid for pid, parent in processes().items() if parent == run.pid]:
            time.sleep(0.4)
            try:
                os.kill(pid, signal.SIGKILL)
                killed += 1
            except ProcessLookupError:
                pass
        time.sleep(0.1)
    told = json.loads(run.communicate(timeout=60)[0])
    assert killed
    for each in told["sets"]:
        names = {path.name for path in (out / each["name"]).glob("*")}
        assert ("summary.json" in names) == (each["state"] == "made") and bool(names) == (each["state"] == "made")
        assert each["state"] == "made" or "ended 3 times" in each["error"]
    assert not list(out.glob(".*.part"))
    assert sum(each["state"] == "made" for each in told["sets"]) >= 4
