"""Rugs that were never made, as records with what the store and the looms ask of them."""

from __future__ import annotations

from datetime import date
from typing import Any

from chartmaker.collection.pieces import Ordered


def yarn(
    code: str, mass_g: float, stock_g: float = 0.0, *, undyed: bool = False, srgb: str = "#a02820"
) -> dict[str, Any]:
    """Return a yarn of a record, of which a fifth more than the best estimate may be needed."""
    named = {"code": code, "name": f"Yarn {code}", "srgb": srgb, "fibre": "wool", "count": "Nm 5 x2"}
    return {**named, "mass_g": mass_g, "need_g": round(mass_g * 1.2, 1), "stock_g": stock_g, "undyed": undyed}


def piece(
    name: str = "rug",
    yarns: list[dict[str, Any]] | None = None,
    width_cm: float = 100.0,
    weaver_days: float = 10.0,
    weavers: int = 2,
    not_before: date | None = None,
) -> Ordered:
    """Return a rug of a season with these yarns and this work."""
    record = {
        "yarns": yarns or [],
        "loom_width_cm": width_cm,
        "weavers": weavers,
        "weaver_days": weaver_days,
        "weaver_days_high": round(weaver_days * 1.3, 3),
        "warp": {"count": "Ne 10 x9", "mass_g": 812.3},
        "weft": {"count": "Ne 10 x6", "mass_g": 455.8},
        "backing_cloth_m2": 0.0,
    }
    return Ordered(name, "", record, not_before)
