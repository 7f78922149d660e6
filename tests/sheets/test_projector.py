"""The picture for a projector is read by pypng, its fields are identified by their numbers and held to the artwork."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import find_objects
from skimage.measure import label
from support.otherdecoders import by_pypng

from chartmaker.jobs.drawn import drawing_of
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.pattern import Pattern
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import from_tables
from chartmaker.order.workshop import Workshop
from chartmaker.paper.lettering import base_font
from chartmaker.sheets.pattern.projector import projector_picture
from chartmaker.yarns.yarn import Yarn

#: The size of the rug in millimetres; a pixel of the artwork is one millimetre.
WIDTH, HEIGHT = 300, 400
YARNS = tuple(Yarn(f"Y{n}", f"Yarn {n}", (60 * n, 40, 90), (20.0 * n, 0.0, 0.0)) for n in range(4))


def heron() -> np.ndarray:
    """Return a drawing without any symmetry, as the yarn of each millimetre."""
    picture = Image.new("L", (WIDTH, HEIGHT), 0)
    pen = ImageDraw.Draw(picture)
    pen.ellipse((45, 60, 165, 210), fill=2)
    pen.polygon(((170, 140), (270, 100), (185, 190)), fill=3)
    pen.rectangle((60, 250, 140, 350), fill=1)
    pen.rectangle((220, 300, 260, 340), fill=3)
    return np.asarray(picture).astype(np.int16)


def thrown(side: str, resolution: str) -> np.ndarray:
    """Return the picture as an independent decoder reads it, shape (height, width, 3)."""
    labels = heron()
    rug = Rug.model_validate({"size": "30x40 cm", "density": "25x25 per dm", "technique": "tufted", "name": "Heron"})
    knot_map = KnotMap(labels[2::4, 2::4][::-1].astype(np.uint16), YARNS, rug)
    workshop = Workshop(pattern=Pattern(side=side, resolution=resolution))  # type: ignore[arg-type]
    drawing = drawing_of(knot_map, workshop, labels)
    return by_pypng(projector_picture(drawing, workshop.pattern.projector_px))[..., :3].astype(int)


def frame_of(picture: np.ndarray) -> tuple[int, int, int, int]:
    """Return left, top, right and foot of the frame, whose lines are the longest of their colour."""
    blue = (picture[..., 2] > 200) & (picture[..., 0] < 60)
    rows, columns = (np.flatnonzero(count > 0.7 * count.max()) for count in (blue.sum(1), blue.sum(0)))
    return columns[0], rows[0], columns[-1] + 1, rows[-1] + 1


def digit(bits: np.ndarray) -> int:
    """Return the digit that the lit pixels are most like when both are stretched to the same box."""
    font = ImageFont.truetype(io.BytesIO(base_font("Vera.ttf")), 64)

    def boxed(bits: np.ndarray) -> np.ndarray:
        picture = Image.fromarray(bits).convert("L")
        return np.asarray(picture.crop(picture.getbbox()).resize((24, 36))) / 255

    def drawn(number: int) -> np.ndarray:
        picture = Image.new("1", (90, 90))
        ImageDraw.Draw(picture).text((10, 5), str(number), font=font, fill=1)
        return np.asarray(picture)

    return min(range(1, 5), key=lambda number: float(np.abs(boxed(drawn(number)) - boxed(bits)).sum()))


@pytest.mark.parametrize(("side", "resolution"), [("back", "1024x768"), ("front", "720x1280")])
def test_the_picture_is_the_artwork_in_outlines_with_numbers(side: str, resolution: str) -> None:
    """At least 99.5 % of the area lies in fields of its own yarn, as the numbers printed in them say."""
    picture = thrown(side, resolution)
    assert f"{picture.shape[1]}x{picture.shape[0]}" == resolution
    left, top, right, foot = frame_of(picture)
    scale = (right - left) / WIDTH
    assert (foot - top) / HEIGHT == pytest.approx(scale, abs=2 / HEIGHT)
    assert min(left, top, picture.shape[1] - right, picture.shape[0] - foot) >= 0.05 * min(picture.shape[:2])
    rug = picture[top:foot, left:right]
    marks = (rug[..., 2] > 200) & (rug[..., 0] < 60)
    edges = (rug.min(axis=2) == 255) | marks
    areas = np.asarray(label(~edges, connectivity=1))
    lit = (rug[..., 0] > 140) & (rug[..., 2] < 110)
    shown = np.full(areas.shape, -1)
    for number, window in enumerate(find_objects(areas), start=1):
        inside = areas[window] == number
        if inside.sum() > 400:  # the arms of the cross in the middle do not part fields
            assert (lit[window] & inside).sum() > 10
            shown[window][inside] = digit(lit[window] & inside) - 1
    rows = ((np.arange(areas.shape[0]) + 0.5) / scale).astype(int).clip(0, HEIGHT - 1)
    columns = ((np.arange(areas.shape[1]) + 0.5) / scale).astype(int).clip(0, WIDTH - 1)
    due = (heron()[:, ::-1] if side == "back" else heron())[np.ix_(rows, columns)]
    judged = shown >= 0
    assert judged.mean() > 0.95
    assert (shown == due)[judged].mean() >= 0.995


@pytest.mark.parametrize("given", ["1920", "1920 by 1080", "100x100", "99999x1080"])
def test_a_wrong_resolution_is_refused(given: str) -> None:
    from chartmaker.ground.errors import RugError

    tables: dict[str, Any] = {"rug": {"size": "30x40 cm", "density": "25x25 per dm"}, "pattern": {"resolution": given}}
    with pytest.raises(RugError, match="pixels across x down"):
        from_tables(tables, where="here")
