"""The SVG of a pattern is filled path by path and held against the map; its numbers must stand in fields of their yarn.

Only what such a drawing needs may stand in it: what could move, hide or recolour a field is refused.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import hex_of
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.readback.pdffile import UnreadableError
from chartmaker.verify.drawnyarns import Drawn
from chartmaker.verify.fullsizes import MOST_OFF
from chartmaker.verify.patterns import ExpectedPattern, yarn_differences

_SPACE = "{http://www.w3.org/2000/svg}"
#: The elements of the drawing with what each may say of itself.
_KNOWN: dict[str, set[str]] = {
    "svg": {"width", "height", "viewBox", "data-side", "data-map"},
    "title": set(),
    "g": {
        *("id", "fill", "stroke", "stroke-width", "stroke-linejoin", "stroke-dasharray", "fill-rule"),
        *("font-family", "text-anchor"),
    },
    "path": {"data-yarn", "data-number", "fill", "d"},
    "polyline": {"data-tuft-rows", "points"},
    "line": {"x1", "y1", "x2", "y2", "stroke", "stroke-width"},
    "text": {"x", "y", "fill", "stroke", "stroke-width", "paint-order", "font-size"},
}
#: Half the height of a figure, in em; how far off its field a number is looked up, in pixels of the rendering.
_HALF_EM, _NEAR_PX = 0.365, 2
#: A leader begins at the middle of its number, give or take what rounding shifts, in millimetres.
_LEADS_MM = 0.03
#: A field of so many square millimetres has a number, of letters at least so many millimetres high.
_NUMBERED_MM2, _SMALLEST_MM = 12.0, 1.0


def svg_differences(data: bytes, expected: ExpectedPattern) -> Iterator[str]:
    """Yield how a pattern's SVG differs from the map in its size, its filled paths, their codes and their numbers.

    Raises
    ------
    UnreadableError
        If it is no SVG, or holds what a pattern does not need.
    """
    root = _root_of(data)
    for side, due in (("width", expected.width_mm), ("height", expected.height_mm)):
        size = re.fullmatch(r"([\d.]+)mm", root.get(side, ""))
        if size is None or abs(float(size[1]) / due - 1) > MOST_OFF:
            yield say("its {side} is {size}, not {due:.1f} mm", side=side, size=inert(root.get(side, "")), due=due)
            return
    window = [float(each) for each in root.get("viewBox", "").split()]
    if root.get("data-map") != expected.code:
        yield say("it is not the drawing of map {map}", map=expected.code)
    due_window = 0, 0, expected.width_mm, expected.height_mm
    if len(window) != 4 or not np.allclose(window, due_window, rtol=MOST_OFF, atol=0.01):
        yield say("its drawing is not in true size")
        return
    filled, fields = np.full(expected.shape, -1, dtype=np.int32), np.full(expected.shape, -1, dtype=np.int32)
    codes = [yarn.code for yarn in expected.knot_map.yarns]
    for number, path in enumerate(root.iter(f"{_SPACE}path")):
        code, words = path.get("data-yarn", ""), path.get("data-number", "")
        if code not in codes or codes.index(code) != expected.yarn(words):
            yield say("a field of {code} has the number {words}", code=inert(code), words=inert(words))
            continue
        if path.get("fill") != hex_of(expected.knot_map.yarns[codes.index(code)].srgb):
            yield say("a field of {code} has another colour", code=code)
        inside = _inside(path.get("d", ""), expected)
        filled[inside], fields[inside] = codes.index(code), number
    yield from _numbers(root, filled, fields, expected)
    fields[fields < 0] = fields.max(initial=-1) + 1
    yield from yarn_differences(Drawn(filled, fields, expected.scale), expected)


def _root_of(data: bytes) -> ET.Element:
    """Return the drawing, if it holds nothing but what a pattern needs."""
    if b"<!" in data or b"<?xml-stylesheet" in data or b"<script" in data:
        raise UnreadableError(say("it holds what a pattern does not need"))
    try:
        root = ET.fromstring(data)
    except ET.ParseError as error:
        raise UnreadableError(say("it is not a complete SVG: {fault}", fault=inert(error))) from error
    for each in root.iter():
        known = _KNOWN.get(each.tag.removeprefix(_SPACE)) if each.tag.startswith(_SPACE) else None
        if known is None or not set(each.attrib) <= known:
            raise UnreadableError(say("it holds what a pattern does not need"))
    return root


def _numbers(
    root: ET.Element, filled: NDArray[np.int32], fields: NDArray[np.int32], expected: ExpectedPattern
) -> Iterator[str]:
    """Yield which numbers do not stand in a field of their yarn, or lead to one, and which large fields have none."""
    height, width = expected.shape
    leads = [
        tuple(float(line.get(end, "nan")) for end in ("x1", "y1", "x2", "y2")) for line in root.iter(f"{_SPACE}line")
    ]
    starts = np.array([lead[:2] for lead in leads]).reshape(-1, 2)
    told: set[int] = set()
    for text in root.iter(f"{_SPACE}text"):
        size, words = float(text.get("font-size", "0")), "".join(text.itertext())
        at = float(text.get("x", "nan")), float(text.get("y", "nan")) - _HALF_EM * size
        off = np.abs(starts - at).max(axis=1, initial=0.0)
        x, y = leads[int(off.argmin())][2:] if len(leads) and off.min() < _LEADS_MM else at
        row, column = int(y * expected.scale), int(x * expected.scale)
        near = np.s_[max(row - _NEAR_PX, 0) : row + _NEAR_PX + 1, max(column - _NEAR_PX, 0) : column + _NEAR_PX + 1]
        yarn = expected.yarn(words)
        if not (0 <= row < height and 0 <= column < width) or yarn < 0 or yarn not in filled[near]:
            yield say("the number {words} does not stand in a field of its yarn", words=inert(words))
        if 2 * _HALF_EM * size < _SMALLEST_MM or text.get("fill") in (None, "none", "#ffffff"):
            yield say("the number {words} cannot be read", words=inert(words))
        told.update(fields[near].ravel().tolist())
    sizes = np.bincount(fields[fields >= 0].ravel()) / expected.scale**2
    for field in set(np.flatnonzero(sizes > _NUMBERED_MM2).tolist()) - told:
        yield say("a field of {size:.0f} mm2 has no number", size=sizes[field])


def _inside(path: str, expected: ExpectedPattern) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pixels within a path whose parts are closed polygons: within an odd number of them."""
    from PIL import Image, ImageDraw

    (height, width), scale = expected.shape, expected.scale
    rings = [np.array(re.findall(r"[\d.e-]+", part), dtype=np.float64).reshape(-1, 2) for part in path.split("M")[1:]]
    if not rings:
        raise UnreadableError(say("a field has no outline"))
    every = np.concatenate(rings) * scale - 0.5
    left, top = np.floor(every.min(axis=0)).astype(int) - 1
    right, foot = np.ceil(every.max(axis=0)).astype(int) + 2
    if right - left > width + 8 or foot - top > height + 8:
        raise UnreadableError(say("a field reaches beyond the rug"))
    inside = np.zeros((foot - top, right - left), dtype=bool)
    for ring in rings:
        part = Image.new("1", (int(right - left), int(foot - top)))
        ImageDraw.Draw(part).polygon([(x - left, y - top) for x, y in (ring * scale - 0.5).tolist()], fill=1)
        inside ^= np.asarray(part)
    rows, columns = np.nonzero(inside)
    rows, columns = rows + top, columns + left
    known = (rows >= 0) & (rows < height) & (columns >= 0) & (columns < width)
    return rows[known], columns[known]
