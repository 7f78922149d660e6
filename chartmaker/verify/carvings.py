"""The carver's guide compared with the knot map: heights and metres by their tags, lines by where they are drawn.

On a rendered sheet the grooves are red and the steps of height are blue. Each line must lie where the yarns that it is
meant for meet on the map, and there must be no groove anywhere else. The code that draws the guide is not used here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.carving import Carving, GrooveLine, carving_of
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.carve import Carve, groove_codes
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.fullsizes import CONTENT_BYTES, MOST_OFF, PLACE, SHOWN, FullSize, looked_at
from chartmaker.verify.lettering import PrintedFont
from chartmaker.verify.pdffile import PdfFile, decoded, paper_file
from chartmaker.verify.sheets import Sheet

#: A line may stray this many knots from the edges that it follows; the gaps between its dashes are this wide, in mm.
_OFF_KNOTS, _GAP_MM = 1.3, 2.0
#: This share of a line must lie where it should, and this share of an edge must have its line (small fields have none).
_ON_LINE, _LINED = 0.99, 0.95
#: A smooth line is between these two multiples of the sides of knots that it follows, give or take so many metres.
_SHORTEST, _LONGEST, _SPARE_M = 0.6, 1.05, 0.05
_TAGGED = re.compile(rb"/kn-(code|height|groove|metres) BMC(.*?)EMC", re.DOTALL)

Bits = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class ExpectedCarving(FullSize):
    """What a carver's guide must show: the map, what is carved, and the size that the rug has when it is carved."""

    px_per_mm: ClassVar[float] = 1.5
    most_pixels: ClassVar[int] = 12_000_000

    carving: Carving

    @property
    def knot_mm(self) -> tuple[float, float]:
        return self.width_mm / self.knot_map.columns, self.height_mm / self.knot_map.rows


def expected_carving(knot_map: KnotMap, workshop: Workshop) -> ExpectedCarving:
    """Return what the carver's guide of a map must show."""
    carving = carving_of(knot_map.yarns, knot_map.rug, workshop)
    finished, before = _sizes(knot_map, workshop)
    return ExpectedCarving(knot_map, *(before if carving.when == "before washing" else finished), carving)


def _sizes(knot_map: KnotMap, workshop: Workshop) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the size that a rug has when it is finished, and before it is washed."""
    rug = knot_map.rug
    ground = craft_of(rug).ground(rug, workshop)
    return (float(rug.woven_width_mm), float(rug.woven_length_mm)), (ground.loom_width_mm, ground.loom_length_mm)


def is_carving(sheet: Sheet) -> bool:
    """Return whether a sheet is the first of a carver's guide."""
    return any(sheet.root.find("carve-height"))


def told_carving_differences(data: bytes, knot_map: KnotMap, workshop: Workshop) -> Iterator[str]:
    """Yield how a carver's guide beside a set differs from what its own first sheet says, on the set's map.

    What is cut may have been asked for where the guide was made, so that the guide alone knows of it. Its lines must
    lie where the yarns meet that it names, in the size of the rug, and nothing can stand higher than it was shorn.
    """
    told = _told(PdfFile(data))
    plain = carving_of(knot_map.yarns, knot_map.rug, workshop.model_copy(update={"carve": Carve()}))
    codes = [yarn.code for yarn in knot_map.yarns]
    heights = dict(zip(told[b"code"], told[b"height"], strict=False))
    shorn = dict(zip(codes, plain.shorn_mm, strict=True))
    finished = {code: _height(heights.get(code, ""), most) for code, most in shorn.items()}
    grooves = []
    for name in told[b"groove"]:
        try:
            one, other = groove_codes(name)
            grooves.append(GrooveLine(name, codes.index(one), None if other is None else codes.index(other)))
        except ValueError:
            yield say("its groove {groove} names a yarn that the map does not have", groove=inert(name))
    for code, height in finished.items():
        if height > shorn[code] + 1e-6:
            yield say("it leaves {code} at {height:g} mm, higher than it is shorn", code=code, height=height)
    size = min(_sizes(knot_map, workshop), key=lambda size: abs(size[1] - _length_mm(PdfFile(data))))
    carving = replace(plain, finished_mm=tuple(finished.values()), grooves=tuple(grooves))
    yield from carving_differences(data, ExpectedCarving(knot_map, *size, carving))


def _height(words: str, otherwise: float) -> float:
    return float(words) if re.fullmatch(r"\d{1,3}(\.\d{1,4})?", words) else otherwise


def _length_mm(pdf: PdfFile) -> float:
    """Return how far up the sheets of a drawing reach."""
    found = [PLACE.search(decoded(pdf.resolved(page.get("Contents")), CONTENT_BYTES)) for page in pdf.pages()]
    windows = [[float(value) for value in place[1].split()] for place in found if place is not None]
    return max((low + high for _, low, _, high in windows), default=0.0)


def _told(pdf: PdfFile) -> dict[bytes, list[str]]:
    """Return what is printed in the fields of a guide: yarns with their heights, grooves with their metres."""
    words: dict[bytes, list[str]] = {tag: [] for tag in (b"code", b"height", b"groove", b"metres")}
    for page in pdf.pages():
        content = decoded(pdf.resolved(page.get("Contents")), CONTENT_BYTES)
        fonts = pdf.dictionary(pdf.dictionary(page.get("Resources")).get("Font"))
        for tag, within in _TAGGED.findall(content):
            shown = SHOWN.search(within)
            words[tag].append(PrintedFont(pdf, fonts.get(shown[1].decode())).read(shown[2])[0] if shown else "")
    return words


def carving_differences(data: bytes, expected: ExpectedCarving) -> Iterator[str]:
    """Yield how a carver's guide differs from the map."""
    pdf = paper_file(data)
    red, blue, both, seen = (np.zeros(expected.shape, dtype=bool) for _ in range(4))
    for sheet, page in enumerate(pdf.pages()):
        content = decoded(pdf.resolved(page.get("Contents")), CONTENT_BYTES)
        place = PLACE.search(content)
        if place is None:
            continue
        window, box = ([float(value) for value in part.split()] for part in place.groups())
        if any(abs(box[side] / window[side] - 1) > MOST_OFF for side in (2, 3)):
            yield say("sheet {sheet} is not in true size", sheet=sheet + 1)
        part, picture = looked_at(data, sheet, window, box, expected.scale, expected.shape)
        ink_blue, ink_green, ink_red = (255 - picture[..., band].astype(np.int16) for band in range(3))
        red[part] |= _is_ink(ink_blue, ink_green, ink_red)
        blue[part] |= _is_ink(ink_red, ink_green, ink_blue)
        both[part] |= _is_red_on_blue(ink_red, ink_green, ink_blue)
        seen[part] = True
    words, missing = _told(pdf), 1 - seen.mean()
    if missing > 1e-4:
        yield say("its sheets leave out {share:.2f} % of the rug", share=100 * missing)
    yield from _heights(dict(zip(words[b"code"], words[b"height"], strict=False)), expected)
    yield from _metres(dict(zip(words[b"groove"], words[b"metres"], strict=False)), expected)
    yield from _lines(red, blue, both, expected)


def _is_ink(full: NDArray[np.int16], middle: NDArray[np.int16], least: NDArray[np.int16]) -> Bits:
    """Return the pixels with some ink that takes away most of two bands of light and little of the third."""
    return np.asarray((full > 50) & (middle > 0.6 * full) & (least < 0.4 * full))


def _is_red_on_blue(red: NDArray[np.int16], green: NDArray[np.int16], blue: NDArray[np.int16]) -> Bits:
    """Return the pixels that a groove and the step of height under it share: neither band is as dark as green."""
    return np.asarray((green > 50) & (red < 0.9 * green) & (blue < 0.9 * green))


def _heights(printed: dict[str, str], expected: ExpectedCarving) -> Iterator[str]:
    for yarn, height in zip(expected.knot_map.yarns, expected.carving.finished_mm, strict=True):
        shown = printed.get(yarn.code, "")
        if shown != f"{height:g}":
            yield say("it gives {code} a height of {shown!r}, not {due:g} mm", code=yarn.code, shown=shown, due=height)


def _metres(printed: dict[str, str], expected: ExpectedCarving) -> Iterator[str]:
    """Yield grooves with impossible metres: a smooth line is shorter than the sides of the knots that it follows."""
    knots = expected.knot_map.knots.astype(np.int64)
    knots[knots == NO_KNOT] = -1
    for groove in expected.carving.grooves:
        sides_mm = 0.0
        for one, other, side_mm in (
            (knots[1:], knots[:-1], expected.knot_mm[0]),
            (knots[:, 1:], knots[:, :-1], expected.knot_mm[1]),
        ):
            met = (one != other) & (one >= 0) & (other >= 0)
            pairs = np.unique(np.stack([one[met], other[met]]), axis=1, return_counts=True)
            for low, high, count in zip(*pairs[0].tolist(), pairs[1].tolist(), strict=True):
                if expected.carving.groove_at(low, high) == groove:
                    sides_mm += count * side_mm
        shown = printed.get(groove.name, "")
        metres = float(shown) if re.fullmatch(r"\d{1,6}\.\d\d", shown) else -1.0
        if not _SHORTEST * sides_mm / 1000 - _SPARE_M <= metres <= _LONGEST * sides_mm / 1000 + _SPARE_M:
            yield say(
                "it gives the groove {groove} {shown} m, and the knots have {sides:.2f} m of sides there",
                groove=groove.name,
                shown=inert(shown),
                sides=sides_mm / 1000,
            )


def _lines(red: Bits, blue: Bits, both: Bits, expected: ExpectedCarving) -> Iterator[str]:
    """Yield a fault where lines are missing, or lie where they should not; `both` is where a groove lies on a step."""
    from scipy.ndimage import distance_transform_edt

    number = len(expected.knot_map.yarns)
    cut, step = np.zeros((number + 1, number + 1), dtype=bool), np.zeros((number + 1, number + 1), dtype=bool)
    for one in range(number):
        for other in range(number):
            cut[one, other] = expected.carving.groove_at(one, other) is not None
            step[one, other] = expected.carving.finished_mm[one] != expected.carving.finished_mm[other]
    off = _OFF_KNOTS * max(expected.knot_mm) * expected.scale + 1
    grooves, steps = _edges(cut, expected), _edges(step, expected)
    if red.any() and (not grooves.any() or (distance_transform_edt(~grooves)[red] <= off).mean() < _ON_LINE):
        yield say("grooves are drawn where none is asked for")
    for due, drawn, what in (
        (grooves, red | both, say("grooves")),
        (steps, red | blue | both, say("steps of height")),
    ):
        if due.any():
            lined = (distance_transform_edt(~drawn)[due] <= off + _GAP_MM * expected.scale).mean() if drawn.any() else 0
            if lined < _LINED:
                yield say("{share:.1f} % of the {what} are not drawn", share=100 * (1 - lined), what=what)


def _edges(pairs: Bits, expected: ExpectedCarving) -> Bits:
    """Return the pixels of the rendering where two yarns meet that are among `pairs`."""
    knots = expected.knot_map.knots[::-1].astype(np.int32)
    knots[knots == NO_KNOT] = -1
    height, width = expected.shape
    row = np.minimum(np.arange(height) * len(knots) // height, len(knots) - 1)
    column = np.minimum(np.arange(width) * knots.shape[1] // width, knots.shape[1] - 1)
    shown = knots[np.ix_(row, column)]
    found = np.zeros(shown.shape, dtype=bool)
    found[1:] |= pairs[shown[1:], shown[:-1]]
    found[:, 1:] |= pairs[shown[:, 1:], shown[:, :-1]]
    return found
