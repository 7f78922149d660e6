"""The command chart: sheets of the paper asked for, each with the map's code."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2


def test_chart(knots: Path, chartmaker: Callable[..., Any]) -> None:
    out = knots.parent / "chart.pdf"
    result = chartmaker("chart", knots, "--paper", "A5", "--cell", "4 mm", "--out", out, "--json")
    assert result.code == 0
    said = json.loads(result.out)
    document = pypdfium2.PdfDocument(out)
    assert len(document) == said["sheets"] >= 2
    code = said["map"]["sha256"][:8]
    assert all(code in page.get_textpage().get_text_range() for page in document)
    width, height = document[1].get_size()
    assert (round(width * 25.4 / 72), round(height * 25.4 / 72)) == (148, 210)  # ISO 216, A5
    subprocess.run(["qpdf", "--check", out], check=True, capture_output=True)


def test_a_chart_is_never_laid_over_the_map_it_is_of(knots: Path, chartmaker: Callable[..., Any]) -> None:
    before = knots.read_bytes()
    result = chartmaker("chart", knots, "--out", knots, "--replace")
    assert (result.code, "must end in .pdf" in result.err) == (2, True)
    assert knots.read_bytes() == before
