"""Draws the README's pictures of the rugs that are not tied knot by knot, from sets that `chartmaker make` wrote.

Run it from the project's folder, with the folders of the sets:

    chartmaker make examples/frost_rosette.toml --out frost-rosette
    chartmaker make examples/tarn_bands.toml --out tarn-bands
    chartmaker make examples/reed_pond.toml --out reed-pond
    chartmaker pattern examples/reed_pond.toml --resolution 960x1200 --out projected.png
    python examples/draw_craft_pictures.py frost-rosette tarn-bands reed-pond projected.png
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


def tufted(folder: Path, projected: Path) -> None:
    """Draw an artwork beside its pattern and the picture of the pattern for a projector."""
    artwork = Image.open(Path(__file__).with_name("reed_pond.png")).convert("RGB")
    pattern = sheet(folder / "pattern.pdf", 1, HIGH / 1644 * 25.4)
    pattern = pattern.crop((0, 0, pattern.height * 1230 // 1644, pattern.height))
    thrown = Image.open(projected).convert("RGB")
    for picture in (artwork, thrown):
        picture.thumbnail((HIGH, HIGH), Image.Resampling.LANCZOS)
    save(beside([artwork, framed(pattern), thrown], gap=16), "pattern.png")


if __name__ == "__main__":
    carving(Path(sys.argv[1]))
    bands(Path(sys.argv[2]))
    tufted(Path(sys.argv[3]), Path(sys.argv[4]))
