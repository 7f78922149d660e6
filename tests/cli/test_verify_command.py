"""The command `verify` says that a set is whole or names the file that is not, and its exit code tells which."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PIL import Image


def test_a_whole_set_is_reported_as_whole(order: Path, chartmaker: Callable[..., Any]) -> None:
    folder = order.parent / "set"
    assert chartmaker("make", order, "--out", folder, "--quiet").code == 0
    result = chartmaker("verify", folder)
    assert (result.code, "Every file agrees with the map." in result.out) == (0, True)
    said = json.loads(chartmaker("verify", folder, "--json").out)
    assert sorted(said["read"]) == sorted(path.name for path in folder.iterdir())
    assert said["differences"] == []
    assert said["seal"] == json.loads((folder / "summary.json").read_text())["set"]["sha256"]
    assert chartmaker("verify", folder, "--quiet").out == ""


def test_one_wrong_count_is_named_with_its_file(order: Path, chartmaker: Callable[..., Any]) -> None:
    folder = order.parent / "set"
    assert chartmaker("make", order, "--out", folder, "--quiet").code == 0
    script = (folder / "rows.csv").read_text().splitlines()
    row, strip, start, knots, code = script[40].split(",")
    script[40] = ",".join((row, strip, start, str(int(knots) + 1), code))
    (folder / "rows.csv").write_text("\n".join(script) + "\n")
    result = chartmaker("verify", folder)
    assert result.code == 9
    assert "rows.csv: " in result.out
    assert "1 of the set's files does not agree with the map" in result.err


def test_sheets_beside_the_set_are_read_as_well(order: Path, chartmaker: Callable[..., Any]) -> None:
    folder, knots = order.parent / "set", order.parent / "set" / "knots.png"
    card = (order.parent / "wool.csv").read_text().replace("\n", ",\n").replace("colour,", "colour,stock_g")
    (order.parent / "wool.csv").write_text(card.replace("#a02820,", "#a02820,120"))
    with order.open("a") as stream:
        stream.write("[cost]\npile_per_kg = 12.5\nwarp_per_kg = 4\nweaving_per_day = 9.25\n")
    assert chartmaker("make", order, "--out", folder, "--quiet").code == 0
    sheets = []
    for sheet in ("figures", "dye", "issue"):
        path = order.parent / f"{sheet}.pdf"
        assert chartmaker("figures", knots, "--rug", order, "--sheet", sheet, "--out", path).code == 0
        sheets += ["--sheets", path]
    result = chartmaker("verify", folder, *sheets)
    assert (result.code, "dye.pdf" in result.out) == (0, True), result.out
    # the sheet was printed without the stock
    assert chartmaker("figures", knots, "--sheet", "dye", "--out", folder / "dye.pdf").code == 0
    assert chartmaker("verify", folder).code == 9
    result = chartmaker("verify", folder, "--sheets", folder / "dye.pdf")
    assert result.code == 9
    assert "for stock it prints –, not 120" in result.out
    assert "is not a file of the set" not in result.out


def test_a_revision_is_held_against_the_older_map(order: Path, chartmaker: Callable[..., Any]) -> None:
    before = order.parent / "set" / "knots.png"
    assert chartmaker("make", order, "--out", before.parent, "--quiet").code == 0
    now, art = order.parent / "now", order.parent / "art.png"
    with Image.open(art) as picture:
        picture.paste((112, 112, 48), (90, 60, 110, 80))
        picture.save(art)
    assert chartmaker("make", order, "--out", now, "--quiet").code == 0
    revision = order.parent / "revision.pdf"
    assert chartmaker("chart", now / "knots.png", "--since", before, "--out", revision).code == 0
    assert chartmaker("verify", now, "--sheets", revision, "--since", before).code == 0
    assert chartmaker("verify", now, "--sheets", revision).code == 9
    assert chartmaker("verify", before.parent, "--sheets", revision, "--since", before).code == 9


def test_a_folder_without_a_set_is_refused(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    assert chartmaker("verify", tmp_path).code == 6
    assert chartmaker("verify", tmp_path / "none").code == 7


def test_the_folder_of_a_collection_is_told_from_a_set(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    (tmp_path / "collection.json").write_text("{}")
    result = chartmaker("verify", tmp_path)
    assert result.code == 6 and "verify each set in it by itself" in result.err
