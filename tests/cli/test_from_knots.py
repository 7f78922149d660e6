"""The commands that start from a knot map, and `card`."""

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
from support.making import opened

from chartmaker.knots.rowscript import expand, runs_of_csv


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


def test_rows(knots: Path, chartmaker: Callable[..., Any]) -> None:
    knot_map = opened(knots)
    codes = [yarn.code for yarn in knot_map.yarns]
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.csv", "--quiet").code == 0
    lines = (knots.parent / "rows.csv").read_text().splitlines()
    assert np.array_equal(expand(runs_of_csv(lines, codes), knot_map.rows, knot_map.columns), knot_map.knots)
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.txt", "--quiet").code == 0
    text = (knots.parent / "rows.txt").read_text().splitlines()
    assert text[0] == "row 1, strip 1, from column 1: 24 B1  = 24"
    assert len(text) == 2 * 80
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.pdf", "--quiet").code == 0
    assert len(pypdfium2.PdfDocument(knots.parent / "rows.pdf")) > 1
    assert chartmaker("rows", knots, "--out", knots.parent / "rows.doc").code == 2


def test_figures(knots: Path, chartmaker: Callable[..., Any]) -> None:
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
    for more in (("--issue",), ("--sheet", "dye", "--out", knots.parent / "left.pdf")):  # both tell of the whole rug
        result = chartmaker("figures", knots, "--finished-row", "40", *more)
        assert (result.code, "of the whole rug" in result.err) == (2, True)
    assert not (knots.parent / "left.pdf").exists()


@pytest.mark.parametrize("name", ["proof.png", "proof.html"])
def test_proof(order: Path, knots: Path, chartmaker: Callable[..., Any], name: str) -> None:
    out = order.parent / name
    assert chartmaker("proof", knots, "--artwork", order.parent / "art.png", "--out", out, "--quiet").code == 0
    if name.endswith("png"):
        Image.open(out).verify()
    else:
        assert "Small rug" in out.read_text(encoding="utf-8")
    assert chartmaker("proof", knots, "--out", order.parent / "proof.gif").code == 2


def test_what_is_no_knot_map(order: Path, chartmaker: Callable[..., Any]) -> None:
    for command in ("chart", "rows", "proof"):
        out = order.parent / ("x.png" if command == "proof" else "x.pdf")
        result = chartmaker(command, order.parent / "art.png", "--out", out)
        assert result.code == 6
        assert not out.exists()
    assert chartmaker("figures", order.parent / "nothing.png").code == 6


def test_card(order: Path, chartmaker: Callable[..., Any]) -> None:
    card = order.parent / "wool.csv"
    assert "Madder" in chartmaker("card", card).out
    said = json.loads(chartmaker("card", card, "--json").out)
    assert [yarn["srgb"] for yarn in said["yarns"]][:2] == ["#a02820", "#202c60"]
    card.write_text("code,colour\nA,#000000\nA,#111111\n")
    result = chartmaker("card", card)
    assert result.code == 4
    assert "line 3: code A is already on line 2" in result.err


@pytest.mark.parametrize("sheet", ["figures", "dye", "issue"])
def test_figure_sheets(knots: Path, chartmaker: Callable[..., Any], sheet: str) -> None:
    out = knots.parent / f"{sheet}.pdf"
    assert chartmaker("figures", knots, "--sheet", sheet, "--out", out, "--quiet").code == 0
    text = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(out))
    assert opened(knots).map_code in text
    assert "Madder" in text


def test_bundles_on_the_terminal(knots: Path, chartmaker: Callable[..., Any]) -> None:
    assert "strip 1" in chartmaker("figures", knots, "--issue").out.lower()


def test_calibrate(knots: Path, chartmaker: Callable[..., Any]) -> None:
    estimate = json.loads(chartmaker("figures", knots, "--json").out)["pile"]["mass_g"]["best"]
    said = json.loads(chartmaker("calibrate", knots, "--total", f"{2 * estimate} g", "--json").out)
    plain = json.loads(chartmaker("calibrate", knots, "--total", f"{estimate} g", "--json").out)
    assert said["length_per_knot_mm"] == pytest.approx(2 * plain["length_per_knot_mm"], rel=1e-3)
    assert chartmaker("calibrate", knots).code == 2
    assert "length_per_knot" in chartmaker("calibrate", knots, "--used", "R1=100 g").out
    assert chartmaker("calibrate", knots, "--used", "ZZ=100 g").code == 3


def test_a_chart_is_never_laid_over_the_map_it_is_of(knots: Path, chartmaker: Callable[..., Any]) -> None:
    before = knots.read_bytes()
    result = chartmaker("chart", knots, "--out", knots, "--replace")
    assert (result.code, "must end in .pdf" in result.err) == (2, True)
    assert knots.read_bytes() == before
