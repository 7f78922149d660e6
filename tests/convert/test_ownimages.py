"""Motifs that take no drawing of their kind become their own images; the artwork is made of scallops and of hand."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from support.drawing_measures import guards, motifs
from support.drawing_measures.placed import Drawing, Placed, Score, summed
from support.drawings import COLOURS, card_of, converted, drawing, picked
from support.holdouts import INKS, labels_among_neighbours
from support.making import SQUARE, make_rug

from chartmaker.artwork.cells import PIXEL, Cells, Edges
from chartmaker.convert.motifs.equal import with_own_images
from chartmaker.order.rug import Rug

#: A knot is so many pixels wide and high.
SCALE = 8


def scallops(columns: int, rows: int, pitch: float) -> np.ndarray:
    """Return the ink of each pixel of a row of round scallops, with a spike in turn of two inks between them."""
    y, x = (np.mgrid[: rows * SCALE, : columns * SCALE] + 0.5) / SCALE
    turn = np.rint(x / pitch).astype(int)
    away = np.abs(x - turn * pitch)
    inks = np.zeros(x.shape, dtype=np.uint8)
    spike = away < pitch / 2 * np.clip((y - 4) / 14, 0, 1) ** 2.2
    inks[(y >= 4) & (y < 18)] = 3
    inks[(y >= 4) & (y < 18) & spike] = 1
    inks[(y >= 4) & (y < 18) & spike & (turn % 2 == 0)] = 2
    inks[y >= 18] = 1
    return inks


def test_scallops_between_spikes_of_other_inks_mirror() -> None:
    """The measures are written apart from the converter. No stamp of a whole scallop is harmless here."""
    found = dict[bool, Score]()
    for own in (False, True):
        scores = list[Score]()
        for pitch in (19.3, 22.3, 23.35):
            labels = scallops(130, 24, pitch)
            placed = woven(labels, make_rug(130, 24, SQUARE), motifs=own)
            assert guards.fidelity(placed).value >= 0.985
            scores.append(motifs.mirror(placed))
        found[own] = summed(scores)
    assert found[False].value < 0.5
    assert found[True].value == 1


def test_scallops_that_repeat_mirror_though_what_lies_between_them_does_not() -> None:
    """Arches of the open drawing lie between needles of two inks in turn, so that no axis of a repeat is theirs."""
    srgb, colours = drawing("arches"), np.array(COLOURS["arches"][1], dtype=np.uint8)
    labels = labels_among_neighbours(srgb, colours)
    rows = round(160 * labels.shape[0] / labels.shape[1] / 0.75)
    placed = woven(labels, make_rug(160, rows, "9/60 indian"), colours)
    assert motifs.mirror(placed).value >= 0.8
    assert motifs.motif_consistency(placed).value >= 0.7
    assert guards.fidelity(placed).value >= 0.985


def woven(labels: np.ndarray, rug: Rug, colours: np.ndarray = INKS, **design: object) -> Placed:
    """Return the knots of artwork with these labels, placed as the conversion places them."""
    result = converted(colours[labels], rug, card_of(colours), style="flat", fit="stretch", **design)
    drawn = Drawing(labels, labels.shape[0] / rug.rows, labels.shape[1] / rug.columns, len(colours))
    placement = result.placed.placement
    return Placed(drawn, placement.raster_row_edges, placement.column_edges, picked(result))


#: A motif of 7 rows and 9 columns of whole knots, on ground, that is its own image from left to right.
MOTIF = ["..#####..", ".#######.", "#########", "#########", ".###.###.", ".##...##.", "..#...#.."]


def evened(rows: list[str], slip: float = 0.0) -> list[str]:
    """Return the motif as drawn in `rows` after it was evened; its artwork lies so many knots further right."""
    plane = np.zeros((40 * SCALE, 40 * SCALE), dtype=np.uint8)
    mask = np.array([[knot == "#" for knot in row] for row in MOTIF])
    own = np.kron(mask, np.ones((SCALE, SCALE), dtype=bool))
    left = 12 * SCALE + round(slip * SCALE)
    plane[10 * SCALE : 10 * SCALE + own.shape[0], left : left + own.shape[1]][own] = 1
    knots = np.zeros((40, 40), dtype=np.int16)
    drawn = np.array([[knot == "#" for knot in row] for row in rows])
    knots[10:17, 12 : 12 + drawn.shape[1]][drawn] = 1
    edges = Edges(np.arange(41) * SCALE * PIXEL)
    after = with_own_images(knots, plane, Cells(edges, edges))
    assert not after[:10].any()
    assert not after[17:].any()
    return ["".join(".#"[knot] for knot in row[12:21]) for row in after[10:17]]


def test_the_side_that_shows_more_is_drawn_on_both() -> None:
    assert evened(MOTIF) == MOTIF
    assert evened(["..####...", *MOTIF[1:]]) == MOTIF
    assert evened([*MOTIF[:3], "########.", *MOTIF[4:]]) == MOTIF


def test_no_part_of_a_motif_is_cut_off() -> None:
    """The artwork lies a quarter of a knot to the right; a leg of one side must not fall off for that of the other."""
    after = evened(MOTIF, 0.25)
    assert after[-1].count("#") in (0, 2)
    assert all(row == row[::-1] for row in after)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 8)), max_size=5), st.sampled_from([0.0, 0.125, -0.125]))
def test_a_mirrored_map_is_evened_to_the_image(flips: list[tuple[int, int]], slip: float) -> None:
    drawn = np.array([[knot == "#" for knot in row] for row in MOTIF])
    for row, column in flips:
        drawn[row, column] ^= True
    rows = ["".join(".#"[int(knot)] for knot in row) for row in drawn]
    image = [row[::-1] for row in rows]
    assert [row[::-1] for row in evened(image, -slip)] == evened(rows, slip)
