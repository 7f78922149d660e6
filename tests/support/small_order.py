"""A rug of a few knots that tests order over and over, with its card, its rug file and its artwork."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
from PIL import Image

CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\n"
_RUG = """[rug]
name = "{title}"
size = "{size}"
density = "40x50 per dm"
[design]
artwork = "{artwork}"
[yarns]
card = "wool.csv"
"""
_MADDER, _INDIGO, _IVORY, _OLIVE = (160, 40, 32), (32, 44, 96), (240, 232, 216), (112, 112, 48)
#: A rug file for two weavers and a rug with a border, a field and a medallion.
RUG = _RUG.format(title="Small rug", size="12x16 cm", artwork="art.png") + "[loom]\nweavers = 2\n"


def draw_art(path: Path) -> None:
    """Draw a rug with a border, a field and a round medallion, at 16 pixels a centimetre."""
    height, width = 16 * 16, 12 * 16
    rows, columns = np.mgrid[:height, :width]
    art = np.full((height, width, 3), _MADDER, np.uint8)
    border = np.minimum.reduce([rows, columns, height - 1 - rows, width - 1 - columns])
    art[border < 24] = _INDIGO
    art[(border >= 16) & (border < 20)] = _IVORY
    art[np.hypot(rows - 127.5, columns - 95.5) < 40] = _IVORY
    Image.fromarray(art).save(path)


def draw_blocks(path: Path, seed: int) -> None:
    """Draw blocks of the card's four colours."""
    colours = np.array([_MADDER, _INDIGO, _IVORY, _OLIVE], np.uint8)
    blocks = np.random.default_rng(seed).integers(0, 4, (16, 12))
    Image.fromarray(colours[np.kron(blocks, np.ones((20, 20), int))]).save(path)


def small_rug(folder: Path) -> Path:
    """Write the rug file `RUG` with its card and its artwork, and return it."""
    (folder / "wool.csv").write_text(CARD)
    draw_art(folder / "art.png")
    (folder / "rug.toml").write_text(RUG)
    return folder / "rug.toml"


def order(folder: Path, name: str, seed: int, size: str = "9x12 cm", title: str = "") -> Path:
    """Write a rug file called `name`, with a card and with blocks for an artwork, and return it."""
    (folder / "wool.csv").write_text(CARD)
    draw_blocks(folder / f"{name}.png", seed)
    words = _RUG.format(title=title or name, size=size, artwork=f"{name}.png")
    (folder / f"{name}.toml").write_text(words, encoding="utf-8")
    return folder / f"{name}.toml"


def set_of(folder: Path) -> dict[str, str] | None:
    """Return the SHA-256 of each file in a folder, or None if there is no folder."""
    if not folder.exists():
        return None
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}
