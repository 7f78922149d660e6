"""The command touchup: an edited map taken back in."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from support.editing import edit, said_json
from support.making import SettledMap, opened

from chartmaker.cli.faults import run
from chartmaker.ground.colour import hex_of


def test_touchup_takes_an_edit_back_in(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    edit("edited.png", (3, 2, old.yarns[4].srgb))
    assert run(["touchup", "edited.png", "--out", "new.png"]) == 6
    assert "--rug RUG.toml" in capsys.readouterr().err
    assert not Path("new.png").exists()
    assert run(["touchup", "edited.png", "--rug", "old.png", "--out", "new.png"]) == 0
    back = opened(Path("new.png"))
    assert np.argwhere(back.knots != old.knots).tolist() == [[2, 1]]
    assert back.map_code in capsys.readouterr().out
    assert run(["touchup", "edited.png", "--rug", "old.png", "--out", "new.png"]) == 7
    assert run(["touchup", "edited.png", "--rug", "old.png", "--out", "new.png", "--replace", "--quiet"]) == 0
    assert capsys.readouterr().out == ""


def test_touchup_snaps_on_request_and_says_how_many(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    red, green, blue = old.yarns[0].srgb
    near = (red ^ 1, green, blue)
    edit("edited.png", (3, 2, near), (4, 2, near))
    assert run(["touchup", "edited.png", "--rug", "old.png", "--out", "new.png"]) == 6
    assert f"{hex_of(near)} (2 knots, first in row 3, column 2)" in capsys.readouterr().err
    assert run(["touchup", "edited.png", "--rug", "old.png", "--out", "new.png", "--snap", "--json"]) == 0
    said = said_json(capsys)["snapped"]
    assert [(s["srgb"], s["knots"], s["row"], s["column"], s["code"]) for s in said] == [
        (hex_of(near), 2, 3, 2, "Y000")
    ]
