"""The README: every command in it is run, every key of the rug file is explained."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from chartmaker.cli.app import LazyGroup
from chartmaker.order.rugfile import from_tables
from chartmaker.order.workshop import Vessel, Workshop
from chartmaker.yarns.card import parse_card

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    """Return the fenced blocks of one kind, in order."""
    return re.findall(rf"^```{kind}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def lines() -> list[str]:
    """Return the shell lines that use an installed chartmaker."""
    return [line for block in blocks("sh") for line in block.splitlines() if line.startswith(("chartmaker ", "cp "))]


def run(line: str, folder: Path) -> None:
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        line, shell=True, cwd=folder, env=os.environ | {"PATH": path}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{line}\n{done.stderr}"


def copied(folder: Path, *names: str) -> None:
    for name in names:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
        else:
            shutil.copy(ROOT / name, folder / name)


def test_every_command_of_the_guide_runs(tmp_path: Path) -> None:
    copied(tmp_path, "examples")
    order = tmp_path / "examples" / "quince_garden.toml"
    text = order.read_text(encoding="utf-8")
    assert '"120 cm"' in text
    smaller = text.replace('"120 cm"', '"60 cm"').replace('"180 cm"', '"90 cm"')  # sooner done
    order.write_text(smaller, encoding="utf-8")
    for line in lines():
        if line.startswith("chartmaker check"):
            order.write_text(text, encoding="utf-8")  # half as fine it rightly draws remarks
        run(line.replace("120x180 cm", "60x90 cm"), tmp_path)
    told = "\n".join(lines())
    for name in LazyGroup.summaries:
        if name != "knot":  # the same as make, only less
            assert f"chartmaker {name} " in told


def test_the_first_command_works_in_an_empty_environment(tmp_path: Path) -> None:
    first, second = blocks("sh")[:2]
    assert second.strip() == "tests/run"  # which is what runs this
    copied(tmp_path, "chartmaker", "examples", "pyproject.toml", "README.md", "LICENSE")
    run(first.strip(), tmp_path)
    assert (tmp_path / "quince-garden" / "summary.json").is_file()


def test_the_pieces_of_files_can_be_read() -> None:
    (card,) = blocks("csv")
    assert len(parse_card(card, where="README")) == 2
    rug = {"rug": {"size": "120x180 cm", "density": "9/60 indian"}}
    for block in blocks("toml"):
        from_tables(rug | tomllib.loads(block), where="README")


@pytest.mark.parametrize("table", ["rug", "design", "yarns", *Workshop.model_fields])
def test_every_key_of_the_rug_file_is_explained(table: str) -> None:
    from chartmaker.order.design import Design, YarnChoice
    from chartmaker.order.rug import Rug

    models = {"rug": Rug, "design": Design, "yarns": YarnChoice}
    models |= {name: field.annotation for name, field in Workshop.model_fields.items()}
    part = README.split(f"| **[{table}]** | | |")[1].split("| **[")[0].split("\n\n")[0]
    for name, field in models[table].model_fields.items():
        assert f"`{field.alias or name}`" in part, f"[{table}] {field.alias or name}"
    for name, field in Vessel.model_fields.items():
        assert table != "dye" or f"{field.alias or name}" in part


def test_every_picture_is_there() -> None:
    for name in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README):
        assert (ROOT / name).is_file()
    for name in re.findall(r"(?<!!)\[[^]]*\]\(([^)#:]+)\)", README):
        assert (ROOT / name).exists()


def test_nothing_is_left_to_fill_in() -> None:
    assert "@@" not in README
