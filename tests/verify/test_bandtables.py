"""The table of bands is proved by its own reader, and what is wrong in it is found."""

from __future__ import annotations

import io
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.reports.bandlist import bands_csv_lines
from chartmaker.sheets.bands.bandsheets import write_bands_pdf
from chartmaker.verify.bandtables import bands_csv_differences, bands_pdf_differences, expected_bands


def figures(pile_yarn: str = "weft") -> Figures:
    rng = np.random.default_rng(5)
    lines = np.concatenate([np.tile([0, 0, 1, 2, 2, 2, 1], 9), rng.integers(0, 4, 160), np.tile([3, 3, 1], 4)])
    knots = lines[:, None].repeat(12, axis=1)
    knots = knots if pile_yarn == "weft" else knots.T
    rug = make_rug(knots.shape[1], knots.shape[0], technique="hand-loomed")
    return figures_of(*settled(make_map(knots, rug, Workshop(loom=Loom(pile_yarn=pile_yarn)))))


def papers(made: Figures) -> tuple[bytes, bytes]:
    stream = io.BytesIO()
    write_bands_pdf(stream, made)
    return stream.getvalue(), "".join(bands_csv_lines(made)).encode()


@pytest.mark.parametrize("pile_yarn", ["weft", "warp"])
def test_bands_are_proved_in_both_directions(pile_yarn: str, tmp_path: Path) -> None:
    made = figures(pile_yarn)
    expected = expected_bands(made.knot_map, made)
    pdf, table = papers(made)
    assert list(bands_pdf_differences(pdf, expected)) == []
    assert list(bands_csv_differences(table, expected)) == []
    (tmp_path / "bands.pdf").write_bytes(pdf)
    words = subprocess.run(["pdftotext", "-layout", tmp_path / "bands.pdf", "-"], capture_output=True, text=True).stdout
    assert "the next 4 bands, 9 times in all" in " ".join(words.split())
    assert ("from, to rod" in words) == (pile_yarn == "weft")


def test_a_changed_band_is_found() -> None:
    made = figures()
    knots = made.knot_map.knots.copy()
    knots[40] = (knots[40] + 1) % 4
    other = replace(made, knot_map=KnotMap(knots, made.knot_map.yarns, made.knot_map.rug))
    expected = expected_bands(other.knot_map, other)
    pdf, table = papers(made)
    assert any("band" in fault for fault in bands_pdf_differences(pdf, expected))
    assert any("band" in fault for fault in bands_csv_differences(table, expected))
    moved = table.replace(b"\n1,1,2,2,", b"\n1,1,2,2,", 1).replace(b",0.4", b",0.9", 1)
    assert moved != table
    assert any("cm" in fault for fault in bands_csv_differences(moved, expected_bands(made.knot_map, made)))
