"""The plan of the sheets on the cover: each lies where it should, and its number can be read and belongs to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from chartmaker.ground.language import say
from chartmaker.readback.printed import Block, Fill, Line, Text, extent_of, flat
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import whole
from chartmaker.verify.sheets import Sheet

#: Rounding may shift a place on the plan by this much, in millimetres.
PLACE_OFF_MM = 0.06
#: Steps that are drawn lower than this have no room for a number each (mm).
NUMBERED_HIGH_MM = 1.7
#: What a figure takes, its height, and what lines and air at both sides take of a box at most (mm).
FIGURE_MM, FIGURE_HIGH_MM, AIR_MM = 1.34, 1.4, 1.6
#: A sheet that is drawn too narrow for its number has it in a box beside it, if that is so wide and high (mm).
BESIDE_WIDE_MM, BESIDE_HIGH_MM = 6.2, 6.6
#: A leader begins so near to its number (mm).
LEADER_OFF_MM = 0.6
#: The smallest number that is read at arm's length, in points, and how much rounding takes off it.
SMALLEST_PT, POINT_OFF = 4.5, 0.01
#: Lines wider than this cut a number that they cross (mm); a box narrower than this is such a line.
THIN_MM, HEAVY_MM = 0.16, 1.6


#: A line or a thin filled box, with how far it is moved.
Drawn = tuple[Line | Fill, float, float]


@dataclass(frozen=True, slots=True)
class Number:
    """A number on the plan, where its figures stand, and the point that it belongs to, maybe by a leader."""

    words: str
    size_pt: float
    left: float
    low: float
    right: float
    high: float
    target: tuple[float, float]


def plan_differences(cover: Sheet, expected: Expected, places: Mapping[int, tuple[range, range]]) -> Iterator[str]:
    """Yield where the plan shows a sheet that lies elsewhere, and what cannot be read of it."""
    spans = [span for span in cover.root.find("sheet-map") if len(span.values.get("Rug", ())) == 4]
    if len(spans) != 1:
        yield say("the cover has no map of the sheets")
        return
    x, y, width, height = spans[0].values["Rug"]
    column, row = width / expected.columns, height / expected.rows
    boxes = [item for item in spans[0].items if isinstance(item, Fill) and item.edge]
    wanted = [
        (x + columns.start * column, y + rows.start * row, len(columns) * column, len(rows) * row)
        for rows, columns in places.values()
    ]
    found = [(box.x_mm, box.y_mm, box.width_mm, box.height_mm) for box in boxes]
    if len(found) != len(wanted) or np.abs(np.array(found) - np.array(wanted)).max() > PLACE_OFF_MM:
        yield say("the map of the sheets on the cover shows other places than those of the sheets")
    yield from unnumbered_differences(cover, spans[0], max(places, default=0))
    for number in numbers_of(spans[0]):
        rows, columns = places.get(whole(number.words), (range(0), range(0)))
        across, along = (number.target[0] - x) / column, (number.target[1] - y) / row
        if not (columns.start < across < columns.stop and rows.start < along < rows.stop):
            yield say("the map of the sheets shows sheet {sheet} in another place", sheet=number.words)
    yield from _named(cover, expected.strips, "strip", say("strip"), x, column)
    seats = expected.seats if len(expected.seats) > 1 else ()
    yield from _named(cover, seats, "weaver", say("weaver"), x, column)


def numbers_of(plan: Block) -> list[Number]:
    """Return the numbers on a plan; the only lines within it are leaders."""
    leaders = [item for item in plan.items if isinstance(item, Line)]
    found = []
    for text in (text for block in plan.find("sheet") for text in block.texts()):
        left, low, right, high = extent_of(text)
        near = [
            line
            for line in leaders
            if left - LEADER_OFF_MM < line.x_mm < right + LEADER_OFF_MM and low <= line.y_mm <= high
        ]
        target = (near[0].to_x_mm, near[0].to_y_mm) if near else ((left + right) / 2, (low + high) / 2)
        size_pt = text.size_mm * 72 / 25.4
        found.append(Number(text.words, size_pt, left, low, right, high, target))
    return found


def unnumbered_differences(cover: Sheet, plan: Block, last: int) -> Iterator[str]:
    """Yield a fault unless each sheet, of which `last` is the last, has one number on the plan that can be read.

    Where steps are too low for a number each, only some of them have theirs.
    """
    numbers = numbers_of(plan)
    fills = [item for item, _, _ in flat(plan) if isinstance(item, Fill)]
    boxes = [item for item in fills if item.edge]
    drawn: list[Drawn] = [
        (item, dx, dy)
        for item, dx, dy in flat(cover.root)
        if (isinstance(item, Line) and item.width_mm > THIN_MM)
        or (isinstance(item, Fill) and item.width_mm < HEAVY_MM < item.height_mm and not item.edge)
    ]
    long_mm = FIGURE_MM * len(str(last))
    if any(not _has_number(box, boxes, numbers, long_mm, drawn) for box in boxes):
        yield say("a sheet does not have its number on the map of the sheets on the cover")
    for number in numbers:
        if number.size_pt < SMALLEST_PT - POINT_OFF:
            yield say("the number {sheet} on the map of the sheets is too small to be read", sheet=number.words)
        if not any(_holds(box, number) for box in fills) or any(_cuts(*each, number) for each in drawn):
            yield say("a line cuts through the number {sheet} on the map of the sheets", sheet=number.words)


def _has_number(
    box: Fill, boxes: Sequence[Fill], numbers: Sequence[Number], long_mm: float, drawn: Sequence[Drawn]
) -> bool:
    """Return whether a sheet has one number, or none for want of room."""
    own = sum(
        0 < x - box.x_mm < box.width_mm and 0 < y - box.y_mm < box.height_mm for x, y in (n.target for n in numbers)
    )
    if own or box.height_mm < NUMBERED_HIGH_MM:
        return own <= 1
    cuts = [item.x_mm + dx for item, dx, _ in drawn if box.x_mm < item.x_mm + dx < box.x_mm + box.width_mm]
    wide_mm = max(np.diff(sorted([box.x_mm, *cuts, box.x_mm + box.width_mm])).tolist())
    along = wide_mm >= long_mm + AIR_MM
    upward = wide_mm >= FIGURE_HIGH_MM + AIR_MM and box.height_mm >= long_mm
    if along or upward:
        return False
    beside = [
        other
        for other in boxes
        if other.width_mm >= BESIDE_WIDE_MM
        and other.height_mm >= BESIDE_HIGH_MM
        and abs(other.y_mm - box.y_mm) < PLACE_OFF_MM
        and min(abs(other.x_mm + other.width_mm - box.x_mm), abs(box.x_mm + box.width_mm - other.x_mm)) < PLACE_OFF_MM
    ]
    return not beside


def _holds(box: Fill, number: Number) -> bool:
    across = box.x_mm <= number.left and number.right <= box.x_mm + box.width_mm
    return across and box.y_mm <= number.low and number.high <= box.y_mm + box.height_mm


def _cuts(item: Line | Fill, dx: float, dy: float, number: Number) -> bool:
    """Return whether a line takes anything of the number's figures."""
    left, low, right, high = extent_of(item)
    half = item.width_mm / 2 if isinstance(item, Line) else 0.0
    across = min(right + dx + half, number.right) - max(left + dx - half, number.left)
    along = min(high + dy + half, number.high) - max(low + dy - half, number.low)
    return across > 0 and along > 0


def _named(cover: Sheet, ranges: Sequence[range], tag: str, what: str, x: float, column: float) -> Iterator[str]:
    """Yield which strips or weavers do not have their number at the middle of their columns."""
    spans = list(cover.root.find(f"{tag}-name"))
    numbers = [[whole(words) for words in span.fields().get(tag, [])] for span in spans]
    if numbers != [[number] for number in range(1, len(ranges) + 1)]:
        yield say("the cover does not name every {what}", what=what)
        return
    for number, (strip, span) in enumerate(zip(ranges, spans, strict=True), start=1):
        letters: list[Text] = list(span.texts())
        left, right = letters[0].x_mm, letters[-1].x_mm + letters[-1].length_mm
        middle = x + (strip.start + strip.stop) / 2 * column
        if abs((left + right) / 2 - middle) > max(0.3, len(strip) * column / 4):
            yield say("the cover names {what} {number} in another place", what=what, number=number)
