"""The way into this folder, which makes equal motifs equal in a map of flat artwork."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.flat.cells import PIXEL, Cells, Edges, cells_of
from chartmaker.convert.flat.knotting import yarns_in_order
from chartmaker.convert.flat.labelling import OUTSIDE, Labels
from chartmaker.convert.flat.tiles import FlatKnots
from chartmaker.convert.flat.trueness import ink_shown, pure
from chartmaker.convert.motifs.asking import MOST_DRAWINGS, Asking, all_asked, shared_out
from chartmaker.convert.motifs.clusters import clusters_in
from chartmaker.convert.motifs.finding import DUST_KNOTS, Motif, Motifs, motifs_in
from chartmaker.convert.motifs.likeness import kinds_of
from chartmaker.convert.motifs.stamping import Stamp, stamped
from chartmaker.convert.motifs.strokes import strokes_of
from chartmaker.ground.engines import engine
from chartmaker.ground.memory import memory

#: Artwork with fewer pixels to a knot than this shows no motif well enough to tell it from another.
LEAST_PX = 1.5
#: A motif without an equal is made its own mirror image only if it covers at least this many knots.
LEAST_ALONE_KNOTS = 4.0
#: Kinds are shared out between processes in groups of about so many motifs, unless the artwork has so many pixels that
#: sending it takes longer.
MOTIFS_AT_ONCE, MOST_SENT_PX = 40, 8_000_000
#: Motifs are drawn equal only as long as the knots keep this share of the ink that covers most of them.
LEAST_TRUE = 0.986


def with_equal_motifs(
    flat: FlatKnots, labels: Labels, palette: ByteArray, yarn_of: NDArray[np.intp], placement: Placement
) -> FlatKnots:
    """Return flat knots in which motifs that are equal in the artwork are equal.

    This comes after the conversion, which has kept the lines, and works on the whole map at once. Repeats may be copied
    before or afterwards, because the drawing of a motif depends only on the motif and not on where it lies.

    Parameters
    ----------
    flat : FlatKnots
    labels : Labels
        The palette colour of each pixel.
    palette : ndarray of uint8, shape (colours, 3)
    yarn_of : ndarray, shape (colours,)
        The yarn of each palette colour.
    placement : Placement
    """
    cells, yarns = cells_of(placement), yarns_in_order(palette, yarn_of)
    if min(_knot_px(cells)) < LEAST_PX:
        return flat
    before, plane = yarns.inks(flat.knots), yarns.inks_of_pixels(labels.first)
    of = (before, plane, cells.down.at, cells.across.at)
    (after,) = memory().recall("equal motifs", of, lambda: (equalled(before, plane, cells),))
    changed = after != before
    return flat.inked(changed, after, yarns) if changed.any() else flat


def equalled(knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> NDArray[np.int16]:
    """Return a map of inks in which motifs that are equal in the artwork are drawn equal.

    Clusters of areas come first, and then outermost motifs with all that they enclose. If one is left as it was, what
    it is made of is tried by itself. If the map would lose too much of the artwork by it, the kind of motif that loses
    most stays as it was.

    Parameters
    ----------
    knots : ndarray of int16, shape (rows, columns)
        The ink of each knot, numbered from the darkest, or EMPTY where none is tied.
    plane : ndarray of uint8, shape (height, width)
        The ink of each pixel, or OUTSIDE beyond the rug.
    cells : Cells
    """
    tall, wide = _knot_px(cells)
    (top, bottom), (left, right) = (
        (max(int(edges.at[0] // PIXEL), 0), min(int(-(-edges.at[-1] // PIXEL)), size))
        for edges, size in zip((cells.down, cells.across), plane.shape, strict=True)
    )
    plane = plane[top:bottom, left:right]
    cells = Cells(Edges(cells.down.at - top * PIXEL), Edges(cells.across.at - left * PIXEL))
    found = motifs_in(plane, (tall, wide))
    waiting = dict.fromkeys(np.flatnonzero(found.able).tolist())
    quarters, room = abs(tall - wide) < 0.01 * wide, _room(knots, plane, cells)
    knots, done, lost = _drawn_equal(knots, clusters_in(found), found, cells, plane, room, quarters=quarters)
    room -= lost
    for motif in done:
        for area in (motif.area, *motif.enclosed.tolist()):
            waiting.pop(area, None)
    outer = {area: found.motif(area) for area in waiting if found.encloses[area]}
    while waiting:
        inner = np.zeros(len(found.able), dtype=bool)
        for area, motif in outer.items():
            inner[motif.enclosed] |= area in waiting
        turn = [area for area in waiting if not inner[area]]
        for area in turn:
            del waiting[area]
        turn = [area for area in turn if not found.lined[area] and (area in outer or found.lonely[area])]
        tried = [outer.get(area) or found.motif(area) for area in turn]
        tried = [motif for motif in tried if found.stands_alone(motif)]
        knots, done, lost = _drawn_equal(knots, tried, found, cells, plane, room, quarters=quarters)
        room -= lost
        for motif in done:
            for area in motif.enclosed.tolist():
                waiting.pop(area, None)
    return knots


def _knot_px(cells: Cells) -> tuple[float, float]:
    """Return how many pixels high and wide a knot is."""
    tall, wide = (float(edges.at[-1] - edges.at[0]) / PIXEL / len(edges) for edges in (cells.down, cells.across))
    return tall, wide


def _room(knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> int:
    """Return how many KNOTths the map may lose of the inks that cover its cells; negative if too many are lost."""
    true, most = ink_shown(knots, pure(plane), cells)
    return true - round(LEAST_TRUE * most)


def _drawn_equal(
    knots: NDArray[np.int16],
    motifs: Sequence[Motif],
    found: Motifs,
    cells: Cells,
    plane: ByteArray,
    room: int,
    *,
    quarters: bool,
) -> tuple[NDArray[np.int16], list[Motif], int]:
    """Return the map with some motifs drawn equal, the motifs for which that was done, and what the map loses."""
    least = LEAST_ALONE_KNOTS * found.knot_px[0] * found.knot_px[1]
    kinds = kinds_of(motifs, [int(found.areas.ink[motif.area]) for motif in motifs], quarters=quarters, least=least)
    askings = []
    for kind in kinds:
        own = tuple(motifs[member] for member in kind.members)
        if len(own) < 2 and (len(kind.images) < 2 or own[0].pixels < least):
            continue
        inks = tuple(sorted({int(ink) for motif in own for ink in np.unique(motif.inks)} - {OUTSIDE}))
        strokes = strokes_of(own[0], inks, found.knot_px) if found.has_stroke(own[0]) else []
        askings.append(Asking(kind, own, inks, tuple(strokes), _pieces(own[0], found, inks)))
    groups = list(shared_out(askings, MOTIFS_AT_ONCE)) if plane.size <= MOST_SENT_PX else [askings]
    answers = engine().spread(all_asked, ((group, knots, plane, cells) for group in groups))
    stamps, whose, equal, of_kind = list[Stamp](), list[Motif](), list[Motif](), list[int]()
    for number, (asking, asked) in enumerate(zip(askings, chain.from_iterable(answers), strict=True)):
        if asked.equal:
            equal += asking.motifs
        stamps += asked.stamps
        whose += (asking.motifs[place] for place in asked.whose)
        of_kind += (MOST_DRAWINGS * number + drawing for drawing in asked.drawing)
    result, kept = stamped(knots, stamps, of_kind, room)
    lost = sum(stamp.lost for stamp, keep in zip(stamps, kept, strict=True) if keep)
    return result, equal + [motif for motif, keep in zip(whose, kept, strict=True) if keep], lost


def _pieces(motif: Motif, found: Motifs, inks: tuple[int, ...]) -> Counter[int]:
    """Return how many pieces of each ink a motif has, not counting dust."""
    least = DUST_KNOTS * found.knot_px[0] * found.knot_px[1]
    within = [motif.area, *(area for area in motif.enclosed.tolist() if found.areas.pixels[area] >= least)]
    met = (int(found.areas.ink[area]) for area in within)
    return Counter(inks.index(ink) for ink in met if ink != OUTSIDE)  # which may lie within a motif of a region
