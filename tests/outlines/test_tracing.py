"""Drawings are traced from arrays into whole coverages, as shapely judges them, with the areas that Pillow fills."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image, ImageDraw

from chartmaker.outlines.fields import fields_of
from chartmaker.outlines.lattice import areas_of
from chartmaker.outlines.merging import merged
from chartmaker.outlines.numbers import LARGEST_MM, places_of, size_mm
from chartmaker.outlines.thinlines import thin_lines
from chartmaker.outlines.tracing import Outlines, trace
from chartmaker.outlines.windows import further_places

NOISE = arrays(np.int16, st.tuples(st.integers(1, 14), st.integers(1, 14)), elements=st.integers(-1, 3))


def drawn(labels: np.ndarray, **over: float) -> Outlines:
    """Trace an array in which each pixel is one millimetre."""
    asked = {"tolerance_mm": 1.5, "tuft_mm": (3.0, 3.0), "smallest_tufts": 3.0} | over
    return trace(labels, labels.shape[::-1], names=("1", "2", "3", "4"), **asked)  # type: ignore[arg-type]


def filled(outlines: Outlines, shape: tuple[int, int], fine: int = 4) -> np.ndarray:
    """Fill the fields with Pillow, `fine` pixels a millimetre, and return the label of each pixel."""
    picture = Image.new("L", (shape[1] * fine, shape[0] * fine), 255)
    pen = ImageDraw.Draw(picture)
    for label, rings in sorted(outlines.rings, key=lambda field: -shapely.Polygon(field[1][0]).area):
        pen.polygon([(x * fine - 0.5, (outlines.height_mm - y) * fine - 0.5) for x, y in rings[0]], fill=label)
    return np.asarray(picture)


def ornament() -> np.ndarray:
    """Return a drawing of discs, slanting lines, a frame and a triangle, none of them symmetric."""
    picture = Image.new("L", (300, 400), 0)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((20, 20, 279, 379), outline=1, width=9)
    pen.ellipse((60, 70, 160, 190), fill=2)
    pen.ellipse((90, 100, 130, 150), fill=0)
    pen.polygon(((180, 300), (250, 330), (170, 350)), fill=3)
    pen.line((150, 180, 240, 300), fill=1, width=5)
    pen.rectangle((200, 60, 250, 110), fill=3)
    return np.asarray(picture).astype(np.int16)


@settings(max_examples=150, deadline=None)
@given(NOISE)
def test_any_array_gives_a_whole_coverage(labels: np.ndarray) -> None:
    """Noise is the hardest case: every field is valid, none overlap or leave gaps, and the areas add up."""
    fields = fields_of(labels, (1.0, 1.0), 1.5)
    assert len(fields.labels) == len(areas_of(labels).pixels)
    assert shapely.is_valid(fields.polygons).all()
    assert shapely.coverage_is_valid(fields.polygons)
    whole = shapely.union_all(fields.polygons)
    assert shapely.area(fields.polygons).sum() == pytest.approx(whole.area, abs=1e-6)
    if (labels >= 0).all():
        assert whole.area == pytest.approx(labels.size, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(NOISE)
def test_the_mirror_image_has_the_mirrored_outlines(labels: np.ndarray) -> None:
    one = fields_of(labels, (1.0, 1.0), 1.5)
    two = fields_of(labels[:, ::-1].copy(), (1.0, 1.0), 1.5)
    turned = shapely.transform(two.polygons, lambda at: at * [-1, 1] + [labels.shape[1], 0])
    for label in range(4):
        here, there = (
            shapely.union_all(fields[names == label])
            for fields, names in ((one.polygons, one.labels), (turned, two.labels))
        )
        # other points may be left out along a line, which shifts it by a tenth of a pixel
        assert here.symmetric_difference(there).area <= 0.02 + 0.01 * here.length


def test_a_drawing_keeps_its_areas_to_half_a_percent() -> None:
    labels = ornament()
    found = filled(drawn(labels), labels.shape)
    assert (found == labels.repeat(4, 0).repeat(4, 1)).mean() >= 0.995


def test_curves_are_smooth_and_corners_stay() -> None:
    labels = ornament()
    outlines = drawn(labels)
    square = next(rings[0] for label, rings in outlines.rings if label == 3 and len(rings[0]) == 5)
    corners = sorted(map(tuple, square[:-1].round(2).tolist()))
    # the corners of the drawing itself, including the ends of Pillow's lines
    assert corners == [(200, 289), (200, 340), (251, 289), (251, 340)]
    disc = next(rings[0] for label, rings in outlines.rings if label == 2)
    centre, radii = np.array([110.5, 400 - 130.5]), np.array([50.5, 60.5])
    off = np.hypot(*((disc - centre) / radii).T) - 1
    assert np.abs(off).max() * 55 < 0.75  # the ellipse is right to less than the diagonal of half a pixel
    turns = np.diff(np.unwrap(np.arctan2(*np.diff(disc, axis=0).T[::-1])))
    assert np.degrees(np.abs(turns)).max() < 25  # steps of pixels would turn by 90 degrees


@pytest.mark.parametrize("slope", [0.02, 0.03, 0.05, 0.1, 0.21, 0.37, 0.5, 0.8])
def test_slanted_edges_do_not_wobble(slope: float) -> None:
    """The edge is within a seventh of a pixel of the line as drawn, however far apart its steps are (geometry)."""
    row, column = np.mgrid[:260, :300] + 0.5
    labels = (row - 130 > slope * (column - 150)).astype(np.int16)
    rings = next(rings for label, rings in drawn(labels).rings if label == 1)
    x, y = shapely.get_coordinates(shapely.segmentize(shapely.linestrings(rings[0]), 1.0)).T
    off = (260 - y - 130 - slope * (x - 150)) / np.hypot(1, slope)
    along = off[(np.abs(x - 150) < 120) & (np.abs(off) < 3)]
    assert len(along) > 200 and np.abs(along).max() < 1 / 7


@pytest.mark.parametrize("radius", [12, 25, 50, 90, 120])
def test_circles_turn_evenly(radius: int) -> None:
    """The outline is within a third of a pixel of the circle, and turns evenly, to 3 degrees in every four pixels."""
    row, column = np.mgrid[: 2 * radius + 30, : 2 * radius + 30] + 0.5
    middle = np.array([radius + 15.3, radius + 14.6])
    labels = (np.hypot(column - middle[0], row - middle[1]) <= radius).astype(np.int16)
    ring = shapely.linestrings(next(rings for label, rings in drawn(labels).rings if label == 1)[0])
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, np.arange(0, shapely.length(ring) - 4, 4.0)))
    away = np.hypot(*(points - [middle[0], len(labels) - middle[1]]).T)
    assert np.abs(away - radius).max() < 1 / 3
    turns = np.degrees(np.diff(np.unwrap(np.arctan2(*np.diff(points, axis=0).T[::-1]))))
    assert np.abs(turns).std() < 3


def test_a_thin_line_has_its_centre_and_width() -> None:
    outlines = drawn(ornament())
    line = next(line for line in outlines.lines if line.label == 1 and len(line.points_mm) > 1)
    points = shapely.get_coordinates(shapely.segmentize(shapely.linestrings(line.points_mm), 1.0))
    off = [abs((240 - 150) * (400 - y - 180) - (300 - 180) * (x - 150)) / 150 for x, y in points]
    assert len(points) > 120 and len(line.points_mm) < 30  # each is a millimetre, and few of them are needed
    # it is 5 mm in rows of 3 mm, and its ends lead into what the line meets
    assert max(off[8:-8]) < 1 and line.tuft_rows == 2
    assert not [line for line in outlines.lines if line.label == 2]


@pytest.mark.parametrize("pixels", [1, 2, 3, 4, 5, 6, 7])
@pytest.mark.parametrize("upright", [False, True])
def test_a_line_of_any_width_is_measured_whole_and_its_middle_is_in_the_middle(pixels: int, upright: bool) -> None:
    """A line drawn from a map has a pixel a tuft, so that two tufts are two rows, not one (arithmetic)."""
    labels = np.zeros((60, 80), dtype=np.int16)
    labels[20 : 20 + pixels, 10:70] = 1
    found = thin_lines(labels.T.copy() if upright else labels, 8, areas_of(labels.T if upright else labels))
    assert {line.width for line in found} == {pixels}
    (line,) = found
    across = line.points[:, 0 if upright else 1]
    assert float(np.median(across)) == pytest.approx(20 + pixels / 2, abs=0.01)


def test_burrs_on_a_thin_line_do_not_part_it() -> None:
    """A skeleton forks at every burr, yet a line of several widths is one line, and a true crossing gives four."""
    labels = np.zeros((120, 160), dtype=np.int16)
    labels[40:45, 10:150] = 1
    labels[36:40, 60:63] = labels[45:48, 100:103] = 1
    lines = drawn(labels).lines
    assert [line.label for line in lines] == [1]
    across, along = np.array(lines[0].points_mm).T
    assert along == pytest.approx(120 - 42.5, abs=1.1) and np.ptp(across) > 130
    labels[10:110, 80:85] = 1
    assert [line.label for line in drawn(labels).lines] == [1] * 4


def lettered() -> np.ndarray:
    """Return the letters K, A and H beside each other within a frame, in strokes 6 mm wide, and a bar that nears it."""
    picture = Image.new("L", (320, 200), 0)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((10, 10, 309, 189), outline=2, width=14)
    for way in (
        ((60, 60), (60, 110)),
        ((60, 88), (90, 60)),
        ((70, 80), (92, 110)),
        ((100, 110), (120, 60), (140, 110)),
        ((108, 93), (132, 93)),
        ((165, 60), (165, 110)),
        ((195, 60), (195, 110)),
        ((165, 85), (195, 85)),
        ((60, 150), (291, 150)),
    ):
        pen.line(way, fill=1, width=6)
    return np.asarray(picture).astype(np.int16)


def test_centre_lines_fill_the_strokes_of_letters_and_keep_out_of_the_ground_between_them() -> None:
    """All of a stroke is near its centre line and all of that is in the stroke, as a skeleton is defined (geometry)."""
    labels = lettered()
    found = drawn(labels)
    assert {line.label for line in found.lines} == {1} and {line.tuft_rows for line in found.lines} == {2}
    middles = shapely.union_all([shapely.linestrings(line.points_mm) for line in found.lines])
    rings = [rings for label, rings in found.rings if label == 1]
    strokes = shapely.union_all([shapely.Polygon(ring[0], ring[1:]) for ring in rings])
    assert len(rings) == 4 and strokes.buffer(0.5).contains(middles)
    assert strokes.difference(middles.buffer(6)).area < 0.01 * strokes.area


@pytest.mark.parametrize("degrees", [15, 25, 40, 60, 90, 130])
def test_wedges_and_corners_have_no_centre_line(degrees: float) -> None:
    """Neither the wedge nor the ground round it is a stroke; both are broad at the other end (geometry)."""
    picture = Image.new("L", (400, 400), 0)
    half = np.radians(degrees / 2)
    sides = [(200 + 180 * np.sin(turn), 380 - 180 * np.cos(turn)) for turn in (-half, half)]
    ImageDraw.Draw(picture).polygon([(200, 380), *sides], fill=1)
    assert not drawn(np.asarray(picture).astype(np.int16)).lines


def test_a_spot_too_small_to_tuft_joins_the_field_around_it() -> None:
    labels = np.zeros((40, 60), dtype=np.int16)
    labels[:, 30:] = 1
    labels[10:14, 8:12], labels[20:26, 40:46] = 2, 3
    found = merged(labels, 27)
    assert (found.areas, found.pixels, found.largest_pixels) == (1, 16, 16)
    assert found.labels[12, 10] == 0 and found.labels[22, 42] == 3
    assert (merged(labels[:, ::-1], 27).labels[:, ::-1] == found.labels).all()


def test_each_field_has_its_number_and_no_number_lies_on_another() -> None:
    outlines = drawn(ornament())
    boxes = []
    assert {place.field for place in outlines.numbers} == set(range(len(outlines.rings)))
    for place in outlines.numbers:
        label, rings = outlines.rings[place.field]
        field = shapely.Polygon(rings[0], rings[1:])
        assert field.contains(shapely.Point(place.at_x_mm, place.at_y_mm))
        wide, high = size_mm(str(label + 1), place.height_mm)
        boxes.append(
            shapely.box(place.x_mm - wide / 2, place.y_mm - high / 2, place.x_mm + wide / 2, place.y_mm + high / 2)
        )
        assert place.has_leader or field.contains(boxes[-1])
    for number, box in enumerate(boxes):
        assert not any(box.intersection(other).area > 0 for other in boxes[number + 1 :])


def test_a_slender_part_behind_a_closed_neck_has_a_number_too() -> None:
    """Of 1.9 mm by 9 mm some 13 square millimetres are seen between the edges."""
    corners = [(0, 0), (9, 0), (9, 5), (12, 5), (12, 0), (13.9, 0), (13.9, 9), (12, 9), (12, 6), (9, 6), (9, 9), (0, 9)]
    found = places_of(np.array([shapely.Polygon(corners)], dtype=object), ["7"], (14, 9))
    assert sorted(place.at_x_mm > 10 for place in found) == [False, True]


def test_a_field_without_a_number_takes_no_room_from_those_that_have_one() -> None:
    """Of two fields one above the other only the upper one is numbered, as if it were alone."""
    one, two = shapely.box(0, 0, 30, 10), shapely.box(0, 10, 30, 20)
    both = places_of(np.array([one, two], dtype=object), ["", "7"], (30, 20))
    alone = places_of(np.array([two], dtype=object), ["7"], (30, 20))
    assert [(place.field, place.x_mm, place.y_mm) for place in both] == [(1, alone[0].x_mm, alone[0].y_mm)]


@pytest.mark.parametrize(("neck_mm", "numbers"), [(0.6, 2), (1.4, 2), (2.4, 1)])
def test_both_ends_of_a_field_have_a_number_where_the_neck_between_them_looks_closed(
    neck_mm: float, numbers: int
) -> None:
    """Edges of 0.4 mm narrow a neck of 1.4 mm to a gap of 1 mm, and below 2.8 mm it is lost at 600 mm (ISO 9241-3)."""
    corners = [(0, 0), (10, 0), (10, 5), (20, 5), (20, 0), (30, 0), (30, 10), (20, 10), (20, 5 + neck_mm)]
    field = shapely.Polygon([*corners, (10, 5 + neck_mm), (10, 10), (0, 10)])
    found = places_of(np.array([field], dtype=object), ["7"], (30, 10))
    assert len(found) == numbers
    assert {place.at_x_mm // 15 for place in found} == set(range(numbers)) or numbers == 1


def test_a_number_on_a_further_sheet_keeps_off_the_centre_lines_too() -> None:
    """A band over two sheets, with the middle of the rug along its middle, has its number above that on both."""
    labels = np.zeros((60, 200), dtype=np.int16)
    labels[20:40] = 1
    outlines = drawn(labels)
    wide, high = outlines.width_mm, outlines.height_mm
    windows = [(0, 0, wide / 2 + 5, high), (wide / 2 - 5, 0, wide, high)]
    more = [place for places in further_places(outlines, windows, str) for place in places]
    assert len(more) >= 1
    for place in more:
        assert abs(place.y_mm - high / 2) >= size_mm("1", place.height_mm)[1] / 2 - 1e-6


def test_fields_that_meet_at_a_corner_alone_have_a_number_each() -> None:
    """A channel of 1.4 mm across a corner is as narrow as one along a side, which below 2.8 mm is lost at 600 mm."""
    corners = [(0, 0), (10.5, 0), (10.5, 9.5), (20, 9.5), (20, 20), (9.5, 20), (9.5, 10.5), (0, 10.5)]
    found = places_of(np.array([shapely.Polygon(corners)], dtype=object), ["7"], (20, 20))
    assert sorted(place.at_y_mm > 10 for place in found) == [False, True]


def test_a_line_behind_a_closed_neck_of_a_wide_field_has_a_number_of_its_own() -> None:
    """The field is 9 mm wide, the line 1.4 mm by 30, and drawn edges of 0.4 mm close the neck of 0.6 mm."""
    corners = [(0, 0), (9, 0), (9, 4), (11, 4), (11, 0), (41, 0), (41, 1.4), (12, 1.4), (12, 4.6), (9, 4.6), (9, 9)]
    found = places_of(np.array([shapely.Polygon([*corners, (0, 9)])], dtype=object), ["7"], (42, 9))
    assert sorted(place.at_x_mm > 10 for place in found) == [False, True]


def test_numbers_of_many_small_fields_stand_within_them() -> None:
    """Fields of 6 by 4 mm hold numbers as high as a book's capitals, which leaders across edges would not better."""
    places = [(x * 6.25, y * 25 / 6) for y in range(12) for x in range(18)]
    fields = np.array([shapely.box(x, y, x + 6.25, y + 25 / 6) for x, y in places])
    found = places_of(fields, [str(number % 40 + 1) for number in range(len(fields))], (112.5, 50))
    assert len(found) == len(fields)
    assert not [place for place in found if place.has_leader or place.height_mm < 2]


def test_leaders_do_not_cross_where_there_is_room() -> None:
    """Eyes that follow a leader take the wrong way where two cross; thin stripes ask for many side by side."""
    for seed in range(8):
        rng = np.random.default_rng(seed)
        labels = np.zeros((140, 160), dtype=np.int16)
        for stripe in range(10):
            top, high = int(rng.integers(40, 70)), int(rng.integers(18, 30))
            labels[top : top + high, 40 + 6 * stripe : 42 + 6 * stripe] = 1 + stripe % 2
        leaders = [
            shapely.LineString([(place.x_mm, place.y_mm), (place.at_x_mm, place.at_y_mm)])
            for place in drawn(labels).numbers
            if place.has_leader
        ]
        assert len(leaders) == 10
        assert not [one for one, other in combinations(leaders, 2) if one.crosses(other)], seed


def test_a_number_keeps_off_the_centre_lines_where_its_field_has_room() -> None:
    """The pattern is laid on the cloth by its centre lines, which nothing may cover (common practice)."""
    fields = np.array([shapely.box(20, 20, 80, 60), shapely.box(48, 62, 52, 80), shapely.box(5, 5, 15, 15)])
    wide, narrow, aside = places_of(fields, ["12", "3", "4"], (100, 80))
    box_wide, box_high = size_mm("12", wide.height_mm)
    assert not wide.has_leader and wide.height_mm == LARGEST_MM
    bar_mm = 0.35 * wide.height_mm  # by which a bar beside the number keeps off as well
    assert abs(wide.x_mm - 50) >= box_wide / 2 + bar_mm and abs(wide.y_mm - 40) >= box_high / 2 + bar_mm
    assert shapely.box(20, 20, 80, 60).contains(shapely.Point(wide.x_mm, wide.y_mm).buffer(box_high / 2))
    assert narrow.x_mm == pytest.approx(50, abs=0.5) or narrow.has_leader
    assert (aside.x_mm, aside.y_mm) == pytest.approx((10, 10), abs=0.5)
