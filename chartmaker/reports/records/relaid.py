"""A design that is taken apart, or laid anew in another size, as a record for programs."""

from __future__ import annotations

from typing import Any

from chartmaker.convert.repeats.frames import Box
from chartmaker.relay.parts import SIDES, Parts
from chartmaker.relay.planning import Plan, PlannedSide
from chartmaker.relay.relaid import Relaid
from chartmaker.relay.sides import BandSide


def parts_record(parts: Parts) -> dict[str, Any]:
    """Return the parts of a design, in pixels of the artwork; boxes as left, top, right, bottom."""
    lattice = None if parts.lattice is None else parts.lattice.lattice
    pieces = () if parts.pieces is None else parts.pieces.pieces
    return {
        "bands": [
            {
                "width_px": {side: band.width(side) for side in SIDES},
                "sides": {side: _side(band.sides[side]) for side in SIDES},
            }
            for band in parts.bands
        ],
        "field": {
            "box_px": _box(parts.field),
            "kind": "repeats" if lattice else "mirrored" if parts.tile else "pieces" if parts.pieces else "drawn",
            "repeat_px": None
            if lattice is None
            else {"width": lattice.width, "height": lattice.height, "shift": lattice.shift},
            "pieces": [
                {
                    "box_px": _box(Box(piece.top, piece.left, piece.bottom, piece.right), parts.field),
                    "down": piece.down,
                    "across": piece.across,
                }
                for piece in pieces
            ],
        },
    }


def _box(box: Box, within: Box | None = None) -> list[float]:
    top, left = (within.top, within.left) if within else (0.0, 0.0)
    return [left + box.left, top + box.top, left + box.right, top + box.bottom]


def _side(side: BandSide) -> dict[str, Any]:
    repeating = side.repeating
    if repeating is None:
        return {"plain": side.plain, "repeat_px": None}
    return {"plain": False, "repeat_px": repeating.period, "repeats": repeating.times, "end_px": repeating.end}


def plan_record(plan: Plan) -> dict[str, Any]:
    """Return the knots that each part of a design gets."""
    return {
        "columns": plan.columns,
        "rows": plan.rows,
        "field_columns": plan.field[1],
        "field_rows": plan.field[0],
        **({"repeats_around": list(plan.around)} if plan.around else {}),
        "bands": [
            {
                "width_knots": dict(band.widths),
                "sides": {side: _planned(own) for side, own in band.sides.items()},
            }
            for band in plan.bands
        ],
    }


def _planned(side: PlannedSide) -> dict[str, Any] | None:
    if side.count is None:
        return None
    return {
        "end_knots": side.end,
        "repeat_knots": side.period,
        "repeats": side.count.times,
        "spare_knots": side.count.spare,
        "spare_lies_in": side.count.way,
    }


def relaid_record(relaid: Relaid | None) -> dict[str, Any]:
    """Return the table ``layout`` of summary.json; nothing where no design was laid anew."""
    if relaid is None:
        return {}
    return {"layout": {**plan_record(relaid.plan), "drawn": parts_record(relaid.parts)}}
