"""The carver's guide compared with the knot map: heights and metres by their tags, lines by where they are drawn.

On a rendered sheet the grooves are red and the edges of lowered fields are blue. Each line must lie where the yarns
that it is meant for meet on the map, and none anywhere else. Ticks must stand on what is lowered, rings on loops, and
in each field its height. The code that draws the guide is not used here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.carving import GrooveLine, carving_of
from chartmaker.figures.heights import Assumed
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.order.carve import Carve, groove_codes
from chartmaker.order.workshop import Workshop
from chartmaker.readback.pdffile import PdfFile, paper_file
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.carvedrugs import Bits, ExpectedCarving, edges_of, knot_at
from chartmaker.verify.fullsizes import full_sheets, looked_at
from chartmaker.verify.patterns import grown
from chartmaker.verify.sheets import Sheet

#: A line may stray this many knots from the edges that it follows; the gaps between its dashes are this wide, in mm.
_OFF_KNOTS, _GAP_MM = 1.3, 2.0
#: This share of a line must lie where it should, and this share of an edge must have its line (small fields have none).
_ON_LINE, _LINED = 0.99, 0.95
_HEIGHT = re.compile(r"\d+(?:\.\d+)?")
_PLAIN = re.compile(r"\d{1,3}(\.\d{1,4})?")
#: A smooth line is between these two multiples of the sides of knots that it follows, give or take so many metres.
_SHORTEST, _LONGEST, _SPARE_M = 0.6, 1.05, 0.05
_MARKS = (b"assumed-cut", b"assumed-shorn", b"assumed-height")
_TAGS = (b"code", b"height", b"cut", b"shorn", b"unshorn", b"loop-pile", b"cut-pile", b"off", b"groove", b"metres")
_TAGGED = re.compile(rb"/kn-(" + rb"|".join(_MARKS + _TAGS) + rb") BMC(.*?)EMC", re.DOTALL)
_NUMBER = rb"(-?[\d.]+(?:e-?\d+)?)"
_FIELD = re.compile(rb"/kn-field-height <</At \[" + _NUMBER + rb" " + _NUMBER + rb"\]>> BDC(.*?)EMC", re.DOTALL)
_MARKED = re.compile(rb"/kn-carve-(ticks|ring) BMC(.*?)EMC", re.DOTALL)
_POINT = re.compile(_NUMBER + rb" " + _NUMBER + rb" [ml]")
#: A mark is looked up this share of a knot from its line; this share of all marks must stand on the right side, and
#: this share of the edges that need them must have one within so many millimetres.
_BESIDE_KNOTS, _RIGHT_SIDE, _MARKED_EDGE = 0.6, 0.85, 0.95
#: So many marks more may stand on the wrong side, since a few are a large share where there are few.
_SPARE_MARKS = 3
_TICKS_MM, _RINGS_MM, _TICK_LONG_MM = 7.0, 26.0, 2.4


def expected_carving(knot_map: KnotMap, workshop: Workshop) -> ExpectedCarving:
    """Return what the carver's guide of a map must show."""
    carving = carving_of(knot_map.yarns, knot_map.rug, workshop)
    finished, before = _sizes(knot_map, workshop)
    size_mm = before if carving.when == "before washing" else finished
    return ExpectedCarving(knot_map, *size_mm, carving, float(workshop.pattern.smallest_tufts))


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
    rows, grooves_told = _told(PdfFile(data))
    plain = carving_of(knot_map.yarns, knot_map.rug, workshop.model_copy(update={"carve": Carve()}))
    codes = [yarn.code for yarn in knot_map.yarns]
    told = [rows.get(code, {}) for code in codes]
    cut = tuple(_height(row.get(b"cut", ""), most) for row, most in zip(told, plain.cut_mm, strict=True))
    shorn = tuple(
        _height(row.get(b"shorn", ""), most if b"unshorn" in row else before)
        for row, most, before in zip(told, cut, plain.shorn_mm, strict=True)
    )
    finished = tuple(_height(row.get(b"height", ""), most) for row, most in zip(told, shorn, strict=True))
    grooves = []
    for name in grooves_told:
        try:
            one, other = groove_codes(name)
            grooves.append(GrooveLine(name, codes.index(one), None if other is None else codes.index(other)))
        except ValueError:
            yield say("its groove {groove} names a yarn that the map does not have", groove=inert(name))
    for code, height, most in zip(codes, finished, shorn, strict=True):
        if height > most + 1e-6:
            yield say("it leaves {code} at {height:g} mm, higher than it is shorn", code=code, height=height)
    size = min(_sizes(knot_map, workshop), key=lambda size: abs(size[1] - _length_mm(PdfFile(data))))
    loops, least = tuple(b"loop-pile" in row for row in told), float(workshop.pattern.smallest_tufts)
    assumed = tuple(Assumed(*(mark in row for mark in _MARKS)) for row in told)
    carving = replace(plain, cut_mm=cut, shorn_mm=shorn, finished_mm=finished, loops=loops, assumed=assumed)
    carving = replace(carving, grooves=tuple(grooves))
    yield from carving_differences(data, ExpectedCarving(knot_map, *size, carving, least))


def _height(words: str, otherwise: float) -> float:
    return float(words) if _PLAIN.fullmatch(words) else otherwise


def _length_mm(pdf: PdfFile) -> float:
    """Return how far up the sheets of a drawing reach."""
    windows = [sheet.place[0] for sheet in full_sheets(pdf) if sheet.place is not None]
    return max((low + high for _, low, _, high in windows), default=0.0)


def _told(pdf: PdfFile) -> tuple[dict[str, dict[bytes, str]], dict[str, str]]:
    """Return what is printed in the fields of a guide: of each yarn by its code, and the metres of each groove."""
    rows: dict[str, dict[bytes, str]] = {}
    grooves: dict[str, str] = {}
    row: dict[bytes, str] = {}
    groove = ""
    for sheet in full_sheets(pdf):
        for tag, within in _TAGGED.findall(sheet.content):
            words = sheet.words_in(within)
            if tag == b"code":
                row = rows.setdefault(words, {})
            elif tag == b"groove":
                groove = words
                grooves[groove] = ""
            elif tag == b"metres":
                grooves[groove] = words
            else:
                row[tag] = words
    return rows, grooves


def carving_differences(data: bytes, expected: ExpectedCarving) -> Iterator[str]:
    """Yield how a carver's guide differs from the map."""
    pdf = paper_file(data)
    red, blue, seen = (np.zeros(expected.shape, dtype=bool) for _ in range(3))
    marks: dict[bytes, list[_Mark]] = {b"ticks": [], b"ring": []}
    fields: list[tuple[float, float, str]] = []
    for sheet in full_sheets(pdf):
        yield from sheet.faults(expected.knot_map.map_code)
        if sheet.place is None:
            continue
        part, picture = looked_at(data, sheet.number, *sheet.place, expected.scale, expected.shape)
        ink_blue, ink_green, ink_red = (255 - picture[..., band].astype(np.int16) for band in range(3))
        red[part] |= _is_ink(ink_blue, ink_green, ink_red)
        blue[part] |= _is_ink(ink_red, ink_green, ink_blue)
        seen[part] = True
        for kind, within in _MARKED.findall(sheet.content):
            marks[kind] += _marks(kind, within)
        fields += ((float(x), float(y), sheet.words_in(within)) for x, y, within in _FIELD.findall(sheet.content))
    (rows, grooves), missing = _told(pdf), 1 - seen.mean()
    if missing > 1e-4:
        yield say("its sheets leave out {share:.2f} % of the rug", share=100 * missing)
    yield from _heights(rows, expected)
    yield from _field_heights(fields, expected)
    yield from _metres(grooves, expected)
    yield from _lines(red, blue, expected)
    yield from _side_marks(marks, expected)


@dataclass(frozen=True)
class _Mark:
    """A tick or a ring by the point of its line, or where it stands, and by the point that it speaks of, in mm."""

    x: float
    y: float
    to_x: float
    to_y: float


def _marks(kind: bytes, within: bytes) -> list[_Mark]:
    points = [(float(x), float(y)) for x, y in _POINT.findall(within)]
    if kind == b"ticks":
        return [_Mark(*one, *other) for one, other in zip(points[::2], points[1::2], strict=False)]
    x, y = (float(value) for value in np.mean(points or [(0.0, 0.0)], axis=0))
    return [_Mark(x, y, x, y)]


def _is_ink(full: NDArray[np.int16], middle: NDArray[np.int16], least: NDArray[np.int16]) -> Bits:
    """Return the pixels with some ink that takes away most of two bands of light and little of the third."""
    return np.asarray((full > 50) & (middle > 0.7 * full) & (least < 0.4 * full))


def _heights(printed: dict[str, dict[bytes, str]], expected: ExpectedCarving) -> Iterator[str]:
    """Yield which lines of the table differ from what is tied, shorn, carved and left in loops."""
    carving = expected.carving
    for number, yarn in enumerate(expected.knot_map.yarns):
        row = printed.get(yarn.code, {})
        cut, shorn, due = carving.cut_mm[number], carving.shorn_mm[number], carving.finished_mm[number]
        shown = row.get(b"height", "")
        if shown != f"{round(due, 4):g}":
            yield say("it gives {code} a height of {shown!r}, not {due:g} mm", code=yarn.code, shown=shown, due=due)
        if row.get(b"cut") != f"{round(cut, 4):g}":
            yield say("it does not say that {code} is tied {cut:g} mm high", code=yarn.code, cut=cut)
        told = (b"unshorn" in row) if cut <= shorn else row.get(b"shorn") == f"{round(shorn, 4):g}"
        if not told or (b"unshorn" in row) == (b"shorn" in row):
            yield say("it does not say that {code} is shorn to {shorn:g} mm", code=yarn.code, shorn=shorn)
        if (b"loop-pile" in row, b"cut-pile" in row) != (carving.loops[number], not carving.loops[number]):
            yield say("it does not say of {code} whether its pile is cut or in loops", code=yarn.code)
        marks = tuple(mark in row for mark in _MARKS)
        due_marks = carving.assumed[number]
        if marks != (due_marks.cut, due_marks.shorn and cut > shorn, due_marks.finished):
            yield say("it does not mark which heights of {code} nobody gave", code=yarn.code)
        off, lower = row.get(b"off", ""), shorn - due > 1e-6
        if lower != bool(_PLAIN.fullmatch(off)) or (lower and off != f"{round(shorn - due, 4):g}"):
            yield say("it does not say right how much of {code} is carved off", code=yarn.code)


def _field_heights(fields: list[tuple[float, float, str]], expected: ExpectedCarving) -> Iterator[str]:
    """Yield fields whose number is not the height of a yarn that lies there; none is needed where all are alike."""
    carving = expected.carving
    if len(set(carving.finished_mm)) > 1 and not fields:
        yield say("its fields have no heights")
    due = [  # what is lowered, or in loops, has a word or a letter beside its height, in any language
        ([f"{round(height, 4):g}"], bool(loop) or shorn - height > 1e-6)
        for height, shorn, loop in zip(carving.finished_mm, carving.shorn_mm, carving.loops, strict=True)
    ]
    wrong = 0
    for x, y, words in fields:
        found = _HEIGHT.findall(words), not _PLAIN.fullmatch(words)
        wrong += found not in [due[yarn] for yarn in _about(x, y, expected)]
    if wrong:
        yield say("{wrong} of its {fields} fields have another height", wrong=wrong, fields=len(fields))


def _asked(expected: ExpectedCarving) -> tuple[Bits, Bits]:
    """Return between which yarns there is a groove, and which lie lower than which; the last place is no yarn's."""
    number, carving = len(expected.knot_map.yarns), expected.carving
    cut, step = np.zeros((number + 1, number + 1), dtype=bool), np.zeros((number + 1, number + 1), dtype=bool)
    for one, other in np.ndindex(number, number):
        cut[one, other] = carving.groove_at(one, other) is not None
        step[one, other] = carving.lowers_at(one, other)
    return cut, step


def _about(x: float, y: float, expected: ExpectedCarving) -> list[int]:
    """Return the yarns of the knots at and about a point."""
    (row, column), knots = knot_at(x, y, expected), expected.knot_map.knots
    near = np.unique(knots[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2])
    return [yarn for yarn in near.tolist() if yarn != NO_KNOT]


def _side_marks(marks: dict[bytes, list[_Mark]], expected: ExpectedCarving) -> Iterator[str]:
    """Yield whether ticks stand elsewhere than on lowered sides, rings elsewhere than on loops, or edges lack them."""
    from scipy.ndimage import distance_transform_edt

    carving, (cut, lowers) = expected.carving, _asked(expected)
    looped = np.array([*carving.loops, False], dtype=bool)
    loop = (cut | lowers | (looped[:, None] != looped)) & (looped[:, None] | looped)
    loop[-1] = loop[:, -1] = False  # beyond the rug's own edge nothing is shorn
    for kind, pairs, yarns, within_mm, what in (
        (b"ticks", lowers, carving.lowered, _TICKS_MM, say("ticks")),
        (b"ring", loop, carving.loops, _RINGS_MM, say("rings")),
    ):
        edges, found = edges_of(pairs, expected, expected.calm), marks[kind]
        if not edges.any():
            if found and not edges_of(pairs, expected, expected.knot_map.knots).any():
                yield say("{what} are drawn where none belong", what=what)
            continue
        right = sum(_stands_on(mark, yarns, expected) for mark in found)
        if not found or right < _RIGHT_SIDE * len(found) - _SPARE_MARKS:
            yield say("{right} of {all} {what} stand on the right side", right=right, all=len(found), what=what)
        if found:
            stood = np.ones(expected.shape, dtype=bool)
            for mark in found:
                row = min(max(int(expected.shape[0] - mark.y * expected.scale), 0), expected.shape[0] - 1)
                stood[row, min(max(int(mark.x * expected.scale), 0), expected.shape[1] - 1)] = False
            reach = within_mm * expected.scale + _OFF_KNOTS * max(expected.knot_mm) * expected.scale
            beside = (distance_transform_edt(stood)[edges] <= reach).mean()
            if beside < _MARKED_EDGE:
                yield say("{share:.1f} % of the edges lack their {what}", share=100 * (1 - beside), what=what)


def _stands_on(mark: _Mark, yarns: tuple[bool, ...], expected: ExpectedCarving) -> bool:
    """Return whether a mark stands on a yarn that is meant, looked at a part of a knot from its line."""
    way = np.array([mark.to_x - mark.x, mark.to_y - mark.y])
    long = float(np.hypot(*way))
    wide, high = expected.knot_mm
    across_mm = abs(way[0]) / max(long, 1e-9) * wide + abs(way[1]) / max(long, 1e-9) * high
    far = max(long, _BESIDE_KNOTS * across_mm)
    x, y = mark.x + way[0] / max(long, 1e-9) * far, mark.y + way[1] / max(long, 1e-9) * far
    if not long:  # a ring tells no way: one of the knots about it must be meant
        return any(yarns[yarn] for yarn in _about(x, y, expected))
    place = knot_at(x, y, expected)
    there = {int(knots[place]) for knots in (expected.knot_map.knots, expected.calm)}
    return any(yarns[yarn] for yarn in there if yarn != NO_KNOT)


def _metres(printed: dict[str, str], expected: ExpectedCarving) -> Iterator[str]:
    """Yield grooves with impossible metres: a smooth line is shorter than the sides of the knots that it follows."""
    for groove in expected.carving.grooves:
        most_mm = _sides_mm(expected.knot_map.knots, groove, expected)
        least_mm = min(most_mm, _sides_mm(expected.calm, groove, expected))
        shown = printed.get(groove.name, "")
        metres = float(shown) if re.fullmatch(r"\d{1,6}\.\d\d", shown) else -1.0
        if not _SHORTEST * least_mm / 1000 - _SPARE_M <= metres <= _LONGEST * most_mm / 1000 + _SPARE_M:
            yield say(
                "it gives the groove {groove} {shown} m, and the knots have {sides:.2f} m of sides there",
                groove=groove.name,
                shown=inert(shown),
                sides=most_mm / 1000,
            )


def _sides_mm(whole: KnotArray, groove: GrooveLine, expected: ExpectedCarving) -> float:
    """Return the length of all sides of knots of a map along which a groove runs."""
    knots = whole.astype(np.int64)
    knots[knots == NO_KNOT] = -1
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
    return sides_mm


def _lines(red: Bits, blue: Bits, expected: ExpectedCarving) -> Iterator[str]:
    """Yield a fault where lines are missing, or lie where they should not.

    Where a groove runs along the edge of what is lowered, the red line stands for both.
    """
    from scipy.ndimage import distance_transform_edt

    cut, step = _asked(expected)
    off = _OFF_KNOTS * max(expected.knot_mm) * expected.scale + 1
    clear = blue & ~grown(grown(red))  # where pale lines cross a groove their inks mix
    maps = expected.knot_map.knots, expected.calm
    grooves, bare = (edges_of(each, expected, expected.calm) for each in (cut, step & ~cut))
    cuts, steps = (edges_of(each, expected, maps[0]) | edges_of(each, expected, maps[1]) for each in (cut, step))
    for drawn, asked, reach, what in (
        (red, cuts, off, say("grooves are drawn where none is asked for")),
        (clear, steps, off + _TICK_LONG_MM * expected.scale, say("fields are bounded that are not lowered")),
    ):
        if drawn.any() and (not asked.any() or (distance_transform_edt(~asked)[drawn] <= reach).mean() < _ON_LINE):
            yield what
    for due, drawn, what in ((grooves, red, say("grooves")), (bare, blue, say("edges of lowered fields"))):
        if due.any():
            lined = (distance_transform_edt(~drawn)[due] <= off + _GAP_MM * expected.scale).mean() if drawn.any() else 0
            if lined < _LINED:
                yield say("{share:.1f} % of the {what} are not drawn", share=100 * (1 - lined), what=what)
