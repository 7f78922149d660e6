"""What a master would remark on a design that is laid anew: pulled parts, heavy borders, odd proportions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say, say_n
from chartmaker.order.rug import Rug
from chartmaker.relay.counting import MOST_GIVEN
from chartmaker.relay.fields import is_as_drawn
from chartmaker.relay.parts import SIDES, Parts
from chartmaker.relay.planning import Plan
from chartmaker.relay.rings import Ring

#: Parts that are pulled by less are not remarked on: nobody sees it.
LEAST_PULLED = 0.03
#: Pulled more in one direction than in the other by so much, a round flower is an oval.
LEAST_OVAL = 0.05
#: All borders of both sides together are about a third of the width (published workshop lessons, siti1.com).
MOST_BORDER = 0.36
#: The usual length to width, down to 1.3 in large rugs (Ildiz handbook after TS 43).
USUAL = (1.3, 1.5)
#: So far may whole knots carry a rug beyond that.
RATIO_ROUNDING = 0.015
#: A medallion is out of the middle if it lies off by this share of the field.
MOST_OFF = 0.01


def remarks_on(parts: Parts, plan: Plan, rug: Rug) -> tuple[Finding, ...]:
    """Return what there is to remark on a design and on the plan that it is laid by."""
    return (
        *_given_widths(plan),
        *_pulled_sides(parts, plan),
        *_pulled_field(parts, plan),
        *_as_a_master(parts, plan, rug),
    )


def round_remarks(rings: Sequence[Ring], parts: Parts, kept: Parts, plan: Plan) -> tuple[Finding, ...]:
    """Return what there is to remark on a design that is laid round; `kept` are the parts that fit into it."""
    return (
        *_rings(rings),
        *_left_out(parts, kept),
        *_mirrored_stretch(kept, plan),
        *too_much_border(1 - plan.field[1] / plan.columns),
    )


def _rings(rings: Sequence[Ring]) -> Iterator[Finding]:
    """Yield the bands whose repeats are pulled round the outline, and those that do not repeat."""
    for number, ring in enumerate(rings, start=1):
        where = say("band {number} of the border", number=number)
        if ring.side.repeating is None and not ring.side.plain:
            yield Finding(
                say("The pattern of band {number} does not repeat, so it goes round in plain stripes.", number=number),
                where,
                "warning",
            )
        elif abs(ring.pulled) > MOST_GIVEN and ring.side.repeating is not None and not ring.side.repeating.plain:
            yield Finding(
                say(
                    "The repeats of band {number} are pulled by up to {share:.0f} % so that they go round whole.",
                    number=number,
                    share=100 * abs(ring.pulled),
                ),
                where,
                "note",
            )


def _left_out(parts: Parts, kept: Parts) -> Iterator[Finding]:
    """Yield how many pieces of the field do not fit into it."""
    had, has = (0 if each.pieces is None else len(each.pieces.pieces) for each in (parts, kept))
    if had > has:
        one = "{n} piece of the field has no room in this outline, and is left out."
        many = "{n} pieces of the field have no room in this outline, and are left out."
        yield Finding(say_n(one, many, had - has), say("field"), "note")


def _given_widths(plan: Plan) -> Iterator[Finding]:
    """Yield the bands that are a knot wider or narrower than they are drawn."""
    for number, band in enumerate(plan.bands, start=1):
        for knots, sides in zip(band.given, (say("at its top and foot"), say("at its left and right")), strict=True):
            if not knots:
                continue
            if knots > 0:
                what = say(
                    "Band {number} is a knot wider {sides}, so that repeats are whole.", number=number, sides=sides
                )
            else:
                what = say(
                    "Band {number} is a knot narrower {sides}, so that repeats are whole.", number=number, sides=sides
                )
            yield Finding(what, say("band {number} of the border", number=number), "note")


def _pulled_sides(parts: Parts, plan: Plan) -> Iterator[Finding]:
    """Yield the sides of bands that do not repeat, and so are pulled to their new length."""
    rows, columns = plan.rows, plan.columns
    for number, (band, own) in enumerate(zip(parts.bands, plan.bands, strict=True), start=1):
        rows -= own.widths["top"] + own.widths["bottom"]
        columns -= own.widths["left"] + own.widths["right"]
        pulled = []
        for side in SIDES:
            drawn, across = band.sides[side], side in ("top", "bottom")
            if drawn.repeating is None and not drawn.plain:
                knots = drawn.length / plan.knot_px[1 if across else 0]
                pulled.append((columns if across else rows) / knots - 1)
        if pulled and max(map(abs, pulled)) >= LEAST_PULLED:
            yield Finding(
                say(
                    "The pattern of band {number} does not repeat, so it is pulled by up to {share:.0f} %.",
                    number=number,
                    share=100 * max(map(abs, pulled)),
                ),
                say("band {number} of the border", number=number),
                "warning",
            )


def _pulled_field(parts: Parts, plan: Plan) -> Iterator[Finding]:
    """Yield how the field is laid if it neither repeats nor has plain ground: mirrored beside its pieces, or pulled."""
    yield from _mirrored_stretch(parts, plan)
    if parts.lattice is not None or parts.pieces is not None:
        return
    down, across = plan.field
    high = down * plan.knot_px[0] / parts.field.height
    wide = across * plan.knot_px[1] / parts.field.width
    if max(abs(high - 1), abs(wide - 1)) < LEAST_PULLED:
        return
    words = {"across": 100 * (wide - 1), "along": 100 * (high - 1)}
    if abs(high / wide - 1) >= LEAST_OVAL:
        what = say(
            "The field is pulled by {across:+.0f} % across and {along:+.0f} % along: what is round in it becomes oval, "
            "and a medallion wants to be drawn anew.",
            **words,
        )
    else:
        what = say("The field is drawn larger or smaller, by {across:+.0f} % across and {along:+.0f} % along.", **words)
    yield Finding(what, say("field"), "warning" if abs(high / wide - 1) >= LEAST_OVAL else "note")


def _mirrored_stretch(parts: Parts, plan: Plan) -> Iterator[Finding]:
    """Yield how the pattern of a field goes on that does not repeat."""
    if parts.tile is not None and parts.tile.mirrored and not is_as_drawn(parts, plan):
        yield Finding(
            say(
                "The pattern of the field does not repeat, so the stretch beside its medallion goes on as its own "
                "mirror image, every {width} x {length} knots; motifs that an edge would cut are left out, and small "
                "ones are strewn where it would be bald.",
                width=round(parts.tile.width / plan.knot_px[1]),
                length=round(parts.tile.height / plan.knot_px[0]),
            ),
            say("field"),
            "note",
        )


def too_much_border(share: float) -> Iterator[Finding]:
    """Yield that the borders of both sides take more than a usual share of the width."""
    if share > MOST_BORDER:
        yield Finding(
            say("The borders take {share:.0f} % of the width; about a third is usual.", share=100 * share),
            say("borders"),
            "note",
        )


def odd_proportions(width: float, length: float) -> Iterator[Finding]:
    """Yield that a rug is longer or shorter for its width than is usual."""
    ratio = max(width, length) / min(width, length)
    if not USUAL[0] - RATIO_ROUNDING <= ratio <= USUAL[1] + RATIO_ROUNDING:
        yield Finding(
            say(
                "The rug is {ratio:.2f} times as long as it is wide; {low} to {high} is usual for a rug with a field.",
                ratio=ratio,
                low=USUAL[0],
                high=USUAL[1],
            ),
            say("whole rug"),
            "note",
        )


def off_middle(parts: Parts) -> Iterator[Finding]:
    """Yield how far the medallion, or what stands for one, lies off the middle of its field: once, for the worst."""
    offs = [
        (
            (piece.top + piece.bottom - parts.field.height) / 2 / parts.field.height,
            (piece.left + piece.right - parts.field.width) / 2 / parts.field.width,
        )
        for piece in (parts.pieces.pieces if parts.pieces is not None else ())
        if piece.is_medallion
    ]
    down, across = max(offs, key=lambda off: max(map(abs, off)), default=(0.0, 0.0))
    if max(abs(down), abs(across)) <= MOST_OFF:
        return
    yield Finding(
        say(
            "The medallion does not lie in the middle of the field as it is drawn: it is off by {across:.1f} % of the "
            "field's width and {along:.1f} % of its length.",
            across=100 * abs(across),
            along=100 * abs(down),
        ),
        say("field"),
        "warning",
    )


def _as_a_master(parts: Parts, plan: Plan, rug: Rug) -> Iterator[Finding]:
    """Yield what is unusual in the rug as a whole."""
    yield from too_much_border(1 - plan.field[1] / plan.columns)
    width, length = plan.columns * rug.density.knot_width_mm, plan.rows * rug.density.knot_height_mm
    yield from odd_proportions(float(width), float(length))
    yield from off_middle(parts)
