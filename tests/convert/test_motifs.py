"""Equal and mirrored motifs are found and drawn equal, and nothing else in the drawing is harmed."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from support import ornament
from support.drawing_measures import guards, motifs
from support.drawing_measures.placed import Drawing, Placed
from support.drawings import card_of, converted, drawing, picked
from support.holdouts import INKS
from support.making import SQUARE, make_rug

from chartmaker.artwork.cells import KNOT
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.motifs.finding import Motif, motifs_in
from chartmaker.convert.motifs.likeness import FLIPS, TURNS, after, back, closed, kinds_of, seen, turned
from chartmaker.convert.motifs.strokes import pieces_of, strokes_of
from chartmaker.convert.motifs.summing import sums

CARD = [tuple(int(part) for part in ink) for ink in INKS]


def strewn(
    motif: str, places: list[tuple[float, float]], turns: list[int], columns: int, rows: int, radius: float, scale: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return motifs at places, in knots, on a plane of `columns` x `rows` knots, and the ink of every pixel."""
    paint = ornament.scattered(ornament.MOTIFS[motif], np.array(places), radius, np.array(turns))
    return ornament.rendered(paint, columns, rows, (rows * scale, columns * scale), INKS)


def woven(srgb: np.ndarray, labels: np.ndarray, columns: int, rows: int, **design: object) -> Placed:
    """Return the knots of an artwork in the five inks, placed as the conversion places them."""
    result = converted(srgb, make_rug(columns, rows, SQUARE), card_of(INKS), style="flat", fit="stretch", **design)
    placement = result.placed.placement
    drawn = Drawing(labels, labels.shape[0] / rows, labels.shape[1] / columns, len(INKS))
    return Placed(drawn, placement.raster_row_edges, placement.column_edges, picked(result))


#: These places lie differently on the grid, so that each motif converted by itself would come out differently.
PLACES = [(9.1, 9.2), (24.6, 9.45), (40.35, 9.8), (9.3, 25.7), (24.85, 25.15), (40.1, 25.4)]


@pytest.mark.parametrize(("motif", "turns"), [("star", [0] * 6), ("drop", [0] * 6), ("flower", [0] * 6)])
def test_equal_motifs_come_out_equal(motif: str, turns: list[int]) -> None:
    """The measures are written apart from the converter; all but a tenth of the congruent parts must be alike."""
    srgb, labels = strewn(motif, PLACES, turns, 56, 40, 6.3, 9)
    before, placed = (woven(srgb, labels, 56, 40, fitted=False, motifs=own) for own in (False, True))
    assert motifs.motif_consistency(before).value < 0.6
    assert motifs.motif_consistency(placed).value >= 0.9
    assert guards.fidelity(placed).value >= 0.985
    assert guards.invented(placed).part == 0


@pytest.mark.parametrize(("scale", "least"), [(2, 0.6), (3, 0.8)])
def test_equal_motifs_come_out_equal_of_artwork_with_few_pixels(scale: int, least: float) -> None:
    """Three or four pixels a knot are what an illustrator sends (common practice), and knots are often oblong."""
    srgb, labels = strewn("star", PLACES, [0] * 6, 56, 40, 6.3, scale)
    before, placed = (woven(srgb, labels, 56, 40, fitted=False, motifs=own) for own in (False, True))
    assert motifs.motif_consistency(before).value < 0.6
    assert motifs.motif_consistency(placed).value >= least
    assert guards.fidelity(placed).value >= 0.985


def test_motifs_that_mirror_are_mirrored() -> None:
    srgb, labels = strewn("star", PLACES, [0] * 6, 50, 35, 6.3, 9)
    before, placed = (woven(srgb, labels, 50, 35, fitted=False, motifs=own) for own in (False, True))
    assert motifs.mirror(before).value < 0.6
    assert motifs.mirror(placed).value >= 0.9


def test_motifs_that_mirror_are_mirrored_in_artwork_with_few_pixels() -> None:
    """Three pixels a knot show a star unlike its own image, because its outline falls on them otherwise each time."""
    places = [(8.1 + 16.17 * (n % 4), 8.3 + 15.41 * (n // 4)) for n in range(12)]
    srgb, labels = strewn("star", places, [0] * 12, 66, 48, 5.3, 3)
    before, placed = (woven(srgb, labels, 66, 48, fitted=False, motifs=own) for own in (False, True))
    assert motifs.mirror(before).value < 0.6
    assert motifs.mirror(placed).value >= 0.9
    assert guards.fidelity(placed).value >= 0.985


def test_a_leaf_with_a_vein_is_mirrored_and_its_vein_stays_whole() -> None:
    """The vein reaches the ground, so that leaf and vein are a cluster with a stroke."""
    places = [(7.1 + 9.23 * (n % 7), 7.3 + 10.41 * (n // 7)) for n in range(28)]
    srgb, labels = strewn("leaf", places, [0] * 28, 72, 46, 2.6, 8)
    before, placed = (woven(srgb, labels, 72, 46, fitted=False, motifs=own) for own in (False, True))
    assert motifs.mirror(placed).value >= motifs.mirror(before).value + 0.2
    assert guards.unbroken(placed).value >= min(guards.unbroken(before).value, 0.93)
    assert guards.fidelity(placed).value >= guards.fidelity(before).value


def test_strokes_turn_with_their_motif() -> None:
    """The strokes of a turned motif are those of the motif, turned, for all eight symmetries of the square."""
    v, u = np.mgrid[:41, :37] / 20 - 1
    inks = np.where(ornament.hook(u, v) > 0, 1, OUTSIDE).astype(np.uint8)
    own = strokes_of(Motif(1, 0, 0, inks, np.empty(0, dtype=np.intp)), [1], (5.0, 5.0))
    assert own
    for turn in TURNS:
        other = strokes_of(Motif(1, 0, 0, turned(inks, turn), np.empty(0, dtype=np.intp)), [1], (5.0, 5.0))
        places = sorted(sorted(map(tuple, stroke.turned(turn).twice.tolist())) for stroke in own)
        assert places == sorted(sorted(map(tuple, stroke.twice.tolist())) for stroke in other)


def test_a_stroke_is_followed_only_by_one_piece_of_knots_near_it() -> None:
    """A level stroke of eight knots lies in the middle of a row of knots; what follows it is counted by hand."""
    inks = np.full((6, 64), OUTSIDE, dtype=np.uint8)
    inks[1:5] = 1
    stroke = strokes_of(Motif(1, 0, 0, inks, np.empty(0, dtype=np.intp)), [1], (8.0, 8.0))[0]

    def followed(knots: list[int], row: int = 0) -> bool:
        pieces = pieces_of(np.array([knots], dtype=np.int16) - 1, 0)
        return stroke.is_followed(pieces, (row, 0), (KNOT, 16 * KNOT // 2 * 2), (KNOT * 3 // 4, 8 * KNOT))

    assert followed([0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1])
    assert not followed([0, 0, 0, 0, 1, 1, 1, 0, 0, 1, 1, 1])
    assert not followed([0, 0, 0, 0, 1, 1, 1, 1, 1, 0, 0, 0])
    assert not followed([0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1], row=1)


def test_turned_motifs_are_turned_to_the_knot() -> None:
    turns = [0, 1, 2, 3, 4, 6]
    srgb, labels = strewn("drop", PLACES, turns, 50, 35, 6.3, 9)
    placed = woven(srgb, labels, 50, 35, fitted=False)
    owned = motifs.owners(placed)
    bodies = [part for part in motifs.parts_of(placed.drawing).components if part.ink == 1]
    shapes = [motifs.shape_of(owned[body.ink, body.number]) for body in bodies]
    same = Counter(min(turned(shape, turn).tobytes() for turn in TURNS) for shape in shapes)
    assert len(shapes) == 6
    assert same.most_common(1)[0][1] >= 5


def test_line_work_is_left_alone() -> None:
    """Its only congruent parts are strokes, so that drawing motifs equal must not change a single knot."""
    srgb = drawing("harlequin")
    colours = np.array([(255, 0, 0), (255, 255, 0), (0, 255, 0), (0, 0, 255), (0, 0, 0)], dtype=np.uint8)
    rug = make_rug(100, 133, SQUARE)
    with_motifs, without = (picked(converted(srgb, rug, card_of(colours), motifs=own)) for own in (True, False))
    assert np.array_equal(with_motifs, without)


def test_a_motif_among_others_is_not_joined_to_them() -> None:
    """The squares are about a knot apart, and no drawing is put where it would touch its neighbour."""
    labels = np.zeros((200, 320), dtype=np.uint8)
    for number in range(8):
        left = 20 + number * 35  # they lie 3.5 knots apart and are 2.4 wide
        labels[60:84, left : left + 24] = 1
    placed = woven(INKS[labels], labels, 32, 20, fitted=False)
    assert guards.invented(placed).part == 0
    runs = [int(run) for run in np.diff(np.flatnonzero(np.diff(np.pad(placed.knots[7] == 1, 1).astype(int))))[1::2]]
    assert len(runs) == 7
    assert min(runs) >= 1


def test_motifs_that_are_too_dense_for_one_true_drawing_stay_as_they_were() -> None:
    """Diamonds nearly fill the plane, half a knot off the grid in each repeat, so equal ones would be untrue."""
    paint = ornament.tiling(ornament.MOTIFS["diamond"], 9.4, "centred", 0.0, 0.8)
    srgb, labels = ornament.rendered(paint, 90, 72, (720, 900), INKS)
    before, placed = (woven(srgb, labels, 90, 72, motifs=own) for own in (False, True))
    least = min(0.985, guards.fidelity(before).value)
    assert guards.fidelity(placed).value >= least
    assert motifs.motif_consistency(placed).value >= motifs.motif_consistency(before).value


strewings = st.lists(
    st.tuples(st.integers(0, 79), st.integers(0, 49), st.integers(0, 7)), min_size=2, max_size=7, unique=True
)


def picture_of(strewing: list[tuple[int, int, int]], motif: str) -> np.ndarray:
    """Return a picture of one hard-edged motif on a plain ground, in some of its eight turns, at whole pixels."""
    v, u = np.mgrid[:37, :37] / 18 - 1
    own = ornament.MOTIFS[motif](u, v)
    labels = np.zeros((240, 330), dtype=np.uint8)
    labels[:4, :4], labels[:4, 6:10], labels[:4, 12:16] = 1, 2, 3
    for x, y, turn in strewing:
        shape = turned(own, TURNS[turn])
        part = labels[10 + 4 * y : 47 + 4 * y, 10 + 3 * x : 47 + 3 * x]
        if not part.any() and part.shape == shape.shape:
            part[...] = shape
    return INKS[labels]


def knots_of(srgb: np.ndarray, columns: int, rows: int, inks: list[tuple[int, ...]] = CARD) -> np.ndarray:
    return picked(converted(srgb, make_rug(columns, rows, SQUARE), card_of(inks), style="flat", fit="stretch"))


@settings(max_examples=12)
@given(
    strewings,
    st.sampled_from(["star", "drop", "hook", "leaf", "flower"]),
    st.tuples(st.integers(30, 70), st.integers(25, 50)),
    st.permutations(range(5)),
)
def test_the_order_of_the_card_a_mirror_or_a_half_turn_makes_no_difference(
    strewing: list[tuple[int, int, int]], motif: str, grid: tuple[int, int], order: list[int]
) -> None:
    srgb = picture_of(strewing, motif)
    knots = knots_of(srgb, *grid)
    assert np.array_equal(knots_of(srgb[:, ::-1], *grid), knots[:, ::-1])
    assert np.array_equal(knots_of(srgb[::-1, ::-1], *grid), knots[::-1, ::-1])
    shuffled = knots_of(srgb, *grid, inks=[CARD[number] for number in order])
    assert np.array_equal(np.array(order)[shuffled], knots)


def test_turns_are_a_group() -> None:
    """NumPy's own turning shows that the eight symmetries of the square combine as they should."""
    plane = np.arange(12).reshape(3, 4)
    for one in TURNS:
        assert np.array_equal(turned(turned(plane, one), back(one)), plane)
        for other in TURNS:
            assert np.array_equal(turned(turned(plane, one), other), turned(plane, after(one, other)))
    assert set(closed([(True, 0), (False, 2)])) == set(FLIPS)
    assert set(closed([(True, 0), (False, 1)])) == set(TURNS)


def test_sums_are_those_of_a_finer_plane() -> None:
    rng = np.random.default_rng(3)
    plane = rng.integers(0, 3, (7, 5)).astype(np.uint8)
    down, across = np.array([-2, 1, 9, 21]), np.array([0, 7, 8, 24])
    fine = np.kron(plane, np.ones((3, 4), dtype=np.uint8))
    found = sums(plane, [0, 2], down, across, (3, 4))
    for row in range(3):
        for column in range(3):
            cell = fine[max(down[row], 0) : down[row + 1], across[column] : across[column + 1]]
            assert found[row, column].tolist() == [int((cell == 0).sum()), int((cell == 2).sum())]


def test_kinds_tell_sizes_and_shapes_apart() -> None:
    v, u = np.mgrid[:41, :41] / 20 - 1
    labels = np.zeros((60, 330), dtype=np.uint8)
    for number, shape in enumerate(["drop", "drop", "star", "flower"]):
        own = ornament.MOTIFS[shape](u, v)
        labels[10:51, 10 + 50 * number : 51 + 50 * number] = own[:, ::-1] if number == 1 else own
    small = np.asarray(Image.fromarray(ornament.drop(u, v)).resize((31, 31), Image.Resampling.NEAREST))
    labels[10:41, 220:251] = small
    found = motifs_in(labels, (8.0, 8.0))
    own = [found.motif(int(area)) for area in np.flatnonzero(found.able)]
    bodies = [motif for motif in own if found.areas.ink[motif.area] == 1]
    kinds = kinds_of(bodies, [1] * len(bodies), quarters=True)
    assert sorted(len(kind.members) for kind in kinds) == [1, 1, 1, 2]
    pair = next(kind for kind in kinds if len(kind.members) == 2)
    assert pair.turns == ((False, 0), (True, 0))
    assert seen(bodies[0], [1]).shape == (16, 16, 2)


def test_hardly_a_knot_is_invented_so_that_more_motifs_equal() -> None:
    """Hooks lie on the grid in all ways; without a knot that its ink hardly touches only four of thirty are equal."""
    phases = [((5 * x + 2 * y) / 12, (3 * x + 7 * y) / 12) for y in range(5) for x in range(6)]
    places = [(17.2 * (n % 6) + 9.3 + a, 17.1 * (n // 6) + 9.2 + b) for n, (a, b) in enumerate(phases)]
    srgb, labels = strewn("hook", places, [0] * 30, 110, 94, 5.1, 7)
    placed = woven(srgb, labels, 110, 94, fitted=False)
    assert motifs.motif_consistency(placed).part >= 24
    assert guards.invented(placed).value <= 0.0005
    assert guards.fidelity(placed).value >= 0.985


def test_motifs_side_by_side_on_several_grounds_come_out_equal() -> None:
    """Discs of two inks touch in a row, and the ground changes from each to the next, as it does in a row of arches."""
    rows, columns, scale, pitch = 24, 140, 9, 16.25
    down, across = (np.mgrid[: rows * scale, : columns * scale] + 0.5) / scale
    number = np.floor((across - 5) / pitch)
    labels = np.where(((across - 5) / pitch + 0.5) % 2 < 1, 1, 2)
    disc = (down - 11.8) ** 2 + (across - 5 - (number + 0.5) * pitch) ** 2 <= (pitch / 2) ** 2
    labels = np.where(disc & (number >= 0) & (number < 8), 3 + number % 2, labels).astype(np.intp)
    srgb = np.array(CARD, dtype=np.uint8)[labels]
    before, placed = (woven(srgb, labels, columns, rows, motifs=own) for own in (False, True))
    assert motifs.motif_consistency(before).value <= 0.5
    assert motifs.mirror(before).part == 0
    assert motifs.motif_consistency(placed).value == motifs.mirror(placed).value == 1
    assert guards.fidelity(placed).value >= 0.985
    assert guards.invented(placed).part == 0
