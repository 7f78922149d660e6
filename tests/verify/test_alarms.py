"""Verify raises no false alarm on sets whose names, codes and counts are drawn from each other's words."""

from __future__ import annotations

import io

import pytest
from support.alike import named_alike

from chartmaker.pages.proof.page import proof_page
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.proofs import page_differences
from chartmaker.verify.scripts import script_differences


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
