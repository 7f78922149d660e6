"""A thin line that lies on the axis of a mirror is whole in the mirrored map, and symmetric to the knot."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw
from scipy.ndimage import label
from support.drawings import card_of, converted, picked
from support.making import SQUARE, make_rug

INKS = [(120, 30, 40), (200, 150, 60), (230, 220, 190)]
CARD = card_of(INKS)
#: Pixels of a knot.
KNOT = 10


def thread(columns: int, off: float, wide: float) -> np.ndarray:
    """Return a drawing of two discs with a thread between them, in pixels, `off` to the right of the axis."""
    width, height = columns * KNOT, 40 * KNOT
    picture = Image.new("P", (width * 4, height * 4), 0)
    pen = ImageDraw.Draw(picture)
    middle = width * 2
    for y in (8 * KNOT * 4, 32 * KNOT * 4):
        pen.ellipse((middle - 180, y - 180, middle + 179, y + 179), fill=2)
    left = round(middle + (off - wide / 2) * 4)
    pen.rectangle((left, 8 * KNOT * 4, left + round(wide * 4) - 1, 32 * KNOT * 4), fill=1)
    picture.putpalette([value for ink in INKS for value in ink])
    return np.asarray(picture.convert("RGB").resize((width, height), Image.Resampling.BOX))


@pytest.mark.parametrize("columns", [30, 31])
@pytest.mark.parametrize(("off", "wide"), [(0.0, 6.0), (0.4, 6.0), (1.2, 6.0), (1.2, 8.0), (-1.2, 6.0), (1.0, 4.0)])
def test_a_thread_on_the_axis_is_whole(columns: int, off: float, wide: float) -> None:
    """The thread shows in each row from disc to disc, as README promises of thin lines, on either kind of axis."""
    srgb = thread(columns, off, wide)
    for turned, mirror in ((False, "across"), (True, "along")):
        drawing = np.ascontiguousarray(srgb.transpose(1, 0, 2)[::-1]) if turned else srgb
        size = (40, columns) if turned else (columns, 40)
        knots = picked(converted(drawing, make_rug(*size, SQUARE), CARD, mirror=mirror))
        knots = knots[::-1].T if turned else knots
        assert (knots == knots[:, ::-1]).all()
        number = label(knots == 1, np.ones((3, 3)))[1]
        assert number == 1
        assert (knots[10:30] == 1).any(axis=1).all()
        assert (knots[10:30] == 1).sum(axis=1).max() <= 3  # two knots about the axis, or three about a middle column


@pytest.mark.parametrize("start", range(0, 20, 2))
def test_lines_that_cross_the_axis_stay_as_they_are(start: int) -> None:
    """Their image meets them there without a gap, so they need no further knot (geometry)."""
    picture = Image.new("RGB", (300 * 4, 300 * 4), INKS[0])
    ImageDraw.Draw(picture).line((4 * -20, 4 * (start - 20), 4 * 320, 4 * (start + 320)), fill=INKS[1], width=4 * 6)
    srgb = np.asarray(picture.resize((300, 300), Image.Resampling.BOX))
    plain, mirrored = (
        picked(converted(srgb, make_rug(30, 30, SQUARE), CARD, mirror=mirror, fitted=False, motifs=False))
        for mirror in ("none", "across")
    )
    assert (mirrored[:, :15] == plain[:, :15]).all()
    assert label(mirrored == 1, np.ones((3, 3)))[1] == 1
