"""All that a set rests on, as one hash: it changes if the set would change, and only then."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from chartmaker import __version__
from chartmaker.artwork.masks import mask_bytes
from chartmaker.artwork.raster import pixels_said
from chartmaker.artwork.reading import artwork_bytes
from chartmaker.ground.plaintext import json_text
from chartmaker.jobs.reading import read_font
from chartmaker.order.rugfile import RugFile
from chartmaker.yarns.card import card_bytes


@dataclass
class Inputs:
    """The SHA-256 of each file that orders name, and the pixels of each artwork; each file is read once per run."""

    _known: dict[Path, tuple[str, int]] = field(default_factory=dict)

    def artwork(self, order: RugFile) -> tuple[str, int]:
        """Return the SHA-256 of the artwork and the number of its pixels."""
        if order.artwork is None:
            return "", 0
        if order.artwork not in self._known:
            data = artwork_bytes(order.artwork)
            self._known[order.artwork] = hashlib.sha256(data).hexdigest(), pixels_said(data)
        return self._known[order.artwork]

    def card(self, order: RugFile) -> str:
        """Return the SHA-256 of the yarn card, empty if there is none."""
        if order.card is None:
            return ""
        if order.card not in self._known:
            self._known[order.card] = hashlib.sha256(card_bytes(order.card)).hexdigest(), 0
        return self._known[order.card][0]

    def masks(self, order: RugFile) -> list[str]:
        """Return the SHA-256 of the masks of the order's regions, in their order."""
        for number, path in order.masks.items():
            if path not in self._known:
                self._known[path] = hashlib.sha256(mask_bytes(path, number)).hexdigest(), 0
        return [self._known[path][0] for path in order.masks.values()]

    def font(self, order: RugFile) -> str:
        """Return the SHA-256 of the font, empty if there is none."""
        name = order.workshop.chart.font
        if name is None:
            return ""
        path = order.folder / name
        if path not in self._known:
            data = read_font(order.workshop, order.folder)
            self._known[path] = hashlib.sha256(data or b"").hexdigest(), 0
        return self._known[path][0]


def settings_of(order: RugFile) -> dict[str, Any]:
    """Return all that an order says except the names of files, which may differ on another machine."""
    tables = {"rug": order.rug, "design": order.design, "yarns": order.yarns, "workshop": order.workshop}
    said: dict[str, Any] = {
        name: table.model_dump(mode="json", by_alias=True, exclude_unset=True) for name, table in tables.items()
    }
    for table, key in (("design", "artwork"), ("yarns", "card")):
        said[table].pop(key, None)
    said["workshop"].get("chart", {}).pop("font", None)
    if order.regions:
        regions = (region.model_dump(mode="json", exclude_unset=True) for region in order.regions)
        said["regions"] = [{**region, "mask": None} if "mask" in region else region for region in regions]
    return said


def settings_hash(order: RugFile) -> str:
    """Return the SHA-256 of the settings of an order."""
    return hashlib.sha256(json_text(settings_of(order)).encode("ascii")).hexdigest()


def rests_on(order: RugFile, swaps: tuple[tuple[str, str], ...], kind: str, inputs: Inputs) -> str:
    """Return the hash of everything that the set of `order` rests on.

    Parameters
    ----------
    order : RugFile
        The order, with the title that is printed as the rug's name.
    swaps : tuple of (str, str)
        The colourway.
    kind : str
        Which files are written.
    inputs : Inputs

    Raises
    ------
    ChartmakerError
        If one of the files cannot be read.
    """
    record = {
        "chartmaker": __version__,
        "artwork": [inputs.artwork(order)[0], order.artwork.name if order.artwork else ""],
        "card": inputs.card(order),
        "font": inputs.font(order),
        **({"masks": inputs.masks(order)} if order.masks else {}),
        "settings": settings_of(order),
        "colourway": [list(pair) for pair in swaps],
        "set": kind,
    }
    return hashlib.sha256(json_text(record).encode("ascii")).hexdigest()
