"""The ruling of a grid sheet."""

from __future__ import annotations

from chartmaker.paper.drawing import number
from chartmaker.sheets.chart.layout import LENGTHS_MM, TICKS_MM, GridPage, Layout

THIN_MM, HEAVY_MM, EDGE_MM = 0.1, 0.5, 0.8
#: Heavy lines have a white edge, so that they are seen on dark yarns too.
HALO = 1.7

#: Left, bottom, right, top in millimetres.
Bounds = tuple[float, float, float, float]


def _edges(layout: Layout, page: GridPage) -> tuple[bool, bool, bool, bool]:
    """Say which sides of the sheet (foot, top, left, right) are edges of its strip."""
    strip = layout.strips[page.strip]
    return (
        page.rows.start == 0,
        page.rows.stop == layout.rows,
        page.columns.start == strip.start,
        page.columns.stop == strip.stop,
    )


def grid_name(layout: Layout, page: GridPage) -> str:
    """Return a name that sheets share if and only if they are ruled alike."""
    every = layout.bold_every
    phase = f"{page.rows.start % every}.{page.columns.start % every}"
    sides = "".join(str(int(edge)) for edge in _edges(layout, page))
    return f"G{len(page.rows)}x{len(page.columns)}at{phase}e{sides}"


def _ruling(layout: Layout, page: GridPage, heavy: bool) -> str:
    """Return the path of the heavy lines, or of the thin ones."""
    frame, every = layout.frame, layout.bold_every
    rows, columns = len(page.rows), len(page.columns)
    width, height = number(columns * frame.cell_width_mm), number(rows * frame.cell_height_mm)
    across = [r for r in range(rows + 1) if ((page.rows.start + r) % every == 0) == heavy]
    along = [c for c in range(columns + 1) if ((page.columns.start + c) % every == 0) == heavy]
    ys = [number(r * frame.cell_height_mm) for r in across]
    xs = [number(c * frame.cell_width_mm) for c in along]
    return " ".join([f"0 {y} m {width} {y} l" for y in ys] + [f"{x} 0 m {x} {height} l" for x in xs])


def grid_operators(layout: Layout, page: GridPage) -> tuple[Bounds, list[str]]:
    """Return the bounds and the operators of the sheet's ruling, from the lower left corner of its cells."""
    frame = layout.frame
    width, height = len(page.columns) * frame.cell_width_mm, len(page.rows) * frame.cell_height_mm
    thin, heavy, edge = map(frame.line_mm, (THIN_MM, HEAVY_MM, EDGE_MM))
    lines = _ruling(layout, page, True)
    operators = [
        f"{number(thin)} w 0.25 G {_ruling(layout, page, False)} S",
        f"{number(heavy * HALO)} w 1 G {lines} S",
        f"{number(heavy)} w 0 G {lines} S",
    ]
    sides = ((0, 0, width, 0), (0, height, width, height), (0, 0, 0, height), (width, 0, width, height))
    for of_strip, (x1, y1, x2, y2) in zip(_edges(layout, page), sides, strict=True):
        thick = edge if of_strip else heavy
        operators.append(f"{number(thick)} w 2 J {number(x1)} {number(y1)} m {number(x2)} {number(y2)} l S")
    left = ticks_mm(layout, width)
    boxes = [
        f"{number(left)} {number(row * frame.cell_height_mm)} {TICKS_MM - 1:g} {number(frame.cell_height_mm)} re"
        for row in range(len(page.rows))
    ]
    operators.append(f"{THIN_MM} w 0.36 G {' '.join(boxes)} S")
    return (min(left, 0) - 1, -1, max(width, left + TICKS_MM) + 1, height + 1), operators


def ticks_mm(layout: Layout, width_mm: float) -> float:
    """Return where the boxes to tick begin, from the left edge of a grid `width_mm` wide: on the side read first."""
    frame = layout.frame
    if layout.reading == "right to left":
        return width_mm + frame.number_width_mm + frame.turn_width_mm + LENGTHS_MM
    return -frame.number_width_mm - TICKS_MM
