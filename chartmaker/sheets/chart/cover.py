"""The front sheets of a chart, with the rug, its legend, and the map of the sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.ground.language import field, joined, phrase, say, told, told_n
from chartmaker.ground.lengths import both_sizes
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mirrors import Mirrors, told_half
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Chart, Marks, Reading
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, Book, Sheet
from chartmaker.paper.papers import Paper
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.reports.words import one_handed
from chartmaker.sheets.chart.cells import Palette
from chartmaker.sheets.chart.counting import COUNTED_RUN, SHOWN, counted
from chartmaker.sheets.chart.coverlegend import ENTRY_MM, LEGEND_WIDTH_MM, draw_cover_legend
from chartmaker.sheets.chart.coverremarks import WARNED_MM, draw_settled, draw_warnings, warned_lines, warnings_of
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.gridsheets import draw_rulers
from chartmaker.sheets.chart.heads import EXTRA_PICKS
from chartmaker.sheets.chart.layout import Layout
from chartmaker.sheets.chart.picture import rug_picture
from chartmaker.sheets.chart.plan import draw_plan, fitted
from chartmaker.techniques.crafts import craft_of

TITLE_MM, SIGN_MM, FOOT_MM = 17.0, 15.0, 8.0
LINE_MM = 4.1
#: The pictures take this share of the height that data and signatures leave, or the smaller one if that saves a sheet.
LARGE_SHARE, SMALL_SHARE = 0.42, 0.28
#: Every sheet with a legend has at least this many lines of it.
LEAST_LINES = 8
#: The room for the words above and below the pictures, and for what is settled above them and the pictures themselves
#: of a rug much wider than it is long.
PLAN_WORDS_MM, LEAST_PICTURES_MM = 9.0, 32.0
#: The room that is kept free at the left for the upright ruler.
UPWARD_RULER_MM = 5.0


@dataclass(frozen=True, slots=True)
class Cover:
    """The places on the cover.

    The cover has room for `legend_rows` by `legend_columns` yarns, and each further legend sheet for `more_rows` by
    `more_columns`.
    """

    paper: Paper
    scale: float
    data: Box
    warned: Box
    picture: Box
    page_map: Box
    legend: Box
    signs: Box
    legend_columns: int
    more_columns: int
    legend_rows: int
    more_rows: int
    sheets: int


#: How the cover says in which direction rows are read.
READING: dict[Reading, str] = {"left to right": phrase("left to right"), "right to left": phrase("right to left")}
#: How the cover explains the counts in long runs, by what the cells show.
COUNTED: dict[Marks, str] = {
    "both": phrase("runs of {counted_run} and more: symbol, knots, symbol"),
    "symbol": phrase("runs of {counted_run} and more have their knots in them"),
}
#: What the cover calls the shape of a rug that has places without knots.
SHAPES = {
    "rectangle": phrase("with places outside an outline"),
    "ellipse": phrase("ellipse"),
    "octagon": phrase("octagon"),
    "artwork": phrase("the outline of the artwork"),
}
#: How much of the rug the sheets show, and what is not mirrored of a knot that has a left and a right side.
PRINTED = {
    "whole": phrase("the whole rug"),
    "half": phrase("half; see the head of each sheet"),
    "quarter": phrase("a quarter; see the head of each sheet"),
}
PRINTED_KNOT = {
    "half": phrase("half, mirrored; the knot itself is not"),
    "quarter": phrase("a quarter, mirrored; the knot itself is not"),
}


def rug_lines(knot_map: KnotMap, facts: CoverFacts) -> list[tuple[str, str]]:
    """Return what the cover says about the rug, as lines of (label, value)."""
    rug = knot_map.rug
    density = rug.density
    a_decimetre = told(
        "{across_per_dm:.4g} across, {along_per_dm:.4g} along",
        across_per_dm=float(density.across_per_dm),
        along_per_dm=float(density.along_per_dm),
    )
    lines: list[tuple[str, str]] = [
        (say("Finished size"), both_sizes(rug.woven_width_mm, rug.woven_length_mm)),
        (say("Density"), field("density", density.notation)),
        (say("Knots per decimetre"), a_decimetre),
        (say("Grid"), grid_words(knot_map)),
        (say("Knots to tie"), field("knots", f"{knot_map.tied:,}")),
        (say("Yarns"), field("yarns", len(knot_map.yarns))),
    ]
    if knot_map.empty:
        outside = told("{empty:,} places: {words}", empty=knot_map.empty, words=say(EXTRA_PICKS))
        lines += [(say("Shape"), say(SHAPES[rug.shape])), (say("Plain ground"), outside)]
    return [*lines[:3], *_knot_line(rug), *facts.pile, *lines[3:]]


def _knot_line(rug: Rug) -> list[tuple[str, str]]:
    """Return how the knots are tied and whether anyone chose that, for a rug in which knots are tied."""
    if not craft_of(rug).by_rows:
        return []
    knot: str = field("knot", say(rug.knot))
    if "knot" not in rug.model_fields_set:
        knot = joined(" ", [knot, field("knot_assumed", say("(assumed)"))])
    return [(say("Knot"), knot)]


def reading_lines(chart: Chart) -> list[tuple[str, str]]:
    """Return what the cover says about reading, as lines of (label, value)."""
    lines: list[tuple[str, str]] = [(say("Rows are read"), field("reading", say(READING[chart.reading])))]
    if counted(chart):
        lines.append((say("Counts"), told(COUNTED[chart.marks], counted_run=COUNTED_RUN)))
        here = told("{counted_here} here, and on past the edge at »", counted_here=SHOWN)
        lines.append((told("{counted_shown}»", counted_shown=SHOWN), here))
    return lines


def grid_words(knot_map: KnotMap) -> str:
    """Return how many columns and rows the rug has."""
    return told("{columns:,} columns x {rows:,} rows", columns=knot_map.columns, rows=knot_map.rows)


def chart_lines(layout: Layout, rug: Rug) -> list[tuple[str, str]]:
    """Return what the cover says about the chart, as lines of (label, value)."""
    printed = {**PRINTED, **PRINTED_KNOT} if one_handed(rug) else PRINTED
    frame = layout.frame
    sheets = told(
        "{sheets} of {paper}, {front} of them in front",
        sheets=layout.sheets,
        paper=frame.paper.name,
        front=layout.front_sheets,
    )
    cell = told(
        "{cell_width_mm:.3g} x {cell_height_mm:.3g} mm",
        cell_width_mm=frame.cell_width_mm,
        cell_height_mm=frame.cell_height_mm,
    )
    steps = told_n("{strips}, {n} step each", "{strips}, {n:,} steps each", layout.steps, strips=len(layout.strips))
    return [
        (say("Sheets"), sheets),
        (say("Strips"), steps),
        (say("Cell"), cell),
        (say("Printed"), say(printed[layout.mirrors.share])),
    ]


def walk_lines(layout: Layout) -> list[tuple[str, str]]:
    """Return the order in which the sheets of each strip are worked, as lines of (label, value).

    A strip that mirrors another has no line of its own but is named beside that one.
    """
    lines: list[tuple[str, str]] = []
    for strip in told_strips(layout.strips, layout.mirrors, layout.reading):
        numbers = [page.number for page in layout.pages if page.strip == strip]
        other = len(layout.strips) - 1 - strip
        if layout.mirrors.across and other != strip and _twins(layout.strips):
            mine, twin = field(f"{_walked(strip)}_strip", strip + 1), field(f"{_walked(strip)}_other", other + 1)
            label = told("Strips {strip}, {other}", strip=mine, other=twin)
        else:
            label = told("Strip {strip}", strip=field(f"{_walked(strip)}_strip", strip + 1))
        lines.append((label, _walk(strip, numbers, layout.mirrors) if numbers else say("nothing to tie")))
    return lines


def _walked(strip: int) -> str:
    """Return how the names of the fields begin that tell the way over a strip."""
    return f"walk{strip + 1}"


def _walk(strip: int, numbers: Sequence[int], mirrors: Mirrors) -> str:
    """Return the way over the sheets with these numbers."""
    first, last = field(f"{_walked(strip)}_first", min(numbers)), field(f"{_walked(strip)}_last", max(numbers))
    if len(numbers) == 1:
        return told("sheet {first}, and back" if mirrors.along else "sheet {first}", first=first)
    if not mirrors.along:
        return told("sheets {first} to {last}, upwards", first=first, last=last)
    words = "sheets {first} to {last}, upwards; then back over them"
    return told(words, first=first, last=last)


def _twins(strips: Sequence[range]) -> bool:
    """Return whether the strips of one side are as wide as those of the other, but for a middle column."""
    widths = [len(strip) for strip in strips]
    off = [abs(one - other) for one, other in zip(widths, widths[::-1], strict=True)][: -(-len(widths) // 2)]
    return not any(off[:-1]) and off[-1] <= 1


def told_strips(strips: Sequence[range], mirrors: Mirrors, reading: Reading) -> list[int]:
    """Return the strips that have sheets, counted from 0, in the order of the sheets."""
    leftward = reading == "right to left"
    told = told_half(strips[-1].stop, mirrors.across, upper=leftward)
    chosen = [number for number, strip in enumerate(strips) if strip.start < told.stop and strip.stop > told.start]
    return chosen[::-1] if leftward else chosen


def cover_of(paper: Paper, yarns: int, lines: int, rug_ratio: float, warnings: Sequence[str] = ()) -> Cover:
    """Return the places of a cover with `lines` of data and `yarns`; `rug_ratio` is the rug's width over its length.

    The warnings stand whole below the data.

    The legend stands below the two pictures, or beside them on wide paper, whichever takes fewer sheets or else leaves
    the larger pictures. The pictures are made smaller before the legend runs over on to another sheet.
    """
    ways = [(beside, share) for share in (LARGE_SHARE, SMALL_SHARE) for beside in (False, True)]
    found = [_arranged(paper, yarns, lines, rug_ratio, warnings, beside=beside, share=share) for beside, share in ways]
    return min(found, key=lambda cover: (cover.sheets, -cover.picture.height_mm))


def _arranged(
    paper: Paper, yarns: int, lines: int, rug_ratio: float, warnings: Sequence[str], *, beside: bool, share: float
) -> Cover:
    """Return the places with the legend below or `beside` pictures that take at least `share` of the free height."""
    margin, left = paper.margin_mm, paper.margin_mm + UPWARD_RULER_MM
    width, height = paper.width_mm - margin - left, paper.height_mm - 2 * margin
    scale = min(2.2, max(0.8, min(width / 187, height / 279)))
    top = paper.height_mm - margin - TITLE_MM * scale
    data_height = -(-lines // 2) * LINE_MM * scale + 3
    data = Box(left, top - data_height, width, data_height)
    box_lines = len(warned_lines(warnings, width, scale))
    warned_mm = (box_lines * WARNED_MM + 3.5) * scale if box_lines else 0.0
    warned = Box(left, data.y_mm - warned_mm, width, warned_mm)
    foot = margin + FOOT_MM + SIGN_MM * scale + 3
    free = warned.y_mm - foot
    entry, wide = ENTRY_MM * scale, LEGEND_WIDTH_MM * scale
    columns = 1 if beside else max(1, int(width / wide + 1e-6))
    pictures = max(width - wide - 4, 0.2 * width) if beside else width
    half = (pictures - 8) / 2
    wanted = 0.0 if beside else (-(-yarns // columns) + 1) * entry + 3
    wide_enough = max(half / rug_ratio, LEAST_PICTURES_MM * scale) + PLAN_WORDS_MM * scale
    block = min(max(free - wanted, share * free), wide_enough)
    if beside:  # the legend gets what the pictures do not need
        half = min(half, max((block - PLAN_WORDS_MM * scale) * rug_ratio + 7 * scale, 45 * scale))
        pictures = 2 * half + 8
    picture = Box(left, warned.y_mm - block, half, block)
    page_map = Box(left + half + 8, warned.y_mm - block, half, block)
    below = Box(left, foot, width, picture.y_mm - 3 - foot)
    legend = Box(left + pictures + 4, foot, width - pictures - 4, free) if beside else below
    more_columns = max(1, int(width / wide + 1e-6))
    legend_rows = max(0, int(legend.height_mm / entry + 1e-6) - 1)
    more_rows = max(1, int((top - margin - FOOT_MM) / entry) - 1)
    rest = max(0, yarns - legend_rows * columns)
    if 0 < rest < LEAST_LINES * more_columns:  # nobody looks for a few lines on a sheet of their own
        legend_rows = max(0, legend_rows - -(-(LEAST_LINES * more_columns - rest) // columns))
        rest = yarns - legend_rows * columns
    sheets = 1 + -(-rest // (more_rows * more_columns))
    signs = Box(left, margin + FOOT_MM, width, SIGN_MM * scale)
    shape = columns, more_columns, legend_rows, more_rows
    return Cover(paper, scale, data, warned, picture, page_map, legend, signs, *shape, sheets)


def draw_front(
    book: Book,
    knot_map: KnotMap,
    chart: Chart,
    layout: Layout,
    cover: Cover,
    palette: Palette,
    facts: CoverFacts,
    revises: str = "",
) -> None:
    """Draw the cover with the legend sheets that it needs; `revises` is the map code of the chart that they replace."""
    paper = cover.paper
    order = range(len(knot_map.yarns))
    room = cover.legend_rows * cover.legend_columns
    sheet = book.sheet(paper.width_mm, paper.height_mm, "1", outline=[(0, say("Cover"))])
    _draw_title(sheet, knot_map, cover, 1, layout.sheets, revises)
    _draw_data(
        sheet,
        cover,
        [
            *rug_lines(knot_map, facts),
            *reading_lines(chart),
            *chart_lines(layout, knot_map.rug),
            *walk_lines(layout),
            *facts.loom,
        ],
    )
    draw_warnings(sheet, cover.warned, warnings_of(knot_map, chart, facts), cover.scale)
    picture, page_map = draw_settled(sheet, facts.settle, cover.picture, cover.page_map, cover.scale)
    _draw_picture(book, sheet, knot_map, picture, cover.scale)
    draw_plan(sheet, layout, page_map, cover.scale)
    shape = (cover.legend_rows, cover.legend_columns)
    draw_cover_legend(sheet, knot_map, cover.scale, palette, facts, cover.legend, order[:room], shape)
    _draw_signs(sheet, cover)
    draw_rulers(sheet, paper.margin_mm)
    sheet.done()
    step = cover.more_rows * cover.more_columns
    for number, start in enumerate(range(room, len(order), step), start=2):
        sheet = book.sheet(paper.width_mm, paper.height_mm, str(number), outline=[(0, say("Legend, continued"))])
        _draw_title(sheet, knot_map, cover, number, layout.sheets, revises)
        top = paper.height_mm - paper.margin_mm - TITLE_MM * cover.scale
        box = Box(cover.data.x_mm, paper.margin_mm + FOOT_MM, cover.data.width_mm, top - paper.margin_mm - FOOT_MM)
        shown = order[start : start + step]
        draw_cover_legend(
            sheet, knot_map, cover.scale, palette, facts, box, shown, (cover.more_rows, cover.more_columns)
        )
        draw_rulers(sheet, paper.margin_mm)
        sheet.done()


def _draw_title(sheet: Sheet, knot_map: KnotMap, cover: Cover, number: int, sheets: int, revises: str) -> None:
    k, left = cover.scale, cover.data.x_mm
    top, right = sheet.height_mm - cover.paper.margin_mm, cover.data.right_mm
    name, code = field("name", knot_map.rug.name), field("map", knot_map.map_code)
    sheet.text(left, top - 7.5 * k, name, 20 * k, bold=True, most_mm=right - left - 46 * k, tag="heading")
    sheet.text(right, top - 6 * k, code, 15 * k, bold=True, align="right", tag="identity")
    where = told("sheet {sheet} of {sheets}", sheet=number, sheets=sheets)
    words = joined(" · ", [say("map code, the same on every sheet"), where])
    length = sheet.text(right, top - 13 * k, words, 7 * k, colour=GREY, align="right", tag="identity")
    if revises:
        about = (
            told("Replaces the cover of map {map}", map=revises)
            if number == 1
            else told("Replaces sheet {sheet} of map {map}", sheet=number, map=revises)
        )
        most_mm = right - left - length - 3
        sheet.text(left, top - 13 * k, about, 9 * k, bold=True, most_mm=most_mm, tag="replaces")
    else:
        sheet.text(left, top - 13 * k, say("Knot chart"), 9 * k, colour=GREY)
    sheet.line(left, top - 15 * k, right, top - 15 * k, 0.5 * k)


def _draw_data(sheet: Sheet, cover: Cover, lines: Sequence[tuple[str, str]]) -> None:
    k, box = cover.scale, cover.data
    rows = -(-len(lines) // 2)
    half = box.width_mm / 2
    for index, (label, value) in enumerate(lines):
        column, row = divmod(index, rows)
        x, y = box.x_mm + column * half, box.top_mm - (row + 1) * LINE_MM * k + 0.6
        sheet.text(x, y, label, 7.2 * k, colour=GREY, most_mm=29 * k, tag="fact")
        sheet.text(x + 30 * k, y, value, 7.6 * k, most_mm=half - 32 * k, tag="fact")


def _ratio(layout_or_map: KnotMap) -> float:
    return float(layout_or_map.rug.woven_width_mm / layout_or_map.rug.woven_length_mm)


def _draw_picture(book: Book, sheet: Sheet, knot_map: KnotMap, box: Box, k: float) -> None:
    picture = rug_picture(knot_map)
    rows, columns, _ = picture.shape
    book.document.add_picture("Rug", rows, columns, picture.tobytes())
    inner = fitted(Box(box.x_mm, box.y_mm + 4 * k, box.width_mm, box.height_mm - 8 * k), _ratio(knot_map))
    with sheet.tagged("picture"):
        sheet.place("Rug", inner.x_mm, inner.y_mm, inner.width_mm, inner.height_mm)
    sheet.box(inner.x_mm, inner.y_mm, inner.width_mm, inner.height_mm, edge=GREY, edge_mm=0.12)
    words = say("The rug from its pile side; row 1 is at the foot")
    if book.lettering.width(words) * 6.5 * k / POINTS_PER_MM > box.width_mm + 6:  # which would reach the plan beside it
        words = say("Pile side; row 1 is at the foot")
    sheet.text(inner.x_mm, inner.y_mm - 3.2 * k, words, 6.5 * k, colour=GREY)


def _draw_signs(sheet: Sheet, cover: Cover) -> None:
    """Draw the boxes in which the chart is signed for."""
    k, box = cover.scale, cover.signs
    titles = (
        *(say("checked by"), say("date"), say("approved by"), say("date")),
        *(say("on loom"), say("date begun")),
    )
    shares = (0.24, 0.11, 0.24, 0.11, 0.15, 0.15)
    x = box.x_mm
    for title, share in zip(titles, shares, strict=True):
        sheet.box(x, box.y_mm, share * box.width_mm, box.height_mm - 2, edge=BLACK, edge_mm=0.2)
        sheet.text(x + 1, box.top_mm - 2 - 2.8 * k, title, 6 * k, colour=GREY)
        x += share * box.width_mm
