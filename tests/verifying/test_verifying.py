"""Reading a set back: nothing differs in a set as made, and every single slip in any of its files is found."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pytest
from generated import generated_map
from making import make_map, make_rug
from PIL import Image

from chartmaker.cli.faults import run
from chartmaker.knotmap import NO_KNOT, KnotMap
from chartmaker.knotpng import read_knotpng, write_knotpng
from chartmaker.screens.page import proof_page
from chartmaker.screens.proof import proof_picture
from chartmaker.sheets.chart import write_chart
from chartmaker.sheets.facts import CoverFacts
from chartmaker.sheets.rowsheets import write_rows_pdf
from chartmaker.verifying import verify_folder
from chartmaker.verifying.charts import chart_differences
from chartmaker.verifying.difference import Difference
from chartmaker.verifying.proofs import page_differences, picture_differences
from chartmaker.verifying.scripts import read_row, script_differences
from chartmaker.workshop import Workshop

CHARTS: dict[str, dict[str, Any]] = {
    "both": {"marks": "both"},
    "symbols": {"marks": "symbol"},
    "colours": {"marks": "colour"},
    "right to left, strips": {"reading": "right to left", "strips": 3},
    "counts": {"counts": True},
    "small cells": {"cell": "1.5 mm"},
}


def rug_map(chart: dict[str, Any], *, mirrored: bool = False, outlined: bool = False) -> KnotMap:
    rng = np.random.default_rng(3)
    cells = np.kron(rng.integers(0, 9, (16, 20)), np.ones((5, 3), dtype=int)).astype(np.uint16)
    cells[rng.random(cells.shape) < 0.05] = 9
    cells[20] = np.arange(60) % 2
    if mirrored:
        cells[:, 30:] = cells[:, :30][:, ::-1]
    if outlined:
        cells[:9, :14], cells[70:, 50:] = NO_KNOT, NO_KNOT
    workshop = Workshop.model_validate({"chart": {"paper": "A5", "cell": "3 mm", **chart}})
    return make_map(cells, make_rug(60, 80, shape="artwork" if outlined else "rectangle"), workshop)


def painted(knot_map: KnotMap, row: int, column: int) -> KnotMap:
    """Return the map with one knot in the yarn after its own, or in none if that was the last."""
    knots = knot_map.knots.copy()
    knots[row, column] = (knots[row, column] + 1) % len(knot_map.yarns)
    return KnotMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)


def pdf(writer: Callable[..., int], knot_map: KnotMap) -> bytes:
    stream = io.BytesIO()
    writer(stream, knot_map)
    return stream.getvalue()


@pytest.mark.parametrize("kind", ["plain", "mirrored", "outlined"])
@pytest.mark.parametrize("chart", CHARTS)
def test_chart_and_script_say_the_map(chart: str, kind: str) -> None:
    knot_map = rug_map(CHARTS[chart], mirrored=kind == "mirrored", outlined=kind == "outlined")
    assert list(chart_differences(pdf(write_chart, knot_map), knot_map, CoverFacts())) == []
    assert list(script_differences(pdf(write_rows_pdf, knot_map), knot_map)) == []


def test_names_written_right_to_left_are_no_difference() -> None:
    """On lines of such names (Persian, with a non-joiner), pdfium tells codes and numbers backwards."""
    plain = rug_map({})
    name = "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645 \u0644\u0627\u062c\u0648\u0631\u062f\u06cc"
    yarns = tuple(replace(yarn, name=name) for yarn in plain.yarns)
    knot_map = KnotMap(plain.knots, yarns, plain.rug.model_copy(update={"name": name}), plain.workshop)
    font = (Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf").read_bytes()
    assert list(chart_differences(pdf(partial(write_chart, font_bytes=font), knot_map), knot_map, CoverFacts())) == []
    assert list(script_differences(pdf(partial(write_rows_pdf, font_bytes=font), knot_map), knot_map)) == []
    wrong = pdf(partial(write_chart, font_bytes=font), painted(knot_map, 41, 17))
    assert any("legend" in words for words in chart_differences(wrong, knot_map, CoverFacts()))


@pytest.mark.parametrize("number", range(12))
def test_nothing_differs_in_maps_of_every_kind(number: int) -> None:
    knot_map = generated_map(1, number, most=22)
    assert list(chart_differences(pdf(write_chart, knot_map), knot_map, CoverFacts())) == []
    assert list(script_differences(pdf(write_rows_pdf, knot_map), knot_map)) == []
    assert page_differences("".join(proof_page(knot_map)).encode(), knot_map) == []
    with io.BytesIO(proof_picture(knot_map)) as stream:
        assert picture_differences(np.asarray(Image.open(stream).convert("RGB")), knot_map) == []


@pytest.mark.parametrize("chart", CHARTS)
def test_one_knot_is_found_in_chart_and_script(chart: str) -> None:
    knot_map = rug_map(CHARTS[chart])
    other = painted(knot_map, 41, 17)
    assert other.knots[41, 17] != other.knots[41, 16]  # else a counted run would go on over it
    found = list(chart_differences(pdf(write_chart, other), knot_map, CoverFacts()))
    cells = [words for words in found if "cell" in words]
    assert cells
    assert all("1 cell" in words and "row 42, column 18" in words for words in cells)
    marks = knot_map.workshop.chart.marks
    assert len(cells) == (2 if marks == "both" else 1)
    assert any(f"does not say {knot_map.map_code!r}" in words for words in found)
    # the script of the other map under this map's code
    script = pdf(write_rows_pdf, other)
    assert any(f"map {knot_map.map_code}" in words for words in script_differences(script, knot_map))


def test_a_wrong_run_is_found_by_its_row() -> None:
    knot_map = rug_map({})
    codes = {yarn.code: index for index, yarn in enumerate(knot_map.yarns)}
    words = ["7", "2", "Y001", "3 × (", "1", "Y000", "skip 2", ")", "= 5", "8", "1", "Y002", "= 2"]
    knots, place = read_row(words, 0, (7,), codes)
    none = NO_KNOT
    assert knots.tolist() == [1, 1, 0, none, none, 0, none, none, 0, none, none]
    assert read_row(["7", ") × 2", "1", "Y000", "(", "= 2"], 0, (7,), codes)[0].tolist() == [0, 0]
    with pytest.raises(ValueError, match="'\\(' is no run"):
        read_row(["7", "2 × (", "1", "Y000", "(", "= 2"], 0, (7,), codes)
    with pytest.raises(ValueError, match="its total says 2, its runs give 1"):
        read_row(words, place, (8,), codes)
    with pytest.raises(ValueError, match="'7' stands where its number should"):
        read_row(words, 0, (8,), codes)
    with pytest.raises(ValueError, match="'Z9' is no yarn"):
        read_row(["1", "4", "Z9", "= 4"], 0, (1,), codes)


def test_the_page_says_the_map_and_no_other() -> None:
    knot_map = rug_map({}, outlined=True)
    page = "".join(proof_page(knot_map)).encode()
    assert page_differences(page, knot_map) == []
    assert "1 cell unlike the map's" in " ".join(page_differences(page, painted(knot_map, 40, 30)))
    assert "holds no rug" in page_differences(b"<html></html>", knot_map)[0]


def test_the_picture_shows_the_map_and_no_other() -> None:
    cells = np.random.default_rng(5).integers(0, 6, (24, 20)).astype(np.uint16)
    cells[:5, :4] = NO_KNOT
    knot_map = make_map(cells, make_rug(20, 24, shape="artwork"))
    picture = np.asarray(Image.open(io.BytesIO(proof_picture(knot_map))).convert("RGB"))
    assert picture_differences(picture, knot_map) == []
    other = painted(painted(knot_map, 20, 10), 5, 15)
    found = picture_differences(picture, other)
    assert found == ["2 areas have not the map's colour, the first row 6, column 16"]
    assert "areas" in picture_differences(picture[:, ::-1], knot_map)[0]
    assert "not the proof of this rug" in picture_differences(picture[1:], knot_map)[0]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A set as `make` writes it."""
    folder = tmp_path_factory.mktemp("made")
    art = np.full((160, 120, 3), (160, 40, 32), np.uint8)
    art[10:-10, 10:-10] = (32, 44, 96)
    art[40:70, 30:60] = (240, 232, 216)
    Image.fromarray(art).save(folder / "art.png")
    (folder / "wool.csv").write_text("code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\n")
    (folder / "rug.toml").write_text(
        '[rug]\nname = "Small"\nwidth = "12 cm"\nlength = "16 cm"\ndensity = "40x50 per dm"\n'
        '[design]\nartwork = "art.png"\n[yarns]\ncard = "wool.csv"\n[chart]\npaper = "A5"\n'
    )
    assert run(["make", str(folder / "rug.toml"), "--out", str(folder / "set"), "--quiet"]) == 0
    return folder / "set"


def differences(folder: Path, file: str) -> list[str]:
    found = verify_folder(folder).differences
    assert {each.file for each in found} <= {file}, found
    return [each.what for each in found]


def test_a_set_as_made_differs_in_nothing(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert verify_folder(made).differences == ()
    assert run(["verify", str(made)]) == 0
    assert "Every file says what the map says." in capsys.readouterr().out


def replaced(name: str, old: str, new: str) -> Callable[[Path], None]:
    def tamper(folder: Path) -> None:
        text = (folder / name).read_text()
        assert old in text
        (folder / name).write_text(text.replace(old, new, 1))

    return tamper


def one_knot_off(folder: Path) -> KnotMap:
    return painted(read_knotpng(folder / "knots.png"), 30, 11)


def other_chart(folder: Path) -> None:
    (folder / "chart.pdf").write_bytes(pdf(write_chart, one_knot_off(folder)))


def other_script(folder: Path) -> None:
    (folder / "rows.pdf").write_bytes(pdf(write_rows_pdf, one_knot_off(folder)))


def other_page(folder: Path) -> None:
    (folder / "proof.html").write_text("".join(proof_page(one_knot_off(folder))))


def turned_picture(folder: Path) -> None:
    with Image.open(folder / "proof.png") as picture:
        picture.transpose(Image.Transpose.FLIP_TOP_BOTTOM).save(folder / "proof.png")


SLIPS: dict[str, tuple[str, Callable[[Path], None], str]] = {
    "a run's yarn": ("rows.csv", replaced("rows.csv", "R1\n", "W1\n"), "cells unlike the map's"),
    "a run left out": ("rows.csv", replaced("rows.csv", "1,1,1,48,R1\n", ""), "48 cells unlike the map's"),
    "a strip": ("rows.csv", replaced("rows.csv", "1,1,1,48,R1\n", "1,2,1,48,R1\n"), "1 runs lie outside the strip"),
    "a count": ("yarns.csv", replaced("yarns.csv", "R1,Madder,#a02820,", "R1,Madder,#a02820,9"), "line 2: knots is"),
    "a figure": ("summary.json", replaced("summary.json", '"columns": 48', '"columns": 49'), "map.columns is 49"),
    "a key": ("summary.json", replaced("summary.json", '"warp_ends"', '"ends"'), "foundation.warp_ends is missing"),
    "no JSON": ("summary.json", replaced("summary.json", "{", ""), "is not JSON"),
    "another chart": ("chart.pdf", other_chart, "row 31, column 12"),
    "no PDF": ("chart.pdf", lambda folder: (folder / "chart.pdf").write_text("PDF"), "cannot be read"),  # type: ignore[dict-item,return-value]
    "another script": ("rows.pdf", other_script, "its head does not say map"),
    "another page": ("proof.html", other_page, "the first in row 31, column 12"),
    "another picture": ("proof.png", turned_picture, "the map's colour"),
    "a file less": ("rows.csv", lambda folder: (folder / "rows.csv").unlink(), "cannot be read: No such file"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_every_slip_is_found_in_its_file(made: Path, tmp_path: Path, slip: str) -> None:
    name, tamper, words = SLIPS[slip]
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    tamper(folder)
    found = verify_folder(folder).differences
    assert any(each.file == name and words in each.what for each in found), found
    if name != "summary.json":
        assert {each.file for each in found} == {name}
        sealed = Difference(name, "is not the file that was written with summary.json: its SHA-256 is another")
        assert sealed in found or slip == "a file less"


def test_a_touched_up_map_leaves_the_other_files_behind(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    changed = one_knot_off(folder)
    with (folder / "knots.png").open("wb") as stream:
        write_knotpng(stream, changed)
    assert run(["verify", str(folder), "--json"]) == 9
    told = capsys.readouterr()
    behind = {each["file"] for each in json.loads(told.out)["differences"]}
    assert behind == {
        "knots.png",
        "summary.json",
        "rows.csv",
        "yarns.csv",
        "chart.pdf",
        "rows.pdf",
        "proof.html",
    } | {"proof.png"}
    assert "8 of the set's files" in told.err


def test_what_is_no_set_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["verify", str(tmp_path / "none")]) == 7
    assert run(["verify", str(tmp_path)]) == 6
    assert "knots.png" in capsys.readouterr().err
