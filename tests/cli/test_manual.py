"""The manual: whole, true, set without a warning by an independent formatter."""

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
from chartmaker.jobs.outputs import SET_NAMES
from chartmaker.order.rugfile import keys


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def page(chartmaker: Callable[..., Any]) -> str:
    """The manual page as groff sets it, words not broken."""
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
def test_files_codes_keys_environment_are_in_it(form: str, request: pytest.FixtureRequest) -> None:
    said = flat(request.getfixturevalue(form))
    assert tuple(handbook.FILES) == SET_NAMES
    for name, what in (handbook.FILES | handbook.ENVIRONMENT).items():
        assert f"{name} {what}" in said
    for code, meaning in exit_codes().items():
        assert f"{code} {meaning}." in said
    for table, names in keys().items():
        assert f"[{table}] {names[0]}" in said
        assert all(re.search(rf"\b{name}\b", said) for name in names)
    for example in handbook.EXAMPLES:
        assert example in said


def test_no_line_is_too_wide_to_read(text: str) -> None:
    assert max(map(len, text.splitlines())) <= 100


def test_the_examples_are_command_lines_that_are_understood(monkeypatch: pytest.MonkeyPatch) -> None:
    import shlex

    for line in handbook.EXAMPLES:
        _, name, *words = shlex.split(line)
        command = app.get_command(click.Context(app), name)
        assert command is not None
        command.make_context(name, words, resilient_parsing=False)
