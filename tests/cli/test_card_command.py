"""The command card: a card shown, a fault of it named."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any


def test_card(order: Path, chartmaker: Callable[..., Any]) -> None:
    card = order.parent / "wool.csv"
    assert "Madder" in chartmaker("card", card).out
    said = json.loads(chartmaker("card", card, "--json").out)
    assert [yarn["srgb"] for yarn in said["yarns"]][:2] == ["#a02820", "#202c60"]
    card.write_text("code,colour\nA,#000000\nA,#111111\n")
    result = chartmaker("card", card)
    assert result.code == 4
    assert "line 3: code A is already on line 2" in result.err
