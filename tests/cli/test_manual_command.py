"""The manual is complete and true, and an independent formatter sets it without a warning."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from typing import Any

import click
import pytest

from chartmaker.cli import handbook
from chartmaker.cli.app import LazyGroup, app
from chartmaker.cli.faults import exit_codes
from chartmaker.jobs.outputs import CARVING, SET_NAMES
from chartmaker.order.density import parse_density
from chartmaker.order.keyhelp import tables_explained
from chartmaker.techniques.crafts import CRAFTS


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def page(chartmaker: Callable[..., Any]) -> str:
    """The manual page as groff sets it, with no word broken at the end of a line."""
    made = chartmaker("manual", "--man")
    assert made.code == 0
    assert made.out.isascii()
    command = ["groff", "-man", "-Tutf8", "-ww", "-P-cbou", "-rLL=200n"]
    done = subprocess.run(command, input=made.out.encode(), capture_output=True, check=True)
    assert done.stderr == b""
    return done.stdout.decode("utf-8")


@pytest.fixture
def text(chartmaker: Callable[..., Any]) -> str:
    """The manual as plain text."""
    made = chartmaker("manual")
    assert made.code == 0
    return str(made.out)


@pytest.mark.parametrize("form", ["page", "text"])
def test_every_command_with_every_option_is_in_it(form: str, request: pytest.FixtureRequest) -> None:
    said = flat(request.getfixturevalue(form))
    for name in LazyGroup.summaries:
        command = app.get_command(click.Context(app), name)
        assert command is not None
        assert f"chartmaker {name} [OPTIONS]" in said
        assert str(command.epilog) in said
        assert flat(str(command.help)) in said
        for option in command.params:
            assert all(word in said for word in option.opts if word.startswith("-"))


@pytest.mark.parametrize("form", ["page", "text"])
def test_every_file_exit_code_key_and_variable_is_in_it(form: str, request: pytest.FixtureRequest) -> None:
    said = flat(request.getfixturevalue(form))
    assert set(handbook.FILES) == {name for craft in CRAFTS.values() for name in craft.papers} | {CARVING, *SET_NAMES}
    for name, what in (handbook.FILES | handbook.ENVIRONMENT).items():
        assert f"{name} {what}" in said
    for code, meaning in exit_codes().items():
        assert f"{code} {meaning}." in said
    for table, explained in tables_explained().items():
        assert f"[{table}]" in said.replace("[DYE.VESSELS]", "[dye.vessels]")
        for key in explained:
            assert (
                flat(f"{key.key} = {key.default} {key.meaning}" if key.default else f"{key.key} {key.meaning}") in said
            )
    for example in handbook.EXAMPLES:
        assert example in said


def test_no_line_is_too_wide_to_read(text: str) -> None:
    assert max(map(len, text.splitlines())) <= 100


def test_every_example_is_a_command_line_that_is_understood(monkeypatch: pytest.MonkeyPatch) -> None:
    import shlex

    for line in handbook.EXAMPLES:
        _, name, *words = shlex.split(line)
        command = app.get_command(click.Context(app), name)
        assert command is not None
        command.make_context(name, words, resilient_parsing=False)


@pytest.mark.parametrize("section", handbook.SECTIONS)
def test_a_section_can_be_asked_for_alone(section: str, text: str, chartmaker: Callable[..., Any]) -> None:
    part = chartmaker("manual", section).out
    assert part.startswith(handbook.SECTIONS[section].upper() + "\n")
    assert part in text
    assert len(part) < len(text) / 2 or section == "commands"


def test_every_density_of_the_manual_is_understood() -> None:
    for written in handbook.DENSITIES:
        assert parse_density(written).per_m2 > 0


def test_the_lines_for_the_tab_key_print_what_a_shell_reads() -> None:
    from click.shell_completion import get_completion_class

    for line in handbook.SHELLS.values():
        shell = re.search(r"_CHARTMAKER_COMPLETE=(\w+)_source", line)
        assert shell
        assert get_completion_class(shell[1]) is not None


def test_the_help_names_every_section() -> None:
    from chartmaker.cli.manual import command

    assert all(section in str(command.help) for section in handbook.SECTIONS)
