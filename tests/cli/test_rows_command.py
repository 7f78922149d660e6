"""The command `rows` writes the script as a table, as lines of text, or on paper."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from support.making import opened

from chartmaker.knots.rowscript import expand, runs_of_csv


def test_the_script_is_written_as_a_table_as_lines_and_on_paper(knots: Path, chartmaker: Callable[..., Any]) -> None:
    knot_map = opened(knots)
    codes = [yarn.code for yarn in knot_map.yarns]
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.csv", "--quiet").code == 0
    lines = (knots.parent / "rows.csv").read_text().splitlines()
    assert np.array_equal(expand(runs_of_csv(lines, codes), knot_map.rows, knot_map.columns), knot_map.knots)
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.txt", "--quiet").code == 0
    text = (knots.parent / "rows.txt").read_text().splitlines()
    assert text[0] == "row 1, strip 1, from column 1: 20 Indigo, 4 Indigo  = 24"
    assert len(text) == 2 * 80
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.pdf", "--quiet").code == 0
    assert len(pypdfium2.PdfDocument(knots.parent / "rows.pdf")) > 1
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.doc").code == 2
