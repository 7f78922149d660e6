"""The test square of the carver's guide, which is cut first, and the groove from the side."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from chartmaker.ground.language import say
from chartmaker.paper import operators as op
from chartmaker.paper.drawing import GREY, PALE, Sheet
from chartmaker.sheets.carving.carvedlines import (
    GROOVE,
    GROOVE_MM,
    STEP,
    STEP_MM,
    TICK_MM,
    TICK_REACHES_MM,
    CarvedDrawing,
    dash_of,
    height_words,
)

_TEST_MM, _TEST_TOP_MM = 44.0, 56.0
#: The room that the test square takes with its heading, from the foot of the sheet.
TEST_ROOM_MM = _TEST_TOP_MM + 14.0


def draw_test_square(sheet: Sheet, carved: CarvedDrawing, margin_mm: float) -> None:
    """Draw a test square in full size, to be cut first, and the groove from the side."""
    carving = carved.carving
    low = _TEST_TOP_MM - _TEST_MM + 6
    sheet.text(margin_mm, _TEST_TOP_MM + 9, say("Test square, in full size"), 10, bold=True)
    sheet.box(margin_mm, low, _TEST_MM, _TEST_MM - 2, edge=GREY, edge_mm=0.3)
    sides = (margin_mm + 12, low + 12, _TEST_MM - 24, _TEST_MM - 26)
    if carving.grooves:
        sheet.add(op.dashes(dash_of(0)))
    sheet.box(*sides, edge=GROOVE if carving.grooves else STEP, edge_mm=GROOVE_MM if carving.grooves else STEP_MM)
    sheet.add(op.dashes(()))
    if any(carving.lowered) and (not carving.grooves or carved.lowered_and_grooved is not None):
        _square_ticks(sheet, *sides)
    words = (
        *_test_words(carved),
        say("Measured: depth ........ mm, width ........ mm, height left ........ mm"),
        say("Blade or machine: ............................... by: ..........................."),
    )
    for number, part in enumerate(words):
        sheet.text(margin_mm + _TEST_MM + 6, _TEST_TOP_MM + 1.5 - 5 * number, part, 8)
    if carving.grooves:
        _section(sheet, carved, margin_mm + _TEST_MM + 8, low + 2)


def _test_words(carved: CarvedDrawing) -> Iterator[str]:
    """Yield what is done to the test square: the lowering with its heights, where the pile is left lowest."""
    carving, yarns, both = carved.carving, carved.drawing.yarns, carved.lowered_and_grooved
    lowered = [number for number in range(len(yarns)) if carving.lowered[number]]
    if not lowered:
        yield say("Cut a groove along the dashed square.")
        return
    own = min(lowered, key=lambda number: carving.finished_mm[number]) if both is None else both
    fields = {
        "before": height_words(carving.shorn_mm[own]),
        "height": height_words(carving.finished_mm[own]),
        "code": yarns[own].code,
    }
    if carving.grooves and both is None:  # a groove in pile so low might reach the ground
        yield say("Cut a groove along the dashed square.")
        yield say("Lower another place, without a groove, from {before} to {height} mm, as {code} is.", **fields)
        return
    yield say("Lower the square on the side of its ticks from {before} to {height} mm, as {code} is.", **fields)
    if carving.grooves:
        yield say("Then cut a groove along its dashes.")


def _square_ticks(sheet: Sheet, x: float, y: float, wide: float, high: float) -> None:
    """Draw ticks within a square, on the side that is lowered."""
    reach = TICK_REACHES_MM[0]
    across = [x + wide * (number + 0.5) / 4 for number in range(4)]
    upward = [y + high * (number + 0.5) / 4 for number in range(4)]
    ticks = [(at, y, at, y + reach) for at in across] + [(at, y + high, at, y + high - reach) for at in across]
    ticks += [(x, at, x + reach, at) for at in upward] + [(x + wide, at, x + wide - reach, at) for at in upward]
    sheet.lines(ticks, TICK_MM, colour=STEP)


def _section(sheet: Sheet, carved: CarvedDrawing, x: float, y: float) -> None:
    """Draw a groove from the side where the pile beside it is lowest, for there the ground is nearest.

    It is in full size or, where the pile is low, two or three times as large.
    """
    carving, lowest = carved.carving, next(iter(carved.grooved_yarns), None)
    height_mm = min(carving.finished_mm) if lowest is None else carving.finished_mm[lowest]
    times = min(max(int(16 / height_mm), 1), 3)
    pile = height_mm * times
    deep, wide = carving.depth_mm * times, carving.width_mm * times
    middle = x + 22
    begin = middle - wide / 2 if carving.profile == "vee" else middle
    end = middle + wide / 2 if carving.profile == "vee" else middle + wide
    top = [(x, y), (x, y + pile), (begin, y + pile), (middle, y + pile - deep), (end, y + pile), (x + 44, y + pile)]
    sheet.polygon([*top, (x + 44, y)], fill=PALE)
    sheet.lines([(x, y, x + 44, y)], 0.8)
    sheet.lines([(*one, *two) for one, two in pairwise(top[1:])], 0.3, colour=GROOVE)
    words = (
        say("from the side, {times} times as large", times=times) if times > 1 else say("from the side, in full size")
    )
    sheet.text(x + 50, y + 4, words, 7)
    if lowest is not None:
        code, left = carved.drawing.yarns[lowest].code, height_words(round(height_mm - carving.depth_mm, 2))
        beside = say(
            "beside the lowest groove, at {code}: {height} mm, of which {left} are left",
            code=code,
            height=height_words(height_mm),
            left=left,
        )
        sheet.text(x + 50, y + 8, beside, 7)
