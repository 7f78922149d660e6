"""The numbers of fields on a drawing in full size, with the leaders to those that stand beside their fields."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from chartmaker.outlines.numbers import Place
from chartmaker.outlines.windows import further_places
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import MIDDLE_EM, Sheet
from chartmaker.paper.operators import Colour
from chartmaker.sheets.pattern.drawing import Drawing
from chartmaker.sheets.pattern.tiling import Tile

#: The height of a capital, in em of the base font.
CAPITAL_EM = 2 * MIDDLE_EM
#: A leader begins so far from the number's box, in millimetres.
_AIR_MM = 0.4


def further_numbers(
    drawing: Drawing, tiles: tuple[Tile, ...], words_of: Callable[[int], str]
) -> dict[Tile, tuple[Place, ...]]:
    """Return for each sheet the places of fields that show on it and have their number on another.

    `words_of` gives what is printed in a field, by its place among the fields.
    """
    if len(tiles) == 1:
        return {tiles[0]: ()}
    windows = [(tile.left_mm, tile.low_mm, tile.right_mm, tile.high_mm) for tile in tiles]
    return dict(zip(tiles, further_places(drawing.outlines, windows, words_of), strict=True))


def draw_leaders(
    sheet: Sheet,
    tile: Tile,
    places: Iterable[Place],
    words_of: Callable[[Place], str],
    colour: Colour,
    width_mm: float = 0.2,
) -> None:
    """Draw a leader from each number beside its field to a point within it, to be called before edges are drawn."""
    for place in places:
        if place.has_leader and tile.shows(place.x_mm, place.y_mm):
            begin = _beside(sheet, place, words_of(place))
            if begin is not None:
                sheet.line(*begin, place.at_x_mm, place.at_y_mm, width_mm, colour=colour)
            sheet.box(place.at_x_mm - 0.4, place.at_y_mm - 0.4, 0.8, 0.8, fill=colour, edge=None)


def _beside(sheet: Sheet, place: Place, words: str) -> tuple[float, float] | None:
    """Return where a leader leaves the box of its number; None if the field's point lies within that box."""
    wide = sheet.book.lettering.width(words) * place.height_mm / CAPITAL_EM
    half = np.array([wide, place.height_mm]) / 2 + _AIR_MM
    way = np.array([place.at_x_mm - place.x_mm, place.at_y_mm - place.y_mm])
    with np.errstate(divide="ignore"):
        share = float((half / np.abs(way)).min())
    return None if share >= 1 else (place.x_mm + float(way[0]) * share, place.y_mm + float(way[1]) * share)


def draw_numbers(
    sheet: Sheet, tile: Tile, places: Iterable[Place], words_of: Callable[[Place], str], colour: Colour, tag: str
) -> None:
    """Print what stands in the fields of this sheet, each found by its `tag` with the point of its field."""
    x, y = tile.origin_mm
    for place in places:
        if tile.shows(place.x_mm, place.y_mm):
            size_pt = place.height_mm / CAPITAL_EM * POINTS_PER_MM
            with sheet.tagged(tag, {"At": (place.at_x_mm, place.at_y_mm)}):
                low = y + place.y_mm - place.height_mm / 2
                sheet.text(x + place.x_mm, low, words_of(place), size_pt, colour=colour, align="centre")


#: What a mark at a number says of how its field is tufted, as against the rest of the rug.
HIGHER, LOWER, LOOP = "field-higher", "field-lower", "field-loop"
#: Bars stand so far from a number, and a ring beside it is so large, in heights of a capital.
_BAR_OFF, _RING_OFF, _RING = 0.22, 0.42, 0.22
_BAR_MM = 0.35


def draw_height_marks(
    sheet: Sheet,
    tile: Tile,
    places: Iterable[Place],
    words_of: Callable[[Place], str],
    marks_of: Callable[[Place], frozenset[str]],
    colour: Colour,
) -> None:
    """Draw a bar over or under numbers whose fields are tufted higher or lower, and a ring beside those of loops."""
    left, low = tile.origin_mm
    for place in places:
        marks = marks_of(place) if tile.shows(place.x_mm, place.y_mm) else frozenset()
        x, y, high = left + place.x_mm, low + place.y_mm, place.height_mm
        half = sheet.book.lettering.width(words_of(place)) * high / CAPITAL_EM / 2
        for mark in sorted(marks):
            with sheet.tagged(mark, {"At": (place.at_x_mm, place.at_y_mm)}):
                if mark == LOOP:
                    sheet.ring(x + half + _RING_OFF * high, y, _RING * high, colour=colour, line_mm=_BAR_MM)
                else:
                    at = y + (high / 2 + _BAR_OFF * high) * (1 if mark == HIGHER else -1)
                    sheet.line(x - half, at, x + half, at, _BAR_MM, colour=colour)
