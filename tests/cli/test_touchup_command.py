"""The command `touchup` takes an edited map back in."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
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


def test_knots_painted_outside_the_shape_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A place outside the ellipse has no warp on which a knot could be tied."""
    art = tmp_path / "art.png"
    Image.new("RGB", (60, 60), (200, 40, 40)).save(art)
    (tmp_path / "card.csv").write_text("code,colour\nR,#c82828\n")
    knots, edited = tmp_path / "knots.png", tmp_path / "edited.png"
    order = ["--size", "15 cm round", "--density", "40x40 per dm", "--card", str(tmp_path / "card.csv")]
    assert run(["knot", str(art), *order, "--out", str(knots), "--quiet"]) == 0
    with Image.open(knots) as picture:
        pixels = picture.convert("RGBA")
    pixels.putpixel((1, 0), (200, 40, 40, 255))
    pixels.save(edited)
    out = tmp_path / "knots2.png"
    assert run(["touchup", str(edited), "--rug", str(knots), "--out", str(out)]) != 0
    assert "1 knot is painted outside the rug's shape (ellipse): row 60, column 2" in capsys.readouterr().err
    assert not out.exists()
