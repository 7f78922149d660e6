"""The README's first command works in an empty environment, and what it says of keys and pictures is checked."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from support.readme import README, ROOT, blocks, copied, run
from support.wheels import pack_again

from chartmaker.order.rugfile import from_tables
from chartmaker.yarns.card import card_in


def test_the_first_command_works_in_an_empty_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """pip takes what the project asks for from wheels of the libraries that are tested here.

    An index, with the names of all releases, would take it half a minute to search through.
    """
    wheels = tmp_path / "wheels"
    wheels.mkdir()
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    pack_again(wheels, told["project"]["dependencies"] + told["build-system"]["requires"])
    monkeypatch.setenv("PIP_NO_INDEX", "yes")
    monkeypatch.setenv("PIP_FIND_LINKS", str(wheels))
    # Of whole libraries the command reads but a part. This switch of pip's is set by "no", as its guide says.
    monkeypatch.setenv("PIP_NO_COMPILE", "no")
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
