"""The command `chart` prints sheets of the paper asked for, each with the map's code."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PIL import Image

from chartmaker.cli.faults import run


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


def test_a_map_of_another_rug_is_refused_as_the_older_map(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Sheets that were redrawn against another rug's map would be hung at the wrong loom."""
    art = tmp_path / "art.png"
    Image.new("RGB", (40, 40), (200, 40, 40)).save(art)
    (tmp_path / "card.csv").write_text("code,colour\nR,#c82828\n")
    for name in ("Quince", "Plum"):
        order = [
            "--name",
            name,
            "--size",
            "10x10 cm",
            "--density",
            "40x40 per dm",
            "--card",
            str(tmp_path / "card.csv"),
        ]
        assert run(["knot", str(art), *order, "--out", str(tmp_path / f"{name}.png"), "--quiet"]) == 0
    out = tmp_path / "chart.pdf"
    assert run(["chart", str(tmp_path / "Plum.png"), "--since", str(tmp_path / "Quince.png"), "--out", str(out)]) == 9
    assert "the older map is that of another rug, 'Quince'; this one is 'Plum'" in capsys.readouterr().err
    assert not out.exists()
