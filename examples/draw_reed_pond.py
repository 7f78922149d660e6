"""Draws the artwork of the tufted example: a heron in a reed pond, its name in large letters; in clean colours.

    python examples/draw_reed_pond.py

writes `reed_pond.png` beside this script. Nothing in it mirrors, so that a pattern laid wrong side up is seen at once.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

WIDTH, HEIGHT = 900, 1200
WATER, DEEP, REED, SKY = (0x23, 0x50, 0x7A), (0x1D, 0x2E, 0x55), (0x6E, 0x7B, 0x4E), (0xEC, 0xE0, 0xC8)
BIRD, BEAK, WING, SUN = (0x9A, 0xB0, 0xBC), (0xDB, 0xAE, 0x45), (0x3A, 0x2A, 0x2C), (0xC0, 0x5A, 0x36)
#: Drawn so much larger, then every pixel takes the colour of its middle, so that no edge has mixed colours.
FINE = 3


def pond() -> Image.Image:
    """Return the artwork."""
    picture = Image.new("RGB", (WIDTH * FINE, HEIGHT * FINE), SKY)
    draw = ImageDraw.Draw(picture)

    def at(*points: tuple[float, float]) -> list[tuple[float, float]]:
        return [(x * FINE, y * FINE) for x, y in points]

    draw.ellipse(at((600, 90), (790, 280)), fill=SUN)
    draw.rectangle(at((0, 640), (WIDTH, HEIGHT)), fill=WATER)
    for y, left, right in ((760, 60, 380), (850, 430, 840), (960, 120, 520)):
        draw.rounded_rectangle(at((left, y), (right, y + 26)), radius=13 * FINE, fill=DEEP)
    for x, top, lean in ((90, 330, 40), (150, 400, -30), (215, 300, 55), (800, 380, -45), (860, 470, 20)):
        draw.polygon(at((x, 720), (x + 26, 720), (x + lean + 13, top)), fill=REED)
    draw.ellipse(at((330, 430), (640, 620)), fill=BIRD)
    draw.polygon(at((560, 500), (640, 470), (610, 250), (560, 250)), fill=BIRD)
    draw.ellipse(at((545, 200), (650, 290)), fill=BIRD)
    draw.polygon(at((640, 225), (770, 262), (636, 268)), fill=BEAK)
    draw.polygon(at((350, 470), (560, 500), (300, 610)), fill=WING)
    for x in (450, 520):
        draw.rectangle(at((x, 600), (x + 18, 790)), fill=WING)
    draw.text((90 * FINE, 1030 * FINE), "REED POND", fill=SKY, font=ImageFont.load_default(120 * FINE), stroke_width=6)
    return picture.resize((WIDTH, HEIGHT), Image.Resampling.NEAREST)


if __name__ == "__main__":
    colours = (WATER, DEEP, REED, SKY, BIRD, BEAK, WING, SUN)
    palette = Image.new("P", (1, 1))
    palette.putpalette([byte for colour in colours for byte in colour])
    clean = pond().quantize(palette=palette, dither=Image.Dither.NONE)
    clean.convert("RGB").save(Path(__file__).with_name("reed_pond.png"), optimize=True)
