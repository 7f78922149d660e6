"""Every command in the README is run, and what it says of keys, pictures and commands is checked."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from chartmaker.cli.app import LazyGroup
from chartmaker.order.rugfile import from_tables
from chartmaker.yarns.card import card_in

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    """Return the fenced code blocks of one kind, in order."""
    return re.findall(rf"^```{kind}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def guide() -> list[str]:
    """Return the blocks of the guide, which are typed once chartmaker is installed."""
    return blocks("sh")[2:]


@pytest.fixture(scope="module", autouse=True)
def cached(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep what one command has read of the artwork for the next, as happens for the designer."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CHARTMAKER_NO_CACHE")
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


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


def smaller(text: str) -> str:
    """Return a rug file or a line of the guide with sizes, and the finished row, about a third as large."""
    sizes = {"60x90 cm": "30x45 cm", "120x180 cm": "40x60 cm", '"120 cm"': '"40 cm"', '"180 cm"': '"60 cm"'}
    for drawn, small in (sizes | {"--finished-row 400": "--finished-row 130", "6.1 kg": "0.68 kg"}).items():
        text = text.replace(drawn, small)
    return text


#: The first line of the guide, which makes the set that the others start from.
MAKE = "chartmaker make examples/quince_garden.toml --out my-rug"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the examples, the rug a third as large each way (which takes less time), and its set as my-rug."""
    folder = tmp_path_factory.mktemp("guide")
    copied(folder, "examples")
    for name in ("quince_garden", "season"):
        order = folder / "examples" / f"{name}.toml"
        text = smaller(order.read_text(encoding="utf-8"))
        assert text != order.read_text(encoding="utf-8")
        order.write_text(text, encoding="utf-8")
    run(MAKE, folder)
    return folder


@pytest.mark.parametrize("block", guide(), ids=lambda block: " ".join(block.split()[1:3]))
def test_every_block_of_the_guide_runs(made: Path, tmp_path: Path, block: str) -> None:
    folder = tmp_path / "guide"
    shutil.copytree(made, folder)
    if "chartmaker check" in block:  # half as fine, it rightly causes remarks
        shutil.copy(ROOT / "examples" / "quince_garden.toml", folder / "examples")
    for line in block.splitlines():
        if line != MAKE:  # that was run for all of them
            run(smaller(line), folder)


def test_the_guide_begins_with_the_set_that_all_commands_start_from() -> None:
    assert sum(block.startswith(f"{MAKE}\n") for block in guide()) == 1


def test_the_python_example_runs(made: Path, tmp_path: Path) -> None:
    (shown,) = blocks("python")
    shutil.copytree(made / "examples", tmp_path / "examples")
    done = subprocess.run([sys.executable, "-c", shown], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert float(done.stdout.split()[0]) > 0
    assert (tmp_path / "trial" / "summary.json").is_file()


def test_every_command_is_in_the_guide() -> None:
    told = "\n".join(guide())
    assert [name for name in LazyGroup.summaries if f"chartmaker {name} " not in told] == []


def test_the_first_command_works_in_an_empty_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PIP_NO_COMPILE", "1")  # whole libraries, of which the command reads a part
    first, second = blocks("sh")[:2]
    assert second.strip() == "tests/run"  # this is the Python that runs the test
    copied(tmp_path, "chartmaker", "examples", "pyproject.toml", "README.md", "LICENSE")
    run(first.strip(), tmp_path)
    assert (tmp_path / "quince-garden" / "summary.json").is_file()


def test_the_parts_of_files_that_are_shown_can_be_read() -> None:
    (card,) = blocks("csv")
    assert len(card_in(card, where="README").yarns) == 2
    rug = {"rug": {"size": "120x180 cm", "density": "9/60 indian"}}
    for block in blocks("toml"):
        from_tables(rug | tomllib.loads(block), where="README")


def test_the_readme_is_short_enough_to_read() -> None:
    assert len(README.encode("utf-8")) < 15_000


def test_every_picture_is_there() -> None:
    for name in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README):
        assert (ROOT / name).is_file()
    for name in re.findall(r"(?<!!)\[[^]]*\]\(([^)#:]+)\)", README):
        assert (ROOT / name).exists()


def test_nothing_is_left_to_fill_in() -> None:
    assert "@@" not in README
