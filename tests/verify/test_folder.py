"""A set as it was made differs in nothing, and every single slip in any of its files is found."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from support.generated import generated_map
from support.making import SettledMap, make_map, make_rug, make_yarn, opened

from chartmaker.cli.faults import run
from chartmaker.figures.carving import carving_of
from chartmaker.ground.progress import Progress
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.order.workshop import Workshop
from chartmaker.pages.proof.page import proof_page
from chartmaker.pages.proof.proof import proof_picture
from chartmaker.paper.papers import paper_of
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.rows import rowlayout, rowsheets
from chartmaker.sheets.rows.rowsheets import plan_rows, write_rows_pdf
from chartmaker.verify import proofs
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.difference import Difference, first_few
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.folder import verify_folder
from chartmaker.verify.proofs import page_differences, picture_differences
from chartmaker.verify.scripts import script_differences

CHARTS: dict[str, dict[str, Any]] = {
    "both": {"marks": "both"},
    "symbols": {"marks": "symbol"},
    "colours": {"marks": "colour"},
    "right to left, strips": {"reading": "right to left", "strips": 3},
    "counts": {"counts": True},
    "small cells": {"cell": "1.5 mm"},
}


def rug_map(chart: dict[str, Any], *, mirrored: bool = False, outlined: bool = False) -> SettledMap:
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


def painted(knot_map: SettledMap, row: int, column: int) -> SettledMap:
    """Return the map with one knot in the next yarn, or empty if it was in the last."""
    knots = knot_map.knots.copy()
    knots[row, column] = (knots[row, column] + 1) % len(knot_map.yarns)
    return SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)


def pdf(writer: Callable[..., int], knot_map: SettledMap) -> bytes:
    stream = io.BytesIO()
    writer(stream, knot_map, knot_map.workshop)
    return stream.getvalue()


def wanted(knot_map: SettledMap) -> Expected:
    return expected_of(knot_map, knot_map.workshop)


@pytest.mark.parametrize("kind", ["plain", "mirrored", "outlined"])
@pytest.mark.parametrize("chart", CHARTS)
def test_chart_and_script_agree_with_the_map(chart: str, kind: str) -> None:
    knot_map = rug_map(CHARTS[chart], mirrored=kind == "mirrored", outlined=kind == "outlined")
    assert list(chart_differences(pdf(write_chart, knot_map), wanted(knot_map))) == []
    assert list(script_differences(pdf(write_rows_pdf, knot_map), wanted(knot_map))) == []


@pytest.mark.parametrize("number", range(12))
def test_nothing_differs_in_maps_of_every_kind(number: int) -> None:
    knot_map = generated_map(1, number, most=22)
    assert list(chart_differences(pdf(write_chart, knot_map), wanted(knot_map))) == []
    assert list(script_differences(pdf(write_rows_pdf, knot_map), wanted(knot_map))) == []
    assert page_differences("".join(proof_page(knot_map)).encode(), wanted(knot_map)) == []
    with io.BytesIO(proof_picture(knot_map)) as stream:
        picture = Image.open(stream)
        assert picture_differences(np.asarray(picture.convert("RGB")), picture.info["rug"], wanted(knot_map)) == []


def test_names_written_right_to_left_are_no_difference() -> None:
    """Of lines with such names (Persian, with a non-joiner) pdfium returns codes and numbers backwards."""
    plain = rug_map({})
    name = "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645 \u0644\u0627\u062c\u0648\u0631\u062f\u06cc"
    yarns = tuple(replace(yarn, name=name) for yarn in plain.yarns)
    knot_map = SettledMap(plain.knots, yarns, plain.rug.model_copy(update={"name": name}), plain.workshop)
    font = (Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf").read_bytes()
    assert list(chart_differences(pdf(partial(write_chart, font_bytes=font), knot_map), wanted(knot_map))) == []
    assert list(script_differences(pdf(partial(write_rows_pdf, font_bytes=font), knot_map), wanted(knot_map))) == []
    wrong = pdf(partial(write_chart, font_bytes=font), painted(knot_map, 41, 17))
    assert any("legend" in words for words in chart_differences(wrong, wanted(knot_map)))


@pytest.mark.parametrize("chart", CHARTS)
def test_one_knot_is_found_in_chart_and_script(chart: str) -> None:
    knot_map = rug_map(CHARTS[chart])
    other = painted(knot_map, 41, 17)
    assert other.knots[41, 17] != other.knots[41, 16]  # otherwise a counted run would continue over it
    found = list(chart_differences(pdf(write_chart, other), wanted(knot_map)))
    cells = [words for words in found if "cell " in words]
    assert cells
    assert all("1 cell" in words and "row 42, column 18" in words for words in cells)
    marks = knot_map.workshop.chart.marks
    assert len(cells) == (2 if marks == "both" else 1)
    assert any(f"not {knot_map.map_code}" in words for words in found)
    script = list(script_differences(pdf(write_rows_pdf, other), wanted(knot_map)))
    assert any(f"not {knot_map.map_code}" in words for words in script)
    assert any("row 42: the runs are not the map's" in words for words in script)


def with_pages(data: bytes, numbers: list[int]) -> bytes:
    """Return a PDF with some sheets of another, numbered from 0, in the given order."""
    whole, part = pdfium.PdfDocument(data), pdfium.PdfDocument.new()
    for number in numbers:
        part.import_pages(whole, [number])
    stream = io.BytesIO()
    part.save(stream)
    return stream.getvalue()


def test_sheets_too_many_too_few_or_out_of_order_are_found() -> None:
    knot_map = rug_map({})
    expected = wanted(knot_map)
    for data, compared in (
        (pdf(write_chart, knot_map), lambda data: list(chart_differences(data, expected))),
        (pdf(write_rows_pdf, knot_map), lambda data: list(script_differences(data, expected))),
    ):
        sheets = len(pdfium.PdfDocument(data))
        assert sheets >= 3
        order = list(range(sheets))
        copied = compared(with_pages(data, order))
        assert all("window" in each or "bookmarks" in each for each in copied), "which the library does not copy"
        assert any("for sheets it prints" in words for words in compared(with_pages(data, order[:-1])))
        assert any("for sheet it prints '1'" in words for words in compared(with_pages(data, [*order, 0])))
        swapped = compared(with_pages(data, [*order[:-2], order[-1], order[-2]]))
        assert {f"sheet {sheets - 1}", f"sheet {sheets}"} <= {words.split(":")[0] for words in swapped}
        assert any("order" in words for words in swapped)


def test_rows_that_run_off_the_paper_are_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A script that is laid out for higher sheets is printed on ordinary ones, with its last rows below the foot."""
    knot_map = rug_map({})
    higher = replace(paper_of("A5", "portrait"), height_mm=260.0)
    with monkeypatch.context() as patch:
        patch.setattr(rowlayout, "paper_of", lambda *_: higher)
        layout = plan_rows(knot_map, knot_map.workshop)
    short = replace(layout, paper=paper_of("A5", "portrait"))
    monkeypatch.setattr(rowsheets, "plan_rows", lambda *_: short)
    found = list(script_differences(pdf(write_rows_pdf, knot_map), wanted(knot_map)))
    assert found and "runs off the paper" in found[0]


def test_a_yarn_under_another_code_is_missed_in_the_legend() -> None:
    knot_map = rug_map({})
    yarns = (replace(knot_map.yarns[0], code="Z9"), *knot_map.yarns[1:])
    other = SettledMap(knot_map.knots, yarns, knot_map.rug, knot_map.workshop)
    assert "the legend lacks Y000" in list(chart_differences(pdf(write_chart, other), wanted(knot_map)))


def test_the_page_holds_this_map_and_no_other() -> None:
    knot_map = rug_map({}, outlined=True)
    page = "".join(proof_page(knot_map)).encode()
    assert page_differences(page, wanted(knot_map)) == []
    assert "1 cell unlike the map's" in " ".join(page_differences(page, wanted(painted(knot_map, 40, 30))))
    assert "does not hold a rug" in page_differences(b"<html></html>", wanted(knot_map))[0]
    larger = make_map(np.vstack([knot_map.knots, knot_map.knots[:1]]))
    assert "holds 60 x 81 knots, the map 60 x 80" in page_differences(
        "".join(proof_page(larger)).encode(), wanted(knot_map)
    )


@pytest.mark.parametrize("rows", ["-1", "0", "1e999", "9" * 400, "null", '"80"'])
def test_a_page_of_impossible_size_holds_no_rug(rows: str) -> None:
    knot_map = rug_map({})
    page = "".join(proof_page(knot_map))
    assert '"rows":80' in page
    (found,) = page_differences(page.replace('"rows":80', f'"rows":{rows}', 1).encode(), wanted(knot_map))
    assert "does not hold a rug that can be read" in found


def test_a_page_is_unpacked_no_farther_than_a_rug_can_be_large(monkeypatch: pytest.MonkeyPatch) -> None:
    knot_map = rug_map({})
    page = "".join(proof_page(knot_map)).encode()
    monkeypatch.setattr(proofs, "MOST_KNOTS", 60 * 80)
    assert page_differences(page, wanted(knot_map)) == []
    monkeypatch.setattr(proofs, "MOST_KNOTS", 60 * 80 - 1)
    assert "does not hold a rug that can be read" in page_differences(page, wanted(knot_map))[0]


def test_a_picture_in_relief_is_lighter_and_darker_but_of_no_other_colour() -> None:
    """A thin field that is cut 6 mm lower lies in shade, but a knot of another colour is still found."""
    cells = np.zeros((60, 60), dtype=np.uint16)
    cells[28:32, 10:50] = 1
    cells[40:50, 20:40] = 2
    workshop = Workshop.model_validate({"pile": {"carved": {"Y001": "4 mm"}}})
    knot_map = make_map(cells, make_rug(60, 60, pile="12 mm"), workshop)
    carving = carving_of(knot_map.yarns, knot_map.rug, workshop)
    image = Image.open(io.BytesIO(proof_picture(knot_map, carving=carving)))
    picture, place = np.asarray(image.convert("RGB")), image.info["rug"]
    assert picture_differences(picture, place, wanted(knot_map)) == []
    level = make_map(cells, make_rug(60, 60, pile="12 mm"))
    dim = (picture * 0.7).astype(np.uint8)
    assert picture_differences(dim, place, wanted(level)) != []
    other = painted(knot_map, 45, 30)
    assert picture_differences(picture, place, wanted(other)) != []


def test_knots_of_seven_and_two_thirds_pixels_are_weighed_by_the_pixels_that_show_them() -> None:
    """Of four such knots a pixel is left out at both edges, so that the outer two count for less than the others."""
    cells = np.tile([1, 0, 0, 1, 1, 0, 1, 0, 1, 1, 0, 0, 1, 0, 1, 0, 0, 1], (3, 1))
    bright = make_yarn(0, (41, 238, 132)), make_yarn(1, (144, 8, 222))
    knot_map = replace(make_map(cells, make_rug(18, 3, "25x6 per dm")), yarns=bright)
    image = Image.open(io.BytesIO(proof_picture(knot_map)))
    picture, place = np.asarray(image.convert("RGB")), image.info["rug"]
    assert picture_differences(picture, place, wanted(knot_map)) == []
    assert picture_differences(picture, place, wanted(painted(knot_map, 1, 9))) != []


def test_the_picture_shows_the_map_and_no_other() -> None:
    cells = np.random.default_rng(5).integers(0, 6, (24, 20)).astype(np.uint16)
    cells[:5, :4] = NO_KNOT
    knot_map = make_map(cells, make_rug(20, 24, shape="artwork"))
    image = Image.open(io.BytesIO(proof_picture(knot_map)))
    picture, place = np.asarray(image.convert("RGB")), image.info["rug"]
    assert picture_differences(picture, place, wanted(knot_map)) == []
    other = painted(painted(knot_map, 20, 10), 5, 15)
    found = picture_differences(picture, place, wanted(other))
    assert found == ["2 areas do not have the map's colour, the first row 6, column 16"]
    left, top, width, height = map(int, place.split())
    turned = picture.copy()
    turned[top : top + height, left : left + width] = turned[top : top + height, left : left + width][:, ::-1]
    assert "areas" in picture_differences(turned, place, wanted(knot_map))[0]
    for wrong in ("", "1 2 3", f"{left} {top} {width} {height * 2}", f"{left} {top} {width // 2} {height}", "9 9 0 0"):
        assert "rug" in picture_differences(picture, wrong, wanted(knot_map))[0]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a set as `make` writes it."""
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
    assert "Every file agrees with the map." in capsys.readouterr().out


def test_progress_goes_from_nothing_to_nearly_all(made: Path) -> None:
    told: list[tuple[str, float]] = []
    verify_folder(made, Progress(lambda what, share: told.append((what, share))))
    assert [what for what, _ in told] == [f"reading {name}" for name in verify_folder(made).files]
    shares = [share for _, share in told]
    assert shares == sorted(shares) and shares[0] == 0 and 0.8 < shares[-1] < 1


@pytest.mark.parametrize(
    ("number", "last"), [(5, "4"), (6, "and 1 more difference"), (7, "and 2 more differences"), (0, None)]
)
def test_differences_that_are_not_named_are_counted(number: int, last: str | None) -> None:
    words = list(first_few(map(str, range(number))))
    assert words[:5] == [str(n) for n in range(min(number, 5))]
    assert len(words) == min(number, 6)
    assert (words[-1] if words else None) == last


def test_of_many_differences_the_first_few_are_named(made: Path, tmp_path: Path) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    knot_map = opened(folder / "knots.png")
    turned = SettledMap(knot_map.knots[::-1], knot_map.yarns, knot_map.rug, knot_map.workshop)
    with (folder / "knots.png").open("wb") as stream:
        write_knotpng(stream, turned, turned.workshop)
    found = [each.what for each in verify_folder(folder).differences if each.file == "chart.pdf"]
    assert len(found) == 11  # the chart is that of the rug turned round, so every sheet of it is wrong
    assert re.fullmatch(r"and \d+ more differences", found[-1])


def replaced(name: str, old: str, new: str) -> Callable[[Path], None]:
    def tamper(folder: Path) -> None:
        text = (folder / name).read_text()
        assert old in text
        (folder / name).write_text(text.replace(old, new, 1))

    return tamper


def lines_less(name: str) -> Callable[[Path], None]:
    return lambda folder: (folder / name).write_text("".join((folder / name).read_text().splitlines(True)[:-1]))  # type: ignore[return-value]


def other_bytes(name: str) -> Callable[[Path], None]:
    return lambda folder: (folder / name).write_bytes((folder / name).read_bytes() + b"\xff")  # type: ignore[return-value]


def one_knot_off(folder: Path) -> SettledMap:
    return painted(opened(folder / "knots.png"), 30, 11)


def other_chart(folder: Path) -> None:
    (folder / "chart.pdf").write_bytes(pdf(write_chart, one_knot_off(folder)))


def other_script(folder: Path) -> None:
    (folder / "rows.pdf").write_bytes(pdf(write_rows_pdf, one_knot_off(folder)))


def other_page(folder: Path) -> None:
    (folder / "proof.html").write_text("".join(proof_page(one_knot_off(folder))))


def turned_picture(folder: Path) -> None:
    with Image.open(folder / "proof.png") as picture:
        told = PngInfo()
        told.add_text("rug", picture.info["rug"])
        picture.transpose(Image.Transpose.FLIP_TOP_BOTTOM).save(folder / "proof.png", pnginfo=told)


SLIPS: dict[str, tuple[str, Callable[[Path], None], str]] = {
    "a run's yarn": ("rows.csv", replaced("rows.csv", "R1\n", "W1\n"), "cells unlike the map's"),
    "a run left out": ("rows.csv", replaced("rows.csv", "1,1,1,48,R1\n", ""), "48 cells unlike the map's"),
    "a strip": (
        "rows.csv",
        replaced("rows.csv", "1,1,1,48,R1\n", "1,2,1,48,R1\n"),
        "1 run outside the strip that they name",
    ),
    "a count": ("yarns.csv", replaced("yarns.csv", "R1,Madder,#a02820,", "R1,Madder,#a02820,9"), "line 2: knots is"),
    "a line of yarns": ("yarns.csv", lines_less("yarns.csv"), "has 2 yarns, the map 3"),
    "a value left out": ("yarns.csv", replaced("yarns.csv", ",#a02820,", ","), "line 2 has"),
    "yarns in no letters": ("yarns.csv", other_bytes("yarns.csv"), "is not CSV: 'utf-8' codec"),
    "runs in no letters": ("rows.csv", other_bytes("rows.csv"), "cannot be read: 'utf-8' codec"),
    "a run of no yarn": ("rows.csv", replaced("rows.csv", "R1\n", "Q1\n"), "cannot be read: "),
    "a figure": ("summary.json", replaced("summary.json", '"columns": 48', '"columns": 49'), "map.columns is 49"),
    "a key": ("summary.json", replaced("summary.json", '"warp_ends"', '"ends"'), "foundation.warp_ends is missing"),
    "no JSON": ("summary.json", replaced("summary.json", "{", ""), "is not JSON"),
    "another chart": ("chart.pdf", other_chart, "row 31, column 12"),
    "no PDF": ("chart.pdf", lambda folder: (folder / "chart.pdf").write_text("PDF"), "cannot be read"),  # type: ignore[dict-item,return-value]
    "another script": ("rows.pdf", other_script, "row 31: the runs are not the map's"),
    "another page": ("proof.html", other_page, "the first in row 31, column 12"),
    "another picture": ("proof.png", turned_picture, "the map's colour"),
    "a file less": (
        "rows.csv",
        lambda folder: (folder / "rows.csv").unlink(),
        "cannot read the rows.csv: No such file",
    ),
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


def test_after_a_touch_up_the_other_files_no_longer_agree(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    changed = one_knot_off(folder)
    with (folder / "knots.png").open("wb") as stream:
        write_knotpng(stream, changed, changed.workshop)
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
    } | {"proof.png", "loom.html"}
    assert "9 of the set's files" in told.err


def test_a_folder_that_is_no_set_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["verify", str(tmp_path / "none")]) == 7
    assert run(["verify", str(tmp_path)]) == 6
    assert "knots.png" in capsys.readouterr().err
