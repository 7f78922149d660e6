"""In other sizes of a design borders keep their width, repeats stay whole, and kept parts keep their knots.

What must hold is common practice of designers: a border keeps its width, motifs repeat whole, the middle of a side
falls on the middle of a repeat or between two (Ali Fard on repeats and borders; a size may be off by 2 to 3 %:
Rug News, 6 August 2008).
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from skimage import data
from support.framed import (
    BLACK,
    COLOURS,
    FIELD,
    GOLD,
    KNOT_PX,
    RIM,
    BorderDrawn,
    Framed,
    drawn_of,
    fixed,
    framed,
    patterned,
)
from support.making import make_yarn

from chartmaker.artwork.artwork import Artwork
from chartmaker.colours.labelling import label_pixels
from chartmaker.convert.conversion import convert
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.counting import MOST_GIVEN
from chartmaker.relay.parts import SIDES, parts_of
from chartmaker.relay.planning import Plan, Told, Unmet, planned
from chartmaker.relay.relaid import Relaid, relaid, taken_apart

DENSITY = "20x20 per dm"
KNOT_MM = 5
QUIET = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)
CARD = tuple(make_yarn(number, (int(r), int(g), int(b))) for number, (r, g, b) in enumerate(COLOURS))


def rug_of(width: float, length: float) -> Rug:
    """Return a rug of about that many knots across and along."""
    size = {"width": f"{width * KNOT_MM:.3f} mm", "length": f"{length * KNOT_MM:.3f} mm"}
    return Rug.model_validate({"density": DENSITY, **size})


def layout_of(drawn: Framed, **more: object) -> Layouting:
    length, width = (each * KNOT_MM for each in drawn.knots)
    return Layouting.model_validate({"drawn": f"{width:.3f} x {length:.3f} mm", **more})


def laid(drawn: Framed, width: float, length: float, **more: object) -> Relaid:
    return relaid(drawn.artwork, rug_of(width, length), Design(), layout_of(drawn, **more))


@QUIET
@given(framed())
def test_the_parts_of_a_design_are_found_as_they_were_drawn(drawn: Framed) -> None:
    length, width = drawn.knots
    parts = taken_apart(drawn.artwork, rug_of(width, length), Design(), layout_of(drawn)).parts
    pitches = [border.period for border in drawn.borders if border.period]
    found = [[band.sides[side].repeating for side in SIDES] for band in parts.bands]
    repeating = [sides for sides in found if any(side is not None for side in sides)]
    assert len(repeating) == len(pitches)
    for sides, pitch in zip(repeating, pitches, strict=True):
        assert all(side is not None and abs(side.period - pitch) < 0.5 for side in sides)
    assert (parts.field.height, parts.field.width) == drawn.field
    assert (parts.pieces is not None) == (drawn.kind != "strewn")
    assert (parts.lattice is not None) == (drawn.kind == "strewn")
    if drawn.kind == "medallion":
        assert parts.pieces is not None
        assert [piece.is_medallion for piece in parts.pieces.pieces].count(True) == 1
        assert len(parts.pieces.pieces) == 5


@QUIET
@given(framed(), st.floats(0.75, 1.7), st.floats(0.75, 1.7), st.sampled_from(["as drawn", "turned", "blocks"]))
def test_borders_keep_their_width_and_repeats_are_whole(drawn: Framed, wide: float, long: float, corner: str) -> None:
    length, width = drawn.knots
    ordered = rug_of(width * wide, length * long)
    try:
        anew = relaid(drawn.artwork, ordered, Design(), layout_of(drawn, corner=corner))
    except ArtworkError as refused:
        assert "the nearest that does is" in str(refused) or "the nearest that has room for all is" in str(refused)
        return
    plan = anew.plan
    assert abs(plan.columns * KNOT_MM - ordered.width_mm) <= 0.02 * ordered.width_mm + 1e-6
    assert abs(plan.rows * KNOT_MM - ordered.length_mm) <= 0.02 * ordered.length_mm + 1e-6
    for band, own in zip(anew.parts.bands, plan.bands, strict=True):
        for side, knots in own.widths.items():
            assert abs(knots - band.width(side) / KNOT_PX) <= 0.5
        for side, planned_side in own.sides.items():
            count, drawn_side = planned_side.count, band.sides[side].repeating
            if count is None or drawn_side is None:
                continue
            assert abs(planned_side.period - drawn_side.period / KNOT_PX) <= 0.5
            assert abs(count.spare) <= MOST_GIVEN * count.times * planned_side.period or count.way == "ground"
    picture = anew.placed.artwork.srgb
    assert np.array_equal(picture, picture[:, ::-1])
    assert np.array_equal(picture, picture[::-1])
    assert {len(set(lengths)) for lengths in _repeats_of(anew)} == {1}


def _repeats_of(anew: Relaid) -> list[list[bytes]]:
    """Return the pictures of all repeats at the top of each border whose repeats keep their length."""
    plan, picture = anew.plan, anew.placed.artwork.srgb
    px = picture.shape[0] // plan.rows
    found, outer, left = [], 0, 0
    for own in plan.bands:
        left += own.widths["left"]
        side = own.sides["top"]
        if side.count is not None and side.count.way == "exact":
            rows = slice(outer * px, (outer + own.widths["top"]) * px)
            begins = [(left + side.end + number * side.period) * px for number in range(side.count.times)]
            found.append([picture[rows, at : at + side.period * px].tobytes() for at in begins])
        outer += own.widths["top"]
    return found or [[b""]]


@QUIET
@given(framed(), st.floats(0.75, 1.7))
def test_the_refusal_of_a_size_names_the_nearest_sizes_that_come_out(drawn: Framed, wide: float) -> None:
    length, width = drawn.knots
    rug = rug_of(width, length)
    apart = taken_apart(drawn.artwork, rug, Design(), layout_of(drawn))
    plan = planned(apart.parts, (rug.rows, round(width * wide)), apart.knot_px, 0.0, Told(blocks=True))
    if isinstance(plan, Plan):
        return
    assert isinstance(plan, Unmet)
    for nearest in plan.nearest:
        grid = (plan.wanted, nearest.knots) if plan.across else (nearest.knots, round(width * wide))
        again = planned(apart.parts, grid, apart.knot_px, 0.0, Told(blocks=True))
        assert isinstance(again, Plan) or again.across != plan.across


@settings(QUIET, max_examples=4)
@given(framed())
def test_kept_parts_have_the_same_knots_in_every_size(drawn: Framed) -> None:
    """A corner and the first repeat of the border, and the medallion, are compared knot by knot in two sizes."""
    length, width = drawn.knots
    made = []
    for wide, long in ((1.0, 1.0), (1.31, 1.22)):
        anew = laid(drawn, width * wide, length * long, tolerance=0.25)
        design = Design().model_copy(update=anew.design)
        conversion = convert(anew.placed.artwork, anew.rug, CARD, design, YarnChoice())
        codes = np.array([yarn.code for yarn in conversion.knot_map.yarns])
        made.append((codes[conversion.knot_map.knots], anew.plan))
    (first, plan), (second, other) = made
    deep = wide = 0
    for band in plan.bands:
        block = slice(deep, deep + band.widths["bottom"]), slice(wide, wide + band.widths["left"])
        assert np.array_equal(first[block], second[block])
        deep, wide = block[0].stop, block[1].stop
    for mine, theirs in zip(plan.bands, other.bands, strict=True):
        side, its = mine.sides["bottom"], theirs.sides["bottom"]
        assert (side.end, side.period) == (its.end, its.period)
    if drawn.kind == "medallion":
        half = int(0.22 * min(drawn.field) / KNOT_PX) - 1
        assert np.array_equal(_middle(first, half), _middle(second, half))
    for knots in (first, second):
        assert np.array_equal(knots, knots[:, ::-1]) and np.array_equal(knots, knots[::-1])


@settings(QUIET, max_examples=8)
@given(patterned(), st.floats(1.0, 1.4), st.floats(1.0, 1.4))
def test_pieces_on_a_pattern_are_kept_and_the_pattern_goes_on_under_them(
    drawn: Framed, wide: float, long: float
) -> None:
    """The medallion with its pendants and the four corner pieces are kept, and everything else repeats."""
    length, width = drawn.knots
    anew = laid(drawn, width * wide, length * long, tolerance=0.1)
    parts, picture = anew.parts, anew.placed.artwork.srgb
    assert parts.pieces is not None and parts.tile is not None
    assert [piece.is_medallion for piece in parts.pieces.pieces].count(True) == 1
    assert [piece.is_corner for piece in parts.pieces.pieces].count(True) == 4
    assert (parts.lattice is not None) == (drawn.kind == "overlaid")
    assert np.array_equal(picture, picture[::-1]) and np.array_equal(picture, picture[:, ::-1])
    field = _field_of(anew)
    if drawn.kind == "overlaid":
        step = 5 * field.shape[0] // anew.plan.field[0]
        # the black outlines of medallion and corner pieces
        pieces = (field == COLOURS[5]).all(axis=-1) | (field == COLOURS[4]).all(axis=-1)
        assert pieces[:, : field.shape[1] // 2].any()
        # the edge of a piece may share its knot with whatever lies beside it
        beside = np.ones(1 + 2 * field.shape[0] // anew.plan.field[0])
        free = np.convolve(pieces[: field.shape[0] // 8].any(axis=0), beside, "same") == 0
        strip = field[: field.shape[0] // 8, free]
        assert np.array_equal(strip[:, step:], strip[:, :-step])


def _field_of(anew: Relaid) -> np.ndarray:
    """Return the picture of the field alone."""
    plan, picture = anew.plan, anew.placed.artwork.srgb
    px = picture.shape[0] // plan.rows
    bands = [sum(band.widths[side] for band in plan.bands) * px for side in ("top", "left", "bottom", "right")]
    return picture[bands[0] : picture.shape[0] - bands[2], bands[1] : picture.shape[1] - bands[3]]


@pytest.mark.parametrize("kind", ["overlaid", "scattered"])
def test_pieces_on_a_pattern_have_the_same_knots_in_every_size(kind: str) -> None:
    """Medallion, pendants and corner pieces are compared knot by knot in three sizes."""
    drawn = drawn_of((BorderDrawn(9 * KNOT_PX, 60.0, (5, 7), KNOT_PX),), (7 * 60 + 12, 5 * 60 + 12), kind)
    length, width = drawn.knots
    radius = 0.22 * min(drawn.field) / KNOT_PX
    made = []
    for wide, long in ((1.0, 1.0), (1.29, 1.21)):
        anew = laid(drawn, width * wide, length * long, tolerance=0.1)
        design = Design().model_copy(update=anew.design)
        knot_map = convert(anew.placed.artwork, anew.rug, CARD, design, YarnChoice()).knot_map
        codes = np.array([yarn.code for yarn in knot_map.yarns])[knot_map.knots]
        border = anew.plan.bands[0].widths["left"] + sum(band.widths["left"] for band in anew.plan.bands[1:])
        medallion, corner = _middle(codes, int(1.7 * radius)), codes[border:, border:]
        down, across = (np.arange(size) + 0.5 - size / 2 for size in medallion.shape)
        pendant = np.hypot(np.abs(down[:, None]) - 1.3 * radius, across) < 0.35 * radius
        inside = (np.hypot(down[:, None], across) < radius) | pendant
        quarter = np.hypot(*np.ogrid[0.5 : int(radius), 0.5 : int(radius)]) < 0.9 * radius
        made.append((medallion[inside], corner[: len(quarter), : len(quarter)][quarter]))
    assert len(np.unique(made[0][0])) >= 2
    for medallion, corner in made[1:]:
        assert np.array_equal(medallion, made[0][0]) and np.array_equal(corner, made[0][1])


def _middle(knots: np.ndarray, half: int) -> np.ndarray:
    """Return the knots round the middle, up to `half` to each side of it."""
    rows, columns = (slice(size // 2 - half, (size + 1) // 2 + half) for size in knots.shape)
    return knots[rows, columns]


def test_the_border_of_the_foot_serves_all_sides() -> None:
    drawn = fixed("medallion")
    length, width = drawn.knots
    anew = laid(drawn, width, length * 1.4, module=True, tolerance=0.1)
    picture = anew.placed.artwork.srgb
    px = picture.shape[0] // anew.plan.rows
    deep = anew.plan.bands[0].widths["bottom"] * px
    foot, side = picture[-deep:], picture[:, :deep]
    period = anew.plan.bands[1].sides["bottom"].period * px
    first = sum(band.widths["left"] for band in anew.plan.bands) * px + anew.plan.bands[1].sides["bottom"].end * px
    assert np.array_equal(foot[:, first : first + period], np.swapaxes(side[first : first + period][:, ::-1], 0, 1))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"field": "repeat"}, "needs a field that repeats"),
        ({"borders": ["40 cm"]}, "leave no field"),
    ],
)
def test_an_impossible_layout_is_refused_with_the_reason(more: dict[str, object], words: str) -> None:
    drawn = fixed("medallion")
    length, width = drawn.knots
    with pytest.raises(ArtworkError, match=words):
        laid(drawn, width, length, **more)


def test_a_painting_is_refused() -> None:
    with pytest.raises(ArtworkError, match="this artwork is a painting"):
        relaid(Artwork(data.astronaut()), rug_of(60, 60), Design(), Layouting())


def test_pieces_that_meet_are_refused_and_a_field_may_be_pulled() -> None:
    drawn = fixed("medallion")
    length, width = drawn.knots
    with pytest.raises(ArtworkError, match="have no room; the nearest that has room for all is") as refused:
        laid(drawn, width * 0.66, length * 0.66, tolerance=0.1)
    wide, long = re.findall(r"([\d.]+) x ([\d.]+) cm", str(refused.value).replace(" cm x", " x"))[0]
    assert laid(drawn, 10 * float(wide) / KNOT_MM, 10 * float(long) / KNOT_MM, tolerance=0.02).parts.pieces is not None
    anew = laid(drawn, width * 0.66, length * 0.66, tolerance=0.1, field="scale")
    assert any("pulled" in finding.what or "smaller" in finding.what for finding in anew.findings)
    anew = laid(drawn, width * 0.8, length * 0.8, tolerance=0.1, medallion="scale")
    assert anew.parts.pieces is not None


def test_borders_of_the_rug_file_override_those_that_are_found() -> None:
    drawn = fixed("plain")
    border = drawn.borders[-1]
    length, width = drawn.knots
    whole = f"{border.width / KNOT_PX * KNOT_MM:.3f} mm"
    anew = laid(drawn, width, length, borders=[whole])
    assert [band.widths["left"] for band in anew.plan.bands] == [border.width // KNOT_PX]


def test_a_stripe_is_plain_though_corner_pieces_reach_a_pixel_into_it() -> None:
    """Pixels beside an edge show a bit of both sides; a stripe of one colour has no repeats (common practice).

    The corner pieces reach over the rim of the field at the foot and at the right, as polygons do whose corners are
    whole pixels.
    """
    knot = 8
    picture = np.full((74 * knot, 50 * knot), RIM, dtype=np.uint8)
    first, last = 5 * knot, 7 * knot
    picture[first:-first, first:-first] = GOLD
    picture[last:-last, last:-last] = FIELD
    piece = 10 * knot
    for rows in (slice(last, last + piece), slice(-last - piece, 1 - last)):
        for columns in (slice(last, last + piece), slice(-last - piece, 1 - last)):
            picture[rows, columns] = BLACK
    artwork = Artwork(COLOURS[picture])
    layout = Layouting.model_validate({"drawn": "250 x 370 mm"})
    apart = taken_apart(artwork, rug_of(50, 74), Design(), layout)
    assert [[band.sides[side].plain for side in SIDES] for band in apart.parts.bands] == [[True] * 4] * 2
    anew = relaid(artwork, rug_of(62, 50), Design(), layout).placed.artwork.srgb
    px = anew.shape[0] // 50
    foot, right = anew[-7 * px : -5 * px, 7 * px : -7 * px], anew[7 * px : -7 * px, -7 * px : -5 * px]
    assert (foot == COLOURS[GOLD]).all() and (right == COLOURS[GOLD]).all()


def test_a_plain_picture_has_a_field_and_no_other_part() -> None:
    drawn = fixed("plain")
    plain = drawn.artwork.srgb[:1, :1].repeat(80, axis=0).repeat(60, axis=1)
    parts = parts_of(label_pixels(Artwork(plain), COLOURS), (KNOT_PX, KNOT_PX))
    assert parts.bands == () and parts.lattice is None
