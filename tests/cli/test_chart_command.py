"""The command `chart` prints sheets of the paper asked for, each with the map's code."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PIL import Image


def test_sheets_have_the_paper_asked_for_and_the_map_code(knots: Path, chartmaker: Callable[..., Any]) -> None:
    out = knots.parent / "chart.pdf"
    result = chartmaker("chart", knots, "--paper", "A5", "--cell", "4 mm", "--out", out, "--json")
    assert result.code == 0
    said = json.loads(result.out)
    document = pypdfium2.PdfDocument(out)
    assert len(document) == said["sheets"] >= 2
    code = said["map"]["sha256"][:8]
    assert all(code in page.get_textpage().get_text_range() for page in document)
    width, height = document[1].get_size()
    assert sorted((round(width * 25.4 / 72), round(height * 25.4 / 72))) == [148, 210]  # ISO 216, A5
    subprocess.run(["qpdf", "--check", out], check=True, capture_output=True)


def test_a_chart_never_replaces_the_map_that_it_is_made_from(knots: Path, chartmaker: Callable[..., Any]) -> None:
    before = knots.read_bytes()
    result = chartmaker("chart", knots, "--out", knots, "--replace")
    assert (result.code, "must end in .pdf" in result.err) == (2, True)
    assert knots.read_bytes() == before


@pytest.mark.parametrize(
    ("options", "drawn", "said"),
    [
        (("--name", "Plum"), 0, "the older map is that of another rug, 'Plum'; this one is 'Quince'"),
        (("--size", "10x12 cm"), 0, "the maps differ in size, 40 x 48 and 40 x 40 knots: they are two rugs"),
        (("--density", "20x40 per dm", "--size", "20x10 cm"), 0, "the maps differ in density"),
        ((), 1, "% of the older map's drawing is left, so it is that of another rug of this name"),
        ((), 2, ""),
    ],
)
@pytest.mark.parametrize("command", ["chart", "rows"])
def test_a_map_of_another_rug_is_refused_as_the_older_map(
    tmp_path: Path, chartmaker: Callable[..., Any], command: str, options: tuple[str, ...], drawn: int, said: str
) -> None:
    """Sheets that were redrawn against another rug's map would be hung at the wrong loom.

    A rug in which all yarns have changed about is the same rug, and one of noise that was drawn by another lot is not.
    """
    (tmp_path / "card.csv").write_text("code,colour\nR,#c82828\nB,#2828c8\nG,#28c828\nW,#e8e8e8\n")
    noise = [np.random.default_rng(seed).integers(0, 4, (40, 40)) for seed in (0, 1)]
    colours = np.array([[200, 40, 40], [40, 40, 200], [40, 200, 40], [232, 232, 232]], np.uint8)
    for name, cells, more in (
        ("now", noise[0], ()),
        ("before", (noise[0], noise[1], (noise[0] + 1) % 4)[drawn], options),
    ):
        Image.fromarray(colours[cells].repeat(4, axis=0).repeat(4, axis=1)).save(tmp_path / f"{name}-art.png")
        asked = {"--name": "Quince", "--size": "10x10 cm", "--density": "40x40 per dm"}
        asked |= dict(zip(more[::2], more[1::2], strict=True))
        order = [word for pair in asked.items() for word in pair]
        order += ["--card", str(tmp_path / "card.csv"), "--fit", "stretch", "--out", str(tmp_path / f"{name}.png")]
        result = chartmaker("knot", tmp_path / f"{name}-art.png", *order, "--quiet")
        assert result.code == 0, result.err
    out = tmp_path / f"{command}.pdf"
    result = chartmaker(command, tmp_path / "now.png", "--since", tmp_path / "before.png", "--out", out)
    assert result.code == (9 if said else 0), result.err
    assert said in result.err
    assert out.exists() == (not said)
    if "is left" in said:
        told = chartmaker(command, tmp_path / "now.png", "--since", tmp_path / "before.png", "--redrawn", "--out", out)
        assert (told.code, out.exists()) == (0, True), told.err
