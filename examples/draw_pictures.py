"""Draws the README's pictures from a set that `chartmaker make` wrote.

Run it from the project's folder:

    chartmaker make examples/quince_garden.toml --out quince-garden
    python examples/draw_pictures.py quince-garden
"""

from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2
from PIL import Image, ImageOps

PICTURES = Path(__file__).parent / "pictures"
DPI_WHOLE, DPI_CLOSE = 62, 150


def sheet(path: Path, number: int, dpi: float) -> Image.Image:
    """Return sheet `number`, counted from 1, of a PDF as a picture."""
    page = pypdfium2.PdfDocument(path)[number - 1]
    picture: Image.Image = page.render(scale=dpi / 72).to_pil().convert("RGB")
    return picture


def framed(picture: Image.Image) -> Image.Image:
    """Return the picture with a thin grey edge, so that white paper shows on a white page."""
    return ImageOps.expand(picture, 1, (170, 170, 170))


def beside(pictures: list[Image.Image], gap: int = 24) -> Image.Image:
    """Return pictures side by side on white."""
    width = sum(picture.width for picture in pictures) + gap * (len(pictures) - 1)
    whole = Image.new("RGB", (width, max(picture.height for picture in pictures)), "white")
    x = 0
    for picture in pictures:
        whole.paste(picture, (x, 0))
        x += picture.width + gap
    return whole


def save(picture: Image.Image, name: str) -> None:
    """Save a picture with 256 colours, which is plenty for a page on the screen."""
    few = picture.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    few.save(PICTURES / name, optimize=True)


def main(folder: Path) -> None:
    """Draw all pictures."""
    PICTURES.mkdir(exist_ok=True)
    chart = folder / "chart.pdf"
    save(beside([framed(sheet(chart, number, DPI_WHOLE)) for number in (1, 5)]), "chart.png")
    close = sheet(chart, 5, DPI_CLOSE)
    save(framed(close.crop((60, close.height - 1500, 1160, close.height - 700))), "chart_close.png")
    rows = sheet(folder / "rows.pdf", 12, DPI_CLOSE * 0.7)
    save(framed(rows.crop((0, 0, rows.width, rows.height * 2 // 5))), "rows.png")
    proof = Image.open(folder / "proof.png").convert("RGB")
    proof.thumbnail((1300, 1300), Image.Resampling.LANCZOS)
    proof.save(PICTURES / "proof.jpg", quality=86, optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
