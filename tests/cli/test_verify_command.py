"""The command verify: what it says of a whole set and of one that is not, and what it ends with."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any


def test_a_whole_set_is_said_to_be_whole(order: Path, chartmaker: Callable[..., Any]) -> None:
    folder = order.parent / "set"
    assert chartmaker("make", order, "--out", folder, "--quiet").code == 0
    result = chartmaker("verify", folder)
    assert (result.code, "Every file agrees with the map." in result.out) == (0, True)
    said = json.loads(chartmaker("verify", folder, "--json").out)
    assert sorted(said["read"]) == sorted(path.name for path in folder.iterdir())
    assert said["differences"] == []
    assert said["seal"] == json.loads((folder / "summary.json").read_text())["set"]["sha256"]
    assert chartmaker("verify", folder, "--quiet").out == ""


def test_one_count_that_is_off_is_named_by_its_file(order: Path, chartmaker: Callable[..., Any]) -> None:
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


def test_a_folder_without_a_set_is_refused(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    assert chartmaker("verify", tmp_path).code == 6
    assert chartmaker("verify", tmp_path / "none").code == 7
