"""Flat artwork is converted well, as `metrics` measures on drawings that were not made for this tool, and on others."""

from __future__ import annotations

import functools
import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image, ImageDraw
from skimage.draw import disk
from support.drawing_measures.placed import coverage as exact_coverage
from support.drawings import COLOURS, card_of, converted, drawing, picked, rows_for
from support.making import SQUARE, make_rug
from support.metrics import (
    as_placed,
    coverage,
    fidelity,
    invented,
    is_unbroken,
    labels_of,
    specks,
    thin_pieces,
    unbroken_score,
)

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.convert.flat.likeness import HALO
from chartmaker.convert.flat.tiles import tiles_of
from chartmaker.ground.engines import TwoProcesses, running
from chartmaker.ground.mate import Mate
from chartmaker.order.design import Design, YarnChoice

WHITE, BLACK, GREY, RED = (255, 255, 255), (0, 0, 0), (128, 128, 128), (200, 20, 30)


def placed_labels(result: Conversion, srgb: np.ndarray, colours: list[tuple[int, int, int]]) -> np.ndarray:
    """Return the colour number of each pixel, with the pixels moved so that all placed knots are of one size."""
    placement = result.placed.placement
    labels = labels_of(srgb, np.array(colours, dtype=np.uint8))
    scale = labels.shape[1] / result.placed.artwork.width
    return as_placed(labels, placement.raster_row_edges * scale, placement.column_edges * scale)


@functools.cache
def measured(name: str) -> dict[str, float]:
    srgb, (columns, colours) = drawing(name), COLOURS[name]
    rug = make_rug(columns, rows_for(srgb, columns), SQUARE)
    result = converted(srgb, rug, card_of(colours))
    assert result.style.style == "flat"
    knots, labels = picked(result), placed_labels(result, srgb, colours)
    placement = result.placed.placement
    cover = exact_coverage(  # moving whole pixels would be too coarse for a twentieth of a cell
        labels_of(srgb, np.array(colours, dtype=np.uint8)),
        len(colours),
        placement.raster_row_edges,
        placement.column_edges,
    )
    score, pieces = unbroken_score(labels, knots, len(colours))
    return {
        "fidelity": fidelity(knots, cover),
        "invented": invented(knots, cover),
        "unbroken": score,
        "pieces": pieces,
        "specks": specks(knots),
        "worst": result.report.max_de00,
    }


@pytest.mark.parametrize("name", COLOURS)
def test_knots_cover_what_the_drawing_covers(name: str) -> None:
    found = measured(name)
    assert found["fidelity"] >= 0.98
    assert found["invented"] == 0
    assert found["specks"] == 0
    assert found["worst"] < 1e-9  # no mixture along an edge became a colour of its own


def test_lines_stay_whole() -> None:
    scores = {name: measured(name)["unbroken"] for name in COLOURS if measured(name)["pieces"]}
    assert len(scores) >= 4
    assert min(scores.values()) >= 0.93, scores
    assert np.mean(list(scores.values())) >= 0.96, scores


def test_without_lines_the_majority_breaks_them() -> None:
    srgb, (columns, colours) = drawing("rosette_panel"), COLOURS["rosette_panel"]
    plain = converted(srgb, make_rug(columns, rows_for(srgb, columns), SQUARE), card_of(colours), lines=False, tidy=0)
    labels = labels_of(srgb, np.array(colours, dtype=np.uint8))
    assert unbroken_score(labels, picked(plain), 2)[0] < 0.75
    assert plain.lines_kept == 0


@pytest.mark.parametrize("pixels", [4, 6])
def test_lines_stay_whole_in_small_artwork(pixels: int) -> None:
    fine, (columns, colours) = drawing("celtic_panel"), COLOURS["celtic_panel"]
    rows = rows_for(fine, columns)
    small = np.asarray(Image.fromarray(fine).resize((columns * pixels, rows * pixels), Image.Resampling.BOX))
    result = converted(small, make_rug(columns, rows, SQUARE), card_of([*colours, GREY]))
    labels = placed_labels(result, fine, colours)
    assert {yarn.srgb for yarn in result.knot_map.yarns} == {WHITE, BLACK}
    assert fidelity(picked(result), coverage(labels, 3, rows, columns)) >= 0.98
    assert unbroken_score(labels, picked(result), 2)[0] >= 0.93


def drawn(size: tuple[int, int], draw: object, scale: int = 4) -> np.ndarray:
    """Return a picture drawn `scale` times too large on white and then averaged, so that its edges are mixtures."""
    image = Image.new("RGB", (size[0] * scale, size[1] * scale), WHITE)
    draw(ImageDraw.Draw(image), scale)
    return np.asarray(image.resize(size, Image.Resampling.BOX))


def test_an_edge_between_black_and_white_is_never_grey_though_the_drawing_has_grey() -> None:
    def draw(pen: ImageDraw.ImageDraw, scale: int) -> None:
        pen.polygon([(0, 0), (1500, 300), (700, 1600)], fill=BLACK)
        pen.rectangle([1700, 1200, 1999, 1599], fill=GREY)

    srgb = drawn((500, 400), draw)
    result = converted(srgb, make_rug(50, 40, SQUARE), card_of([WHITE, BLACK, GREY, (60, 60, 60), (190, 190, 190)]))
    knots = picked(result)
    assert set(np.unique(knots)) == {0, 1, 2}
    rows, columns = np.nonzero(knots == 2)
    assert rows.min() >= 29
    assert columns.min() >= 41


@pytest.mark.parametrize("degrees", [0, 7, 23, 45, 66, 90])
@pytest.mark.parametrize("knots_wide", [0.35, 0.6, 0.8, 1.1])
def test_a_straight_line_is_one_chain_in_its_place(degrees: int, knots_wide: float) -> None:
    angle = np.deg2rad(degrees)
    middle, along = np.array([251.3, 203.7]), np.array([np.cos(angle), np.sin(angle)])

    def draw(pen: ImageDraw.ImageDraw, scale: int) -> None:
        ends = [tuple((middle + side * 160 * along) * scale) for side in (-1, 1)]
        pen.line(ends, fill=RED, width=round(knots_wide * 10 * scale))
        pen.rectangle([0, 0, 100, 100], fill=RED)  # an even area, from which the colour is known

    srgb = drawn((500, 400), draw)
    result = converted(srgb, make_rug(50, 40, SQUARE), card_of([WHITE, RED]), tidy=0)
    knots, labels = picked(result), placed_labels(result, srgb, [WHITE, RED])
    # slanting strokes measure a little too thin, so the lower limit here is less
    pieces = [piece for piece in thin_pieces(labels, 2, 10, 10, narrowest=0.1) if piece.colour == 1]
    assert pieces
    assert all(is_unbroken(piece, knots, 10, 10) for piece in pieces)
    assert invented(knots, coverage(labels, 2, 40, 50)) == 0


def test_a_dotted_ground_keeps_every_dot() -> None:
    srgb = np.full((800, 1000, 3), (240, 230, 200), dtype=np.uint8)
    dots = [(y, x) for y in range(31, 780, 57) for x in range(27, 990, 63)]
    for y, x in dots:
        srgb[disk((y, x), 6, shape=srgb.shape[:2])] = RED
    result = converted(srgb, make_rug(100, 80, SQUARE), card_of([(240, 230, 200), RED]))
    knots = picked(result)
    for y, x in dots:
        assert (knots[max(y // 10 - 1, 0) : y // 10 + 2, max(x // 10 - 1, 0) : x // 10 + 2] == 1).any()
    assert result.tidied == 0


def test_crumbs_of_a_line_are_tidied_when_lines_are_not_kept() -> None:
    def draw(pen: ImageDraw.ImageDraw, scale: int) -> None:
        pen.line([(80, 80), (1900, 1210)], fill=BLACK, width=26)
        pen.rectangle([1500, 80, 1900, 400], fill=BLACK)

    srgb, card = drawn((500, 400), draw), card_of([WHITE, BLACK])
    loose = converted(srgb, make_rug(50, 40, SQUARE), card, lines=False, tidy=0)
    tidy = converted(srgb, make_rug(50, 40, SQUARE), card, lines=False, tidy=1)
    assert loose.tidied == 0
    assert specks(picked(loose)) > 0
    assert tidy.tidied >= specks(picked(loose))
    assert specks(picked(tidy)) == 0


@settings(max_examples=40)
@given(arrays(np.uint8, st.tuples(st.integers(8, 30), st.integers(8, 30)), elements=st.integers(0, 3)))
def test_artwork_that_is_a_grid_of_card_colours_stays_as_it_is(cells: np.ndarray) -> None:
    colours = np.array([WHITE, BLACK, GREY, RED], dtype=np.uint8)
    result = converted(colours[cells], make_rug(cells.shape[1], cells.shape[0], SQUARE), card_of(colours))
    assert (picked(result) == cells).all()
    # CIELAB is kept to six decimals, so that every processor writes the same values
    assert result.report.max_de00 <= 2e-6


def test_compression_does_not_make_flat_artwork_shaded() -> None:
    srgb, (columns, colours) = drawing("harlequin"), COLOURS["harlequin"]
    stream = io.BytesIO()
    Image.fromarray(srgb).save(stream, "JPEG", quality=85)
    rough = np.asarray(Image.open(stream).convert("RGB"))
    rug, card = make_rug(columns, rows_for(srgb, columns), SQUARE), card_of([*colours, GREY, (120, 0, 0), (0, 100, 0)])
    # Its repeats can be laid half a knot to one side or to the other equally well, so that the smallest difference
    # decides.
    result = converted(rough, rug, card, repeats=False)
    assert result.style.style == "flat"
    assert (picked(result) != picked(converted(srgb, rug, card, repeats=False))).mean() < 0.005


@given(st.integers(1, 1500), st.integers(1, 1500), st.integers(1, 70_000))
def test_tiles_cover_every_knot_once_and_see_round_them(rows: int, columns: int, most: int) -> None:
    times = np.zeros((rows, columns), dtype=np.int8)
    for tile in tiles_of((slice(0, rows), slice(0, columns)), (rows, columns), most):
        times[tile.own] += 1
        for own, seen, inner, size in zip(tile.own, tile.seen, tile.inner, (rows, columns), strict=True):
            assert (seen.start + inner.start, seen.start + inner.stop) == (own.start, own.stop)
            assert (seen.start, seen.stop) == (max(0, own.start - HALO), min(size, own.stop + HALO))
    assert (times == 1).all()


def test_a_second_process_places_the_same_knots() -> None:
    srgb = np.asarray(drawing("celtic_panel"))
    rug, card = make_rug(600, rows_for(srgb, 600), SQUARE), card_of([WHITE, BLACK])
    mate = Mate.started()
    assert mate is not None
    one = convert(Artwork(srgb), rug, card, Design(), YarnChoice())
    with mate, running(TwoProcesses(mate)):
        two = convert(Artwork(srgb), rug, card, Design(), YarnChoice())
    assert np.array_equal(one.knot_map.knots, two.knot_map.knots)
    assert one.lines_kept == two.lines_kept
