"""The yarns of a card as records for programs."""

from __future__ import annotations

from typing import Any

from chartmaker.ground.colour import hex_of
from chartmaker.yarns.yarn import Yarn


def card_yarn_dict(yarn: Yarn) -> dict[str, Any]:
    """Return a yarn as the card has it; what the card leaves out is None."""
    return {
        "code": yarn.code,
        "name": yarn.name,
        "srgb": hex_of(yarn.srgb),
        "lab": [round(value, 4) for value in yarn.lab],
        "fibre": yarn.fibre,
        "count": yarn.count.notation if yarn.count else None,
        "stock_g": yarn.stock_g,
        "price_per_kg": yarn.price_per_kg,
        "symbol": yarn.symbol,
    }
