"""A pixel on an edge is a mixture of colours that lie there, and of no other colour of the artwork."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from chartmaker.artwork.artwork import Artwork
from chartmaker.colours.labelling import label_pixels

RED, GREEN, WHITE, BLACK = (160, 44, 48), (47, 81, 60), (240, 231, 211), (29, 24, 24)
PALETTE = np.array([RED, GREEN, WHITE, BLACK], dtype=np.uint8)


def flowers(finer: int = 4) -> Image.Image:
    """Return white flowers with thin green stems on red and a black frame, made smaller as illustrators do it."""
    picture = Image.new("RGB", (300 * finer, 300 * finer), RED)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, 0, 300 * finer - 1, 300 * finer - 1), outline=BLACK, width=20 * finer)
    for number in range(25):
        x, y = ((40 + 53 * part + 0.37 * number) * finer for part in (number % 5, number // 5))
        pen.line((x, y, x + (4 + number % 5) * finer, y + 18 * finer), fill=GREEN, width=round(2.4 * finer))
        pen.ellipse((x - 6 * finer, y - 7 * finer, x + 6 * finer, y + 7 * finer), fill=WHITE)
    return picture.resize((300, 300), Image.Resampling.LANCZOS)


def test_where_three_colours_meet_no_fourth_is_seen() -> None:
    """The mixture of white, red and thin green is nearer to the black of the frame than to any two of them."""
    labels = label_pixels(Artwork(np.asarray(flowers())), PALETTE)
    inside = (slice(25, 275), slice(25, 275))
    assert not (labels.first[inside] == 3).any()
    assert (labels.first[inside] == 1).sum() > 25 * 12
    assert (labels.first[:15] == 3).all()
