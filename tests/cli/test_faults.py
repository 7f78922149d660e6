"""Exit codes, signals and faults of our own: each ends the program with its own code and a plain message."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest

from chartmaker.cli import app, faults
from chartmaker.ground.errors import CallError, ChartmakerError


def test_each_kind_of_error_has_an_exit_code_of_its_own() -> None:
    codes = [error.exit_code for error in ChartmakerError.__subclasses__() if error is not CallError]
    assert CallError.exit_code == click.UsageError.exit_code  # the same fault, which only a job could see
    assert len(set(codes)) == len(codes)
    assert not set(codes) & {0, 1, 2, faults.OWN_FAULT, 129, 130, 143}


def test_every_command_has_an_example_and_is_in_the_readme(root: Path) -> None:
    readme = (root / "README.md").read_text()
    for name in app.LazyGroup.summaries:
        command = app.app.get_command(None, name)  # type: ignore[arg-type]
        assert command is not None
        assert command.name == name
        assert command.epilog is not None
        assert command.epilog.startswith(f"Example: chartmaker {name} ")
        assert f"chartmaker {name}" in readme, f"the README says nothing of {name}"


def test_a_fault_of_our_own_is_reported_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_args: object, **_more: object) -> None:
        raise ZeroDivisionError("oh\x1b[31m")

    monkeypatch.setattr(app.app, "main", broken)
    monkeypatch.delenv(faults.TRACEBACK_VARIABLE, raising=False)
    assert faults.run([]) == faults.OWN_FAULT
    said = capsys.readouterr().err
    assert "ZeroDivisionError" in said
    assert "\x1b" not in said
    monkeypatch.setenv(faults.TRACEBACK_VARIABLE, "1")
    with pytest.raises(ZeroDivisionError):
        faults.run([])


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_signal_leaves_no_trace(order: Path, tmp_path: Path, number: signal.Signals, code: int) -> None:
    before = sorted(tmp_path.iterdir())
    arguments = ["make", str(order), "--out", str(tmp_path / "out")]
    arguments += ["--size", "48x64 cm"]  # so that the files take long enough to be written
    process = subprocess.Popen([sys.executable, "-m", "chartmaker", *arguments], stderr=subprocess.PIPE)
    end = time.monotonic() + 60
    while not any(tmp_path.glob(".*.part/*")) and time.monotonic() < end and process.poll() is None:
        time.sleep(0.02)
    assert process.poll() is None, "it ended before it could be stopped"
    os.kill(process.pid, number)
    _, err = process.communicate(timeout=60)
    assert process.returncode == code, err
    assert b"stopped; no file was left half written" in err
    assert sorted(tmp_path.iterdir()) == before


def test_only_the_first_signal_counts(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """A second signal does not interrupt the clearing away, and afterwards signals act as they did before."""
    cleared = []

    def stopped(*_args: object, **_more: object) -> None:
        try:
            signal.raise_signal(signal.SIGHUP)
        finally:
            signal.raise_signal(signal.SIGTERM)
            signal.raise_signal(signal.SIGINT)
            cleared.append(True)

    before = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)]
    monkeypatch.setattr(app.app, "main", stopped)
    assert faults.run([]) == 129
    assert cleared == [True]
    assert capsys.readouterr().err == "chartmaker: stopped; no file was left half written\n"
    assert [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)] == before


def _lost() -> None:
    """Swallow the signal, as a library does that suppresses every exception."""
    with contextlib.suppress(BaseException):
        signal.raise_signal(signal.SIGINT)


def _made_an_error_of() -> None:
    """Turn the signal into an error, as reportlab does where it cannot escape a text or resolve a reference."""
    try:
        signal.raise_signal(signal.SIGINT)
    except:  # noqa: E722
        raise ValueError("cannot escape") from None


@pytest.mark.parametrize("caught", [_lost, _made_an_error_of])
def test_a_library_that_catches_everything_does_not_hide_a_signal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], caught: Callable[[], None]
) -> None:
    monkeypatch.setattr(app.app, "main", lambda *_args, **_more: caught())
    assert faults.run([]) == 130
    assert capsys.readouterr().err == "chartmaker: stopped; no file was left half written\n"


def test_where_a_library_lost_a_signal_the_next_one_stops(monkeypatch: pytest.MonkeyPatch) -> None:
    went_on = []

    def main(*_args: object, **_more: object) -> None:
        _lost()
        went_on.append("after the first")
        signal.raise_signal(signal.SIGTERM)
        went_on.append("after the second")

    monkeypatch.setattr(app.app, "main", main)
    assert faults.run([]) == 130
    assert went_on == ["after the first"]


def test_a_signal_while_an_error_is_reported_ends_as_a_signal(monkeypatch: pytest.MonkeyPatch) -> None:
    def faulty(*_args: object, **_more: object) -> None:
        raise ChartmakerError("oh")

    monkeypatch.setattr(app.app, "main", faulty)
    monkeypatch.setattr(ChartmakerError, "__str__", lambda _error: str(signal.raise_signal(signal.SIGTERM)))
    assert faults.run([]) == 143


@pytest.mark.parametrize(("what", "code"), [("artwork", 5), ("card", 4), ("rug file", 3)])
def test_an_input_that_cannot_be_read_is_reported_as_such(
    order: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], what: str, code: int
) -> None:
    """The file is opened only once, so that the bytes that are hashed are the bytes that are read."""
    name = {"artwork": "art.png", "card": "wool.csv", "rug file": "rug.toml"}[what]
    real, opened = os.open, []

    def refuse(path: Any, *rest: Any, **more: Any) -> int:
        if Path(os.fsdecode(path)).name == name:
            opened.append(path)
            raise PermissionError(13, "Permission denied")
        return real(path, *rest, **more)

    with monkeypatch.context() as patch:
        patch.setattr("chartmaker.ground.foreign.os.open", refuse)
        assert faults.run(["make", str(order), "--out", str(order.parent / "out")]) == code
    assert len(opened) == 1
    said = capsys.readouterr().err
    assert f"{name}: cannot " in said
    assert "Permission denied" in said


def test_a_closed_pipe_is_no_error(root: Path) -> None:
    command = f"{sys.executable} -m chartmaker card examples/osmerfold_wool.csv | head -1"
    done = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], cwd=root, capture_output=True, check=False)
    assert done.returncode == 0
    assert done.stderr == b""


def test_help_needs_no_heavy_library(root: Path) -> None:
    heavy = ["numpy", "PIL", "reportlab", "skimage", "scipy", "rich", "pydantic", "colormath"]
    code = (
        "import sys; from chartmaker.cli.faults import run; run(['--help']); "
        f"print([name for name in {heavy} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
