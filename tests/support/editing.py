"""A knot map in the working folder as old.png, which tests paint over as an editor would."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from chartmaker.ground.colour import hex_of
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.yarns.yarn import Yarn
from support.making import SettledMap, make_map, make_rug, make_yarn


@pytest.fixture
def old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SettledMap:
    """A map in the working folder as old.png, and its card as card.csv."""
    monkeypatch.chdir(tmp_path)
    knot_map = make_map(np.kron(np.arange(40).reshape(5, 8) % 5, np.ones((4, 3), dtype=int)), make_rug(24, 20))
    with Path("old.png").open("wb") as stream:
        write_knotpng(stream, knot_map, knot_map.workshop)
    write_card("card.csv", (*knot_map.yarns, make_yarn(50, (1, 2, 3))))
    return knot_map


def write_card(name: str, yarns: tuple[Yarn, ...]) -> None:
    lines = [f"{yarn.code},{yarn.name},{hex_of(yarn.srgb)}" for yarn in yarns]
    Path(name).write_text("\n".join(["code,name,colour", *lines]))


def edit(name: str, *knots: tuple[int, int, tuple[int, int, int]]) -> None:
    """Paint single knots (row and column from 1, colour) of old.png like an editor that saves RGB without text."""
    with Image.open("old.png") as image:
        painted = image.convert("RGB")
    for row, column, srgb in knots:
        painted.putpixel((column - 1, painted.height - row), srgb)
    painted.info = {}
    painted.save(name)


def said_json(capsys: pytest.CaptureFixture[str]) -> dict:  # type: ignore[type-arg]
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]
