"""Artwork is placed on the knot grid with row 0 at the foot of the picture, in whole or in part."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import box_on, evenly_placed, place
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design

SIZES = st.integers(2, 60)


def test_the_first_row_woven_lies_at_the_foot_of_the_picture() -> None:
    """Row 0 is the first row woven, which is the foot of the rug (common practice), and so the last in raster order."""
    placement = place(Artwork(np.zeros((60, 40, 3), np.uint8)), make_rug(20, 30, "10x10 per dm"), Design()).placement
    assert (placement.rows, placement.columns) == (30, 20)
    assert placement.row_edges.tolist() == list(range(60, -1, -2))
    assert placement.raster_row_edges.tolist() == list(range(0, 61, 2))
    assert placement.column_edges.tolist() == list(range(0, 41, 2))


@given(rows=SIZES, columns=SIZES, first=st.integers(0, 20), left=st.integers(0, 20))
def test_a_part_keeps_the_edges_of_its_rows_and_columns(rows: int, columns: int, first: int, left: int) -> None:
    whole = evenly_placed(3, 5, 7.3 * (rows + first), 11.9 * (columns + left), rows + first, columns + left)
    part = whole.raster_part(slice(first, first + rows), slice(left, left + columns))
    assert (part.rows, part.columns) == (rows, columns)
    assert part.raster_row_edges.tolist() == whole.raster_row_edges[first:].tolist()
    assert part.column_edges.tolist() == whole.column_edges[left:].tolist()
    assert part.height == pytest.approx(7.3 * rows)
    assert part.width == pytest.approx(11.9 * columns)


@given(rows=SIZES, columns=SIZES)
def test_only_a_grid_of_the_artworks_own_pixels_is_a_pixel_a_knot(rows: int, columns: int) -> None:
    assert evenly_placed(0, 0, rows, columns, rows, columns).is_a_pixel_a_knot
    assert not evenly_placed(0, 0, rows, columns, rows, columns + 1).is_a_pixel_a_knot
    assert not evenly_placed(0.5, 0, rows, columns, rows, columns).is_a_pixel_a_knot


def test_the_part_that_the_rug_shows_is_cut_to_the_grid() -> None:
    srgb = np.zeros((60, 80, 3), np.uint8)
    srgb[:, :20] = 200
    cropped = place(Artwork(srgb), make_rug(20, 30, "10x10 per dm"), Design(fit="crop"))
    assert cropped.shown.srgb.shape == (60, 40, 3)
    assert not cropped.shown.srgb.any()


def test_what_else_makes_artwork_fit_is_named() -> None:
    """Artwork that lies on its side is turned; one that is far off is laid anew rather than pulled."""
    rug = make_rug(40, 60, "10x10 per dm")
    with pytest.raises(ArtworkError, match="turned by a quarter it would fit"):
        place(Artwork(np.zeros((40, 60, 3), np.uint8)), rug, Design())
    with pytest.raises(ArtworkError, match="laid anew for the size by fit = 'relay'"):
        place(Artwork(np.zeros((120, 40, 3), np.uint8)), rug, Design())
    with pytest.raises(ArtworkError) as found:
        place(Artwork(np.zeros((66, 40, 3), np.uint8)), rug, Design())
    assert "relay" not in str(found.value) and "quarter" not in str(found.value)


@pytest.mark.parametrize("degrees", [0, 90, 180, 270])
def test_a_box_goes_with_the_artwork_that_is_turned_and_filled_up(degrees: int) -> None:
    """What is marked on the picture lies in the box afterwards, and nothing else does; an enlargement is undone."""
    picture = np.zeros((60, 80, 3), np.uint8)
    picture[10:20, 30:60] = 200
    artwork, rug = Artwork(picture), make_rug(40, 40, "10x10 per dm")
    placed = place(artwork, rug, Design(fit="pad", turn=degrees)).artwork  # type: ignore[arg-type]
    own = Artwork(placed.srgb[::2, ::2])
    top, left, bottom, right = (round(side) for side in box_on(own, placed, artwork, (30, 10, 60, 20), degrees))
    marked = own.srgb[..., 0] == 200
    assert marked.sum() == (bottom - top) * (right - left) == 75
    assert marked[top:bottom, left:right].all()
