"""The way into this folder, which makes equal motifs equal in a map of flat artwork."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import PIXEL, Cells, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import OUTSIDE, Labels
from chartmaker.convert.flat.knotting import EMPTY, yarns_in_order
from chartmaker.convert.flat.tiles import FlatKnots
from chartmaker.convert.flat.trueness import ink_shown, pure
from chartmaker.convert.motifs.asking import MOST_DRAWINGS, Asked, Asking, all_asked, shared_out
from chartmaker.convert.motifs.clusters import clusters_in
from chartmaker.convert.motifs.drawing import member_of
from chartmaker.convert.motifs.finding import DUST_KNOTS, Motif, Motifs, motifs_in
from chartmaker.convert.motifs.likeness import kinds_of
from chartmaker.convert.motifs.ownimages import leaves_pieces, own_image
from chartmaker.convert.motifs.stamping import Stamp, stamped
from chartmaker.convert.motifs.strokes import strokes_of
from chartmaker.ground.engines import engine
from chartmaker.ground.memory import memory

#: Artwork with fewer pixels to a knot than this shows no motif well enough to tell it from another.
LEAST_PX = 1.5
#: A motif without an equal is made its own mirror image, and one beside others drawn equal, only if it covers at least
#: this many knots.
LEAST_ALONE_KNOTS = 4.0
#: Kinds are shared out between processes in groups of about so many motifs, unless the artwork has so many pixels that
#: sending it takes longer.
MOTIFS_AT_ONCE, MOST_SENT_PX = 40, 8_000_000
#: Motifs are drawn equal only as long as the knots keep this share of the ink that covers most of them, and no more
#: than one knot in so many is invented.
LEAST_TRUE, INVENTED_ONE_IN = 0.986, 2500
#: So that motifs are equal one knot in so many is invented, at most so many in a motif, and so many for each of a kind.
BEARS_ONE_IN, BEARS_MOST, BEARS_EACH = 12, 3, Fraction(1, 4)
#: A kind is drawn anew if its drawing does harm wherever it is put; so many drawings of it are tried at most.
MOST_ASKED = 3


@dataclass(frozen=True)
class Room:
    """How much a map may still lose of the inks that cover its cells, in KNOTths, and how many knots it may invent."""

    lost: int
    invented: int

    def after(self, stamps: Iterable[Stamp]) -> Room:
        """Return the room that some stamps leave."""
        found = list(stamps)
        return Room(self.lost - sum(one.lost for one in found), self.invented - sum(one.invented for one in found))


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

    Clusters of areas come first, and then outermost motifs with all that they enclose, be they alone on a ground or
    side by side with others if they are no mere specks. If one is left as it was, what it encloses is tried by itself,
    and so is what stands alone in a cluster. If the map would lose too much of the artwork by it, the kind of motif
    that loses most stays as it was.

    Parameters
    ----------
    knots : ndarray of int16, shape (rows, columns)
        The ink of each knot, numbered from the darkest, or EMPTY where none is tied.
    plane : ndarray of uint8, shape (height, width)
        The ink of each pixel, or OUTSIDE beyond the rug.
    cells : Cells
    """
    (tall, wide), (plane, cells) = _knot_px(cells), cells.under(plane)
    found = motifs_in(plane, (tall, wide))
    waiting = dict.fromkeys(np.flatnonzero(found.able).tolist())
    quarters, room = abs(tall - wide) < 0.01 * wide, _room(knots, plane, cells)
    clusters = clusters_in(found)
    joins = ~found.thin & (found.areas.pixels >= LEAST_ALONE_KNOTS * tall * wide)
    for cluster in clusters:
        joins[[cluster.area, *cluster.enclosed]] = False
    knots, done, room = _drawn_equal(knots, clusters, found, cells, plane, room, quarters=quarters)
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
        turn = [area for area in turn if not found.lined[area] and (area in outer or found.lonely[area] or joins[area])]
        tried = [outer.get(area) or found.motif(area) for area in turn]
        tried = [motif for motif in tried if joins[motif.area] or found.stands_alone(motif)]
        knots, done, room = _drawn_equal(knots, tried, found, cells, plane, room, quarters=quarters)
        for motif in done:
            for area in motif.enclosed.tolist():
                waiting.pop(area, None)
    return knots


def _knot_px(cells: Cells) -> tuple[float, float]:
    """Return how many pixels high and wide a knot is."""
    tall, wide = (float(edges.at[-1] - edges.at[0]) / PIXEL / len(edges) for edges in (cells.down, cells.across))
    return tall, wide


def _room(knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> Room:
    """Return how much room a map leaves."""
    true, most, invented = ink_shown(knots, pure(plane), cells)
    return Room(true - round(LEAST_TRUE * most), int((knots != EMPTY).sum()) // INVENTED_ONE_IN - invented)


def _drawn_equal(
    knots: NDArray[np.int16],
    motifs: Sequence[Motif],
    found: Motifs,
    cells: Cells,
    plane: ByteArray,
    room: Room,
    *,
    quarters: bool,
) -> tuple[NDArray[np.int16], list[Motif], Room]:
    """Return the map with some motifs drawn equal, the motifs for which that was done, and the room that is left."""
    kinds, done = _askings(motifs, found, quarters=quarters), list[Motif]()
    askings = kinds
    for _ in range(MOST_ASKED):
        answers = _within(room.invented, askings, knots, plane, cells)
        stamps, whose, of_kind = list[Stamp](), list[Motif](), list[int]()
        for number, (asking, asked) in enumerate(zip(askings, answers, strict=True)):
            done += asking.motifs if asked.equal else ()
            stamps += asked.stamps
            whose += (asking.motifs[place] for place in asked.whose)
            of_kind += (MOST_DRAWINGS * number + drawing for drawing in asked.drawing)
        knots, kept = stamped(knots, stamps, of_kind, room.lost)
        room = room.after(stamp for stamp, keep in zip(stamps, kept, strict=True) if keep)
        done += (motif for motif, keep in zip(whose, kept, strict=True) if keep)
        suited = {drawing // MOST_DRAWINGS for drawing, keep in zip(of_kind, kept, strict=True) if keep}
        askings = [
            replace(asking, refused=asking.refused + asked.drawings)
            for number, (asking, asked) in enumerate(zip(askings, answers, strict=True))
            if number not in suited and len(asked.stamps) == len(asking.motifs)
        ]
        if not askings:
            break
    knots, room = _own_images(knots, kinds, {motif.area for motif in done}, found, cells, plane, room)
    return knots, done, room


def with_own_images(knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> NDArray[np.int16]:
    """Return a map of inks in which motifs are their own mirror images where they are in the artwork.

    Outermost motifs come first, with all that they enclose.

    Parameters
    ----------
    knots, plane, cells
        As `equalled` takes them; the plane has only the pixels that the cells reach over.
    """
    tall, wide = _knot_px(cells)
    found = motifs_in(plane, (tall, wide))
    able = found.able & ~found.lined & (found.areas.pixels >= LEAST_ALONE_KNOTS * tall * wide)
    motifs = [found.motif(area) for area in np.flatnonzero(able).tolist()]
    depth = np.zeros(len(able), dtype=np.intp)
    for motif in motifs:
        depth[motif.enclosed] += 1
    room, quarters = _room(knots, plane, cells), abs(tall - wide) < 0.01 * wide
    for level in range(int(depth.max(initial=0)) + 1):
        own = [motif for motif in motifs if depth[motif.area] == level]
        knots, room = _own_images(knots, _askings(own, found, quarters=quarters), set(), found, cells, plane, room)
    return knots


def _own_images(
    knots: NDArray[np.int16],
    kinds: Sequence[Asking],
    done: set[int],
    found: Motifs,
    cells: Cells,
    plane: ByteArray,
    room: Room,
) -> tuple[NDArray[np.int16], Room]:
    """Return the map in which motifs that share no drawing with their kind are their own images, and the room left."""
    stamps, of_kind = list[Stamp](), list[int]()
    pixels = cells.down.pixel_edges(), cells.across.pixel_edges()
    for number, asking in enumerate(kinds):
        if len(asking.kind.images) < 2:
            continue
        for motif, turn in zip(asking.motifs, asking.kind.turns, strict=True):
            if motif.area not in done:
                member = member_of(motif, turn, asking.inks, cells, pixels, knots, asking.strokes, bears=asking.bears)
                own = list(own_image(member, asking.kind.images, knots, found, plane, cells))
                stamps += own
                of_kind += [number] * len(own)
    knots, kept = stamped(knots, stamps, of_kind, room.lost, leaves_pieces)
    return knots, room.after(stamp for stamp, keep in zip(stamps, kept, strict=True) if keep)


def _askings(motifs: Sequence[Motif], found: Motifs, *, quarters: bool) -> list[Asking]:
    """Return the kinds of some motifs that have something to equal, be it only their own images."""
    least = LEAST_ALONE_KNOTS * found.knot_px[0] * found.knot_px[1]
    kinds = kinds_of(motifs, [int(found.areas.ink[motif.area]) for motif in motifs], quarters=quarters, least=least)
    askings = list[Asking]()
    for kind in kinds:
        own = tuple(motifs[member] for member in kind.members)
        if len(own) < 2 and (len(kind.images) < 2 or own[0].pixels < least):
            continue
        inks = tuple(sorted({int(ink) for motif in own for ink in np.unique(motif.inks)} - {OUTSIDE}))
        bears = min(int(own[0].pixels / (BEARS_ONE_IN * found.knot_px[0] * found.knot_px[1])), BEARS_MOST)
        strokes = strokes_of(own[0], inks, found.knot_px) if found.has_stroke(own[0]) else []
        askings.append(Asking(kind, own, inks, tuple(strokes), _pieces(own[0], found, inks), bears))
    return askings


def _answers(askings: Sequence[Asking], knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> list[Asked]:
    groups = list(shared_out(askings, MOTIFS_AT_ONCE)) if plane.size <= MOST_SENT_PX else [askings]
    return list(chain.from_iterable(engine().spread(all_asked, ((group, knots, plane, cells) for group in groups))))


def _within(
    most: int, askings: Sequence[Asking], knots: NDArray[np.int16], plane: ByteArray, cells: Cells
) -> list[Asked]:
    """Return what each of some kinds asks for, which together invent no more than so many knots.

    The kinds that invent most for each of their motifs are asked once more, to bear a knot less.
    """
    asked, result = list(askings), _answers(askings, knots, plane, cells)
    while each := [Fraction(own.invented, len(asking.motifs)) for own, asking in zip(result, asked, strict=True)]:
        if sum(own.invented for own in result) <= max(most, 0) and max(each) <= BEARS_EACH:
            break
        worst = [number for number, rate in enumerate(each) if rate == max(each)]
        for number in worst:
            asked[number] = replace(asked[number], bears=asked[number].bears - 1)
        for number, answer in zip(worst, _answers([asked[n] for n in worst], knots, plane, cells), strict=True):
            result[number] = answer
    return result


def _pieces(motif: Motif, found: Motifs, inks: tuple[int, ...]) -> Counter[int]:
    """Return how many pieces of each ink a motif has, not counting dust."""
    least = DUST_KNOTS * found.knot_px[0] * found.knot_px[1]
    within = [motif.area, *(area for area in motif.enclosed.tolist() if found.areas.pixels[area] >= least)]
    met = (int(found.areas.ink[area]) for area in within)
    return Counter(inks.index(ink) for ink in met if ink != OUTSIDE)  # which may lie within a motif of a region
