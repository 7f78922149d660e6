"""The sizes at which borders repeat after whole knots are those that come out by hand; all by arithmetic."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SQUARE, make_rug

from chartmaker.order.design import Design
from chartmaker.order.rug import parse_size_mm
from chartmaker.order.wholesizes import BorderSizes, Pitch, border_sizes

#: The width and the height of the artwork in pixels, ten to a knot of the rug as ordered. Corners take 200 pixels.
PICTURE = 1640, 2300


def top(pitch_px: int, band: int = 0) -> Pitch:
    return Pitch(band, True, Fraction(pitch_px, 1640), 1240 // pitch_px)


def left(pitch_px: int, band: int = 0) -> Pitch:
    return Pitch(band, False, Fraction(pitch_px, 2300), 1900 // pitch_px)


def sized(*pitches: Pitch, density: str = SQUARE, fit: str | None = "stretch", **rug: object) -> BorderSizes | None:
    return border_sizes(pitches, make_rug(164, 230, density, **rug), Design.model_validate({"fit": fit}), PICTURE)


def grids(found: BorderSizes | None) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
    assert found is not None
    return tuple(None if each is None else each.grid for each in (found.smaller, found.larger))  # type: ignore[return-value]


def test_the_nearest_sizes_have_whole_pitches() -> None:
    """A top of 10 repeats of 12.4 of the 164 knots: 12 of them are 158.7 columns of the rug, 13 of them 171.9."""
    found = sized(top(124))
    # 230 rows in the same proportion are 223.0 and 241.2
    assert grids(found) == ((159, 223), (172, 241))
    assert found is not None and found.larger is not None
    assert (found.larger.width_mm, found.larger.length_mm) == (1720, 2410)
    assert found.larger.off_proportion < 0.001
    assert [round(pitch.knots((159, 223)), 1) for pitch in found.pitches] == [Fraction(12)]


def test_all_borders_are_whole_at_once() -> None:
    """The sides have 15 repeats of 12.4 of the 230 rows; 12 are 222.6 rows and 13 are 241.1."""
    assert grids(sized(top(124), left(124))) == ((159, 223), (172, 241))
    for grid in grids(sized(top(124), left(150, 1))):  # 10 repeats of 12.4 knots across, 12 of 15 along
        assert grid is not None
        assert abs(grid[0] * 124 / 1640 - round(grid[0] * 124 / 1640)) * 10 <= 0.5
        assert abs(grid[1] * 150 / 2300 - round(grid[1] * 150 / 2300)) * 12 <= 0.5


def test_borders_that_are_whole_ask_for_nothing() -> None:
    found = sized(top(120), left(121, 1), top(60, 1))
    assert found is not None
    assert [pitch.band for pitch in found.astray] == [1]  # 15 repeats of 12.1 knots are a knot and a half astray
    whole = sized(top(120), left(130))
    assert whole is not None and whole.astray == () and grids(whole) == (None, None)
    assert sized() is None


def test_where_no_size_serves_there_is_none() -> None:
    """In no number of columns from 123 to 205 are all four of these pitches whole; each is tried here."""
    pitches = (55, 73, 99, 131)
    for columns in range(123, 206):
        knots = [px * columns / 1640 for px in pitches]
        assert any(abs(k - round(k)) * (1240 // px) > 0.5 for k, px in zip(knots, pitches, strict=True)), columns
    assert grids(sized(*(top(px, band) for band, px in enumerate(pitches)))) == (None, None)


def test_an_artwork_that_must_fit_as_it_is_limits_the_proportion() -> None:
    """Without `fit` an artwork may be 2 % off the rug; one that is 1.9 % off already leaves little more one way."""
    found = sized(left(124), fit=None, density="10x10.19 per dm")
    assert found is not None
    for grid in grids(found):
        assert grid is not None
        tall = Fraction(grid[1], grid[0]) * Fraction(1000, 1019) / Fraction(2300, 1640)
        assert max(tall, 1 / tall) <= Fraction(102, 100)


def test_what_is_cut_or_is_no_rectangle_has_none() -> None:
    assert sized(top(124), fit="crop") is None
    assert sized(top(124), shape="ellipse") is None


@settings(max_examples=15, deadline=None)
@given(st.integers(60, 300), st.integers(60, 300))
def test_a_size_that_is_told_gives_the_grid_that_it_names(across: int, along: int) -> None:
    """Ordered in centimetres to the millimetre, as the finding prints it, it has those columns and rows."""
    found = sized(top(across), left(along), density="9/60 indian")
    if found is None:
        return
    for whole in (found.smaller, found.larger):
        if whole is not None:
            words = f"{round(float(whole.width_mm) / 10, 1)}x{round(float(whole.length_mm) / 10, 1)} cm"
            width, length = parse_size_mm(words)
            density = make_rug(164, 230, "9/60 indian").density
            assert round(width / density.knot_width_mm) == whole.grid[0]
            assert round(length / density.knot_height_mm) == whole.grid[1]
            assert abs(whole.grid[0] / 164 - 1) <= 0.25
            assert whole.off_proportion <= 0.0205
            assert all(pitch.astray(whole.grid) <= Fraction(1, 2) for pitch in found.pitches)
