"""With `--replace` only what chartmaker made is replaced, and never a file that the command reads."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest


def contents(folder: Path) -> dict[str, bytes | None]:
    return {path.name: path.read_bytes() if path.is_file() else None for path in folder.iterdir()}


@pytest.fixture
def made(order: Path, chartmaker: Callable[..., Any]) -> Path:
    out = order.parent / "set"
    assert chartmaker("make", order, "--out", out, "--quiet").code == 0
    return out


def test_artwork_under_the_name_of_an_output_is_not_lost(order: Path, chartmaker: Callable[..., Any]) -> None:
    work = order.parent / "work"
    work.mkdir()
    shutil.copy(order.parent / "art.png", work / "proof.png")
    kept = contents(work)
    options = ("--size", "12x16 cm", "--density", "40x50 per dm", "--card", order.parent / "wool.csv")
    result = chartmaker("make", work / "proof.png", *options, "--out", work, "--replace", "--replace-changed")
    assert (result.code, "proof.png" in result.err) == (7, True)
    assert contents(work) == kept


def test_an_input_within_the_set_is_never_replaced(order: Path, made: Path, chartmaker: Callable[..., Any]) -> None:
    kept = contents(made)
    options = ("--fit", "stretch", "--set", f'design.artwork="{made / "proof.png"}"', "--replace", "--replace-changed")
    result = chartmaker("make", order, *options, "--out", made)
    assert (result.code, "read by the command itself" in result.err) == (7, True)
    assert contents(made) == kept


def test_a_folder_in_a_file_s_place_is_not_lost(order: Path, made: Path, chartmaker: Callable[..., Any]) -> None:
    (made / "chart.pdf").unlink()
    (made / "chart.pdf").mkdir()
    (made / "chart.pdf" / "notes.txt").write_text("mine")
    result = chartmaker("make", order, "--out", made, "--replace", "--replace-changed")
    assert (result.code, "chart.pdf" in result.err) == (7, True)
    assert (made / "chart.pdf" / "notes.txt").read_text() == "mine"


def test_a_changed_file_is_replaced_only_if_that_is_meant(
    order: Path, made: Path, chartmaker: Callable[..., Any]
) -> None:
    first = contents(made)
    (made / "rows.csv").write_text("noted by hand")
    result = chartmaker("make", order, "--out", made, "--replace")
    assert result.code == 7
    assert "rows.csv; move them away, or replace them too with --replace-changed" in result.err
    assert (made / "rows.csv").read_text() == "noted by hand"
    assert chartmaker("make", order, "--out", made, "--replace", "--replace-changed", "--quiet").code == 0
    assert contents(made) == first


def test_a_set_without_its_summary_is_not_replaced(order: Path, made: Path, chartmaker: Callable[..., Any]) -> None:
    (made / "summary.json").unlink()
    assert chartmaker("make", order, "--out", made, "--replace").code == 7
    assert (made / "chart.pdf").exists()


@pytest.mark.parametrize("command", ["knot", "touchup", "swap", "chart", "rows", "compare"])
def test_no_command_writes_over_what_it_reads(
    order: Path, knots: Path, chartmaker: Callable[..., Any], command: str
) -> None:
    folder = order.parent
    (folder / "art.pdf").symlink_to("knots.png")
    card = folder / "wool.csv"
    kept = contents(folder)
    words: tuple[object, ...] = {
        "knot": (
            folder / "art.png",
            "--size",
            "12x16 cm",
            "--density",
            "40x50 per dm",
            "--card",
            card,
            "--out",
            folder / "art.png",
        ),
        "touchup": (knots, "--out", knots),
        "swap": (knots, "--merge", "R1:B1", "--out", knots),
        "chart": (knots, "--out", folder / "art.pdf"),
        "rows": (knots, "--rug", order, "--out", card),
        "compare": (knots, knots, "--picture", knots),
    }[command]
    result = chartmaker(command, *words, "--replace")
    assert (result.code, "read by the command itself" in result.err) == (7, True), result.err
    assert contents(folder) == kept


def test_the_shell_stays_in_the_set_that_is_made_anew(order: Path, made: Path) -> None:
    """This is what one types: ``cd set; chartmaker make ../rug.toml --out . --replace; ls``."""
    line = f"{sys.executable} -m chartmaker make ../rug.toml --out . --replace --quiet && ls"
    shell = subprocess.run(["sh", "-c", line], cwd=made, capture_output=True, text=True, env=os.environ, check=False)
    assert (shell.returncode, shell.stderr) == (0, "")
    assert shell.stdout.split() == sorted(path.name for path in made.iterdir()) != []


def test_a_file_beside_a_pattern_that_nobody_named_is_not_lost(
    made: Path, chartmaker: Callable[..., Any], tmp_path: Path
) -> None:
    asked = ("pattern", made / "knots.png", "--out", tmp_path / "pattern.pdf", "--replace", "--quiet")
    for name in ("guide.pdf", "pattern.svg"):
        (tmp_path / name).write_text("mine")
        result = chartmaker(*asked)
        assert (result.code, f"{name}: chartmaker did not write this file" in result.err) == (7, True)
        assert contents(tmp_path)[name] == b"mine" and not (tmp_path / "pattern.pdf").exists()
        (tmp_path / name).unlink()
    assert chartmaker(*asked).code == 0
    assert chartmaker(*asked).code == 0
