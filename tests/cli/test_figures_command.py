"""The command `figures` gives the figures on the terminal, as JSON and on sheets."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from support.making import opened


def test_figures_agree_with_the_map_for_the_whole_rug_and_for_what_is_left(
    knots: Path, chartmaker: Callable[..., Any]
) -> None:
    said = json.loads(chartmaker("figures", knots, "--json").out)
    knot_map = opened(knots)
    assert [yarn["knots"] for yarn in said["yarns"]] == knot_map.counts.tolist()
    assert said["foundation"]["weft_rows"] == 80
    left = json.loads(chartmaker("figures", knots, "--finished-row", "40", "--json").out)["remaining"]
    assert left["rows"] == 40
    assert left["knots"] == 40 * 48
    text = chartmaker("figures", knots, "--units", "imperial").out
    assert "Madder" in text
    assert chartmaker("figures", knots, "--finished-row", "99").code == 3
    for more in (("--issue",), ("--sheet", "dye", "--out", knots.parent / "left.pdf")):  # both describe the whole rug
        result = chartmaker("figures", knots, "--finished-row", "40", *more)
        assert (result.code, "of the whole rug" in result.err) == (2, True)
    assert not (knots.parent / "left.pdf").exists()


@pytest.mark.parametrize("sheet", ["figures", "dye", "issue"])
def test_each_sheet_of_figures_bears_the_map_code(knots: Path, chartmaker: Callable[..., Any], sheet: str) -> None:
    out = knots.parent / f"{sheet}.pdf"
    assert chartmaker("figures", knots, "--sheet", sheet, "--out", out, "--quiet").code == 0
    text = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(out))
    assert opened(knots).map_code in text
    assert "Madder" in text


def test_bundles_are_listed_by_weaver_on_the_terminal(knots: Path, chartmaker: Callable[..., Any]) -> None:
    assert "weaver 1" in chartmaker("figures", knots, "--issue").out.lower()


def test_a_folder_and_a_rug_file_are_told_what_to_give_instead(
    knots: Path, tmp_path: Path, chartmaker: Callable[..., Any]
) -> None:
    (tmp_path / "set").mkdir()
    (tmp_path / "set" / "knots.png").write_bytes(knots.read_bytes())
    (tmp_path / "rug.toml").write_text("[rug]\n")
    folder, order = (chartmaker("figures", tmp_path / name) for name in ("set", "rug.toml"))
    assert "give the knot map in it" in folder.err and str(Path("set", "knots.png")) in folder.err
    assert "this is a rug file; give the knot map" in order.err
    assert folder.code == order.code == 6
