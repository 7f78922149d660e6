"""An option is blamed for the value that it gave, and the rug file is blamed for what it says itself."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

#: Options that lay wrong values over the rug file, and how the message begins.
OPTIONS: tuple[tuple[tuple[str, ...], str], ...] = (
    (("--turn", "45"), "--turn: 45 is not one of 0, 90, 180 or 270"),
    (("--turn", "left"), "--turn: 'left' is not one of 0, 90, 180 or 270"),
    (("--tidy", "51"), "--tidy: 51 is too large; the most is 50"),
    (("--tidy", "few"), "--tidy: 'few' is not a whole number"),
    (("--weavers", "0"), "--weavers: 0 is too small; the least is 1"),
    (("--colours", "2.5"), "--colours: '2.5' is not a whole number"),
    (("--strips", "many"), "--strips: 'many' is neither a number of strips nor a list"),
    (("--size", "5x8"), "--size: '5x8' needs its unit"),
    (("--size", "5x800 m"), "--size: length 80000 cm cannot be right for a rug"),
    (("--size", "1x1 cm", "--density", "4x4 per dm"), "--size: at this density the rug has 0 x 0 knots"),
    (("--density", "9/60"), "--density: '9/60' can be read two ways"),
    (("--knot", "granny"), "--knot: 'granny' is not one of 'asymmetric', 'asymmetric, open left', "),
    (("--pile", "10"), "--pile: '10' is not a length; write it like"),
    (("--cell", "0 mm"), "--cell: '0 mm' is not a length above zero"),
    (("--bold-every", "1"), "--bold-every: 1 is too small; the least is 2"),
    (("--name", "a\tb"), "--name: 'a\\tb' must be printable text on one line"),
    (("--keep", ""), "--keep: '' must be printable text"),
    (("--set", "loom.picks=9"), "--set loom.picks: 9 is too large; the most is 8"),
    (("--set", "loom.piks=2"), "--set loom.piks: unknown key piks; did you mean picks?"),
    (("--set", "pile.grams_per_1000_knots=9", "--set", "pile.length_per_knot='4 cm'"), "--set pile."),
)


@pytest.mark.parametrize(("arguments", "words"), OPTIONS, ids=[" ".join(o[0]) for o in OPTIONS])
def test_an_option_is_blamed_and_not_the_file(
    order: Path, chartmaker: Callable[..., Any], arguments: tuple[str, ...], words: str
) -> None:
    result = chartmaker("knot", order, *arguments, "--out", order.parent / "knots.png")
    assert result.err.startswith(f"chartmaker: {words}"), result.err
    assert "rug.toml" not in result.err
    assert result.code == 3


def test_a_wrong_value_of_the_file_is_blamed_on_the_file(order: Path, chartmaker: Callable[..., Any]) -> None:
    order.write_text(order.read_text(encoding="utf-8").replace("[loom]\n", "[loom]\npicks = 9\n"), encoding="utf-8")
    assert "rug.toml, [loom] picks: 9 is too large" in chartmaker("plan", order, "--weavers", 2).err
    assert chartmaker("plan", order, "--set", "loom.picks=2").code == 0


def test_without_a_rug_file_the_message_names_the_options(chartmaker: Callable[..., Any]) -> None:
    assert chartmaker("plan", "--size", "5x8ft").err.startswith(
        "chartmaker: the command line, [rug] density: the density is missing; give it in [rug], or as --density"
    )
