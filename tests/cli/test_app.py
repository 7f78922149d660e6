"""All commands share the width of their help, its language, and their answer to a file that is no knot map."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from support.pseudo import Pseudo

from chartmaker.cli.app import LazyGroup, app
from chartmaker.ground.language import speaking


@pytest.mark.parametrize("columns", ["30", "80", "97", "300", "wide", "0"])
def test_help_is_as_wide_as_click_would_set_it(
    columns: str, chartmaker: Callable[..., Any], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    ours = chartmaker("plan", "--help").out
    app.main(["plan", "--help"], prog_name="chartmaker", standalone_mode=False)
    assert ours == capsys.readouterr().out


def test_a_file_that_is_no_knot_map_is_refused(order: Path, chartmaker: Callable[..., Any]) -> None:
    for command in ("chart", "rows", "proof"):
        out = order.parent / ("x.png" if command == "proof" else "x.pdf")
        result = chartmaker(command, order.parent / "art.png", "--out", out)
        assert result.code == 6
        assert not out.exists()
    assert chartmaker("figures", order.parent / "nothing.png").code == 6


@pytest.mark.parametrize("name", LazyGroup.summaries)
def test_help_is_in_the_language_in_force(name: str, chartmaker: Callable[..., Any]) -> None:
    """In a pseudo-language the only English left is what one types, what click says itself, and names."""
    with speaking(Pseudo()):
        told = chartmaker(name, "--help").out
    assert told.count("Zu") > 20
    words = set(re.findall(r"(?<![\w.-])[a-z]{4,}(?![\w.-])", re.sub(r"\[[a-z|]+\]", "", told)))
    assert words <= {"this", "message", "exit", "required", "chartmaker", name}
