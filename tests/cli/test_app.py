"""Help is set as click sets it, though its width is found without what click imports for that."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from chartmaker.cli.app import app


@pytest.mark.parametrize("columns", ["30", "80", "97", "300", "wide", "0"])
def test_help_is_as_wide_as_click_would_set_it(
    columns: str, chartmaker: Callable[..., Any], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    ours = chartmaker("plan", "--help").out
    app.main(["plan", "--help"], prog_name="chartmaker", standalone_mode=False)
    assert ours == capsys.readouterr().out
