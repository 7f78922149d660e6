"""The command `knot` makes the map alone, and it is the same map as in the whole set."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from support.making import opened


def test_the_map_is_the_one_of_the_set_and_stands_alone(order: Path, chartmaker: Callable[..., Any]) -> None:
    out = order.parent / "one.png"
    result = chartmaker("knot", order, "--out", out, "--json")
    said = json.loads(result.out)
    assert result.code == 0
    assert chartmaker("make", order, "--out", order.parent / "set", "--quiet").code == 0
    assert out.read_bytes() == (order.parent / "set" / "knots.png").read_bytes()
    assert said["map"]["sha256"] == opened(out).sha256
    with Image.open(out) as picture:  # one pixel is one knot, and the last woven row is on top
        assert picture.size == (48, 80)
        assert np.array_equal(np.asarray(picture)[::-1], opened(out).knots)


def test_an_output_that_exists_is_refused_before_the_work(order: Path, chartmaker: Callable[..., Any]) -> None:
    out = order.parent / "one.png"
    out.write_bytes(b"mine")
    # this is no picture, but nothing reads it before the output is refused
    (order.parent / "art.png").write_bytes(b"no picture")
    assert chartmaker("knot", order, "--out", out).code == 7
    assert out.read_bytes() == b"mine"


def test_knot_gives_the_notes_that_make_gives(order: Path, chartmaker: Callable[..., Any]) -> None:
    """Whoever tries yarns with `knot` learns that one of them is not tied, in the words of `make`."""
    with (order.parent / "wool.csv").open("a") as card:
        card.write("Z9,Bright green,#00ff00\n")
    result = chartmaker("knot", order, "--colours", "4", "--keep", "Z9", "--out", order.parent / "one.png")
    assert result.code == 0 and "Z9 was to be kept, but every knot has a nearer yarn" in result.out
    plain = chartmaker("knot", order, "--out", order.parent / "two.png")
    assert "warning" not in plain.out and "remark" not in plain.out
