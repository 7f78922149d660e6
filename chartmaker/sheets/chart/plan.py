"""The plan of the sheets on the cover: where each lies on the rug, with its number, its strip and its weaver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from chartmaker.ground.language import field, say, told
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import GREY, WASH, WHITE, Align, Sheet
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.layout import GridPage, Layout, number_step
from chartmaker.sheets.chart.legend import base_line

#: Numbers are no smaller than this.
LEAST_PT = 4.5
#: How large a number may be for each millimetre of its box: by the height, by the width for each figure, and by the
#: width of a box that it stands up in. The smallest number may be tight in its box.
HIGH_PT_PER_MM, ALONG_PT_PER_MM, UP_PT_PER_MM, TIGHT_PT_PER_MM = 2.0, 3.4, 3.3, 2.8
#: The height of a figure, in em.
CAPITAL_EM = 0.73
#: What a line between weavers, or the edge of a box, takes of the box with the air beside it; how long a leader is.
SEAT_MM = 1.0
SEAT_AIR_MM, EDGE_AIR_MM, LEADER_MM = 0.75, 0.2, 1.2
#: A box so high has room for a second number below its own.
TALL_MM = 6.5
#: The air about a number for which lines are cleared away.
CLEAR_MM = 0.15


def fitted(box: Box, ratio: float) -> Box:
    """Return the largest box within `box`, at its upper left, whose width over height is `ratio`."""
    width = min(box.width_mm, box.height_mm * ratio)
    return Box(box.x_mm, box.top_mm - width / ratio, width, width / ratio)


def draw_plan(sheet: Sheet, layout: Layout, box: Box, k: float) -> None:
    """Draw where each sheet lies on the rug, with its number."""
    frame = layout.frame
    ratio = layout.columns * frame.cell_width_mm / (layout.rows * frame.cell_height_mm)
    over = 4 * k if len(layout.seats) > 1 else 0.0
    inner = fitted(Box(box.x_mm + 6 * k, box.y_mm + 4 * k, box.width_mm - 6 * k, box.height_mm - 4 * k - over), ratio)
    column, row = inner.width_mm / layout.columns, inner.height_mm / layout.rows
    sheet.box(inner.x_mm, inner.y_mm, inner.width_mm, inner.height_mm, fill=WASH, edge=GREY, edge_mm=0.12)
    with sheet.tagged("sheet-map", {"Rug": (inner.x_mm, inner.y_mm, inner.width_mm, inner.height_mm)}):
        boxes = {
            page.number: Box(
                inner.x_mm + page.columns.start * column,
                inner.y_mm + page.rows.start * row,
                len(page.columns) * column,
                len(page.rows) * row,
            )
            for page in layout.pages
        }
        for each in boxes.values():
            sheet.box(each.x_mm, each.y_mm, each.width_mm, each.height_mm, fill=WHITE, edge=GREY, edge_mm=0.12)
        _draw_numbers(sheet, layout, boxes, [inner.x_mm + seat.start * column for seat in layout.seats[1:]], k)
    for strip, columns in enumerate(layout.strips):
        x = inner.x_mm + columns.start * column
        sheet.line(x, inner.y_mm, x, inner.top_mm, 0.3)
        wide = len(columns) * column > 12 * k
        shown = told("strip {strip}", strip=strip + 1) if wide else field("strip", strip + 1)
        middle = x + len(columns) * column / 2
        sheet.text(middle, inner.y_mm - 3.2 * k, shown, 6 * k, colour=GREY, align="centre", tag="strip-name")
    _draw_seats(sheet, layout, inner, k)
    foot = inner.y_mm + 1
    if inner.height_mm > 21 * k:  # a low rug has room for the arrow only
        foot += sheet.text(inner.x_mm - 2.4 * k, foot, say("weave upwards"), 6 * k, colour=GREY, upright=False) + 2 * k
    x = inner.x_mm - 2.5 * k
    sheet.polygon([(x - 0.7 * k, foot), (x + 0.7 * k, foot), (x, foot + 2 * k)], fill=GREY)


def _draw_numbers(sheet: Sheet, layout: Layout, boxes: Mapping[int, Box], seats_mm: Sequence[float], k: float) -> None:
    """Draw the number of each sheet into its box, along it or up it, or beside a box that is too narrow for either.

    Beside it means in the box of the sheet before or after it in the row, with a line that leads to its own. Where
    steps are too low for a number each, only the first of so many have theirs, and one counts up from there.
    """
    every = number_step(min((box.height_mm for box in boxes.values()), default=1.0), LEAST_PT / TIGHT_PT_PER_MM)
    placed: dict[float, list[tuple[float, float, str]]] = {}
    beside: list[GridPage] = []
    for page in (page for page in layout.pages if page.step % every == 0):
        box, words = boxes[page.number], str(page.number)
        x, room_mm = _free_mm(box, seats_mm)
        middle, high_mm = box.y_mm + box.height_mm / 2, box.height_mm * every
        least_mm = sheet.book.lettering.width(words, bold=True) * LEAST_PT / POINTS_PER_MM
        wide_pt = max(room_mm * ALONG_PT_PER_MM / len(words), LEAST_PT if least_mm <= room_mm else 0.0)
        along = _rounded(min(8 * k, max(high_mm * HIGH_PT_PER_MM, min(high_mm * TIGHT_PT_PER_MM, LEAST_PT)), wide_pt))
        upward = _rounded(min(8 * k, room_mm * UP_PT_PER_MM, box.height_mm * ALONG_PT_PER_MM / len(words)))
        if along >= LEAST_PT:
            along = min(along, LEAST_PT) if every > 1 else along
            placed.setdefault(along, []).append((x, base_line(middle, along), words))
        elif upward >= LEAST_PT:
            left = x + CAPITAL_EM * upward / POINTS_PER_MM / 2
            sheet.text(left, middle, words, upward, bold=True, align="centre", upright=False, tag="sheet")
        elif every == 1:
            beside.append(page)
    for size, places in placed.items():
        if every > 1:
            _clear(sheet, size, places)
        sheet.labels(places, size, bold=True, align="centre", tag="sheet")
    for page in beside:
        _draw_beside(sheet, page, boxes, seats_mm)


def _clear(sheet: Sheet, size_pt: float, places: Sequence[tuple[float, float, str]]) -> None:
    """Clear the lines of low boxes away from below numbers."""
    size_mm = size_pt / POINTS_PER_MM
    for x, y, words in places:
        wide = sheet.book.lettering.width(words, bold=True) * size_mm + 2 * CLEAR_MM
        high = CAPITAL_EM * size_mm + 2 * CLEAR_MM
        sheet.box(x - wide / 2, y - CLEAR_MM, wide, high, fill=WHITE, edge=None)


def _rounded(size_pt: float) -> float:
    """Return a size of type in whole halves of a point, so that few sizes are mixed."""
    return int(size_pt * 2) / 2


def _free_mm(box: Box, seats_mm: Sequence[float]) -> tuple[float, float]:
    """Return the middle and the width of the widest part of a box that no heavy line takes."""
    cuts = [box.x_mm - SEAT_AIR_MM + EDGE_AIR_MM, box.right_mm + SEAT_AIR_MM - EDGE_AIR_MM]
    cuts = sorted([*cuts, *(seat for seat in seats_mm if box.x_mm - SEAT_AIR_MM < seat < box.right_mm + SEAT_AIR_MM)])
    spans = [(right - left - 2 * SEAT_AIR_MM, (left + right) / 2) for left, right in pairwise(cuts)]
    width, middle = max(spans)
    return middle, width


def _draw_beside(sheet: Sheet, page: GridPage, boxes: Mapping[int, Box], seats_mm: Sequence[float]) -> None:
    """Draw the number of a sheet into the box beside its own that has more room, with a line to its own."""
    own, words = boxes[page.number], str(page.number)
    length_mm = sheet.book.lettering.width(words, bold=True) * LEAST_PT / POINTS_PER_MM
    for number in (page.left, page.right):
        box = boxes.get(number or 0)
        if box is None:
            continue
        side = 1 if box.x_mm < own.x_mm else -1  # which side of that box the sheet lies on
        edge = own.x_mm if side > 0 else own.right_mm
        heavy = any(abs(seat - edge) < SEAT_AIR_MM for seat in seats_mm)
        end = edge - side * (LEADER_MM + (SEAT_AIR_MM if heavy else EDGE_AIR_MM))
        apart = box.height_mm >= TALL_MM  # below the number of that box, and not beside it
        if not box.x_mm < end - side * length_mm < box.right_mm or not (apart or box.width_mm > 6 * length_mm):
            continue
        y = box.y_mm + box.height_mm * (0.2 if apart else 0.5)
        align: Align = "right" if side > 0 else "left"
        sheet.text(end, base_line(y, LEAST_PT), words, LEAST_PT, bold=True, align=align, tag="sheet")
        sheet.line(end + side * 0.3, y, own.x_mm + own.width_mm / 2, y, 0.15)
        return


def _draw_seats(sheet: Sheet, layout: Layout, inner: Box, k: float) -> None:
    """Draw above the map of the sheets who ties which columns, with a heavy line between two weavers' columns."""
    if len(layout.seats) < 2:
        return
    column = inner.width_mm / layout.columns
    for number, seat in enumerate(layout.seats, start=1):
        left, right = inner.x_mm + seat.start * column, inner.x_mm + seat.stop * column
        if number > 1:
            sheet.line(left, inner.y_mm, left, inner.top_mm + 3.4 * k, SEAT_MM)
        wide = right - left > 13 * k
        words = told("weaver {weaver}", weaver=number) if wide else field("weaver", number)
        y = inner.top_mm + 1.2 * k
        sheet.text((left + right) / 2, y, words, 6 * k, align="centre", most_mm=right - left, tag="weaver-name")
