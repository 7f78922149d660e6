"""A small order for the commands, and a way to run them in this process."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from chartmaker.cli.faults import run
from support.small_order import CARD

RUG = """[rug]
name = "Small rug"
width = "12 cm"
length = "16 cm"
density = "40x50 per dm"
[design]
artwork = "art.png"
[yarns]
card = "wool.csv"
[loom]
weavers = 2
"""


@dataclass
class Result:
    """What a command did."""

    code: int
    out: str
    err: str


@pytest.fixture
def chartmaker(capsys: pytest.CaptureFixture[str]) -> Callable[..., Result]:
    """Run a command in this process; a fault in chartmaker itself is never right."""

    def call(*arguments: object) -> Result:
        code = run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        assert code != 70, told.err
        assert "Traceback" not in told.err
        return Result(code, told.out, told.err)

    return call


def draw_art(path: Path) -> None:
    """Draw a rug with a border, a field and a round medallion, 16 pixels per centimetre."""
    height, width = 16 * 16, 12 * 16
    rows, columns = np.mgrid[:height, :width]
    art = np.full((height, width, 3), (160, 40, 32), np.uint8)
    border = np.minimum.reduce([rows, columns, height - 1 - rows, width - 1 - columns])
    art[border < 24] = (32, 44, 96)
    art[(border >= 16) & (border < 20)] = (240, 232, 216)
    art[np.hypot(rows - 127.5, columns - 95.5) < 40] = (240, 232, 216)
    Image.fromarray(art).save(path)


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """A rug file with its artwork and its card."""
    (tmp_path / "wool.csv").write_text(CARD)
    draw_art(tmp_path / "art.png")
    (tmp_path / "rug.toml").write_text(RUG)
    return tmp_path / "rug.toml"


@pytest.fixture
def knots(order: Path, chartmaker: Callable[..., Result]) -> Path:
    """The knot map of the order."""
    path = order.parent / "knots.png"
    assert chartmaker("knot", order, "--out", path, "--quiet").code == 0
    return path
