"""A closed pipe is no error, a full output is reported, and a command does without a stream that is closed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from chartmaker.cli.faults import exit_codes

RUG = '[rug]\nsize = "20x30 cm"\ndensity = "30x30 per dm"\n'
COMMANDS = {"plan": ["plan", "rug.toml"], "json": ["plan", "rug.toml", "--json"], "manual": ["manual"]}


def run(words: list[str], folder: Path, redirected: str = "") -> subprocess.CompletedProcess[str]:
    """Run a command with its streams redirected in the shell's notation."""
    (folder / "rug.toml").write_text(RUG, encoding="utf-8")
    line = f'"{sys.executable}" -m chartmaker {" ".join(words)} {redirected}'
    return subprocess.run(["sh", "-c", line], cwd=folder, capture_output=True, text=True, timeout=60, check=False)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no device that is always full")
@pytest.mark.parametrize("name", COMMANDS)
def test_a_full_stdout_is_reported_with_its_own_code(name: str, tmp_path: Path) -> None:
    done = run(COMMANDS[name], tmp_path, ">/dev/full")
    assert done.returncode == 7 and 7 in exit_codes()
    assert done.stderr == "chartmaker: the output of the command cannot be written: No space left on device\n"


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("redirected", [">&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_a_command_does_without_a_closed_stdout(name: str, redirected: str, tmp_path: Path) -> None:
    done = run(COMMANDS[name], tmp_path, redirected)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize("name", COMMANDS)
def test_a_pipe_that_is_closed_early_is_no_error(name: str, tmp_path: Path) -> None:
    done = run(COMMANDS[name], tmp_path, "| (read line; echo); wait; true")
    assert done.stderr == ""
    line = f'("{sys.executable}" -m chartmaker {" ".join(COMMANDS[name])}; echo $? >code) | head -c 1'
    subprocess.run(["sh", "-c", line], cwd=tmp_path, capture_output=True, timeout=60, check=True)
    assert (tmp_path / "code").read_text(encoding="utf-8").strip() == "0"


@pytest.mark.parametrize("redirected", ["2>&-", "2>/dev/full", ">&- 2>/dev/full"])
def test_an_error_that_nobody_can_read_keeps_its_exit_code(redirected: str, tmp_path: Path) -> None:
    if "/dev/full" in redirected and not Path("/dev/full").exists():
        redirected = "2>&-"
    assert run(["plan", "none.toml"], tmp_path, redirected).returncode == 3
