"""The remark on borders of unequal width."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from chartmaker.ground.findings import Finding, Place, Severity
from chartmaker.ground.language import phrase
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.sentence import later
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap

#: A border takes up no more than this share of the rug (both sides together are about a third of the width: siti1.com).
DEEPEST = 0.25
#: A stripe is one yarn in at least this share of the knots along the middle half of its side ...
ONE_YARN = 0.9
#: ... and ends sharply: two lines on, the yarn is down to this share or less. Anything else is open ground.
LEFT_OVER = 0.5
#: How far rounding to whole knots may shift an edge between opposite sides, in knots.
ROUNDING_KNOTS = 1
#: A side may differ from an end by this share of its width, and by a knot of each, before anyone notices (common
#: practice).
UNSEEN_SHARE = 0.08
#: A side more than this many times as wide as the other is a different design, not an unequal border (common practice).
MOST_TIMES = 2.0


@dataclass(frozen=True)
class Stripe:
    """A stripe of the border: its yarn, and its end, in knots from the edge."""

    yarn: int
    end: int


@dataclass(frozen=True)
class Side:
    """One side of the rug seen from its edge inwards."""

    name: str
    knot_mm: float
    stripes: tuple[Stripe, ...]


def stripes_of(lines: KnotArray) -> tuple[Stripe, ...]:
    """Return the stripes along a side, outermost first.

    Parameters
    ----------
    lines : ndarray of uint16, shape (lines, cells along the side)
        The lines of cells from the edge inwards.
    """
    length = lines.shape[1]
    middle = lines[: max(3, int(len(lines) * DEEPEST)) + 2, length // 4 : length - length // 4]
    yarns, shares = np.empty(len(middle), dtype=int), np.empty(len(middle))
    for index, line in enumerate(middle):
        counts = np.bincount(line)
        yarns[index] = counts.argmax()
        shares[index] = counts.max() / len(line)
    found = []
    start = 0
    while start < len(middle) - 2:
        yarn = int(yarns[start])
        end = start
        while end < len(middle) and yarns[end] == yarn and shares[end] >= ONE_YARN:
            end += 1
        beyond = min(end + 1, len(middle) - 1)
        sharp = end < len(middle) - 2 and float((middle[beyond] == yarn).mean()) <= LEFT_OVER
        if end > start and yarn != NO_KNOT and sharp:
            found.append(Stripe(yarn, end))
        elif end >= len(middle) - 2:
            break
        start = max(end, start + 1)
    return tuple(found)


def sides_of(knot_map: KnotMap) -> tuple[Side, Side, Side, Side]:
    """Return the left, right, bottom and top sides."""
    knots, density = knot_map.knots, knot_map.rug.density
    wide, high = float(density.knot_width_mm), float(density.knot_height_mm)
    return (
        Side(phrase("left"), wide, stripes_of(knots.T)),
        Side(phrase("right"), wide, stripes_of(knots[:, ::-1].T)),
        Side(phrase("bottom"), high, stripes_of(knots)),
        Side(phrase("top"), high, stripes_of(knots[::-1])),
    )


def unequal_borders(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding for each pair of sides whose border stripes are the same but end at unequal widths.

    Left is compared with right, and bottom with top; sides are compared with ends only if both pairs are equal.
    """
    if knot_map.rug.shape != "rectangle":
        return
    left, right, bottom, top = sides_of(knot_map)
    opposite = [finding for pair in ((left, right), (bottom, top)) for finding in _unequal(knot_map, pair, "warning")]
    yield from opposite
    if not opposite:
        yield from _unequal(knot_map, (left, bottom), "note")


def _unequal(knot_map: KnotMap, pair: tuple[Side, Side], severity: Severity) -> Iterator[Finding]:
    one, other = pair
    for number, (a, b) in enumerate(zip(one.stripes, other.stripes, strict=False), start=1):
        if a.yarn != b.yarn:
            return
        widths_mm = a.end * one.knot_mm, b.end * other.knot_mm
        if one.knot_mm == other.knot_mm and severity == "warning":
            allowed_mm = ROUNDING_KNOTS * one.knot_mm
        else:
            allowed_mm = one.knot_mm + other.knot_mm + UNSEEN_SHARE * min(widths_mm)
        if max(widths_mm) > MOST_TIMES * min(widths_mm):
            return
        if abs(widths_mm[0] - widths_mm[1]) > allowed_mm + 1e-9:
            yarn = knot_map.yarns[a.yarn]
            yield Finding(
                later(
                    "The border is {one_width} wide at the {one} and {other_width} at the {other}, from the edge to "
                    "where stripe {number} ({code} {name}) ends.",
                    one_width=cm_words(widths_mm[0]),
                    one=later(one.name),
                    other_width=cm_words(widths_mm[1]),
                    other=later(other.name),
                    number=number,
                    code=yarn.code,
                    name=yarn.name,
                ),
                later("border, {one} and {other}", one=later(one.name), other=later(other.name)),
                severity,
                (_strip(knot_map, one.name, a.end), _strip(knot_map, other.name, b.end)),
            )
            return


def _strip(knot_map: KnotMap, name: str, deep: int) -> Place:
    rows, columns = knot_map.rows, knot_map.columns
    return {
        "left": (0, rows, 0, deep),
        "right": (0, rows, columns - deep, columns),
        "bottom": (0, deep, 0, columns),
        "top": (rows - deep, rows, 0, columns),
    }[name]
