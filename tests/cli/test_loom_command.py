"""The command `loom` writes the loom page of a map, as one file or into a folder."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from support.making import opened
from support.set_reader import loom_grid


def test_the_page_holds_the_map_as_a_file_or_in_a_folder(knots: Path, chartmaker: Callable[..., Any]) -> None:
    out = knots.parent / "loom.html"
    assert chartmaker("loom", knots, "--out", out, "--quiet").code == 0
    knot_map = opened(knots)
    codes = np.array([yarn.code for yarn in knot_map.yarns])
    page = out.read_text(encoding="utf-8")
    assert (loom_grid(page) == codes[knot_map.knots]).all()
    assert chartmaker("loom", knots, "--out", out).code == 7
    told = chartmaker("loom", knots, "--out", out, "--replace", "--json")
    assert json.loads(told.out)["map"]["sha256"] == knot_map.sha256
    assert chartmaker("loom", knots, "--out", knots.parent / "page", "--reading", "right to left", "--quiet").code == 0
    assert [each.name for each in (knots.parent / "page").iterdir()] == ["loom.html"]
    assert '"reading":"right to left"' in (knots.parent / "page" / "loom.html").read_text(encoding="utf-8")


def test_a_rug_that_is_not_tied_row_by_row_has_no_loom_page(order: Path, chartmaker: Callable[..., Any]) -> None:
    out = order.parent / "tufted"
    order.write_text(order.read_text().replace("[rug]", '[rug]\ntechnique = "tufted"'))
    assert chartmaker("make", order, "--out", out, "--quiet").code == 0
    assert not (out / "loom.html").exists()
    assert chartmaker("verify", out, "--quiet").code == 0
    told = chartmaker("loom", out / "knots.png", "--out", order.parent / "loom.html")
    assert told.code == 7
    assert "not tied row by row" in told.err
