"""The command `compare` counts the knots that changed, lists them and draws them."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support.editing import edit, said_json
from support.making import SettledMap, make_map, settled

from chartmaker.cli.faults import run
from chartmaker.knots.knotpng import write_knotpng


def test_compare_says_what_changed(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    edit("edited.png", *((7, column, old.yarns[2].srgb) for column in range(4, 7)))
    was = [old.yarns[i].code for i in old.knots[6, 3:6]]
    assert was == ["Y004"] * 3
    arguments = ["compare", "old.png", "edited.png"]
    assert run([*arguments, "--picture", "changes.png", "--places", "places.csv"]) == 0
    said = capsys.readouterr().out
    assert "3 knots have changed" in said
    assert "row 7, columns 4 to 6: Y004 to Y002" in said
    with Path("places.csv").open() as stream:
        assert list(csv.reader(stream)) == [
            ["row", "start", "knots", "before", "after"],
            ["7", "4", "3", "Y004", "Y002"],
        ]
    with Image.open("changes.png") as picture:
        assert picture.mode == "RGB"
        assert old.yarns[2].srgb in {colour for _, colour in picture.getcolors(10**6)}
    assert run([*arguments, "--json", "--strict"]) == 9
    found = said_json(capsys)
    assert found["changed"] == 3
    assert found["places"] == [{"row": 7, "start": 4, "knots": 3, "before": "Y004", "after": "Y002"}]
    by_code = {yarn["code"]: yarn for yarn in found["yarns"]}
    change = {code: yarn["knots_after"] - yarn["knots_before"] for code, yarn in by_code.items()}
    assert change == {"Y000": 0, "Y001": 0, "Y002": 3, "Y003": 0, "Y004": -3}
    assert by_code["Y002"]["mass_g_after"] > by_code["Y002"]["mass_g_before"] > 0
    edit("one.png", (7, 4, old.yarns[2].srgb))  # a knot of some hundredths of a gram, which is no change of +0.0
    assert run(["compare", "old.png", "one.png"]) == 0
    assert len(re.findall(r"[+-]0\.0[1-9]\b", capsys.readouterr().out)) == 2
    assert run(["compare", "old.png", "old.png", "--strict"]) == 0
    assert "No knot has changed" in capsys.readouterr().out


def test_compare_refuses_two_rugs_and_finished_files(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    with Path("other.png").open("wb") as stream:
        write_knotpng(stream, *settled(make_map(np.zeros((20, 25)))))
    assert run(["compare", "old.png", "other.png"]) == 9
    assert "24 x 20 and 25 x 20 knots" in capsys.readouterr().err
    Path("places.csv").write_text("mine")
    assert run(["compare", "old.png", "old.png", "--places", "places.csv"]) == 7
    assert Path("places.csv").read_text() == "mine"
