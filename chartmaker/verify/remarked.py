"""What a chart says of remarks: which yarns a copy without colour shows alike, and what is to be settled first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.readback.printed import Block
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import said_in, whole
from chartmaker.verify.remarks import record_of
from chartmaker.verify.values import Text

#: A copy does not tell yarns apart that are nearer than this in lightness (CIELAB; common practice).
GREY_STEP = 5.0


def alike_in_grey(expected: Expected, counts: Sequence[int]) -> list[str]:
    """Return the codes of yarns with knots that a copy of colours alone has in one grey, ``A, B`` from the darkest."""
    if expected.chart.marks != "colour":
        return []
    tied = sorted((yarn.lab[0], yarn.code) for yarn, knots in zip(expected.yarns, counts, strict=True) if knots)
    apart = [tied[0][1]] if tied else []
    for (darker, _), (lighter, code) in pairwise(tied):
        apart += [", " if lighter - darker < GREY_STEP else ";", code]
    return [group for group in "".join(apart).split(";") if ", " in group]


def grey_faults(said: Mapping[str, list[str]], groups: Sequence[str]) -> Iterator[str]:
    """Yield a fault unless a sheet names the groups of yarns that are one grey, or counts the yarns in them."""
    counted = {"alike": [str(sum(len(group.split(", ")) for group in groups))]}
    if said not in ([{"one_grey": [*groups]}, counted] if groups else [{}]):
        yield say("it does not say which of its yarns are one grey on a copy without colour")


def lot_faults(said: dict[str, list[str]], rows: range, expected: Expected) -> Iterator[str]:
    """Yield a fault unless a sheet says which new lots begin on its rows, from 0, or on those of its way back.

    The fields are taken out of what is `said`.
    """
    due: dict[str, list[str]] = {}
    for lot in expected.lots:
        row = whole(lot["lot_row"]) - 1
        if row in rows or (expected.mirrored[1] and expected.rows - 1 - row in rows):
            due.setdefault(lot["lot_row"], []).append(lot["lot_code"])
    named, counted = [", ".join(codes) for codes in due.values()], [len(codes) for codes in due.values()]
    together = [sum(counted)] if counted else []
    found = [said.pop(name, []) for name in ("lot_row", "lot_code", "lot_yarns")]
    if found not in ([[*due], named, []], [[*due], [], [*map(str, counted)]], [[], [], [*map(str, together)]]):
        yield say("it does not say right which new lots of yarn begin on it")


def to_settle(found: Any, figures: Figures) -> tuple[str, ...]:
    """Return what a cover must have settled: the remarks `found` that are no notes, but for those on the figures."""
    listed = [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []
    own = [record_of(each) for each in figures.findings]
    return serious(each for each in listed if each not in own)


def serious(records: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Return the remarks that are no notes, as they are printed."""
    return tuple(f"{each.get('where')}: {each.get('what')}" for each in records if each.get("severity") != "note")


def map_settles(figures: Figures) -> tuple[str, ...]:
    """Return the same for a cover that is printed from the map alone."""
    return to_settle([record_of(each) for each in check_map(figures.knot_map, figures.workshop)], figures)


def settle_faults(spans: Iterable[Block], wanted: Sequence[str]) -> Iterator[str]:
    """Yield which remarks do not stand whole on the cover, or how many more there are."""
    said = said_in(spans)
    more = said.pop("settle_more", [])
    shown = wanted[: len(said)] if more else wanted
    for number, remark in enumerate(shown, start=1):
        if not Text(remark).accepts(said.pop(f"settle{number}", [])):
            yield say("it does not say what is to be settled: {remark}", remark=remark)
    if said or (more and [whole(words) for words in more] != [len(wanted) - len(shown)]):
        yield say("it has more to settle than there are remarks, or does not count the rest")
