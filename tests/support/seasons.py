"""A small season that tests make over and over: two designs with a card, in sizes and colourways."""

from __future__ import annotations

import hashlib
from pathlib import Path

from support.small_order import order

SEASON = """[collection]
name = "Small season"
rugs = ["*-rug.toml"]
{more}
[sizes]
of = ["6x8 cm", "3x4 cm"]
[colourways.dawn]
[colourways.dusk]
R1 = "G1"
Indigo = "Ivory"
W1 = "B1"
"""


def season(folder: Path, more: str = "", tail: str = "", designs: int = 2) -> Path:
    """Write `designs` designs with their rug files and the file of their collection, and return that file."""
    for seed in range(designs):
        order(folder, f"d{seed}-rug", seed, size="3x4 cm", title=f"Design {seed}")
    path = folder / "season.toml"
    path.write_text(SEASON.format(more=more) + tail, encoding="utf-8")
    return path


def bytes_of(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file in a folder, by its path inside it."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
