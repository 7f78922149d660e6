"""Motifs of a drawing that repeats are found to mirror, and a repeat takes as many knots as lets them."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from support import ornament
from support.drawing_measures import guards, motifs
from support.drawing_measures.placed import Drawing, Placed
from support.drawings import COLOURS, card_of, converted, drawing, picked
from support.holdouts import INKS, labels_among_neighbours
from support.making import SQUARE, make_rug

from chartmaker.convert.laying.axes import Axis
from chartmaker.convert.laying.mirrorings import Mirrorings, lies_well, mirrorings_again, mirrorings_of
from chartmaker.convert.repeats.wholes import Period


@given(st.integers(1, 7), st.integers(8, 60), st.integers(0, 99), st.booleans())
def test_motifs_keep_their_axes_if_half_knots_lie_between_them(parts: int, knots: int, first: int, held: bool) -> None:
    """With `parts` axes to a repeat, `knots / parts` lie between two; worked out by hand."""
    places = [first + 420 * Fraction(each, parts) for each in range(2 * parts)]
    axis = Axis(float(places[1]), True) if held else None
    found = Mirrorings(420.0, False, axis, tuple(map(float, places)))
    keeping = found.keeping(knots, Fraction(420))
    assert (keeping is not None) == ((2 * knots) % parts == 0)
    assert keeping is None or keeping in found.motifs
    assert keeping is None or not held or keeping == axis.place  # type: ignore[union-attr]
    again = mirrorings_again(found.kept)
    assert again == found


def test_few_motifs_that_mirror_have_no_say() -> None:
    assert Mirrorings().keeping(10, Fraction(50)) is None
    assert Mirrorings(50.0, False, None, (10.0, 60.0), 5).keeping(10, Fraction(50)) is None
    assert Mirrorings(50.0, False, None, (10.0, 60.0), 4).keeping(10, Fraction(50)) == 60.0  # the nearer to the middle


def test_a_repeat_takes_the_nearest_number_with_which_motifs_mirror() -> None:
    """Five axes to a repeat of 53.3 knots: 53 would be nearest, 55 lets all mirror; 30 and 25 would force 26.7."""
    motifs_at = tuple(20.0 + 60 * each for each in range(15))
    own = Mirrorings(450.0, False, None, motifs_at), Mirrorings(450.0, False, None, motifs_at)
    for columns, knots in ((160, 55), (80, 27)):
        whole = Period(Fraction(300), Fraction(300), False, own).whole((columns,) * 2, (Fraction(900, columns),) * 2)
        assert whole is not None
        assert whole.across.knots == whole.down.knots == knots


@given(st.integers(0, 99), st.integers(8, 14), st.integers(0, 5))
def test_axes_of_motifs_are_found_where_they_were_drawn(seed: int, half: int, gap: int) -> None:
    """A lozenge and a triangle that points to the right: both mirror down, and only the lozenge mirrors across."""
    size = 2 * half + 1
    y, x = np.mgrid[-half : half + 1, -half : half + 1]
    tile = np.zeros((size + 2 + gap, 2 * size + 4 + gap), dtype=np.uint8)
    tile[1 : 1 + size, 1 : 1 + size][np.abs(y) + np.abs(x) <= half] = 1
    tile[1 : 1 + size, size + 2 : 2 * size + 2][2 * np.abs(y) <= half - x] = 2
    inks = np.tile(tile, (3, 3))
    period = Fraction(tile.shape[0]), Fraction(tile.shape[1])
    down, across = mirrorings_of(inks, period)
    assert set(across.motifs) == {1 + half + 0.5 + tile.shape[1] * each for each in range(3)}
    assert across.others == 9
    assert set(down.motifs) == {1 + half + 0.5 + tile.shape[0] * each for each in range(3)}
    assert down.others == 0
    image = mirrorings_of(inks[:, ::-1], period)[1]
    assert sorted(image.motifs) == sorted(inks.shape[1] - place for place in across.motifs)


def test_an_axis_lies_well_on_an_edge_and_in_the_middle_of_a_knot() -> None:
    edges = np.array([0.0, 8.0, 18.0, 28.0])
    assert [place for place in range(29) if lies_well(edges, float(place))] == [0, 4, 8, 13, 18, 23, 28]
    assert lies_well(edges, None)


def test_leaves_of_which_every_second_row_is_turned_lie_well() -> None:
    """Half of them mirror in each direction; with 25 knots for a repeat of 12.5 a row they lay a quarter knot off."""
    paint = ornament.tiling(ornament.leaf, 12.5, "turned", 0.5)
    srgb, labels = ornament.rendered(paint, 100, 81, (891, 1100), INKS)
    result = converted(srgb, make_rug(100, 81, SQUARE), card_of(INKS))
    assert result.repeat is not None and result.repeat.knots in {(24, 24), (26, 26)}
    placement, drawn = result.placed.placement, Drawing(labels, 11.0, 11.0, len(INKS))
    placed = Placed(drawn, placement.raster_row_edges, placement.column_edges, picked(result))
    assert motifs.mirror(placed).value > 0.6
    assert guards.fidelity(placed).value >= 0.985
    assert guards.unbroken(placed).value >= 0.96


def test_crosses_of_five_colours_are_their_own_images() -> None:
    """No axis of the whole drawing holds them; half of them were lopsided at 160 columns before, as at 105.

    The drawing is published (its source stands beside it), and the measure knows nothing of the converter.
    """
    srgb, colours = drawing("crosses"), np.array(COLOURS["crosses"][1], dtype=np.uint8)
    labels = labels_among_neighbours(srgb, colours)
    columns, rows = 105, 140
    result = converted(srgb, make_rug(columns, rows, SQUARE), card_of(colours))
    placement = result.placed.placement
    drawn = Drawing(labels, labels.shape[0] / rows, labels.shape[1] / columns, len(colours))
    placed = Placed(drawn, placement.raster_row_edges, placement.column_edges, picked(result))
    mirror = motifs.mirror(placed)
    assert mirror.part == mirror.whole > 80
    assert motifs.motif_consistency(placed).value == 1
