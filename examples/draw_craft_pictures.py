"""Draws the README's pictures of the rugs that are not tied knot by knot, from sets that `chartmaker make` wrote.

Run it from the project's folder, with the folders of the sets:

    chartmaker make examples/frost_rosette.toml --out frost-rosette
    chartmaker make examples/tarn_bands.toml --out tarn-bands
    python examples/draw_craft_pictures.py frost-rosette tarn-bands
"""

from __future__ import annotations

import sys
from pathlib import Path

from draw_pictures import beside, framed, save, sheet
from PIL import Image

HIGH = 560


def carving(folder: Path) -> None:
    """Draw the rug in relief, beside the carver's guide and a part of its full size."""
    proof = Image.open(folder / "proof.png").convert("RGB")
    left, top, width, height = (int(part) for part in Image.open(folder / "proof.png").text["rug"].split())
    rug = proof.crop((left, top, left + width, top + height)).resize((HIGH, HIGH), Image.Resampling.LANCZOS)
    guide = sheet(folder / "carving.pdf", 1, HIGH / 297 * 25.4)
    close = sheet(folder / "carving.pdf", 2, 25)
    x, y = close.width // 2 - 50, close.height // 2 - 50
    close = close.crop((x - HIGH // 2, y - HIGH // 2, x + HIGH // 2, y + HIGH // 2))
    save(beside([rug, framed(guide), framed(close)], gap=16), "carving.png")


def bands(folder: Path) -> None:
    """Draw the runner beside its table of bands."""
    proof = Image.open(folder / "proof.png").convert("RGB")
    left, top, width, height = (int(part) for part in Image.open(folder / "proof.png").text["rug"].split())
    fringe = height // 40
    rug = proof.crop((left, top - fringe, left + width, top + height + fringe))
    rug.thumbnail((HIGH, HIGH), Image.Resampling.LANCZOS)
    table = sheet(folder / "bands.pdf", 1, HIGH / 180 * 25.4)
    save(beside([rug, framed(table.crop((0, 0, table.width, HIGH)))], gap=30), "bands.png")


if __name__ == "__main__":
    carving(Path(sys.argv[1]))
    bands(Path(sys.argv[2]))
