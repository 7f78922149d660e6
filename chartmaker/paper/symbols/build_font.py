"""Builds the symbol font knots.ttf with its table of ink: ``python chartmaker/paper/symbols/build_font.py``.

Every shape is plain geometry in a square of 1000 units. Candidates come in families, the plainest first; a candidate
is taken if, printed 2 mm wide, scanned at 150 dpi, blurred and thresholded as a copier does, it still differs enough
from every shape taken before. Their order is that of choosing: the first n of the font are n shapes far apart.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from numpy.typing import NDArray

from chartmaker.paper.symbols.copies import staying_apart

Point = tuple[float, float]
#: A closed outline: corners, with True for those that are control points of a quadratic curve.
Contour = tuple[tuple[Point, bool], ...]
Shape = tuple[Contour, ...]
Bitmap = NDArray[np.bool_]
#: Copies of shapes as 0 or 1, the last two axes (copiers, pixels).
Copies = NDArray[np.float32]

EM = 1000
SYMBOLS = 255
#: First code point of the symbols, in the private use area of Unicode.
FIRST_CODE = 0xE000
#: What two shapes must differ by after any of the copiers, as a share of the cell: 8 of its 144 pixels.
FLOOR = 8 / 144
#: The same while a sheet may be turned or mirrored, for the plain families that small cards use.
TURNED_FLOOR = 11 / 144
#: No symbol inks more of its square: in white on a dark yarn the yarn's colour must still be seen.
MOST_INK = 0.56
#: Less than this share of the cell left by a copier is a speck.
LEAST_COPY = 0.02
#: The pixels on each side of the small picture of a symbol.
LOOK_PIXELS = 8
_PIXELS = 12  # 2 mm at 150 dpi
_FINE = 6  # samples a pixel's side
_SCALE = 0.9  # of the cell, as sheets print symbols

# Geometry ---------------------------------------------------------------------------------------------------------


def polygon(*points: Point) -> Contour:
    """Return an outline of straight sides, counter-clockwise."""
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, (*points[1:], points[0]), strict=True))
    return tuple((point, False) for point in (points if area > 0 else points[::-1]))


def turned(contour: Contour, degrees: float, centre: Point = (500, 500)) -> Contour:
    """Return the outline turned about `centre`."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return tuple(
        (
            (
                centre[0] + (x - centre[0]) * c - (y - centre[1]) * s,
                centre[1] + (x - centre[0]) * s + (y - centre[1]) * c,
            ),
            k,
        )
        for (x, y), k in contour
    )


def hole(contour: Contour) -> Contour:
    """Return the outline run backwards, so that it cuts a hole."""
    return contour[::-1]


def disc(radius: float, x: float = 500, y: float = 500) -> Contour:
    """Return a circle of eight quadratic arcs."""
    points: list[tuple[Point, bool]] = []
    for eighth in range(8):
        for angle, reach, control in (
            (eighth * 45, radius, False),
            (eighth * 45 + 22.5, radius / math.cos(math.pi / 8), True),
        ):
            a = math.radians(angle)
            points.append(((x + reach * math.cos(a), y + reach * math.sin(a)), control))
    return tuple(points)


def half_disc(radius: float, facing: float) -> Contour:
    """Return the half of a circle that looks to `facing` degrees."""
    return turned(disc(radius)[:9], facing - 90)


def box(width: float, height: float, x: float = 500, y: float = 500) -> Contour:
    w, h = width / 2, height / 2
    return polygon((x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h))


def square(side: float, x: float = 500, y: float = 500) -> Contour:
    return box(side, side, x, y)


def diamond(reach: float, x: float = 500, y: float = 500) -> Contour:
    return polygon((x + reach, y), (x, y + reach), (x - reach, y), (x, y - reach))


def triangle(reach: float, facing: float = 90) -> Contour:
    points = [(500 - reach * 0.62, 500 + side) for side in (-reach, reach)]
    return turned(polygon(*points, (500 + reach * 0.98, 500)), facing)


def corner(reach: float, facing: float) -> Contour:
    """Return the half of a square cut along its diagonal, its right angle towards `facing` (45, 135...)."""
    return turned(
        polygon((500 + reach, 500 + reach), (500 - reach, 500 + reach), (500 + reach, 500 - reach)), facing - 45
    )


def plus(reach: float, arm: float, x: float = 500, y: float = 500) -> Contour:
    a, r = arm / 2, reach
    corners = [
        (a, -r),
        (a, -a),
        (r, -a),
        (r, a),
        (a, a),
        (a, r),
        (-a, r),
        (-a, a),
        (-r, a),
        (-r, -a),
        (-a, -a),
        (-a, -r),
    ]
    return polygon(*((x + dx, y + dy) for dx, dy in corners))


def cross(reach: float, arm: float) -> Contour:
    return turned(plus(reach, arm), 45)


def star(points: int, reach: float, inner: float, start: float = 90) -> Contour:
    corners = []
    for i in range(2 * points):
        angle = math.radians(start + i * 180 / points)
        r = reach if i % 2 == 0 else inner
        corners.append((500 + r * math.cos(angle), 500 + r * math.sin(angle)))
    return polygon(*corners)


def regular(sides: int, reach: float, start: float) -> Contour:
    angles = [math.radians(start + i * 360 / sides) for i in range(sides)]
    return polygon(*((500 + reach * math.cos(a), 500 + reach * math.sin(a)) for a in angles))


def tee(facing: float) -> Contour:
    stem, bar = 110, 110
    return turned(
        polygon(
            (500 - stem, 90),
            (500 + stem, 90),
            (500 + stem, 910 - 2 * bar),
            (910, 910 - 2 * bar),
            (910, 910),
            (90, 910),
            (90, 910 - 2 * bar),
            (500 - stem, 910 - 2 * bar),
        ),
        facing,
    )


def ell(facing: float, thick: float = 240) -> Contour:
    return turned(
        polygon((100, 100), (900, 100), (900, 100 + thick), (100 + thick, 100 + thick), (100 + thick, 900), (100, 900)),
        facing,
    )


def chevron(facing: float, thick: float = 320, lift: float = 0) -> Contour:
    low, high = 260 - thick / 4 + lift, 660 - thick / 4 + lift
    return turned(
        polygon((80, low), (500, high), (920, low), (920, low + thick), (500, high + thick), (80, low + thick)), facing
    )


def arrow(facing: float) -> Contour:
    return turned(polygon((500, 930), (900, 480), (620, 480), (620, 80), (380, 80), (380, 480), (100, 480)), facing)


def cup(facing: float, thick: float = 230) -> Contour:
    t = thick
    return turned(
        polygon(
            (100, 100),
            (900, 100),
            (900, 900),
            (900 - t, 900),
            (900 - t, 100 + t),
            (100 + t, 100 + t),
            (100 + t, 900),
            (100, 900),
        ),
        facing,
    )


def zed(mirrored: bool, facing: float) -> Contour:
    points = [(100, 900), (620, 900), (620, 330), (900, 330), (900, 100), (380, 100), (380, 670), (100, 670)]
    return turned(polygon(*((1000 - x if mirrored else x, y) for x, y in points)), facing)


def hourglass(facing: float) -> Contour:
    return turned(polygon((90, 90), (910, 90), (560, 500), (910, 910), (90, 910), (440, 500)), facing)


def band(y: float, thick: float, length: float = 840, facing: float = 0) -> Contour:
    """Return a bar across at height `y`, then turned."""
    return turned(box(length, thick, 500, y), facing)


# Families ---------------------------------------------------------------------------------------------------------


def plain_shapes() -> Iterator[Shape]:
    """Shapes that a weaver can name."""
    yield (disc(150),)
    yield (square(720),)
    yield (cross(570, 150),)
    yield (disc(420), hole(disc(290)))
    yield (triangle(450, 90),)
    yield (plus(420, 240),)
    yield (diamond(490),)
    yield (box(860, 250),)
    yield (box(250, 860),)
    yield (square(800), hole(square(520)))
    yield (disc(430),)
    yield (band(500, 200, 1060, 45),)
    yield (band(500, 200, 1060, -45),)
    yield (diamond(480), hole(diamond(290)))
    yield (star(4, 490, 150),)
    yield tuple(disc(150, x, y) for x, y in ((270, 270), (730, 270), (270, 730), (730, 730)))
    yield (square(360),)
    yield (plus(430, 120),)
    yield (cross(560, 300),)
    yield (corner(410, 135),)
    yield (half_disc(440, 90),)
    yield (disc(430), hole(disc(330)), disc(150))
    yield (square(840), hole(disc(240)))
    yield (square(840), hole(plus(300, 180)))
    yield (square(840), hole(diamond(330)))
    yield (band(270, 170), band(730, 170))
    yield (box(170, 840, 270), box(170, 840, 730))
    yield (tee(0),)
    yield (ell(0),)
    yield (chevron(0),)
    yield (arrow(0),)
    yield (cup(0),)
    yield (zed(False, 0),)
    yield (hourglass(0),)
    yield (star(5, 480, 200),)
    yield (regular(6, 450, 0),)
    yield (regular(8, 460, 22.5), hole(disc(250)))
    yield (triangle(450, 90), hole(turned(triangle(190, 90), 0)))
    yield tuple(square(200, x, y) for x, y in ((200, 200), (800, 200), (200, 800), (800, 800), (500, 500)))
    yield tuple(band(y, 110) for y in (170, 390, 610, 830))
    yield tuple(box(110, 840, x) for x in (170, 390, 610, 830))
    yield (square(400, 290, 290), square(400, 710, 710))
    yield (disc(430), hole(box(500, 180)))
    yield (disc(430), hole(plus(300, 150)))
    yield (diamond(480), hole(disc(170)))
    yield (square(840), hole(square(560)), square(260))
    yield tuple(disc(105, x, y) for x in (210, 500, 790) for y in (210, 500, 790))
    yield (
        plus(430, 110),
        hole(square(100)),
    )


def framed_shapes() -> Iterator[Shape]:
    """A frame or a solid with another shape in it."""
    inner = {
        "dot": lambda r: disc(r * 0.62),
        "square": lambda r: square(r * 1.05),
        "diamond": lambda r: diamond(r * 0.85),
        "plus": lambda r: plus(r * 0.86, r * 0.42),
        "cross": lambda r: cross(r * 1.0, r * 0.42),
        "across": lambda r: box(r * 1.7, r * 0.52),
        "along": lambda r: box(r * 0.52, r * 1.7),
        "rise": lambda r: band(500, r * 0.5, r * 2, 45),
        "fall": lambda r: band(500, r * 0.5, r * 2, -45),
        "up": lambda r: triangle(r * 0.8, 90),
        "down": lambda r: triangle(r * 0.8, 270),
        "left": lambda r: triangle(r * 0.8, 180),
        "right": lambda r: triangle(r * 0.8, 0),
    }
    frames = {
        "square": ((square(860), hole(square(660))), 285, (square(780),), 300),
        "disc": ((disc(450), hole(disc(350))), 265, (disc(430),), 280),
        "diamond": ((diamond(495), hole(diamond(365))), 185, (diamond(495),), 220),
        "octagon": ((regular(8, 480, 0), hole(regular(8, 370, 0))), 265, (regular(8, 450, 0),), 290),
    }
    for frame, reach, solid, cut in frames.values():
        for make in inner.values():
            yield (*frame, make(reach))
            yield (*solid, hole(make(cut)))


def filled_parts() -> Iterator[Shape]:
    """Frames of which a part is filled, and parts alone."""
    for facing in (0, 90, 180, 270):
        yield (turned(box(420, 840, 710), facing), *_frame_edge(facing))
        yield (half_disc(440, facing), disc(440), hole(disc(350)))
        yield (turned(square(420, 710, 710), facing),)
        yield (turned(polygon((80, 80), (920, 80), (920, 920), (500, 920), (500, 500), (80, 500)), facing),)
        yield (corner(420, facing + 45), square(860), hole(square(700)))
        yield (half_disc(460, facing),)
        yield (corner(420, facing + 45),)
        yield (triangle(450, facing),)
        yield (turned(box(380, 840, 710), facing),)
        yield (tee(facing),)
        yield (ell(facing),)
        yield (chevron(facing),)
        yield (chevron(facing, 190, -190), chevron(facing, 190, 190))
        yield (arrow(facing),)
        yield (cup(facing),)
        yield (turned(box(200, 840, 780), facing),)
        yield (turned(disc(230, 500, 740), facing), turned(box(840, 200, 500, 180), facing))
        yield (turned(triangle(250, 90), facing), turned(box(840, 150, 500, 120), facing))
    for facing in (0, 90):
        yield (hourglass(facing),)
        for mirrored in (False, True):
            yield (zed(mirrored, facing),)
        yield (turned(square(420, 290, 290), facing), turned(square(420, 710, 710), facing))
        yield (turned(triangle(240, 0), 0, (500, 500)),)


def _frame_edge(facing: float) -> Shape:
    return (
        turned(
            polygon((80, 80), (500, 80), (500, 190), (190, 190), (190, 810), (500, 810), (500, 920), (80, 920)), facing
        ),
    )


def barred_shapes() -> Iterator[Shape]:
    """Bars across at some of four heights, beside a disc, crossed or stepped; then turned."""
    for facing in (0, 90, 180, 270):
        for chosen in ((170,), (390,), (170, 390), (170, 610), (390, 830), (170, 390, 830), (170, 610, 830)):
            yield tuple(band(y, 130, 840, facing) for y in chosen)
        for y, x in ((250, 250), (250, 750)):
            yield (band(y, 200, 840, facing), turned(disc(170, x, 1000 - y), facing))
        yield (band(180, 180, 840, facing), turned(disc(150, 250, 620), facing), turned(disc(150, 750, 620), facing))
        yield (turned(box(200, 500, 200, 330), facing), turned(box(200, 500, 800, 670), facing))
        yield (turned(polygon((80, 80), (920, 80), (920, 250), (80, 620)), facing),)
        yield (turned(polygon((80, 80), (920, 80), (700, 500), (300, 500)), facing),)
        yield (turned(polygon((80, 80), (500, 300), (920, 80), (920, 500), (500, 920), (80, 500)), facing),)
        yield (
            turned(
                polygon(
                    (400, 80),
                    (600, 80),
                    (600, 500),
                    (900, 800),
                    (760, 920),
                    (500, 660),
                    (240, 920),
                    (100, 800),
                    (400, 500),
                ),
                facing,
            ),
        )
        yield (
            turned(
                polygon(
                    (80, 80),
                    (300, 80),
                    (300, 390),
                    (700, 390),
                    (700, 80),
                    (920, 80),
                    (920, 920),
                    (700, 920),
                    (700, 610),
                    (300, 610),
                    (300, 920),
                    (80, 920),
                ),
                facing,
            ),
        )
        yield (
            turned(
                polygon(
                    (80, 80),
                    (360, 80),
                    (360, 360),
                    (640, 360),
                    (640, 640),
                    (920, 640),
                    (920, 920),
                    (640, 920),
                    (360, 640),
                    (80, 360),
                ),
                facing,
            ),
        )
    for facing in (0, 90):
        yield (
            band(320, 110, 900, facing),
            band(680, 110, 900, facing),
            turned(box(110, 250, 500, 500), facing),
            turned(box(110, 200, 500, 165), facing),
            turned(box(110, 200, 500, 835), facing),
        )
        yield (
            turned(box(140, 380, 200, 300), facing),
            turned(box(140, 380, 500, 700), facing),
            turned(box(140, 380, 800, 300), facing),
        )


def dotted_shapes() -> Iterator[Shape]:
    """Discs at some of the nine places of a three by three grid."""
    places = [(x, y) for y in (200, 500, 800) for x in (200, 500, 800)]
    for size in (2, 3, 4, 5, 6):
        for chosen in combinations(places, size):
            yield tuple(disc(135, x, y) for x, y in chosen)


# Measuring --------------------------------------------------------------------------------------------------------


@cache  # each outline is looked at in three sizes
def _flat(contour: Contour) -> NDArray[np.float64]:
    """Return the outline as straight pieces, shape (points, 2)."""
    points: list[Point] = []
    size = len(contour)
    for i, (point, control) in enumerate(contour):
        if not control:
            points.append(point)
            continue
        before, after = contour[i - 1][0], contour[(i + 1) % size][0]
        for t in (0.25, 0.5, 0.75):
            weights = ((1 - t) ** 2, 2 * t * (1 - t), t * t)
            corners = (before, point, after)
            x, y = (sum(w * corner[axis] for w, corner in zip(weights, corners, strict=True)) for axis in (0, 1))
            points += [(x, y)]
    return np.array(points)


def covered(shape: Shape, x: NDArray[np.float64], y: NDArray[np.float64]) -> Bitmap:
    """Return whether each point lies inside the shape (non-zero winding), shape (y, x).

    Along a row, whose `x` are evenly spaced and ascend, the points up to one place lie on one side of a side of the
    outline. That place is reckoned, then put right by one where rounding has moved it.
    """
    winding = np.zeros((len(y), len(x) + 1), dtype=np.int64)
    for contour in shape:
        x1, y1 = _flat(contour).T[:, None]
        x2, y2 = np.roll(x1, -1), np.roll(y1, -1)
        row, side = np.nonzero((np.minimum(y1, y2) <= y[:, None]) & (y[:, None] < np.maximum(y1, y2)))
        x1, y1, x2, y2 = x1[0, side], y1[0, side], x2[0, side], y2[0, side]
        along = (x2 - x1) * (y[row] - y1)
        upwards = np.where(y1 < y2, 1, -1)
        place = np.ceil((x1 + along / (y2 - y1) - x[0]) / (x[1] - x[0])).astype(np.int64).clip(0, len(x))
        for step, at in ((1, place), (-1, place - 1)):
            known = (at >= 0) & (at < len(x))
            before = upwards * (along - (x[at.clip(0, len(x) - 1)] - x1) * (y2 - y1)) > 0
            place = place + np.where(known & (before == (step > 0)), step, 0)
        np.add.at(winding[:, 0], row, upwards)
        np.add.at(winding, (row, place), -upwards)
    inside: Bitmap = winding.cumsum(axis=1)[:, :-1] != 0
    return inside


def ink_share(shape: Shape, samples: int = 96) -> float:
    """Return the share of its square that the shape inks."""
    steps = (np.arange(samples) + 0.5) / samples * EM
    return float(covered(shape, steps, steps).mean())


def look(shape: Shape) -> str:
    """Return the shape as a small grey picture, a hexadecimal digit a pixel: what 100 dpi leave of a symbol of 2 mm."""
    side = (np.arange(LOOK_PIXELS * _FINE) + 0.5) / (LOOK_PIXELS * _FINE) * EM
    inked = covered(shape, side, side[::-1]).reshape(LOOK_PIXELS, _FINE, LOOK_PIXELS, _FINE).sum(axis=(1, 3))
    return "".join(f"{(int(ink) * 30 // _FINE**2 + 1) // 2:x}" for ink in inked.ravel())


def printed(shape: Shape) -> NDArray[np.float64]:
    """Return the ink of a 2 mm cell, shape (72, 72), 0 or 1; top row first."""
    steps = (np.arange(_PIXELS * _FINE) + 0.5) / (_PIXELS * _FINE)
    units = (steps - 0.5) / _SCALE * EM + EM / 2
    return covered(shape, units, units[::-1]).astype(np.float64)


def copied(fine: NDArray[np.float64]) -> Bitmap:
    """Return what copiers leave of a printed cell, shape (copiers, 12, 12).

    Each scans at 150 dpi, its pixels in step with the cell or half a pixel off, blurs by 3 x 3 binomial weights, then
    takes for black what is darker than a light or a dark setting.
    """
    copies = []
    for shift in (0, _FINE // 2):
        moved = np.pad(fine, ((shift, 0), (shift, 0)))[: fine.shape[0], : fine.shape[1]]
        ink = np.pad(moved.reshape(_PIXELS, _FINE, _PIXELS, _FINE).mean(axis=(1, 3)), 1)
        soft = (ink[:-2] + 2 * ink[1:-1] + ink[2:]) / 4
        soft = (soft[:, :-2] + 2 * soft[:, 1:-1] + soft[:, 2:]) / 4
        copies += [soft > setting for setting in (0.36, 0.5)]
    return np.array(copies)


def _turns(bitmaps: Bitmap) -> Bitmap:
    """Return the eight ways to turn or mirror a cell, shape (8, copiers, pixels); the first is upright."""
    turns = [np.rot90(side, k, axes=(1, 2)) for side in (bitmaps, bitmaps[:, :, ::-1]) for k in range(4)]
    return np.array([turn.reshape(len(bitmaps), -1) for turn in turns])


def _apart(copies: Copies, turns: Copies) -> NDArray[np.float64]:
    """Return the least share of pixels, over copiers and turns, by which each of `copies` differs from a shape.

    Parameters
    ----------
    copies : ndarray, shape (shapes, copiers, pixels), 0 or 1
    turns : ndarray, shape (turns, copiers, pixels), 0 or 1
    """
    both = np.einsum("scp,tcp->stc", copies, turns, optimize=True)
    differing = copies.sum(axis=2)[:, None] + turns.sum(axis=2)[None] - 2 * both
    apart: NDArray[np.float64] = differing.min(axis=(1, 2)) / copies.shape[2]
    return apart


def chosen_shapes() -> list[Shape]:
    """Return the shapes of the font, those first that are farthest from each other."""
    taken: list[Shape] = []
    seen: list[Copies] = []
    measured: dict[Shape, tuple[Copies, float]] = {}

    def measure(shape: Shape) -> tuple[Copies, float]:
        if shape not in measured:
            measured[shape] = (_turns(copied(printed(shape))).astype(np.float32), ink_share(shape))
        return measured[shape]

    def take(family: Iterable[Shape], floor: float, turned_too: bool) -> None:
        shapes = list(family)
        copies = np.array([measure(shape)[0][0] for shape in shapes])
        ink = np.array([measure(shape)[1] for shape in shapes])
        nearest = np.where((copies.mean(axis=2).min(axis=1) < LEAST_COPY) | (ink > MOST_INK), 0.0, 1.0)
        ways = 8 if turned_too else 1
        for turns in seen:
            nearest = np.minimum(nearest, _apart(copies, turns[:ways]))
        while len(taken) < SYMBOLS and nearest.max() >= floor:
            best = int(nearest.argmax())
            taken.append(shapes[best])
            seen.append(measure(shapes[best])[0])
            nearest = np.minimum(nearest, _apart(copies, seen[-1][:ways]))

    take(plain_shapes(), TURNED_FLOOR, True)
    take([*framed_shapes(), *filled_parts(), *barred_shapes()], TURNED_FLOOR, True)
    take([*plain_shapes(), *framed_shapes(), *filled_parts(), *barred_shapes()], TURNED_FLOOR, False)
    take([*plain_shapes(), *framed_shapes(), *filled_parts(), *barred_shapes()], FLOOR, False)
    take(dotted_shapes(), FLOOR, False)
    return taken


# The font ---------------------------------------------------------------------------------------------------------


def _glyph(shape: Shape) -> object:
    pen = TTGlyphPen(None)
    for contour in shape:
        points = [((round(x), round(y)), control) for (x, y), control in contour[::-1]]  # TrueType fills clockwise
        while points[0][1]:
            points = points[1:] + points[:1]
        pen.moveTo(points[0][0])
        for i, (point, control) in enumerate(points[1:], start=1):
            if control:
                pen.qCurveTo(point, points[(i + 1) % len(points)][0])
            elif not points[i - 1][1]:
                pen.lineTo(point)
        pen.closePath()
    return pen.glyph()


def font_bytes(shapes: Sequence[Shape]) -> bytes:
    """Return the font file: glyph 0 is blank, glyph n the n-th shape at U+E000 + n; every advance is one em."""
    names = [".notdef", *(f"knot{n:03d}" for n in range(1, len(shapes) + 1))]
    glyphs = dict(zip(names, [TTGlyphPen(None).glyph(), *map(_glyph, shapes)], strict=True))
    builder = FontBuilder(EM, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({FIRST_CODE + n: name for n, name in enumerate(names) if n})
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics({name: (EM, glyphs[name].xMin if n else 0) for n, name in enumerate(names)})
    builder.setupHorizontalHeader(ascent=EM, descent=0)
    builder.setupNameTable(
        {
            "familyName": "Knots",
            "styleName": "Regular",
            "uniqueFontIdentifier": "Knots Regular",
            "fullName": "Knots",
            "psName": "Knots",
            "version": "Version 1.000",
        }
    )
    builder.setupOS2(sTypoAscender=EM, sTypoDescender=0, usWinAscent=EM, usWinDescent=0)
    builder.setupPost(keepGlyphNames=False)
    builder.font["head"].created = builder.font["head"].modified = 0
    builder.font.recalcTimestamp = False
    stream = io.BytesIO()
    builder.save(stream)
    return stream.getvalue()


def table_text(shapes: Sequence[Shape]) -> str:
    """Return the module that holds each shape's ink, in thousandths of the em square, with its small picture."""
    ink = [round(ink_share(shape, 320) * 1000) for shape in shapes]
    lines = [", ".join(map(str, ink[i : i + 20])) for i in range(0, len(ink), 20)]
    body = "".join(f"    {line},\n" for line in lines)
    small = [look(shape) for shape in shapes]
    looks = "".join(f'    "{each}",\n' for each in small)
    apart = [str(number) for number in staying_apart(small)]
    kept = "".join(f"    {', '.join(apart[i : i + 20])},\n" for i in range(0, len(apart), 20))
    return (
        '"""The ink of each symbol of knots.ttf and what it looks like small; written by build_font.py."""\n\n'
        "#: In thousandths of the symbol's square.\n"
        f"# fmt: off\nINK: tuple[int, ...] = (\n{body})\n"
        f"#: {LOOK_PIXELS} x {LOOK_PIXELS} greys from the top row down, a hexadecimal digit each: f is all ink.\n"
        f"LOOKS: tuple[str, ...] = (\n{looks})\n"
        "#: The symbols of which no two become one on a poor copy.\n"
        f"APART: tuple[int, ...] = (\n{kept})\n"
    )


def main() -> None:
    """Write knots.ttf and table.py beside this script."""
    here = Path(__file__).parent
    shapes = chosen_shapes()
    (here / "knots.ttf").write_bytes(font_bytes(shapes))
    (here / "table.py").write_text(table_text(shapes), encoding="utf-8")


if __name__ == "__main__":
    main()
