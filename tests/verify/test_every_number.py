"""Every number on a chart or a row script is checked: if one figure of it is altered, `verify` finds that."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from support.altering import other_digit
from support.making import SettledMap, make_map, make_rug

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.language import fields_of
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.paper.drawing import Sheet
from chartmaker.reports.coverfacts import CoverFacts, cover_facts
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.scripts import script_differences

#: Numbers that say nothing of this rug: the paper, and what stands on every chart and script.
OF_NO_RUG = re.compile(r"of A5|row 1 is at the foot|Row 1 is the first|the brackets are tied|Rows 1 to|10 cm along")


def a_map() -> SettledMap:
    """Return a rug that mirrors both ways, on a few small sheets, read from the right and with counted runs."""
    quarter = np.kron(np.random.default_rng(4).integers(0, 4, (14, 2)), np.ones((1, 7), dtype=int))
    half = np.hstack([quarter, quarter[:, ::-1]])
    chart = {"paper": "A5", "cell": "7 mm", "strips": 2, "reading": "right to left", "counts": True, "marks": "symbol"}
    tables = {"chart": chart, "loom": {"weavers": 2}}
    return make_map(np.vstack([half, half[::-1]]).astype(np.uint16), make_rug(28, 28), Workshop.model_validate(tables))


def an_oval() -> SettledMap:
    """Return a round rug on sheets beside and above each other, in colours, for two weavers who share a sheet."""
    rows, columns = np.mgrid[-1:1:26j, -1:1:30j]
    knots = np.kron(np.random.default_rng(5).integers(0, 4, (13, 6)), np.ones((2, 5), dtype=int)).astype(np.uint16)
    knots[rows**2 + columns**2 > 1.2] = NO_KNOT
    chart = {"paper": "A5", "cell": "7 mm", "strips": 1, "marks": "both"}
    pile = {"carved": {"Y001": "6 mm"}}
    tables = {"chart": chart, "loom": {"weavers": 2}, "pile": pile}
    return make_map(knots, make_rug(30, 26, shape="ellipse", pile="10 mm"), Workshop.model_validate(tables))


def chart(rug: SettledMap, facts: CoverFacts | None = None) -> bytes:
    stream = io.BytesIO()
    write_chart(stream, rug, rug.workshop, facts or cover_facts(figures_of(rug, rug.workshop)))
    return stream.getvalue()


def script(rug: SettledMap, _: CoverFacts | None = None) -> bytes:
    stream = io.BytesIO()
    write_rows_pdf(stream, rug, rug.workshop)
    return stream.getvalue()


class Printing:
    """Notes every number that is printed, in order, and prints one of them with another last figure."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.other, self.printed = -1, list[tuple[str, str, str]]()
        text, labels = Sheet.text, Sheet.labels

        def told(sheet: Sheet, x: float, y: float, words: str, *rest: Any, **more: Any) -> float:
            return text(sheet, x, y, self.noted(words, more.get("tag", "")), *rest, **more)

        def listed(sheet: Sheet, places: Any, *rest: Any, **more: Any) -> None:
            labels(sheet, [(x, y, self.noted(words, more.get("tag", ""))) for x, y, words in places], *rest, **more)

        monkeypatch.setattr(Sheet, "text", told)
        monkeypatch.setattr(Sheet, "labels", listed)

    def noted(self, words: str, tag: str) -> str:
        found = words
        for number in re.finditer(r"\d+", words):
            if len(self.printed) == self.other:
                changed = words[: number.start()] + other_digit(number[0]) + words[number.end() :]
                found = type(words)(changed, fields_of(words)) if fields_of(words) else changed  # type: ignore[call-arg]
            kind = re.sub(r"\d+", "#", words[: number.start()]) if len(words) > 8 else ""
            self.printed.append((tag, kind, words))
        return found

    def one_of_each_kind(self, seen: set[tuple[str, str]]) -> list[int]:
        """Return, for each way in which numbers stand in their words and that is not `seen`, the place of one."""
        kinds: dict[tuple[str, str], list[int]] = {}
        for place, (tag, kind, words) in enumerate(self.printed):
            if (tag or not OF_NO_RUG.search(words)) and (tag, kind) not in seen:
                kinds.setdefault((tag, kind), []).append(place)
        seen.update(kinds)
        return [places[len(places) // 2] for places in kinds.values()]


@pytest.mark.parametrize(("write", "read"), [(chart, chart_differences), (script, script_differences)])
def test_a_number_printed_otherwise_is_found(
    write: Callable[..., bytes], read: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: set[tuple[str, str]] = set()
    missed = []
    printing = Printing(monkeypatch)
    for knot_map in (a_map(), an_oval()):
        expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
        facts = cover_facts(figures_of(knot_map, knot_map.workshop))
        printing.other, printing.printed = -1, []
        assert list(read(write(knot_map, facts), expected)) == []
        told = printing.printed[:]
        for place in printing.one_of_each_kind(seen):
            printing.other, printing.printed = place, []
            if next(iter(read(write(knot_map, facts), expected)), None) is None and not OF_NO_RUG.search(
                told[place][2]
            ):
                missed.append(told[place])
    assert missed == []
