"""Draw what each control of the conversion does, side by side, on public-domain drawings and a photograph.

    python examples/draw_controls.py

Needs the repository (fixtures/drawings) with scikit-image's own photographs; writes examples/pictures/controls.png.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from skimage import data

from chartmaker.colour import lab_from_srgb8
from chartmaker.convert import convert
from chartmaker.design import Design, YarnChoice
from chartmaker.picture import Artwork
from chartmaker.rug import Rug
from chartmaker.workshop import Workshop
from chartmaker.yarn import Yarn

HERE = Path(__file__).parent
PANEL, GAP, TITLE = 300, 16, 44
INK, PAPER = (40, 36, 32), (250, 248, 244)
BLACK_AND_WHITE = ((255, 255, 255), (0, 0, 0), (120, 120, 120), (190, 190, 190))


@dataclass(frozen=True)
class Panel:
    """One picture: an artwork in so many columns under some settings; `part` is what is shown of the width, height."""

    title: str
    artwork: np.ndarray
    columns: int
    design: dict[str, object]
    colours: tuple[tuple[int, int, int], ...] = ()
    shades: int | None = None
    part: tuple[float, float, float, float] = (0, 0, 1, 1)


def drawing(name: str) -> np.ndarray:
    with Image.open(HERE.parent / "fixtures" / "drawings" / f"{name}.png") as image:
        return np.asarray(image.convert("RGB"))


def yarns_of(colours: tuple[tuple[int, int, int], ...]) -> tuple[Yarn, ...]:
    lab = lab_from_srgb8(np.array(colours, dtype=np.uint8).reshape(-1, 3))
    return tuple(
        Yarn(f"Y{number}", f"Yarn {number}", srgb, (float(own[0]), float(own[1]), float(own[2])))
        for number, (srgb, own) in enumerate(zip(colours, lab, strict=True))
    )


def woven(panel: Panel) -> Image.Image:
    """Return the conversion, one square a knot, cut to the part that is shown."""
    rows = round(panel.columns * panel.artwork.shape[0] / panel.artwork.shape[1])
    rug = Rug.model_validate({"width": f"{panel.columns} cm", "length": f"{rows} cm", "density": "10x10 per dm"})
    design = Design.model_validate(panel.design | {"fit": "stretch"})
    choice = YarnChoice(colours=panel.shades)
    result = convert(Artwork(panel.artwork), rug, yarns_of(panel.colours), design, choice, Workshop())
    colours = np.array([yarn.srgb for yarn in result.knot_map.yarns], dtype=np.uint8)
    left, top, right, bottom = (
        round(edge * side) for edge, side in zip(panel.part, (panel.columns, rows, panel.columns, rows), strict=True)
    )
    image = Image.fromarray(colours[result.knot_map.knots[::-1]][top:bottom, left:right])
    return image.resize((PANEL, PANEL), Image.Resampling.NEAREST)


def panels() -> list[list[Panel]]:
    """Return the rows of the picture."""
    rosette, celtic, cup = drawing("rosette_panel"), drawing("celtic_panel"), data.coffee()[20:380, 120:480]
    corner = (0.0, 0.0, 0.5, 0.5)
    return [
        [
            Panel("style = 'shaded': edges turn grey", rosette, 90, {"style": "shaded"}, BLACK_AND_WHITE, None, corner),
            Panel("lines = false: strokes break", rosette, 90, {"lines": False}, BLACK_AND_WHITE, None, corner),
            Panel("as it comes: flat, lines whole", rosette, 90, {}, BLACK_AND_WHITE, None, corner),
        ],
        [
            Panel("lines = false, tidy = 0: crumbs", celtic, 60, {"lines": False, "tidy": 0}, BLACK_AND_WHITE),
            Panel("lines = false, tidy = 3", celtic, 60, {"lines": False, "tidy": 3}, BLACK_AND_WHITE),
            Panel("mirror = 'both'", celtic, 60, {"mirror": "both"}, BLACK_AND_WHITE),
        ],
        [
            Panel("colours = 6, no stipple", cup, 120, {}, (), 6),
            Panel("colours = 12, no stipple", cup, 120, {}, (), 12),
            Panel("colours = 24, no stipple", cup, 120, {}, (), 24),
        ],
        [
            Panel("colours = 12, stipple = 0: calm", cup, 120, {"stipple": 0.0}, (), 12),
            Panel("colours = 12, stipple = 0.5", cup, 120, {"stipple": 0.5}, (), 12),
            Panel("colours = 12, stipple = 1: fine", cup, 120, {"stipple": 1.0}, (), 12),
        ],
    ]


def main() -> None:
    rows = panels()
    width, height = (len(rows[0]) * (PANEL + GAP) + GAP, len(rows) * (PANEL + TITLE) + GAP)
    sheet = Image.new("RGB", (width, height), PAPER)
    pen, font = ImageDraw.Draw(sheet), ImageFont.load_default(size=17)
    for row, line in enumerate(rows):
        for column, panel in enumerate(line):
            left, top = GAP + column * (PANEL + GAP), row * (PANEL + TITLE)
            pen.text((left, top + TITLE - 26), panel.title, INK, font)
            sheet.paste(woven(panel), (left, top + TITLE))
            pen.rectangle([left - 1, top + TITLE - 1, left + PANEL, top + TITLE + PANEL], outline=INK)
    out = HERE / "pictures" / "controls.png"
    out.parent.mkdir(exist_ok=True)
    sheet.quantize(128, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(out, optimize=True)
    print(out)


if __name__ == "__main__":
    main()
