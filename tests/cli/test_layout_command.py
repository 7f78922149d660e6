"""The command `layout` draws and measures the parts of which a design is made."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from support.framed import KNOT_PX, fixed

SIZE = ("--size", "25x35 cm", "--density", "20x20 per dm")


def artwork(folder: Path, kind: str = "medallion") -> Path:
    path = folder / "design.png"
    Image.fromarray(fixed(kind).artwork.srgb).save(path)
    return path


def test_it_measures_the_parts(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    """The design is drawn with a border of 9 knots of 5 mm and repeats of 10 knots, three across and five along."""
    done = chartmaker("layout", artwork(tmp_path), *SIZE, "--out", tmp_path / "parts.png")
    assert (done.code, done.err) == (0, "")
    assert "across: 3 repeats of 5.0 cm, ends of 1.0 cm" in done.out
    assert "along: 5 repeats of 5.0 cm, ends of 1.0 cm" in done.out
    assert "plain, with 5 pieces" in done.out


def test_programs_get_the_parts_in_pixels(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    done = chartmaker("layout", artwork(tmp_path, "strewn"), *SIZE, "--out", tmp_path / "parts.png", "--json")
    told = json.loads(done.out)
    assert told["field"]["kind"] == "repeats"
    assert abs(told["field"]["repeat_px"]["width"] - 5 * KNOT_PX) < 0.2
    periods = {side["repeat_px"] for band in told["bands"] for side in band["sides"].values()} - {None}
    assert all(abs(period - 60) < 0.2 for period in periods) and periods


def test_the_picture_shows_where_repeats_begin(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    chartmaker("layout", artwork(tmp_path), *SIZE, "--out", tmp_path / "parts.png")
    drawn = fixed("medallion")
    with Image.open(tmp_path / "parts.png") as image:
        seen = np.asarray(image.convert("RGB")).astype(int)
    scale = seen.shape[1] / drawn.picture.shape[1]
    y = round(drawn.borders[0].width / 2 * scale)
    left = drawn.borders[0].width + drawn.borders[0].end
    for number, (r, g, b) in ((0, (200, 40, 30)), (1, (20, 90, 200)), (2, (20, 90, 200)), (3, (200, 40, 30))):
        x = round((left + number * 60) * scale)
        near = seen[y, x - 3 : x + 4]
        assert (np.abs(near - [r, g, b]).sum(axis=1) < 30).any()


def test_a_painting_without_parts_is_refused_in_one_message(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (90, 60, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "noise.png")
    done = chartmaker("layout", tmp_path / "noise.png", *SIZE, "--out", tmp_path / "parts.png")
    assert done.code == 5 and "painting" in done.err
    assert not (tmp_path / "parts.png").exists()
