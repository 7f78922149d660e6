"""The tolerances of verify are tested from both sides: rounding is let pass, and anything beyond it is found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from support.making import make_map, make_rug

from chartmaker.ground.rounding import adding_up
from chartmaker.readback.printed import Fill, Text
from chartmaker.verify import covers, legends, numbering, proofs
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.fields import near
from chartmaker.verify.legends import Entry, is_colour
from chartmaker.verify.records import Near
from chartmaker.verify.remarks import cost_faults, match_faults
from chartmaker.verify.values import Feet


def expected() -> Expected:
    """Return a map of two yarns with 30 and 70 knots, of 40 and 60 g."""
    cells = np.repeat([0] * 3 + [1] * 7, 10).reshape(10, 10)
    knot_map = make_map(cells, make_rug(10, 10, "10x10 per dm"))
    return replace(expected_of(knot_map, knot_map.workshop), grams=(40.0, 60.0))


def shares(first: str, second: str, grams: tuple[str, str] = ("40", "60")) -> bool:
    codes = [yarn.code for yarn in expected().yarns]
    entries = [
        Entry((), 0, code, None, "", share, each, None, ())
        for code, share, each in zip(codes, (first, second), grams, strict=True)
    ]
    return list(covers._shares(entries, expected())) == []


def lengths(words: str) -> bool:
    return list(numbering._wrong_lengths({10: words}, {10}, {10: 100.0})) == []


def match(mean: float = 2.0, worst: float = 4.0, p95: float = 3.0) -> bool:
    one = {"knots": 30, "mean_de00": 1.3, "max_de00": 2.0, "p95_de00": 1.8}
    two = {"knots": 70, "mean_de00": 2.3, "max_de00": 4.0, "p95_de00": 3.0}
    return list(match_faults({"mean_de00": mean, "max_de00": worst, "p95_de00": p95}, [one, two])) == []


def cost(total: float = 30.0, per_m2: float = 15.0, per_ft2: float = 1.39) -> bool:
    def of(value: float) -> dict[str, float]:
        return dict.fromkeys(("low", "best", "high"), value)

    parts = [{"what": "warp", "amount": of(10.0)}, {"what": "weft", "amount": of(20.0)}, {"what": "x", "amount": None}]
    told = {"parts": parts, "complete": False, "total": of(total), "per_m2": of(per_m2), "per_ft2": of(per_ft2)}
    return list(cost_faults(told, 2.0)) == []


#: For each tolerance, what must be let pass and what must be found.
BOTH: dict[str, tuple[Callable[[], bool], Callable[[], bool]]] = {
    "a number of the summary": (lambda: Near(31.349, 1).accepts(31.3), lambda: Near(31.351, 1).accepts(31.3)),
    "below it": (lambda: Near(31.251, 1).accepts(31.3), lambda: Near(31.249, 1).accepts(31.3)),
    "one more figure": (lambda: Near(31.3, 1).accepts(31.3), lambda: Near(31.3, 1).accepts(31.34)),
    "a number of a column": (lambda: Near(31.3, 1, True).accepts(31.4), lambda: Near(31.34, 1, True).accepts(31.45)),
    "a share": (lambda: shares("30.01", "69.99"), lambda: shares("30.02", "69.98")),
    "their sum": (lambda: shares("30.00", "70.00"), lambda: shares("30.00", "70.01")),
    "grams": (lambda: shares("30.00", "70.00", ("41", "59")), lambda: shares("30.00", "70.00", ("42", "58"))),
    "grams below": (lambda: shares("30.00", "70.00", ("39", "61")), lambda: shares("30.00", "70.00", ("38", "62"))),
    "their sum in grams": (lambda: shares("30.00", "70.00"), lambda: shares("30.00", "70.00", ("41", "60"))),
    "a length on the loom": (lambda: lengths("100.0"), lambda: lengths("100.1")),
    "a length below": (lambda: lengths("100"), lambda: lengths("99.9")),
    "a swatch": (
        lambda: is_colour((102 / 255, 50 / 255, 7 / 255), (100, 50, 7)),
        lambda: is_colour((103 / 255, 50 / 255, 7 / 255), (100, 50, 7)),
    ),
    "a field with its own rounding": (lambda: near("12.35", 12.3, 0.0501), lambda: near("12.36", 12.3, 0.0501)),
    "four figures": (lambda: near("12.35", 12.345, 0.0), lambda: near("12.36", 12.345, 0.0)),
    "the mean of the match": (lambda: match(mean=2.001), lambda: match(mean=2.003)),
    "the mean below": (lambda: match(mean=1.999), lambda: match(mean=1.997)),
    "the greatest of the match": (lambda: match(worst=4.0), lambda: match(worst=4.001)),
    "the percentile of the match": (lambda: match(p95=3.01), lambda: match(p95=3.02)),
    "the percentile below": (lambda: match(p95=1.79), lambda: match(p95=1.78)),
    "the sum of a cost": (lambda: cost(total=30.01), lambda: cost(total=30.02)),
    "a square metre": (lambda: cost(per_m2=15.0), lambda: cost(per_m2=15.02, per_ft2=1.4)),
    "a square foot": (lambda: cost(per_ft2=1.39), lambda: cost(per_ft2=1.4)),
    "feet at a tie": (lambda: Feet(11.1125).accepts(["0'0 3/8\""]), lambda: Feet(11.112).accepts(["0'0 1/2\""])),
    "feet at the same tie": (lambda: Feet(11.1125).accepts(["0'0 1/2\""]), lambda: Feet(11.113).accepts(["0'0 3/8\""])),
}


@pytest.mark.parametrize("what", BOTH)
def test_a_tolerance_is_as_wide_as_rounding_needs_and_no_wider(what: str) -> None:
    right, wrong = BOTH[what]
    assert right()
    assert not wrong()


def test_a_column_that_adds_up_is_never_farther_off_than_is_allowed() -> None:
    """Numbers that are rounded up or down to add up may be off by a last figure, so no tolerance can be narrower."""
    rng = np.random.default_rng(3)
    farthest = 0.0
    columns = [(10 ** rng.uniform(-1, 3, int(rng.integers(1, 6)))).tolist() for _ in range(3000)]
    for values in (*columns, [0.0026] * 40):  # of these one is told as 0.1
        for exact, told in zip(values, adding_up(values, 1), strict=True):
            assert Near(exact, 1, True).accepts(told)
            farthest = max(farthest, abs(told - exact) / 0.1)
    assert farthest > 0.95  # otherwise a narrower tolerance would do


def test_page_and_cover_have_the_same_tolerance_for_masses() -> None:
    assert proofs.GRAMS_OFF == covers.GRAMS_OFF
    assert legends.MOST_OFF == 2


def test_what_stands_behind_a_name_that_is_left_out_is_looked_at_as_well() -> None:
    """Entries without names are set closer; their knots must stand on the line of their own swatch all the same."""
    swatch = Fill(10, 20, 4, 4, (0.5,), True)

    def words(text: str, x_mm: float, y_mm: float) -> Text:
        return Text(text, x_mm, y_mm, 2, 1, len(text), "F", b"", True, (0,))

    code, end_mm = words("A1", 15, 21), 40.0
    legends._beside(swatch, 10, 20, [code, None, words("12", 30, 21)], end_mm)
    for x_mm, y_mm in ((30, 27), (14, 21), (39, 21)):
        with pytest.raises(ValueError, match=r"does not stand beside|run into the next"):
            legends._beside(swatch, 10, 20, [code, None, words("12", x_mm, y_mm)], end_mm)
