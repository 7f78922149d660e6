"""The places that all sheets of a chart share, and how the paper lies so that strips stay whole."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mirrors import Mirrors, told_half
from chartmaker.knots.strips import strips_of
from chartmaker.order.workshop import Workshop
from chartmaker.paper.papers import Paper, paper_of
from chartmaker.sheets.chart.counting import counted
from chartmaker.sheets.chart.greys import greys_of

HEADER_MM = 17.5
#: At its foot the head has a line more on sheets of a shaped rug, which says what is woven outside the outline, and on
#: sheets with counts, which explains them; that takes two lines on slender paper. So it has if a copy without colour
#: would show yarns alike.
FOOT_LINE_MM = 2.8
#: On sheets narrower than this, the words of the head take one line more.
NARROW_MM = 230.0
#: And on sheets narrower than this, what they say of their use in both directions takes two lines.
BROAD_MM = 350.0
#: On sheets narrower than this, what a sheet says of its use on the way back takes two lines, of this height each.
SLENDER_MM, TURNING_MM = 160.0, 2.8
COLUMN_NUMBERS_MM = 3.4
RULER_MM = 6.0
TICKS_MM = 3.6
LENGTHS_MM = 11.0
GAP_MM, SIDE_GAP_MM = 1.0, 0.4
#: This many rows of the sheet before are shown again at the foot, and above the sheet on the way back.
REPEATED_ROWS = 2
#: This many columns of the neighbours are shown again at the sides where there is room, and always at least one.
REPEATED_COLUMNS = 2
#: A legend entry with the yarn's name, one without, and how high either is: two lines of small letters.
FULL_ENTRY_MM, SHORT_ENTRY_MM, ENTRY_HEIGHT_MM = 45.0, 24.5, 4.6
#: An entry without a name, where the pile has several heights that are told.
UNEVEN_ENTRY_MM = 43.0
#: The legend takes no more of the sheet's height than this.
LEGEND_SHARE = 0.2
LEAST_LEGEND_MM = 16.4
LEAST_CELL_MM = Fraction(9, 10)


def least_entry_mm(*, uneven: bool) -> float:
    """Return the least width of a legend entry: `uneven` says whether it also tells the heights of the pile."""
    return UNEVEN_ENTRY_MM if uneven else SHORT_ENTRY_MM


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet, in millimetres from the lower left corner."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def right_mm(self) -> float:
        return self.x_mm + self.width_mm

    @property
    def top_mm(self) -> float:
        return self.y_mm + self.height_mm


@dataclass(frozen=True, slots=True)
class Frame:
    """The places that all grid sheets of a chart share.

    `grid` is the most that the cells may take; a sheet with fewer cells fills it from its lower left corner.
    `turn_mm` is the extra width, or height, that the numbers of the mirrored half take; `side_columns` is how many
    columns of the neighbours are shown again at either side. `entry_mm` is the least width of a legend entry.
    """

    paper: Paper
    cell_width_mm: float
    cell_height_mm: float
    header: Box
    grid: Box
    legend: Box
    page_map: Box
    number_width_mm: float
    turn_width_mm: float
    turn_height_mm: float
    legend_rows: int
    entry_mm: float = SHORT_ENTRY_MM
    side_columns: int = 0

    @property
    def side_mm(self) -> float:
        """The width that is kept free on each side for the neighbours' columns."""
        return self.side_columns * self.cell_width_mm + SIDE_GAP_MM if self.side_columns else 0.0

    def line_mm(self, wish_mm: float) -> float:
        """Return the thickness of a line that should be `wish_mm` thick, less if small cells need room for colour."""
        return min(wish_mm, wish_mm * min(self.cell_width_mm, self.cell_height_mm) / 4.4)

    @property
    def most_columns(self) -> int:
        return int(self.grid.width_mm / self.cell_width_mm + 1e-6)

    @property
    def most_rows(self) -> int:
        return int(self.grid.height_mm / self.cell_height_mm + 1e-6)

    def lifted(self, rows: int) -> Frame:
        """Return the frame for sheets of at most `rows` rows, whose free room goes to the legend and the page map."""
        spare = self.grid.height_mm - rows * self.cell_height_mm
        grid, legend, page_map = self.grid, self.legend, self.page_map
        return replace(
            self,
            grid=replace(grid, y_mm=grid.y_mm + spare, height_mm=grid.height_mm - spare),
            legend=replace(legend, height_mm=legend.height_mm + spare),
            page_map=replace(page_map, height_mm=page_map.height_mm + spare),
        )

    def legend_columns(self, entry_mm: float) -> int:
        return max(1, int(self.legend.width_mm / entry_mm + 1e-6))

    def legend_room(self, entry_mm: float) -> int:
        """Return how many entries the legend of a grid sheet holds."""
        return self.legend_rows * self.legend_columns(entry_mm)


def cell_size_mm(knot_map: KnotMap, workshop: Workshop) -> tuple[float, float]:
    """Return the width and the height of a printed cell, in the knot's proportion unless squares are asked for.

    Raises
    ------
    SheetError
        If a side is too small to be read.
    """
    chart, density = workshop.chart, knot_map.rug.density
    width = chart.cell_mm
    height = width if chart.square_cells else width * density.knot_height_mm / density.knot_width_mm
    if min(width, height) < LEAST_CELL_MM:
        raise SheetError(
            say(
                "cells of {width:.3g} x {height:.3g} mm cannot be read; make [chart] cell larger, so that both sides "
                "are at least {least} mm",
                width=float(width),
                height=float(height),
                least=float(LEAST_CELL_MM),
            )
        )
    return float(width), float(height)


def header_mm(width_mm: float, mirrors: Mirrors) -> float:
    """Return the height of a sheet's head, `width_mm` wide, with a line for each way in which the sheet is reused."""
    lines = mirrors.across + mirrors.along
    if width_mm < (BROAD_MM if lines == 2 else NARROW_MM):
        lines += mirrors.along and width_mm < SLENDER_MM
        return HEADER_MM + max(0.0, 2.3 + TURNING_MM * (lines - 1)) if lines else HEADER_MM
    return HEADER_MM + (2.0 if lines == 2 else 0.0)


def frame_of(
    knot_map: KnotMap,
    workshop: Workshop,
    mirrors: Mirrors,
    paper: Paper | None = None,
    side_columns: int = 0,
    *,
    lots: bool = False,
) -> Frame:
    """Return the places on the sheets of `knot_map`, on the paper of its settings or on `paper`.

    There is a line for `lots` if new lots of yarn begin in the rug.

    Raises
    ------
    SheetError
        If the paper is unknown or too small for cells of this size.
    """
    chart = workshop.chart
    paper = paper or paper_of(chart.paper, chart.orientation)
    cell_width, cell_height = cell_size_mm(knot_map, workshop)
    side = side_columns * cell_width + SIDE_GAP_MM if side_columns else 0.0
    margin = paper.margin_mm
    width, height = paper.width_mm - 2 * margin, paper.height_mm - 2 * margin
    number_width = 1.6 + 1.35 * len(str(max(knot_map.rows, knot_map.columns)))
    turn_width = number_width if mirrors.along else 0.0
    turn_height = COLUMN_NUMBERS_MM if mirrors.across else 0.0

    map_height = max(LEAST_LEGEND_MM, 0.12 * height)
    map_width = min(0.2 * width, map_height * knot_map.columns * cell_width / (knot_map.rows * cell_height))
    legend_width = width - RULER_MM - max(map_width, 12) - 3  # the upright ruler stands at the left
    columns = max(1, int(legend_width / FULL_ENTRY_MM))
    most_rows = int(max(LEAST_LEGEND_MM, LEGEND_SHARE * height) / ENTRY_HEIGHT_MM)
    legend_rows = min(most_rows, max(-(-len(knot_map.yarns) // columns), int(LEAST_LEGEND_MM / ENTRY_HEIGHT_MM)))
    legend_height = max(LEAST_LEGEND_MM, legend_rows * ENTRY_HEIGHT_MM)

    # Each number of a row stands beside a box of its own: the first on the side read first, the mirrored one opposite.
    near, far = TICKS_MM + number_width, number_width + (turn_width + TICKS_MM if mirrors.along else 0.0)
    if chart.reading == "right to left":
        near, far = far, near
    left = margin + RULER_MM + near + side
    right = paper.width_mm - margin - far - LENGTHS_MM - side
    bottom = margin + RULER_MM + legend_height + 2 + COLUMN_NUMBERS_MM + GAP_MM + REPEATED_ROWS * cell_height
    explaining = 1 + (width < SLENDER_MM) if counted(chart) else 0
    explaining += lots or bool(greys_of(knot_map, chart.marks))
    head = header_mm(width, mirrors) + FOOT_LINE_MM * (bool(knot_map.empty) + explaining)
    top = paper.height_mm - margin - head - COLUMN_NUMBERS_MM - turn_height
    if mirrors.along:
        top -= GAP_MM + REPEATED_ROWS * cell_height
    frame = Frame(
        paper,
        cell_width,
        cell_height,
        header=Box(margin, paper.height_mm - margin - head, width, head),
        grid=Box(left, bottom, right - left, top - bottom),
        legend=Box(margin + RULER_MM, margin + RULER_MM, legend_width, legend_height),
        page_map=Box(
            paper.width_mm - margin - max(map_width, 12), margin, max(map_width, 12), legend_height + RULER_MM
        ),
        number_width_mm=number_width,
        turn_width_mm=turn_width,
        turn_height_mm=turn_height,
        legend_rows=legend_rows,
        entry_mm=least_entry_mm(uneven=bool(workshop.pile.heights_mm or workshop.pile.carved_mm)),
        side_columns=side_columns,
    )
    if frame.most_columns < min(5, knot_map.columns) or frame.most_rows < min(5, knot_map.rows):
        raise SheetError(
            say(
                "{paper} paper leaves no room for cells of {width:.3g} x {height:.3g} mm; choose a larger [chart] "
                "paper or a smaller cell",
                paper=paper.name,
                width=cell_width,
                height=cell_height,
            )
        )
    return frame


def shown_strips(knot_map: KnotMap, workshop: Workshop, mirrors: Mirrors) -> list[range]:
    """Return the columns of each strip that the sheets show, leaving out strips that have none."""
    told = told_half(knot_map.columns, mirrors.across, upper=workshop.chart.reading == "right to left")
    both = (
        range(max(strip.start, told.start), min(strip.stop, told.stop)) for strip in strips_of(knot_map.rug, workshop)
    )
    return [shown for shown in both if shown]


def _frame_on(knot_map: KnotMap, workshop: Workshop, mirrors: Mirrors, paper: Paper, *, lots: bool) -> Frame:
    """Return the frame on `paper`, with two of the neighbours' columns at each side, or one to keep strips whole."""
    plain = frame_of(knot_map, workshop, mirrors, paper, lots=lots)
    strips = shown_strips(knot_map, workshop, mirrors)
    widest = max(map(len, strips))
    if widest == knot_map.columns <= plain.most_columns:
        return plain  # every sheet shows all columns
    every = range(REPEATED_COLUMNS, 0, -1)
    sided = [frame_of(knot_map, workshop, mirrors, paper, columns, lots=lots) for columns in every]
    return next((frame for frame in sided if frame.most_columns >= widest), sided[0])


def chosen_frame(knot_map: KnotMap, workshop: Workshop, mirrors: Mirrors, *, lots: bool = False) -> Frame:
    """Return the frame of the chart's sheets, with the paper turned as it serves best unless the order says how.

    The paper lies so that the strips are cut into the fewest parts, or, where that makes no difference, so that there
    are the fewest sheets.

    Raises
    ------
    SheetError
        As `frame_of`.
    """
    chart = workshop.chart
    if chart.orientation != "auto":
        return _frame_on(knot_map, workshop, mirrors, paper_of(chart.paper, chart.orientation), lots=lots)
    strips = shown_strips(knot_map, workshop, mirrors)
    rows = len(told_half(knot_map.rows, mirrors.along))
    found: list[tuple[int, int, Frame]] = []
    fault: SheetError | None = None
    for paper in (paper_of(chart.paper, "portrait"), paper_of(chart.paper, "landscape")):
        try:
            frame = _frame_on(knot_map, workshop, mirrors, paper, lots=lots)
        except SheetError as error:
            fault = fault or error
            continue
        parts = [-(-len(strip) // frame.most_columns) for strip in strips]
        found.append((max(parts), sum(parts) * -(-rows // frame.most_rows), frame))
    if not found and fault is not None:
        raise fault
    return min(found, key=lambda each: each[:2])[2]
