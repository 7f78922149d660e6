"""The measures of drawings are right on grids so small that the answer is worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from support.drawing_measures import edges, guards, motifs, outlines
from support.drawing_measures.placed import Drawing, Placed, coverage, even_edges, placed_evenly
from support.drawing_measures.repeats import Lattice, lattice_of, repeat_identity
from support.drawing_measures.shaded import details, third_yarn

Knots = NDArray[np.intp]


def grid(*rows: str) -> Knots:
    return np.array([[int(ink) for ink in row] for row in rows])


def enlarged(knots: Knots, pixels: int = 8) -> Knots:
    return np.kron(knots, np.ones((pixels, pixels), dtype=np.intp))


def drawn(knots: Knots, changed: dict[tuple[int, int], int] | None = None, pixels: int = 8) -> Placed:
    """Return knots under an artwork that matches them exactly, except for those that are `changed`."""
    woven = knots.copy()
    for place, ink in (changed or {}).items():
        woven[place] = ink
    return placed_evenly(enlarged(knots, pixels), woven)


BLOCKS = np.zeros((20, 30), dtype=np.intp)
for top in (3, 12):
    for left in (3, 12, 21):
        BLOCKS[top : top + 4, left : left + 4] = 1


def test_coverage_is_exact_between_uneven_edges() -> None:
    labels = np.zeros((4, 10), dtype=np.intp)
    labels[:, 4:] = 1
    cover = coverage(labels, 2, np.array([0.0, 4.0]), np.array([0.0, 2.5, 5.0, 10.0]))
    assert cover[0, :, 1] == pytest.approx([0.0, 0.4, 1.0])


def test_guards_of_a_faithful_map_and_of_one_wrong_knot() -> None:
    assert guards.fidelity(drawn(BLOCKS)).value == 1.0
    assert guards.invented(drawn(BLOCKS)).part == 0
    wrong = drawn(BLOCKS, {(0, 0): 1})
    assert guards.invented(wrong) == (1, 600)
    assert guards.fidelity(wrong).value == pytest.approx(599 / 600)


def test_unbroken_strokes_count_by_their_length() -> None:
    lines = np.zeros((20, 30), dtype=np.intp)
    lines[4, 2:28] = lines[12, 2:12] = 1
    assert guards.unbroken(drawn(lines)).value == 1.0
    gap = guards.unbroken(drawn(lines, {(12, 6): 0}))
    assert gap.value == pytest.approx(25 / (25 + 9), abs=0.03)


def test_consistency_is_the_largest_set_of_a_class() -> None:
    assert motifs.motif_consistency(drawn(BLOCKS)) == (6, 6)
    assert motifs.motif_consistency(drawn(BLOCKS, {(3, 3): 0, (12, 21): 0})) == (4, 6)
    # The same fault in all six is no inconsistency, but a motif that is lost is one.
    assert motifs.motif_consistency(drawn(BLOCKS, {(t, x): 0 for t in (3, 12) for x in (3, 12, 21)})) == (6, 6)
    lost = {(y, x): 0 for y in range(3, 7) for x in range(3, 7)}
    assert motifs.motif_consistency(drawn(BLOCKS, lost)) == (5, 6)


def test_components_of_another_size_are_of_another_class() -> None:
    knots = BLOCKS.copy()
    knots[3:7, 7:9] = 1  # one block is two knots wider
    assert motifs.motif_consistency(drawn(knots)) == (5, 5)


def test_mirror_is_judged_across_and_along() -> None:
    assert motifs.mirror(drawn(BLOCKS)) == (12, 12)
    assert motifs.mirror(drawn(BLOCKS, {(3, 3): 0})) == (10, 12)
    slanting = np.zeros((12, 12), dtype=np.intp)
    for row in range(8):
        slanting[2 + row, 2 : 3 + row] = 1
    assert motifs.mirror(drawn(slanting)) == (0, 0)


def test_dots_must_be_islands_of_their_own() -> None:
    knots = np.zeros((16, 16), dtype=np.intp)
    knots[2::4, 2::4] = 1
    assert motifs.dots(drawn(knots)) == (16, 16)
    assert motifs.dots(drawn(knots, {(2, 2): 0})) == (15, 16)
    joined = {(2, 3): 1, (2, 4): 1, (2, 5): 1}
    assert motifs.dots(drawn(knots, joined)) == (14, 16)


def test_a_dent_is_a_group_of_rows_off_the_line() -> None:
    knots = np.zeros((22, 20), dtype=np.intp)
    knots[:, 10:] = 1
    assert edges.dents(drawn(knots)).part == 0
    dented = edges.dents(drawn(knots, {(5, 10): 0, (6, 10): 0, (14, 9): 1}))
    assert dented == (2, 0.2)


def test_an_edge_a_knot_off_its_place_has_no_dent_when_it_is_straight() -> None:
    knots = np.zeros((22, 20), dtype=np.intp)
    knots[:, 10:] = 1
    assert edges.dents(drawn(knots, {(row, 10): 0 for row in range(22)})).part == 0


def test_corners_of_a_block() -> None:
    knots = np.zeros((20, 20), dtype=np.intp)
    knots[5:15, 5:15] = 1
    assert edges.corners(drawn(knots)) == (0, 4)
    assert edges.corners(drawn(knots, {(5, 5): 0})) == (1, 4)
    assert edges.corners(drawn(knots, {(14, 14): 0, (4, 15): 1})) == (2, 4)  # one corner is chipped and one has a spur
    assert edges.corners(drawn(knots, {(5, 5): 0, (5, 14): 0, (14, 5): 0, (14, 14): 0})) == (4, 4)


def test_a_block_moved_by_a_knot_keeps_its_corners() -> None:
    knots = np.zeros((20, 20), dtype=np.intp)
    knots[5:15, 5:15] = 1
    moved = Placed(
        Drawing(enlarged(knots), 8, 8, 2), even_edges(160, 20), even_edges(160, 20), np.roll(knots, 1, axis=1)
    )
    assert edges.corners(moved) == (0, 4)


def test_stripes_of_a_class_have_one_width() -> None:
    knots = np.zeros((12, 30), dtype=np.intp)
    for left in (3, 10, 17, 24):
        knots[:, left : left + 2] = 1
    # There are four stripes of two knots, and the three of five knots between them are too wide to count.
    assert edges.stripes(drawn(knots)) == (4, 4)
    assert edges.stripes(drawn(knots, {(row, 12): 1 for row in range(12)})) == (3, 4)
    lost = {(row, column): 0 for row in range(12) for column in (3, 4)}
    assert edges.stripes(drawn(knots, lost)) == (3, 4)


def test_a_thin_stroke_has_one_width() -> None:
    knots = np.zeros((12, 32), dtype=np.intp)
    knots[6, 2:30] = 1
    assert outlines.thin_width(drawn(knots)).part == 0
    found = outlines.thin_width(drawn(knots, {(7, 10): 1, (7, 11): 1}))
    assert found.part == 2
    assert found.whole == pytest.approx(28, abs=2)


def test_outlines_run_round_areas_clockwise() -> None:
    runs = outlines.outlines_of(grid("110", "111") == 1)
    assert len(runs) == 1
    lengths = [(way, length) for way, length, _ in runs[0]]
    first = lengths.index((0, 2))
    assert lengths[first:] + lengths[:first] == [(0, 2), (1, 1), (0, 1), (1, 1), (2, 3), (3, 2)]
    assert len(outlines.outlines_of(grid("10", "01") == 1)) == 2  # areas that touch only at a corner
    assert len(outlines.outlines_of(grid("111", "101", "111") == 1)) == 2  # the outline of the hole counts too


@pytest.mark.parametrize(
    ("before", "run", "after", "irregular"),
    [
        (4, 4, 4, False),
        (4, 3, 4, False),
        (5, 3, 5, True),
        (3, 5, 3, False),
        (3, 6, 3, True),
        (4, 2, 8, True),
        (2, 5, 9, False),
    ],
)
def test_irregular_runs_stick_out_from_both_neighbours(before: int, run: int, after: int, irregular: bool) -> None:
    assert outlines.is_irregular(before, run, after) == irregular


def test_stairs_with_one_long_step() -> None:
    def stairs(steps: list[int]) -> Knots:
        knots = np.zeros((len(steps) + 6, sum(steps) + 6), dtype=np.intp)
        place = 3
        for row, step in enumerate(steps):
            knots[: row + 3, place : place + step] = 1
            place += step
        return knots

    pixels = np.zeros((18 * 8, 54 * 8), dtype=np.intp)
    y, x = np.mgrid[: 18 * 8, : 54 * 8]
    pixels[(y < 24 + (x - 24) / 4) & (x > 24) & (x < 51 * 8)] = 1
    even, uneven = stairs([4] * 12), stairs([4, 4, 4, 4, 4, 7, 1, 4, 4, 4, 4, 4])
    assert outlines.irregular_runs(placed_evenly(pixels, even)).part == 0
    found = outlines.irregular_runs(placed_evenly(pixels, uneven))
    assert found.part == 4  # seven steps and one long one, seen from either ink
    assert found.whole == outlines.irregular_runs(placed_evenly(pixels, even)).whole


def test_windows_of_a_repeat() -> None:
    tile = grid("00000", "01100", "01000", "00000")
    knots = np.tile(tile, (4, 5))
    lattice = Lattice((0, 0, 16 * 8, 25 * 8), 4 * 8, 5 * 8)
    # Windows begin in the ground between motifs, so that one column of them is not whole.
    assert repeat_identity(drawn(knots), [lattice]) == (16, 16)
    assert repeat_identity(drawn(knots, {(1, 6): 0, (9, 13): 1}), [lattice]) == (14, 16)


def test_a_repeat_may_be_a_knot_off_but_not_two() -> None:
    knots = np.zeros((6, 24), dtype=np.intp)
    knots[2:4, 2::6] = knots[2:3, 3::6] = 1
    lattice = Lattice((0, 0, 6 * 8, 24 * 8), 6 * 8, 6 * 8)
    for shift, equal in ((1, 4), (2, 3)):
        woven = knots.copy()
        woven[:, 12:18] = np.roll(knots[:, 12:18], shift, axis=1)
        assert repeat_identity(placed_evenly(enlarged(knots), woven), [lattice]) == (equal, 4)


def test_the_repeat_of_a_drawing_is_found() -> None:
    tile = grid("000000", "012200", "010000", "000030")
    labels = enlarged(np.tile(tile, (5, 6)), 6)
    found = lattice_of(Drawing(labels, 6, 6, 4))
    assert found is not None
    assert (found.height, found.width, found.shift) == (24, 36, 0)
    shifted = np.concatenate([np.roll(labels[row * 24 : row * 24 + 24], 18 * (row % 2), axis=1) for row in range(5)])
    centred = lattice_of(Drawing(shifted, 6, 6, 4))
    assert centred is not None
    assert (centred.height, centred.width, abs(centred.shift)) == (24, 36, 18)
    assert lattice_of(Drawing(np.random.default_rng(1).integers(0, 4, (96, 96)), 6, 6, 4)) is None


def test_a_third_yarn_on_an_edge() -> None:
    srgb = np.zeros((8, 24, 3), dtype=np.uint8)
    srgb[:, 12:] = 255
    yarns = np.array([(0, 0, 0), (128, 128, 128), (255, 255, 255)], dtype=np.uint8)
    rows, columns = even_edges(8, 1), even_edges(24, 3)
    assert third_yarn(srgb, rows, columns, yarns[[[0, 2, 2]]]) == (0, 1)
    assert third_yarn(srgb, rows, columns, yarns[[[0, 1, 2]]]) == (1, 1)


def test_details_are_kept_by_the_picture_itself_and_lost_on_an_even_map() -> None:
    grey = np.random.default_rng(2).integers(0, 256, (40, 40)).astype(np.uint8)
    yarns = np.repeat(grey[..., None], 3, axis=2)
    srgb = np.kron(yarns, np.ones((6, 6, 1), dtype=np.uint8))
    rows = columns = even_edges(240, 40)
    assert details(srgb, rows, columns, yarns).value == 1.0
    assert details(srgb, rows, columns, np.full_like(yarns, 128)).value == 0.0
