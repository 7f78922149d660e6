"""Where everything of the proof picture goes."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.knots.knotmap import KnotMap
from chartmaker.techniques.crafts import craft_of

LONG_SIDE_PX = 3000
#: A small sample is not enlarged beyond this.
MOST_PX_PER_KNOT = 32.0
#: A detail is added where the knots of the whole are smaller than the first, with its own of the second.
_SMALL_PX, _DETAIL_PX = 7.0, 14.0


@dataclass(frozen=True)
class Box:
    """A rectangle of pixels."""

    left: int
    top: int
    width: int
    height: int


@dataclass(frozen=True)
class Detail:
    """A part of the rug seen closer: its `rows` and `columns`, drawn `enlarged` times as large as the whole."""

    box: Box
    rows: range
    columns: range
    enlarged: float


@dataclass(frozen=True)
class ProofLayout:
    """What goes where, in pixels. `artwork` is None without one, `detail` where the knots are large as it is."""

    width: int
    height: int
    px_per_mm: float
    margin: int
    fringe: int
    text: int
    woven: Box
    artwork: Box | None
    labels_top: int
    detail: Detail | None
    caption_left: int
    caption_top: int


def proof_layout(knot_map: KnotMap, *, artwork: bool, long_side_px: int = LONG_SIDE_PX) -> ProofLayout:
    """Return the layout of a picture at most `long_side_px` wide and high.

    The artwork, if there is one, lies to the right of the rug; below both a detail of the middle, then the words.
    """
    rug, density = knot_map.rug, knot_map.rug.density
    wide_mm, long_mm = float(rug.woven_width_mm), float(rug.woven_length_mm)
    unit = long_side_px / 100
    margin, gap, text = round(4.5 * unit), round(4 * unit), max(8, round(1.15 * unit))
    fringe = round(1.6 * unit) if knot_map.empty == 0 and craft_of(rug).fringed else 0
    labels, caption, strip = 3 * text, round(7.3 * text), round(13 * unit)
    panels = 2 if artwork else 1

    def px_per_mm_beside(detail_px: int) -> float:
        return min(
            (long_side_px - 2 * margin - (panels - 1) * gap) / (panels * wide_mm),
            (long_side_px - 2 * margin - 2 * fringe - labels - caption - detail_px) / long_mm,
            MOST_PX_PER_KNOT / float(max(density.knot_width_mm, density.knot_height_mm)),
        )

    smaller_mm = float(min(density.knot_width_mm, density.knot_height_mm))
    px_per_mm = px_per_mm_beside(0)
    closer = px_per_mm * smaller_mm < _SMALL_PX
    if closer:
        px_per_mm = px_per_mm_beside(strip + labels)
    wide, long = max(1, round(wide_mm * px_per_mm)), max(1, round(long_mm * px_per_mm))
    inner = panels * wide + (panels - 1) * gap
    width = min(long_side_px, max(inner, 34 * text) + 2 * margin)
    left, top = (width - inner) // 2, margin + fringe
    labels_top = top + long + fringe
    caption_top = labels_top + labels
    detail = None
    if closer:
        detail = _detail(knot_map, Box(left, caption_top, inner, strip), _DETAIL_PX / smaller_mm, px_per_mm)
        caption_top += detail.box.height + labels
    return ProofLayout(
        width=width,
        height=caption_top + caption + margin,
        px_per_mm=px_per_mm,
        margin=margin,
        fringe=fringe,
        text=text,
        woven=Box(left, top, wide, long),
        artwork=Box(left + wide + gap, top, wide, long) if artwork else None,
        labels_top=labels_top,
        detail=detail,
        caption_left=min(left, (width - 34 * text) // 2),
        caption_top=caption_top,
    )


def _detail(knot_map: KnotMap, room: Box, px_per_mm: float, whole_px_per_mm: float) -> Detail:
    """Return as many whole knots of the rug's middle as `room` holds."""
    knot_wide = float(knot_map.rug.density.knot_width_mm) * px_per_mm
    knot_high = float(knot_map.rug.density.knot_height_mm) * px_per_mm
    columns = min(knot_map.columns, max(1, int(room.width / knot_wide)))
    rows = min(knot_map.rows, max(1, int(room.height / knot_high)))
    width, height = round(columns * knot_wide), round(rows * knot_high)
    first_column, first_row = (knot_map.columns - columns) // 2, (knot_map.rows - rows) // 2
    return Detail(
        Box(room.left + (room.width - width) // 2, room.top, width, height),
        range(first_row, first_row + rows),
        range(first_column, first_column + columns),
        px_per_mm / whole_px_per_mm,
    )
