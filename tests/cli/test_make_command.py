"""The command `make` writes a set that is whole and agrees with itself, or nothing at all."""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from chartmaker.cli.faults import run
from chartmaker.jobs.outputs import SET_NAMES

#: The keys that scripts rely on.
CONTRACT = {
    "map": ("sha256", "columns", "rows", "knots", "empty"),
    "rug": ("name", "width_cm", "length_cm", "across_per_dm", "along_per_dm", "knot"),
    "match": ("mean_de00", "p95_de00", "max_de00"),
    "foundation": ("warp_ends", "warp_length_m", "warp_mass_g", "weft_rows", "weft_length_m", "weft_mass_g"),
    "labour": ("weavers", "knots_per_weaver_day", "days"),
}


def test_the_set_is_whole_and_agrees_with_itself(order: Path, chartmaker: Callable[..., Any]) -> None:
    out = order.parent / "out"
    result = chartmaker("make", order, "--out", out, "--json")
    assert result.code == 0
    assert result.err == ""
    summary = json.loads((out / "summary.json").read_text())
    assert json.loads(result.out) == summary
    assert sorted(path.name for path in out.iterdir()) == sorted(SET_NAMES)
    for name, digest in summary["files"]["written"].items():
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == digest
    assert set(summary["files"]["written"]) == set(SET_NAMES) - {"summary.json"}
    assert summary["files"]["read"]["artwork"] == hashlib.sha256((order.parent / "art.png").read_bytes()).hexdigest()
    for table, keys in CONTRACT.items():
        for key in keys:
            assert summary[table][key] is not None
    for key in ("code", "name", "srgb", "lab", "knots", "share", "length_m", "mass_g"):
        assert all(key in yarn for yarn in summary["yarns"])
    for finding in summary["findings"]:
        assert {"what", "where", "severity"} <= set(finding)
    assert summary["map"]["rows"] == 80
    assert summary["map"]["columns"] == 48


def test_rows_csv_and_the_picture_hold_the_same_map(order: Path, chartmaker: Callable[..., Any]) -> None:
    # The two files are read with csv and Pillow alone, and the map's code follows from its documented definition.
    out = order.parent / "out"
    assert chartmaker("make", order, "--out", out, "--quiet").out == ""
    summary = json.loads((out / "summary.json").read_text())
    picture = Image.open(out / "knots.png")
    codes = [yarn["code"] for yarn in summary["yarns"]]
    knots = np.flipud(np.asarray(picture)).astype(int)
    expanded = np.full(knots.shape, -1)
    with (out / "rows.csv").open(newline="") as stream:
        for run in csv.DictReader(stream):
            start, row = int(run["start"]) - 1, int(run["row"]) - 1
            assert (expanded[row, start : start + int(run["knots"])] == -1).all()
            expanded[row, start : start + int(run["knots"])] = codes.index(run["code"])
    assert np.array_equal(expanded, knots)
    digest = hashlib.sha256(b"80 48\n")
    for yarn in summary["yarns"]:
        digest.update(f"{yarn['code']} {yarn['srgb']}\n".encode())
    digest.update(knots.astype("<u2").tobytes())
    assert digest.hexdigest() == summary["map"]["sha256"]
    with (out / "yarns.csv").open(newline="") as stream:
        yarns = list(csv.DictReader(stream))
    assert [int(yarn["knots"]) for yarn in yarns] == np.bincount(knots.ravel()).tolist()
    assert sum(int(yarn["knots"]) for yarn in yarns) == summary["map"]["knots"]


def test_an_artwork_with_options_makes_what_a_rug_file_makes(order: Path, chartmaker: Callable[..., Any]) -> None:
    folder = order.parent
    options = ["--size", "12x16 cm", "--density", "40x50 per dm", "--card", folder / "wool.csv", "--weavers", "2"]
    options += ["--name", "Small rug"]
    assert chartmaker("make", folder / "art.png", *options, "--out", folder / "a", "--quiet").code == 0
    assert chartmaker("make", order, "--out", folder / "b", "--quiet").code == 0
    for name in SET_NAMES[:-1]:
        assert (folder / "a" / name).read_bytes() == (folder / "b" / name).read_bytes(), name


def test_nothing_is_overwritten_unasked(order: Path, chartmaker: Callable[..., Any]) -> None:
    out = order.parent / "out"
    assert chartmaker("make", order, "--out", out, "--quiet").code == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    result = chartmaker("make", order, "--out", out)
    assert result.code == 7
    assert "--replace" in result.err
    assert chartmaker("make", order, "--out", out, "--replace", "--quiet").code == 0
    # the second set is the same, byte for byte
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


@pytest.mark.parametrize(
    ("options", "code", "message"),
    [
        (["--size", "0x8ft"], 3, "above zero"),
        (["--density", "9/60"], 3, "two ways"),
        (["--card", "none.csv"], 4, "none.csv: cannot read"),
        (["--keep", "ZZ"], 3, "ZZ"),
        (["--size", "12x12 cm"], 5, "stretch.*crop.*pad"),
        (["--fit", "strech"], 3, "did you mean stretch"),
        (["--paper", "A9"], 8, "A9"),
        (["--set", "loom.picks=99"], 3, r"--set loom.picks: 99 is too large; the most is 8"),
        (["--set", "nonsense"], 2, "loom.picks=3"),
        (["--colours", "many"], 3, "--colours: .many. is not a whole number"),
    ],
)
def test_an_error_says_what_to_do_and_leaves_nothing_behind(
    order: Path, chartmaker: Callable[..., Any], options: list[str], code: int, message: str
) -> None:
    import re

    before = sorted(order.parent.iterdir())
    result = chartmaker("make", order, "--out", order.parent / "out", *options)
    assert result.code == code, result.err
    assert re.search(message, result.err), result.err
    assert result.out == ""
    assert sorted(order.parent.iterdir()) == before


@pytest.mark.parametrize(
    ("key", "table"),
    [
        ("[pile] heights", '[pile]\nheights = { "RD-l" = "12 mm" }'),
        ("[pile] carved", '[pile]\ncarved = { "RD-l" = "12 mm" }'),
        ("[pattern] loops", '[pattern]\nloops = ["RD-l"]'),
    ],
)
def test_a_height_for_a_yarn_that_is_not_on_the_card_is_refused(
    key: str, table: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A slip in a code would tie that yarn as high as the others, and nobody would see it until the rug is shorn."""
    art = tmp_path / "art.png"
    Image.new("RGB", (40, 40), (200, 40, 40)).save(art)
    (tmp_path / "card.csv").write_text("code,colour\nRD-1,#c82828\n")
    (tmp_path / "rug.toml").write_text(
        '[rug]\nsize = "10x10 cm"\ndensity = "40x40 per dm"\n[design]\nartwork = "art.png"\n'
        f'[yarns]\ncard = "card.csv"\n{table}\n'
    )
    assert run(["make", str(tmp_path / "rug.toml"), "--out", str(tmp_path / "set")]) == 3
    assert f"{key}: 'RD-l' is not on the card; did you mean RD-1?" in capsys.readouterr().err
    assert not (tmp_path / "set").exists()
