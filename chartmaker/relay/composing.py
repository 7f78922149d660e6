"""The artwork of a relaid rug, put together from parts of the drawing at a few pixels a knot.

Every part is taken over knot by knot: a stretch of the drawing becomes so many whole knots, each of the same number of
pixels. Thus a part looks the same under its knots wherever it lies, in every size, and is converted to the same knots.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.repeats.frames import Side
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.language import say
from chartmaker.relay.canvas import Canvas, Stretch
from chartmaker.relay.counting import placed
from chartmaker.relay.edges import on_lines
from chartmaker.relay.fields import lay_field
from chartmaker.relay.parts import Band, Parts
from chartmaker.relay.planning import Plan, PlannedSide
from chartmaker.relay.sides import FRAME_KNOTS, BandSide


@dataclass(frozen=True)
class Corners:
    """How corners are taken over: `turned` makes all four of the one at the foot on the left."""

    turned: bool
    module: bool


def composed(artwork: Artwork, parts: Parts, plan: Plan, px: int, corners: Corners, *, scaled: bool) -> Artwork:
    """Return the artwork of a relaid rug, `px` pixels a knot both ways.

    Parameters
    ----------
    artwork : Artwork
        The drawing.
    parts : Parts
        What it is drawn of.
    plan : Plan
        The knots of each part.
    px : int
    corners : Corners
    scaled : bool
        Whether the pieces of the field are made larger with it; otherwise they keep their size.

    Raises
    ------
    ArtworkError
        If the pieces of the field do not find room in it.
    """
    canvas = Canvas(artwork, plan.rows * px, plan.columns * px, px)
    top = left = 0
    bottom, right = plan.rows, plan.columns
    for band, own in zip(parts.bands, plan.bands, strict=True):
        widths = own.widths
        rows = top, top + widths["top"], bottom - widths["bottom"], bottom
        columns = left, left + widths["left"], right - widths["right"], right
        _lay_corners(canvas, band, rows, columns, corners, plan.knot_px)
        for side, into in _places_of(rows, columns).items():
            _lay_side(canvas, band, side, own.sides[side], into, corners, plan.knot_px)
        top, bottom, left, right = rows[1], rows[2], columns[1], columns[2]
    if bottom - top < 2 or right - left < 2:
        raise ArtworkError(say("the borders leave no field in this size; order a larger one, or give narrower borders"))
    lay_field(canvas, parts, (slice(top, bottom), slice(left, right)), plan, scaled=scaled)
    return canvas.artwork


def _places_of(rows: Sequence[int], columns: Sequence[int]) -> dict[Side, tuple[slice, slice]]:
    """Return where the four sides of a band lie, in knots."""
    inner_rows, inner_columns = slice(rows[1], rows[2]), slice(columns[1], columns[2])
    return {
        "top": (slice(rows[0], rows[1]), inner_columns),
        "bottom": (slice(rows[2], rows[3]), inner_columns),
        "left": (inner_rows, slice(columns[0], columns[1])),
        "right": (inner_rows, slice(columns[2], columns[3])),
    }


def _lay_corners(
    canvas: Canvas,
    band: Band,
    rows: Sequence[int],
    columns: Sequence[int],
    corners: Corners,
    knot_px: tuple[float, float],
) -> None:
    """Lay the four corner blocks of a band, each as it is drawn or all as the one at the foot on the left."""
    into_rows: dict[Side, slice] = {"top": slice(rows[0], rows[1]), "bottom": slice(rows[2], rows[3])}
    into_columns: dict[Side, slice] = {"left": slice(columns[0], columns[1]), "right": slice(columns[2], columns[3])}
    levels: tuple[Side, Side] = ("top", "bottom")
    uprights: tuple[Side, Side] = ("left", "right")
    for level in levels:
        for upright in uprights:
            into = into_rows[level], into_columns[upright]
            turn = ""
            if corners.turned:
                turn = ("flip down " if level == "top" else "") + ("flip across" if upright == "right" else "")
            high, wide = into[0].stop - into[0].start, into[1].stop - into[1].start
            down, across = canvas.down(), canvas.across()
            _add_depth(down, band, "bottom" if corners.turned else level, high, knot_px)
            _add_depth(across, band, "left" if corners.turned else upright, wide, knot_px)
            canvas.lay(into, down.places, across.places, turn)


def _add_depth(depth: Stretch, band: Band, side: Side, knots: int, knot_px: tuple[float, float]) -> None:
    """Add the pixels across a side of a band, with its straight edges on lines between knots.

    Pixels right beside its frames may be some of what lies beside it, and those a little further in stand for them.
    """
    outer = band.outer
    rim, inward = {
        "top": (outer.top, 1),
        "bottom": (outer.bottom, -1),
        "left": (outer.left, 1),
        "right": (outer.right, -1),
    }[side]
    width = band.width(side)
    beside = float(int(min(FRAME_KNOTS * knot_px[side in ("left", "right")], width / 4)))
    bounds = sorted((rim + inward * beside, rim + inward * (width - beside)))
    stretches = on_lines(band.edges[side], width, knots)
    for first, end, number in stretches[::inward]:
        low, high = sorted((rim + inward * first, rim + inward * end))
        depth.add(low, high, number, (bounds[0], bounds[1]))


def _lay_side(
    canvas: Canvas,
    band: Band,
    side: Side,
    own: PlannedSide,
    into: tuple[slice, slice],
    corners: Corners,
    knot_px: tuple[float, float],
) -> None:
    """Lay a side of a band: its ends and its repeats one after another, or all of it pulled where nothing repeats."""
    upright = side in ("left", "right")
    drawn = band.sides["bottom" if corners.module else side]
    box = drawn.run.box
    long, deep = (into[0], into[1]) if upright else (into[1], into[0])
    lying = corners.module or not upright
    along = canvas.across() if lying else canvas.down()
    across = canvas.down() if lying else canvas.across()
    first = box.left if lying else box.top
    _add_run(along, first, drawn, own, long.stop - long.start)
    if drawn.mirrored:
        along.mirror_all(first, first + drawn.length)
    if drawn.plain:
        bounds = (box.top, box.bottom) if lying else (box.left, box.right)
        across.add(*bounds, deep.stop - deep.start)
    else:
        _add_depth(across, band, "bottom" if corners.module else side, deep.stop - deep.start, knot_px)
    if not corners.module:
        rows, columns = (along.places, across.places) if upright else (across.places, along.places)
        canvas.lay(into, rows, columns)
        return
    turn = {"top": "flip down", "bottom": "", "left": "turn", "right": "turn flip across"}[side]
    canvas.lay(into, across.places, along.places, turn)


def _add_run(along: Stretch, first: float, drawn: BandSide, own: PlannedSide, knots: int) -> None:
    """Add the pixels along a side of a band, which begins at `first`."""
    repeating, count = drawn.repeating, own.count
    if repeating is None or count is None:
        along.add(first, first + drawn.length, knots)
        return
    start, period = first + repeating.end, repeating.period
    gaps, more = placed(count)
    along.add(first, start, own.end)
    for number in range(count.times):
        before, behind = gaps[number], gaps[number + 1]
        if before > 0:
            along.add(start, start + 1, before)
        repeat = along.empty().add(start, start + period, own.period + more[number])
        if drawn.mirrored:
            repeat.mirror_last(first, first + drawn.length)
        # A knot of plain ground is left out before the line between two repeats, and at the very first one.
        along.extend(repeat, leave_first=number == 0 and before < 0, leave_last=behind < 0)
    if gaps[-1] > 0:
        along.add(start + period - 1, start + period, gaps[-1])
    along.add(first + drawn.length - repeating.end, first + drawn.length, own.end)
