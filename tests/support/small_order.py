"""An order for a rug of a few knots, to be made over and over."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
from PIL import Image

CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\n"
RUG = """[rug]
name = "{title}"
size = "{size}"
density = "40x50 per dm"
[design]
artwork = "{name}.png"
[yarns]
card = "wool.csv"
"""


def order(folder: Path, name: str, seed: int, size: str = "9x12 cm", title: str = "") -> Path:
    """Write a rug file called `name`, with a card, with blocks for an artwork; return the rug file."""
    (folder / "wool.csv").write_text(CARD)
    colours = np.array([[160, 40, 32], [32, 44, 96], [240, 232, 216], [112, 112, 48]], np.uint8)
    blocks = np.random.default_rng(seed).integers(0, 4, (16, 12))
    Image.fromarray(colours[np.kron(blocks, np.ones((20, 20), int))]).save(folder / f"{name}.png")
    (folder / f"{name}.toml").write_text(RUG.format(name=name, size=size, title=title or name), encoding="utf-8")
    return folder / f"{name}.toml"


def set_of(folder: Path) -> dict[str, str] | None:
    """Return the SHA-256 of each file of a folder, or None if it is not there."""
    if not folder.exists():
        return None
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}
