"""Sets whose names, codes and counts are drawn from each other's words: verify gives no false alarm."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from support.generated import generated_map
from support.making import SettledMap

from chartmaker.pages.proof.page import proof_page
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.proofs import page_differences
from chartmaker.verify.scripts import script_differences

CODES = ("101", "600", "103", "1", "2", "12", "SHEET", "ROWS", "STRIP", "SKIP", "MAP", "3-1", "0")
NAMES = (
    *("sheet 2 of 3", "rows 1–40 · columns 1–30", "Strip 1 of 1 · step 1 of 2", "read right to left", "skip 12"),
    *("= 60", "4 × (", "1,200", "600", "101", "map 12345678", "under 0.01 %", "Columns 3–4: again (3 is like 2)."),
)


def named_alike(number: int) -> SettledMap:
    """Return a map whose codes are counts of its own yarns or words of the sheets, its names codes and heads."""
    rng = np.random.default_rng(number)
    plain = generated_map(9, number, most=20)
    words = dict.fromkeys((*(str(int(knots)) for knots in plain.counts), *CODES, *map(str, range(200, 500))))
    pool = [word for word in words if len(word) <= 6][: len(plain.yarns) + 10]
    codes = [str(code) for code in rng.permutation(pool)[: len(plain.yarns)]]
    named = zip(plain.yarns, codes, strict=True)
    yarns = tuple(replace(yarn, code=code, name=str(rng.choice([*NAMES, *codes]))) for yarn, code in named)
    rug = plain.rug.model_copy(update={"name": str(rng.choice(NAMES))})
    return SettledMap(plain.knots, yarns, rug, plain.workshop)


@pytest.mark.parametrize("first", range(0, 60, 20))
def test_words_like_one_another_are_no_difference(first: int) -> None:
    for number in range(first, first + 20):
        knot_map = named_alike(number)
        expected = expected_of(knot_map, knot_map.workshop)
        chart, script = io.BytesIO(), io.BytesIO()
        write_chart(chart, knot_map, knot_map.workshop)
        write_rows_pdf(script, knot_map, knot_map.workshop)
        assert list(chart_differences(chart.getvalue(), expected)) == [], number
        assert list(script_differences(script.getvalue(), expected)) == [], number
        assert page_differences("".join(proof_page(knot_map)).encode(), expected) == [], number
