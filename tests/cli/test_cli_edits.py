"""The commands touchup, compare, swap: what they write, say, end with."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support.making import SettledMap, make_map, make_rug, make_yarn, opened, settled

from chartmaker.cli.faults import run
from chartmaker.ground.colour import hex_of
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.yarns.yarn import Yarn


@pytest.fixture
def old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SettledMap:
    """A map in the working folder as old.png, with its card as card.csv."""
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
    """Paint single knots (row, column from 1, colour) of old.png as an editor that saves RGB and drops all text."""
    with Image.open("old.png") as image:
        painted = image.convert("RGB")
    for row, column, srgb in knots:
        painted.putpixel((column - 1, painted.height - row), srgb)
    painted.info = {}
    painted.save(name)


def said_json(capsys: pytest.CaptureFixture[str]) -> dict:  # type: ignore[type-arg]
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


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


def test_swap_writes_a_new_map_with_its_counts(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    swaps = ["--merge", "Y001:Y000", "--exchange", "Y002:Y003", "--recolour", "Y004:Y050", "--card", "card.csv"]
    assert run(["swap", "old.png", *swaps, "--out", "new.png", "--json"]) == 0
    said = said_json(capsys)
    assert {(swap["before"], swap["after"]) for swap in said["swaps"]} == {
        ("Y001", "Y000"),
        ("Y002", "Y003"),
        ("Y003", "Y002"),
        ("Y004", "Y050"),
    }
    back = opened(Path("new.png"))
    assert said["map"]["sha256"] == back.sha256
    counts = dict(zip((yarn.code for yarn in old.yarns), old.counts.tolist(), strict=True))
    assert dict(zip((yarn.code for yarn in back.yarns), back.counts.tolist(), strict=True)) == {
        "Y000": counts["Y000"] + counts["Y001"],
        "Y002": counts["Y003"],
        "Y003": counts["Y002"],
        "Y050": counts["Y004"],
    }


def test_swap_says_when_two_yarns_become_one(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    write_card("two.csv", (make_yarn(60, (0, 0, 0)), make_yarn(61, (255, 255, 255))))
    assert run(["swap", "old.png", "--card", "two.csv", "--by", "nearest", "--out", "new.png"]) == 0
    assert "what was drawn between them is lost" in capsys.readouterr().out
    assert run(["swap", "old.png", "--card", "two.csv", "--by", "distinct", "--out", "n.png"]) == 4
    assert run(["swap", "old.png", "--card", "two.csv", "--by", "code", "--out", "n.png"]) == 4


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "there is nothing to do"),
        (["--merge", "Y001"], "two yarn codes like A:B"),
        (["--merge", "a:b:c"], "two yarn codes like A:B"),
        (["--recolour", "Y001:Y050"], "--card goes with"),
        (["--merge", "Y001:Y000", "--card", "card.csv"], "--card goes with"),
    ],
)
def test_swap_asks_for_what_is_missing(
    old: SettledMap, capsys: pytest.CaptureFixture[str], arguments: list[str], message: str
) -> None:
    assert run(["swap", "old.png", *arguments, "--out", "new.png"]) == 2
    assert message in capsys.readouterr().err
    assert not Path("new.png").exists()
