"""The command `card` shows a card, prints it with its symbols, and names its faults by line."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2


def test_a_card_is_shown_and_a_double_code_is_named_by_both_lines(order: Path, chartmaker: Callable[..., Any]) -> None:
    card = order.parent / "wool.csv"
    assert "Madder" in chartmaker("card", card).out
    said = json.loads(chartmaker("card", card, "--json").out)
    assert [yarn["srgb"] for yarn in said["yarns"]][:2] == ["#a02820", "#202c60"]
    card.write_text("code,colour\nA,#000000\nA,#111111\n")
    result = chartmaker("card", card)
    assert result.code == 4
    assert "line 3: code A is already on line 2" in result.err


def test_a_card_is_printed_with_the_symbols_that_its_yarns_have_in_every_rug(
    order: Path, chartmaker: Callable[..., Any]
) -> None:
    card = order.parent / "wool.csv"
    out = order.parent / "card.pdf"
    said = json.loads(chartmaker("card", card, "--json").out)
    assert chartmaker("card", card, "--out", out, "--quiet").code == 0
    first, *more = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(out)]
    for yarn in said["yarns"]:
        assert yarn["code"] in first and yarn["name"] in first
        assert f"symbol {yarn['symbol']}" in first
        assert chr(0xE000 + yarn["symbol"]) in first
    shown = {ord(letter) - 0xE000 for page in more for letter in page if "\ue000" < letter <= "\ue0ff"}
    assert shown == set(range(1, 256))
    assert {int(number) for page in more for number in re.findall(r"\d+", page)} >= shown
    assert chartmaker("card", card, "--out", out).code == 7
    assert chartmaker("card", card, "--out", order.parent / "card.png").code == 2
