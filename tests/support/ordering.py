"""The small order and its knot map as fixtures, and a way to run the commands in this process."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from chartmaker.cli.faults import run
from support.small_order import small_rug


@dataclass
class Result:
    """The result of a command: its exit code and what it printed."""

    code: int
    out: str
    err: str


@pytest.fixture
def chartmaker(capsys: pytest.CaptureFixture[str]) -> Callable[..., Result]:
    """Run a command in this process, where a fault in chartmaker itself is never right."""

    def call(*arguments: object) -> Result:
        code = run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        assert code != 70, told.err
        assert "Traceback" not in told.err
        return Result(code, told.out, told.err)

    return call


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """A rug file with its artwork and its card."""
    return small_rug(tmp_path)


@pytest.fixture
def knots(order: Path, chartmaker: Callable[..., Result]) -> Path:
    """The knot map of the order."""
    path = order.parent / "knots.png"
    assert chartmaker("knot", order, "--out", path, "--quiet").code == 0
    return path
