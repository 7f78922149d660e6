"""The command `check` prints its remarks and ends with a code that scripts can use."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support.making import SettledMap, make_map

from chartmaker.cli.faults import run
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.order.workshop import Pile, Workshop


def write(path: Path, knot_map: SettledMap) -> str:
    with path.open("wb") as stream:
        write_knotpng(stream, knot_map, knot_map.workshop)
    return str(path)


def test_a_calm_rug_has_nothing_to_remark_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    calm = write(tmp_path / "calm.png", make_map(np.zeros((40, 40))))
    assert run(["check", calm, "--strict"]) == 0
    assert "There is nothing to remark on." in capsys.readouterr().out


def test_strict_makes_a_warning_an_exit_code_but_not_a_note(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cells = np.zeros((40, 41), dtype=np.uint16)
    cells[:, 20] = 1
    cells[10:30, 10:31] = 2
    slip = cells.copy()
    slip[12, 5] = 1
    path = write(tmp_path / "slip.png", make_map(slip))
    assert run(["check", path]) == 0
    out = capsys.readouterr().out
    assert "warning: The design is almost symmetric" in out
    assert "row 13, column 6" in out
    assert run(["check", path, "--strict", "--json"]) == 9
    captured = capsys.readouterr()
    said = json.loads(captured.out)
    assert "remarks is a warning or worse" in captured.err
    place = {"first_row": 13, "last_row": 13, "first_column": 6, "last_column": 6}
    assert any(place in finding["places"] for finding in said["findings"] if finding["severity"] == "warning")
    speck = np.random.default_rng(3).integers(0, 3, (8, 8)).repeat(5, 0).repeat(5, 1)
    speck[12, 7] = 3
    path = write(tmp_path / "speck.png", make_map(speck))
    assert run(["check", path, "--strict"]) == 0
    out = capsys.readouterr().out
    assert "note: 1 single knot stands alone" in out
    assert "row 13, column 8" in out


def test_an_order_is_held_against_its_artwork(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    art = np.full((300, 200, 3), (200, 40, 40), dtype=np.uint8)
    art[100:200, 50:150] = (60, 200, 90)
    Image.fromarray(art).save(tmp_path / "art.png")
    (tmp_path / "card.csv").write_text("code,name,colour\nR,Red,#c82828\nW,White,#f0f0f0\n")
    (tmp_path / "rug.toml").write_text(
        '[rug]\nwidth = "20 cm"\nlength = "26 cm"\ndensity = "40x40 per dm"\n[design]\nartwork = "art.png"\n'
        'fit = "stretch"\n[yarns]\ncard = "card.csv"\n'
    )
    assert run(["check", str(tmp_path / "rug.toml"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["repeat"], told["borders"]) == (None, None)  # the drawing is one square on its ground
    findings = told["findings"]
    said = " ".join(finding["what"] for finding in findings)
    assert "is not the artwork's colour" in said
    # what the conversion has already said is not repeated
    assert [finding["where"] for finding in findings].count("yarn W") == 1
    assert "stretched by" in said
    assert run(["check", str(tmp_path / "rug.toml"), "--snap"]) == 2


def test_a_knot_map_is_not_converted_again_by_an_option(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path / "calm.png", make_map(np.zeros((40, 40))))
    assert run(["check", path, "--mirror", "both", "--colours", "5"]) == 3
    fault = capsys.readouterr().err
    assert "calm.png: this is a knot map, and [design] mirror, [yarns] colours serve to convert an artwork" in fault
    assert run(["check", path, "--pile", "9 mm", "--weavers", "2"]) == 0  # these say how the map is made


def test_an_artwork_is_checked_with_the_options_that_make_takes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a rug file one can check what would be made with the same options; where there is a map, that is read."""
    art = np.full((120, 80, 3), (200, 40, 40), dtype=np.uint8)
    art[:, 40:] = (60, 60, 160)
    Image.fromarray(art).save(tmp_path / "art.png")
    (tmp_path / "card.csv").write_text("code,name,colour\nR,Red,#c82828\nB,Blue,#3c3ca0\n")
    options = ["--size", "20x30 cm", "--density", "40x40 per dm", "--card", str(tmp_path / "card.csv")]
    assert run(["check", str(tmp_path / "art.png"), *options, "--json"]) == 0
    order = json.loads(capsys.readouterr().out)
    assert (order["map"]["columns"], order["map"]["rows"]) == (80, 120)
    knots = tmp_path / "knots.png"
    assert run(["knot", str(tmp_path / "art.png"), *options, "--out", str(knots), "--quiet"]) == 0
    assert run(["check", str(knots), "--strips", "2", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["map"]["columns"] == 80


def test_what_the_figures_remark_on_is_checked_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    thin = make_map(np.zeros((40, 40)), workshop=Workshop(pile=Pile(yarn="tex 40")))
    path = write(tmp_path / "thin.png", thin)
    assert run(["check", path, "--strict"]) == 9
    assert "of a knot's place" in capsys.readouterr().out
