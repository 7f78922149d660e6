"""The whole step: a drawing taken apart, its counts settled for the size that was ordered, and laid anew."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placed, evenly_placed, turned
from chartmaker.colours.labelling import OUTSIDE, label_pixels, of_labels
from chartmaker.colours.palette import find_palette
from chartmaker.colours.style import choose_style
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.lengths import cm_words
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.canvas import Canvas
from chartmaker.relay.composing import Corners, composed
from chartmaker.relay.fields import has_room, lay_field
from chartmaker.relay.parts import Parts, parts_of
from chartmaker.relay.planning import Plan, Told, Unmet, planned
from chartmaker.relay.refusing import no_room_words, unmet_words
from chartmaker.relay.remarks import remarks_on, round_remarks
from chartmaker.relay.rings import depth_of_knots, lay_rings, outline_of_rug, rings_of, round_plan, within
from chartmaker.relay.said import Said, said_of

#: So many pixels a knot, at most; fewer for rugs of so many knots that the picture would take too much memory.
MOST_PX, LEAST_PX, MOST_PIXELS = 8, 3, 60_000_000
#: A size in which all has room is looked for in so many steps, each so much larger than the ordered one.
ROOM_STEP, ROOM_STEPS = 0.04, 50


@dataclass(frozen=True, eq=False)
class Relaid:
    """A design laid anew: the artwork with its placement, and the rug in the size that results.

    `parts` is what the drawing was found to consist of, `plan` the knots of each, `findings` what there is to remark.
    """

    placed: Placed
    rug: Rug
    parts: Parts
    plan: Plan
    findings: tuple[Finding, ...]

    @property
    def design(self) -> dict[str, object]:
        """The keys of the design that it settles: what lies on whole knots is neither fitted nor turned again.

        Nor are motifs drawn like others of the rug: there are more of them in one size than in another, and a part that
        is kept must have the same knots in every size.
        """
        return {"fit": "stretch", "turn": 0, "fitted": False, "motifs": False}


@dataclass(frozen=True, eq=False)
class Apart:
    """A drawing taken apart: its pixels in pure colours, its parts, the height and the width of a knot in pixels.

    Mixed pixels at edges are given to one side: a part that is drawn larger would turn them into areas of their own.
    """

    drawing: Artwork
    parts: Parts
    knot_px: tuple[float, float]


def knot_px_of(artwork: Artwork, rug: Rug, layout: Layouting) -> tuple[float, float]:
    """Return the height and the width of a knot in pixels of the artwork, at the size that it is drawn for.

    If no size is said, it is the largest that has the artwork's proportions and goes into the rug.
    """
    high, wide = float(rug.density.knot_height_mm), float(rug.density.knot_width_mm)
    if layout.drawn_mm is not None:
        width_mm, length_mm = (float(side) for side in layout.drawn_mm)
    else:
        scale = min(float(rug.woven_width_mm) / artwork.width, float(rug.woven_length_mm) / artwork.height)
        width_mm, length_mm = scale * artwork.width, scale * artwork.height
    return high * artwork.height / length_mm, wide * artwork.width / width_mm


def taken_apart(artwork: Artwork, rug: Rug, design: Design, layout: Layouting) -> Apart:
    """Return the parts of an artwork, which is turned already.

    Raises
    ------
    ArtworkError
        If the artwork is not drawn in even colours, or the borders that are said leave no field.
    """
    knot_px = knot_px_of(artwork, rug, layout)
    palette = find_palette(artwork, knot_px[0] * knot_px[1])
    if not len(palette.srgb) or choose_style(design.style, palette, pixel_a_knot=False).style != "flat":
        raise ArtworkError(
            say("fit = 'relay' lays a drawing in even colours anew for another size, and this artwork is a painting")
        )
    per_mm = knot_px[0] / float(rug.density.knot_height_mm), knot_px[1] / float(rug.density.knot_width_mm)
    said = said_of(layout, per_mm)
    _check_said(artwork, said)
    labels = label_pixels(artwork, palette.srgb)
    colours = of_labels(palette.srgb)
    coverage = None if artwork.coverage is None else np.where(labels.first == OUTSIDE, 0, 255).astype(np.uint8)
    return Apart(Artwork(colours[labels.first], coverage), parts_of(labels, knot_px, said), knot_px)


def _check_said(artwork: Artwork, said: Said) -> None:
    """Refuse parts that cannot lie in an artwork."""
    deep, wide = sum(down for down, _ in said.borders), sum(across for _, across in said.borders)
    if 2 * deep >= artwork.height or 2 * wide >= artwork.width:
        raise ArtworkError(
            say("[layout] borders leave no field; give narrower ones, or the size that the artwork is drawn for")
        )
    for box in (*(said.pieces or ()), *(() if said.field is None else (said.field,))):
        if box.bottom > artwork.height or box.right > artwork.width:
            raise ArtworkError(
                say(
                    "[layout] says a box that reaches beyond the artwork, which has {width} x {height} pixels",
                    width=artwork.width,
                    height=artwork.height,
                )
            )


def relaid(artwork: Artwork, rug: Rug, design: Design, layout: Layouting) -> Relaid:
    """Return a design laid anew for a rug, in the size nearest to the one ordered that comes out whole.

    Raises
    ------
    ArtworkError
        If the artwork cannot be taken apart, if no size within the tolerance comes out whole (the nearest are named),
        or if the pieces of its field have no room.
    """
    apart = taken_apart(turned(artwork, design.turn), rug, design, layout)
    parts, knot_px = apart.parts, apart.knot_px
    _check_field(parts, layout)
    if layout.field == "scale":
        parts = Parts(parts.bands, parts.field, None, None)
    if rug.shape in ("ellipse", "octagon"):
        return _relaid_round(apart, parts, rug, scaled=layout.medallion == "scale")
    plan = planned(parts, _ordered_knots(rug), knot_px, layout.tolerance, _told(layout))
    if isinstance(plan, Unmet):
        raise ArtworkError(unmet_words(plan, rug.density))
    scaled = layout.medallion == "scale"
    if not has_room(apart.drawing, parts, plan, scaled=scaled):
        raise ArtworkError(no_room_words(plan, _nearest_room(apart, parts, rug, layout), rug.density))
    corners = Corners(turned=layout.corner == "turned" or layout.module, module=layout.module)
    picture = composed(apart.drawing, parts, plan, _px_of(plan), corners, scaled=scaled)
    new = rug_of(rug, plan)
    placement = evenly_placed(0, 0, picture.height, picture.width, plan.rows, plan.columns)
    return Relaid(Placed(picture, placement, _fit_words(rug, new)), new, parts, plan, remarks_on(parts, plan, rug))


def _nearest_room(apart: Apart, parts: Parts, rug: Rug, layout: Layouting) -> Plan | None:
    """Return the plan of the nearest larger size in which all parts have room, or None: wider, longer, or both."""
    rows, columns = _ordered_knots(rug)
    for step in range(1, ROOM_STEPS + 1):
        grown = 1 + step * ROOM_STEP
        for long, wide in ((1.0, grown), (grown, 1.0), (grown, grown)):
            grid = rows * long, columns * wide
            plan = planned(parts, grid, apart.knot_px, layout.tolerance, _told(layout))
            if isinstance(plan, Plan) and has_room(apart.drawing, parts, plan, scaled=layout.medallion == "scale"):
                return plan
    return None


def _ordered_knots(rug: Rug) -> tuple[float, float]:
    """Return the rows and the columns that the ordered size would take, which need not be whole."""
    return float(rug.length_mm / rug.density.knot_height_mm), float(rug.width_mm / rug.density.knot_width_mm)


def _told(layout: Layouting) -> Told:
    """Return what the order tells of borders."""
    ways = ("exact", *(way for way in ("ground", "repeats") if way in layout.give))
    return Told(layout.corner == "blocks", layout.module, ways, "borders" in layout.give)  # type: ignore[arg-type]


def _px_of(plan: Plan) -> int:
    """Return how many pixels a knot is drawn with."""
    px = MOST_PX
    while px > LEAST_PX and plan.rows * plan.columns * px * px > MOST_PIXELS:
        px -= 1
    return px


def _relaid_round(apart: Apart, parts: Parts, rug: Rug, *, scaled: bool) -> Relaid:
    """Return a design laid anew for a rug that is no rectangle: bands along its outline, the field within them."""
    density = rug.density
    mm_per_px = float(density.knot_height_mm) / apart.knot_px[0], float(density.knot_width_mm) / apart.knot_px[1]
    outline = outline_of_rug(rug)
    rings = rings_of(parts, outline, mm_per_px)
    plan = round_plan(rings, rug, apart.knot_px)
    if min(plan.field) < 2:
        raise ArtworkError(say("the borders leave no field in this size; order a larger one, or give narrower borders"))
    kept = within(parts, plan, rug, outline, rings)
    px = _px_of(plan)
    canvas = Canvas(apart.drawing, plan.rows * px, plan.columns * px, px)
    deep, wide = ((knots - field) // 2 for knots, field in zip((plan.rows, plan.columns), plan.field, strict=True))
    into = slice(deep, deep + plan.field[0]), slice(wide, wide + plan.field[1])
    beyond = depth_of_knots(outline, (plan.rows, plan.columns))[into] < (rings[-1].end_mm if rings else 0.0)
    lay_field(canvas, kept, into, plan, scaled=scaled, whole=True, beyond=beyond)
    lay_rings(canvas, rings, outline, mm_per_px)
    picture = canvas.artwork
    placement = evenly_placed(0, 0, picture.height, picture.width, plan.rows, plan.columns)
    words = say("The design is laid anew for this outline: its bands go round it, and their repeats are whole.")
    remarks = round_remarks(rings, parts, kept, plan)
    return Relaid(Placed(picture, placement, words), rug, kept, plan, remarks)


def _check_field(parts: Parts, layout: Layouting) -> None:
    """Refuse a way to lay the field that the drawing does not allow."""
    plain = parts.pieces is not None and parts.tile is None
    if layout.field == "extend" and not plain:
        raise ArtworkError(
            say("[layout] field = 'extend' needs pieces on plain ground, and this is not plain; use 'scale'")
        )
    if layout.field == "repeat" and parts.lattice is None and parts.tile is None:
        raise ArtworkError(
            say("[layout] field = 'repeat' needs a field that repeats, and this one does not; use 'scale'")
        )


def rug_of(rug: Rug, plan: Plan) -> Rug:
    """Return the rug in the size that the plan gives."""
    if (rug.columns, rug.rows) == (plan.columns, plan.rows):
        return rug
    width, length = plan.columns * rug.density.knot_width_mm, plan.rows * rug.density.knot_height_mm
    return rug.model_copy(update={"width_mm": width, "length_mm": length})


def _fit_words(rug: Rug, new: Rug) -> str:
    if new is rug:
        return say("The design is laid anew for this size.")
    return say(
        "The design is laid anew for this size; so that its repeats are whole, the rug measures {width} x {length}.",
        width=cm_words(new.width_mm),
        length=cm_words(new.length_mm),
    )
