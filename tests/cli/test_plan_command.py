"""The command `plan` gives figures that a designer can check by hand."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from support.bordered import bordered


def test_plan_shows_the_grid(chartmaker: Callable[..., Any]) -> None:
    # 9/60 has 10 knots an inch across and 13 1/3 along (carpetandrugs.blogspot.com, April 2009); 5 x 8 ft is 60 x 96
    # inch.
    result = chartmaker("plan", "--size", "5x8ft", "--density", "9/60 indian")
    assert result.code == 0
    assert "600 columns x 1,280 rows = 768,000 knots" in result.out
    assert "133.333 per square inch" in result.out
    assert "trade figure only: 135" in result.out


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--weavers", "1"), ("Weavers 1", "Strips 394 columns", "6,000 knots per weaver per day, a default")),
        (("--weavers", "2"), ("Weavers 2 side by side", "Strips 197 + 197 columns")),
        (("--weavers", "2", "--set", "rug.technique=tufted"), ("Tufters 2 side by side", "tufts per tufter per day")),
    ],
)
def test_plan_says_who_works_side_by_side(
    chartmaker: Callable[..., Any], more: tuple[str, ...], said: tuple[str, ...]
) -> None:
    words = " ".join(chartmaker("plan", "--size", "100x150 cm", "--density", "9/60 indian", *more).out.split())
    assert [part for part in said if part not in words] == []


def test_plan_as_json(chartmaker: Callable[..., Any]) -> None:
    # 40 raj of 6.5 cm on 104 x 156 cm is 640 x 960 = 614,400 knots (Ahrari, iran-carpet.com/fa/blog/detail/1705).
    said = json.loads(chartmaker("plan", "--size", "104x156 cm", "--density", "40 raj (6.5 cm)", "--json").out)
    assert (said["rug"]["columns"], said["rug"]["rows"], said["rug"]["knots"]) == (640, 960, 614_400)
    # a day that is begun counts as a whole day
    assert said["labour"]["days"] == math.ceil(614_400 / 6000 / said["labour"]["weavers"])


def test_plan_of_a_rug_file_needs_no_artwork(order: Path, chartmaker: Callable[..., Any]) -> None:
    (order.parent / "art.png").unlink()
    assert "48 columns x 80 rows" in chartmaker("plan", order).out
    assert chartmaker("plan", order, "--quiet").out == ""


def test_a_size_without_a_density_is_refused_with_what_is_missing(chartmaker: Callable[..., Any]) -> None:
    result = chartmaker("plan", "--size", "5x8ft")
    assert result.code == 3
    assert "density is missing" in result.err


@pytest.mark.parametrize(
    ("size", "columns", "rows"),
    [
        ("60x90 cm", 600, 900),
        ("100x155 cm", 1000, 1550),
        ("140x210 cm", 1400, 2100),
        ("205x308 cm", 2050, 3080),
        ("300x400 cm", 3000, 4000),
    ],
)
def test_the_sizes_of_a_workshop_at_ten_knots_a_centimetre(
    size: str, columns: int, rows: int, chartmaker: Callable[..., Any]
) -> None:
    """The sizes from pad to 12 m2 are those in a table of a published design lesson (iran-carpet.com, lesson 11)."""
    words = chartmaker("plan", "--size", size, "--density", "10x10 per cm").out
    assert f"{columns:,} columns x {rows:,} rows = {columns * rows:,} knots" in words
    if size == "205x308 cm":
        assert "6,314,000 knots" in words  # the lesson prints this number


def test_a_rug_of_a_hand_s_breadth_is_remarked_on(chartmaker: Callable[..., Any]) -> None:
    """Samples of rugs are mostly a foot square (from memory); 120 x 180 mm were meant for centimetres."""
    asked = ("--density", "9/60 indian")
    words = " ".join(chartmaker("plan", "--size", "120x180 mm", *asked).out.split())
    assert "Is it a slip, of millimetres for centimetres?" in words
    found = json.loads(chartmaker("plan", "--size", "120x180 mm", *asked, "--json").out)["findings"]
    assert [each["where"] for each in found] == ["[rug] size"]
    assert "slip" not in chartmaker("plan", "--size", "120x180 cm", *asked).out
    assert json.loads(chartmaker("plan", "--size", "30x30 cm", *asked, "--json").out)["findings"] == []


def test_help_says_between_what_detail_lies(chartmaker: Callable[..., Any]) -> None:
    assert "--detail 0..1" in chartmaker("knot", "--help").out


def test_plan_names_the_sizes_at_which_borders_repeat_whole(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    """By arithmetic: the repeat is 150 of 892 pixels across and 742 along, 18.7 of 111 columns and 18.6 of 92 rows."""
    Image.fromarray(bordered("crosses", (4, 3)).picture).save(tmp_path / "art.png")
    asked = ("--size", "892x742 mm", "--density", "12.4x12.4 per dm", "--set", f"design.artwork={tmp_path / 'art.png'}")
    said = json.loads(chartmaker("plan", *asked, "--json").out)
    borders = said["borders"]
    assert [pitch["drawn_knots"] for pitch in borders["pitches"]] == pytest.approx([18.67, 18.60], abs=0.02)
    for grid, knots in ((borders["smaller"], 18), (borders["larger"], 19)):
        assert abs(grid["columns"] * 150 / 892 - knots) * 4 <= 0.5
        assert abs(grid["rows"] * 150 / 742 - knots) * 3 <= 0.5
        assert grid["width_cm"] == pytest.approx(grid["columns"] / 1.24, abs=0.001)
    assert [finding["where"] for finding in said["findings"]] == ["[rug] size"]
    assert "18.7 at top and foot; 18.6 at the sides" in said["findings"][0]["what"]


def test_plan_warns_of_a_box_by_which_nothing_repeats(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    """Whether a box serves is known before any knot is chosen, and a box of the very repeat raises no warning."""
    Image.fromarray(bordered("crosses", (4, 3)).picture).save(tmp_path / "art.png")
    rug = '[rug]\nsize = "892x742 mm"\ndensity = "12.4x12.4 per dm"\n[design]\nartwork = "art.png"\n[[repeat]]\nbox = '

    def found(box: list[int]) -> list[tuple[str, str]]:
        (tmp_path / "rug.toml").write_text(f"{rug}{box}\n")
        said = json.loads(chartmaker("plan", str(tmp_path / "rug.toml"), "--json").out)
        return [(finding["severity"], finding["where"]) for finding in said["findings"]]

    assert ("warning", "[[repeat]] 1, box") in found([200, 10, 290, 60])
    assert [severity for severity, _ in found([146, 30, 296, 100])] == ["note"]
