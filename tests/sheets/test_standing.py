"""The sheets of a few small rugs are drawn as they were when somebody looked at each of them.

Everything has its place, its size and its colour here, to a hundredth of a millimetre: whatever moves, vanishes or
looks otherwise is a difference. If the change is intended, look at the sheets and write their accounts again:

    PYTHONPATH=.:tests python tests/support/standing.py FOLDER
"""

from __future__ import annotations

import difflib
import math
from dataclasses import replace

import pytest
from support.accounts import same
from support.standing import ACCOUNTS, LOTS, NAMES, paper, rug_of, told

from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.scripts import script_differences


@pytest.mark.parametrize("name", NAMES)
def test_sheets_are_drawn_as_they_were_looked_at(name: str) -> None:
    kept = (ACCOUNTS / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    found = told(name)
    if len(found) != len(kept) or not all(map(same, found, kept)):
        differ = list(difflib.unified_diff(kept, found, "as looked at", "as drawn", n=1, lineterm=""))
        pytest.fail("\n".join([*differ[:30], __doc__ or ""]), pytrace=False)


@pytest.mark.parametrize(
    "name", [name for name in NAMES if name.startswith(("chart", "rows")) and "revised" not in name]
)
def test_what_is_drawn_is_tagged_as_verify_reads_it(name: str) -> None:
    """The accounts list what is seen but not the tags, by which verify finds everything."""
    knot_map = rug_of(name)
    read = chart_differences if name.startswith("chart") else script_differences
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    if name == "rows_lots":
        lots = [{"lot_row": f"{lot.row}", "lot_section": f"{lot.section}", "lot_code": lot.code} for lot in LOTS]
        expected = replace(expected, lots=tuple(lots))
    assert list(read(paper(name), expected)) == []


def test_every_account_has_its_sheets() -> None:
    assert {path.stem for path in ACCOUNTS.glob("*.txt")} == set(NAMES)


def test_what_stands_round_a_pattern_is_read_at_arms_length() -> None:
    """Letters of 7 points have an x-height of 7 minutes of arc at 650 mm, above the 5 of sharp sight (ISO 8596)."""
    sizes = [line.split() for line in told("pattern") if " of size " in line]
    assert sizes and all(math.hypot(float(line[3]), float(line[4])) >= 7 * 25.4 / 72 - 0.01 for line in sizes)
