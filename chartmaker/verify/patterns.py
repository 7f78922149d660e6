"""The full-size pattern and its SVG, read back: rendered, filled, and known by their numbers.

Of a rendered sheet the blue shows the edges of fields alone. What they enclose is filled with the yarn whose number
lies there, the sheets are put together and turned back to the pile side. Then each place must have the yarn of the map,
and that of the artwork where that is at hand. Nothing of those who drew it is used here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.strips import seats_of
from chartmaker.order.workshop import Workshop
from chartmaker.readback.pdffile import paper_file
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.artworks import Judged
from chartmaker.verify.drawnyarns import UNTOLD, Drawn, map_differences
from chartmaker.verify.fullsizes import MOST_OFF, FullSize, full_sheets, looked_at
from chartmaker.verify.recount.pile import is_tufted, pile_lines, ungiven, yarn_heights

#: A knot has at least this many pixels, if there is room, and the whole rug at least so many, because where fields are
#: narrow the edges on both sides must not run into one another.
_PX_PER_KNOT, _LEAST_PX = 6.0, 100_000
#: An area without a number is a fault if it is at least this large, in square millimetres.
_UNNUMBERED_MM2 = 12.0
_DARK = 200
_NUMBER = rb"(-?[\d.]+(?:e-?\d+)?)"
_FIELD = re.compile(rb"/kn-field-number <</At \[" + _NUMBER + rb" " + _NUMBER + rb"\]>> BDC(.*?)EMC", re.DOTALL)

_HEIGHT_MARK = re.compile(rb"/kn-field-(higher|lower|loop) <</At \[" + _NUMBER + rb" " + _NUMBER + rb"\]>> BDC")


@dataclass(frozen=True, eq=False)
class ExpectedPattern(FullSize):
    """What a pattern must show: the map, its size on the cloth, whether left and right are exchanged, the artwork.

    By the code of each yarn `heights_mm` are its heights, as it is tufted and as it is finished, `ungiven` says which
    of them nobody gave, and `amounts` are its share in per cent and its grams; `base_mm` is the height at which yarns
    without one of their own are tufted.
    So many `hands` tuft it, its grounds last or first, and the guide must `settle` these remarks. `code` is that of the
    whole rug's map.
    """

    mirrored: bool
    artwork: Judged | None = None
    heights_mm: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    amounts: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    ungiven: Mapping[str, tuple[bool, bool]] = field(default_factory=dict)
    base_mm: float = 0.0
    loops: frozenset[str] = frozenset()
    hands: int = 1
    ground_last: bool = True
    code: str = ""
    settle: tuple[str, ...] = ()

    def marks_of(self, yarn: int) -> set[str]:
        """Return how the number of a yarn must be marked: as tufted higher or lower than the rest, and as loops."""
        code = self.knot_map.yarns[yarn].code
        found = {"loop"} if code in self.loops else set()
        cut_mm = self.heights_mm.get(code, (self.base_mm, 0.0))[0]
        return found | ({"higher"} if cut_mm > self.base_mm else {"lower"} if cut_mm < self.base_mm else set())

    @property
    def scale(self) -> float:
        """The pixels a millimetre of the whole rug's rendering, more where the knots are small."""
        knot_mm = min(self.width_mm / self.knot_map.columns, self.height_mm / self.knot_map.rows)
        rug_mm2 = self.width_mm * self.height_mm
        wanted = max(self.px_per_mm, _PX_PER_KNOT / knot_mm, math.sqrt(_LEAST_PX / rug_mm2))
        return min(wanted, math.sqrt(self.most_pixels / rug_mm2))

    def yarn(self, words: str) -> int:
        """Return the yarn that a printed number stands for, or -1 if there is none."""
        number = int(words) if words.isascii() and words.isdecimal() and len(words) < 4 else 0
        return number - 1 if 1 <= number <= len(self.knot_map.yarns) else -1


def expected_pattern(
    knot_map: KnotMap, workshop: Workshop, artwork: Judged | None = None, whole: KnotMap | None = None
) -> ExpectedPattern:
    """Return what the pattern of a map must show, and of the artwork if at hand; an inlay is part of a `whole`."""
    ground = craft_of(knot_map.rug).ground(knot_map.rug, workshop)
    mirrored = workshop.pattern.side == "back"
    knots = knot_map.knots[knot_map.knots != NO_KNOT]
    counts = np.bincount(knots, minlength=len(knot_map.yarns)).tolist()
    tufted = knot_map
    if not is_tufted(knot_map.rug, workshop):  # an inlay is tufted into a rug that is not
        rug = knot_map.rug.model_copy(update={"technique": "tufted"})
        tufted = KnotMap(knot_map.knots, knot_map.yarns, rug)
    heights = {yarn.code: yarn_heights(yarn.code, tufted.rug, workshop)[:2] for yarn in knot_map.yarns}
    amounts = {
        line.yarn.code: (100 * line.knots / max(sum(counts), 1), line.mass_g.best)
        for line in pile_lines(tufted, workshop, counts)
    }
    size_mm = ground.loom_width_mm, ground.loom_length_mm
    base_mm = yarn_heights("", tufted.rug, workshop)[0]
    every = workshop.pile.loops
    loops = frozenset(each.code for each in knot_map.yarns if every or each.code in workshop.pattern.loops)
    code = (whole or knot_map).map_code
    unsaid = {each.code: ungiven(each.code, tufted.rug, workshop)[::2] for each in knot_map.yarns}
    pattern = ExpectedPattern(
        knot_map, *size_mm, mirrored, artwork, heights, amounts, base_mm=base_mm, loops=loops, ungiven=unsaid, code=code
    )
    return replace(pattern, hands=len(seats_of(tufted.rug, workshop)), ground_last=workshop.pattern.ground == "last")


def pattern_differences(data: bytes, expected: ExpectedPattern) -> Iterator[str]:
    """Yield how a pattern's PDF differs from the map and from the artwork."""
    pdf, cloth = paper_file(data), _Cloth(expected.shape)
    numbers: list[tuple[float, float, int]] = []
    for sheet in full_sheets(pdf):
        yield from sheet.faults(expected.code)
        if sheet.place is None:
            continue
        part, picture = looked_at(data, sheet.number, *sheet.place, expected.scale, expected.shape)
        if not cloth.laid(part, picture[..., 0] < _DARK):  # pdfium gives blue, green, red
            yield say("sheet {sheet} shows other edges than its neighbours where they overlap", sheet=sheet.number)
        marked: dict[tuple[bytes, bytes], set[str]] = {}
        for mark, *at in _HEIGHT_MARK.findall(sheet.content):
            marked.setdefault((at[0], at[1]), set()).add(mark.decode())
        for x, y, within in _FIELD.findall(sheet.content):
            words = sheet.words_in(within)
            numbers.append((float(x), float(y), expected.yarn(words)))
            if numbers[-1][2] < 0:
                yield say("sheet {sheet} has the number {words}, which no yarn has", sheet=sheet.number, words=words)
            elif marked.pop((x, y), set()) != expected.marks_of(numbers[-1][2]):
                said = say(
                    "sheet {sheet} marks a number {words} as tufted at another height", sheet=sheet.number, words=words
                )
                yield said
        if marked:
            yield say("sheet {sheet} marks heights where no number stands", sheet=sheet.number)
    missing = 1 - cloth.seen.mean()
    if missing > 1e-4:
        yield say("its sheets leave out {share:.2f} % of the rug", share=100 * missing)
    yield from _size_differences(cloth.edges, expected)
    drawn, wrong = filled_by_numbers(cloth.edges, numbers, expected)
    yield from wrong
    yield from yarn_differences(drawn, expected)


def yarn_differences(drawn: Drawn, expected: ExpectedPattern) -> Iterator[str]:
    """Yield where the yarns of a filled drawing, as it is printed, are not those of the map and of the artwork."""
    if expected.mirrored:
        drawn = Drawn(drawn.yarns[:, ::-1], drawn.fields[:, ::-1], drawn.scale)
    yield from map_differences(drawn, expected.knot_map)
    if expected.artwork is not None:
        yield from expected.artwork.differences(drawn)


class _Cloth:
    """The sheets laid together: where an edge is seen, and what is covered at all."""

    def __init__(self, shape: tuple[int, int]) -> None:
        self.edges = np.zeros(shape, dtype=bool)
        self.seen = np.zeros(shape, dtype=bool)

    def laid(self, part: Any, edges: NDArray[np.bool_]) -> bool:
        """Lay a sheet; return whether it shows the edges of those before where it lies on them, to a pixel."""
        both = _shrunk(self.seen[part], 2)
        before = self.edges[part]
        gone = both & ((before & ~grown(edges)) | (edges & ~grown(before)))
        alike = gone.sum() <= 0.01 * (both & before).sum() + 3
        self.edges[part] |= edges
        self.seen[part] = True
        return bool(alike)


def grown(bits: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return where one of nine pixels is set."""
    from scipy.ndimage import maximum_filter

    return np.asarray(maximum_filter(bits, 3))


def _shrunk(bits: NDArray[np.bool_], pixels: int) -> NDArray[np.bool_]:
    from scipy.ndimage import minimum_filter

    return np.asarray(minimum_filter(bits, 2 * pixels + 1, mode="constant"))


def _size_differences(edges: NDArray[np.bool_], expected: ExpectedPattern) -> Iterator[str]:
    """Yield where the drawing is not as large as the rug on the cloth, give or take a pixel of the rendering."""
    if not edges.any():
        yield say("it shows no edge of any field")
        return
    if (expected.knot_map.knots == NO_KNOT).any():
        return  # its outline need not reach all sides
    for axis, due in ((0, expected.height_mm), (1, expected.width_mm)):
        found = np.flatnonzero(edges.any(axis=1 - axis))
        size = (found[-1] - found[0] + 1) / expected.scale
        if abs(size - due) > MOST_OFF * due + 2 / expected.scale:
            yield say("the drawing measures {size:.1f} mm where {due:.1f} mm are due", size=size, due=due)


def filled_by_numbers(
    edges: NDArray[np.bool_],
    numbers: list[tuple[float, float, int]],
    expected: ExpectedPattern,
    numbered_mm2: float = _UNNUMBERED_MM2,
    beside: NDArray[np.bool_] | None = None,
) -> tuple[Drawn, list[str]]:
    """Return the yarn of each pixel by the number in its field, -1 where there is none, and what is wrong with them.

    Numbers are given by a point of their field and their yarn; each field of `numbered_mm2` must have one, unless it
    lies `beside` something that is drawn over the fields and parts them, and is no larger than that.
    """
    from scipy.ndimage import distance_transform_edt
    from skimage.measure import label

    areas = np.asarray(label(~edges, connectivity=1), dtype=np.int32)
    height, width = edges.shape
    yarn_of = np.full(int(areas.max()) + 1, -1, dtype=np.int32)
    wrong: list[str] = []
    nearest: Any = distance_transform_edt(edges, return_distances=False, return_indices=True)
    for x, y, yarn in numbers:
        row = min(max(int(height - y * expected.scale), 0), height - 1)
        column = min(max(int(x * expected.scale), 0), width - 1)
        if edges[row, column]:
            continue  # a field thinner than two edges, too small to be seen here
        area = areas[row, column]
        if yarn_of[area] not in (-1, yarn):
            wrong.append(
                say(
                    "two numbers stand in one field: {one} and {two}, at {x:.0f} x {y:.0f} mm",
                    one=int(yarn_of[area]) + 1,
                    two=yarn + 1,
                    x=x,
                    y=y,
                )
            )
        yarn_of[area] = yarn
    whole = areas[nearest[0], nearest[1]]
    sizes = np.bincount(areas.ravel(), minlength=len(yarn_of)) / expected.scale**2
    bare = np.flatnonzero(yarn_of < 0)[1:]  # the first are the edges
    large = sizes[bare] > numbered_mm2
    if beside is not None and beside.any():
        room = np.prod([np.ptp(along) + 1.0 for along in np.nonzero(beside)]) / expected.scale**2
        large &= ~np.isin(bare, areas[beside]) | (sizes[bare] > room)
    yarn_of[bare[~large]] = UNTOLD
    if not (expected.knot_map.knots == NO_KNOT).any():
        wrong += (say("a field of {size:.0f} mm2 has no number", size=sizes[area]) for area in bare[large][:20])
    return Drawn(yarn_of[whole], whole, expected.scale), wrong
