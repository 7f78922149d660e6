"""Every command of the README's guide is run, on the middle of its rug, a third as large each way."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from support.ordering import Result
from support.readme import ROOT, blocks, copied, guide, run

from chartmaker.cli.app import LazyGroup

#: The first line of the guide, which makes the set that the others start from.
MAKE = "chartmaker make examples/quince_garden.toml --out my-rug"
#: What only a shell understands; a line without it is one command and its words.
FOR_A_SHELL = re.compile(r"[|&;<>()$`*?\[~#\\]")


@pytest.fixture(scope="module", autouse=True)
def cached(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep what one command has read of the artwork for the next, as happens for the designer."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CHARTMAKER_NO_CACHE")
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


def smaller(text: str) -> str:
    """Return a rug file or a line of the guide with sizes, and the finished row, about a third as large, or fewer."""
    sizes = {'"40x60 cm", "60x90 cm", "30x90 cm", "60x60 cm"': '"40x60 cm", "60x60 cm"'}
    sizes |= {"60x90 cm": "30x45 cm", "120x180 cm": "40x60 cm", '"120 cm"': '"40 cm"', '"180 cm"': '"60 cm"'}
    for drawn, small in (sizes | {"--finished-row 400": "--finished-row 130", "6.1 kg": "0.68 kg"}).items():
        text = text.replace(drawn, small)
    return text


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the examples, the garden's middle in place of all of it to take less time, and its set as my-rug.

    A shell makes the set; most other lines are run in this process, which spares them the start of a program.
    """
    folder = tmp_path_factory.mktemp("guide")
    copied(folder, "examples")
    for name in ("quince_garden", "season", "hazel_trellis"):
        order = folder / "examples" / f"{name}.toml"
        text = smaller(order.read_text(encoding="utf-8"))
        assert text != order.read_text(encoding="utf-8")
        order.write_text(text, encoding="utf-8")
    picture = folder / "examples" / "quince_garden.png"
    with Image.open(picture) as image:
        width, height = image.size
        middle = image.crop((width // 3, height // 3, width - width // 3, height - height // 3))
    middle.save(picture)
    run(MAKE, folder)
    return folder


@pytest.mark.parametrize("block", guide(), ids=lambda block: " ".join(block.split()[1:3]))
def test_every_block_of_the_guide_runs(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, chartmaker: Callable[..., Result], block: str
) -> None:
    folder = tmp_path / "guide"
    shutil.copytree(made, folder)
    if "chartmaker check" in block:  # of the whole garden, which must cause no remark
        for ending in ("toml", "png"):
            shutil.copy(ROOT / "examples" / f"quince_garden.{ending}", folder / "examples")
    monkeypatch.chdir(folder)
    for line in block.splitlines():
        if line == MAKE:  # that was run for all of them
            continue
        program, *words = shlex.split(smaller(line))
        if program == "chartmaker" and not FOR_A_SHELL.search(line):
            done = chartmaker(*words)
            assert done.code == 0, f"{line}\n{done.err}"
        else:
            run(smaller(line), folder)


def test_the_guide_begins_with_the_set_that_all_commands_start_from() -> None:
    assert sum(block.startswith(f"{MAKE}\n") for block in guide()) == 1


def test_the_python_example_runs(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (shown,) = blocks("python")
    shutil.copytree(made / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {"__name__": "__main__"}
    exec(compile(shown, "README.md", "exec"), names)
    assert float(capsys.readouterr().out.split()[0]) > 0
    assert (tmp_path / "trial" / "summary.json").is_file()


def test_every_command_is_in_the_guide() -> None:
    told = "\n".join(guide())
    assert [name for name in LazyGroup.summaries if f"chartmaker {name} " not in told] == []
