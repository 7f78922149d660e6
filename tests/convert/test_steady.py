"""Along the side of a border every repeat is drawn alike, on whole knots, and nothing is lost or painted over by it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage
from support import ornament
from support.drawings import card_of, picked
from support.holdouts import INKS
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.checks.bordersizes import sizes_of_borders
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.order.design import Design, Repeat, YarnChoice
from chartmaker.reports.records.maps import conversion_dict

#: Guard stripes of whole knots on both sides of a band with motifs, from the rim inwards, and where that band begins.
LINES, DEEP, START = [(2.0, 1), (1.0, 4), (9.0, 9), (1.0, 4), (2.0, 3)], 9, 3
COLUMNS, ROWS, SCALE = 110, 84, 5.3


def bordered(name: str, tenths: int, *, changed: bool = False, golden: tuple[int, ...] = ()) -> np.ndarray:
    """Return a plain field in a border of motifs at a pitch in tenths of a knot; no knot is a whole number of pixels.

    If it is `changed`, the motif in the middle of the top is missing, and red is gold in the next one on the right.
    Motifs of the top that are `golden`, by their places from the middle, have gold for red.
    """

    def field(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.zeros(np.broadcast(x, y).shape, dtype=np.uint8)

    regular = ornament.framed(field, COLUMNS, ROWS, LINES, ornament.MOTIFS[name], tenths / 10)

    def paint(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        inks = regular(x, y)
        number = np.floor((x - COLUMNS / 2) / (tenths / 10) + 0.5)
        within = (y > START) & (y < START + DEEP)
        inks = np.where(within & (number == 0) & changed, 0, inks)
        gold = within & np.isin(number, (1,) if changed else golden)
        return np.where(gold & (inks == 1), 3, inks).astype(np.uint8)

    shape = round(ROWS * SCALE), round(COLUMNS * SCALE)
    return ornament.rendered(paint, COLUMNS, ROWS, shape, INKS, fine=3)[0]


def woven(srgb: np.ndarray, *boxes: tuple[int, int, int, int], **design: object) -> Conversion:
    order = Design.model_validate({"style": "flat", "fit": "stretch", **design})
    said = tuple(Repeat(box=box) for box in boxes)
    return convert(Artwork(srgb), make_rug(COLUMNS, ROWS, SQUARE), card_of(INKS), order, YarnChoice(), repeats=said)


def motifs_along(knots: np.ndarray) -> list[bytes]:
    """Return the shape and inks of each whole motif along the top of the border, which stand alone on the ground."""
    far = START + DEEP
    band = knots[START:far, far + 3 : COLUMNS - far - 3]
    number, many = ndimage.label(band != 0, np.ones((3, 3)))
    boxes = [box for box in ndimage.find_objects(number) if box[1].start > 0 and box[1].stop < band.shape[1]]
    assert many >= len(boxes) >= 3
    return [np.where(number[box] > 0, band[box], 0).tobytes() + bytes(band[box].shape) for box in boxes]


@pytest.mark.parametrize(("name", "tenths"), [("diamond", 125), ("diamond", 143), ("star", 125), ("leaf", 116)])
def test_equal_motifs_of_a_border_are_the_same_to_the_knot(name: str, tenths: int) -> None:
    """Common practice: on ruled paper a motif is drawn once and counted out from there."""
    srgb = bordered(name, tenths)
    found = woven(srgb)
    knots = picked(found)
    assert len(set(motifs_along(knots))) == 1
    assert len(set(motifs_along(knots[::-1]))) == 1
    told = {side.side: side for side in found.sides}
    assert told["top"].drawn == pytest.approx(tenths / 10, abs=0.1)
    assert told["top"].steps == told["bottom"].steps
    assert max(told["top"].steps) - min(told["top"].steps) <= 1
    assert max(told["top"].steps) >= tenths / 10 - 1


@pytest.mark.parametrize(("name", "tenths"), [("star", 100), ("leaf", 120)])
def test_repeats_of_whole_knots_stand_as_many_knots_apart(name: str, tenths: int) -> None:
    """By the arithmetic of the drawing: a border that repeats every 12 knots needs no step of 11."""
    top = next(side for side in woven(bordered(name, tenths)).sides if side.side == "top")
    assert top.steps == (tenths // 10,)


def test_without_whole_repeats_each_motif_is_drawn_where_it_lies() -> None:
    """The test above must not pass because any border comes out so."""
    srgb = bordered("diamond", 125)
    assert len(set(motifs_along(picked(woven(srgb, repeats=False, motifs=False))))) > 1
    assert woven(srgb, repeats=False).sides == ()


@settings(max_examples=3, deadline=None)
@given(st.sampled_from(["drop", "hook", "diamond"]), st.integers(105, 160))
def test_a_mirrored_or_turned_border_gives_the_mirrored_or_turned_map(name: str, tenths: int) -> None:
    srgb = bordered(name, tenths)
    knots = picked(woven(srgb))
    assert np.array_equal(picked(woven(srgb[:, ::-1])), knots[:, ::-1])
    assert np.array_equal(picked(woven(srgb[::-1, ::-1])), knots[::-1, ::-1])


def test_a_motif_that_is_missing_stays_away_and_one_of_another_colour_keeps_it() -> None:
    knots = picked(woven(bordered("star", 125, changed=True)))
    assert (knots[START : START + DEEP, COLUMNS // 2 - 4 : COLUMNS // 2 + 4] == 0).all()
    beside = knots[START : START + DEEP, COLUMNS // 2 + 9 : COLUMNS // 2 + 16]
    assert (beside == 3).any()
    assert not (beside == 1).any()


def test_a_mirrored_rug_stays_mirrored() -> None:
    knots = picked(woven(bordered("drop", 137), mirror="both"))
    assert np.array_equal(knots, knots[:, ::-1])
    assert np.array_equal(knots, knots[::-1])


def test_what_became_of_a_border_is_told() -> None:
    found = woven(bordered("diamond", 125))
    said = " ".join(str(finding.said) for finding in found.findings)
    assert (
        "The border repeats every 12.5 knots all round; its repeats are woven alike and begin 12 or 13 knots apart."
        in said
    )
    told = conversion_dict(found)["border_repeats"]
    assert {side["side"] for side in told} >= {"top", "bottom"}
    assert {step for side in told for step in side["steps"]} == {12, 13}
    # By hand: 110 columns hold 8.8 repeats of 12.5, and 84 rows 6.72; at 12 knots that is 106 and 81, at 13 114 and 87.
    sizes = [str(finding.said) for finding in sizes_of_borders(found.borders)]
    assert len(sizes) == 1  # it is told once for all sides
    assert sizes[0].startswith("A border repeats every 12.5 knots, which is no whole number")
    assert "106 x 81 knots, 106 x 81 cm (3'5 3/4\" x 2'7 7/8\"), at 12 knots each, or with 114 x 87 knots" in sizes[0]
    borders = conversion_dict(found)["borders"]
    assert [(each["sides"][0], each["whole"]) for each in borders["pitches"]] == [("top", False), ("left", False)]
    assert borders["larger"] == {"columns": 114, "rows": 87, "width_cm": 114, "length_cm": 87, "knots": [13, 13]}


def test_what_is_said_of_a_side_is_used_where_nothing_is_found_and_told_where_it_is_wrong() -> None:
    """A border in two colourways of a motif: the pitch is 12.5 knots, which is 66.25 pixels, whoever says it."""
    srgb = bordered("star", 125, golden=(-2, 1))
    assert "top" not in {side.side for side in woven(srgb).sides}
    found = woven(srgb, (258, 17, 325, 63), (17, 190, 63, 240))  # the other box is 50 high, by which nothing repeats
    told = {side.side: side for side in found.sides}
    assert told["top"].drawn == pytest.approx(12.5, abs=0.1)
    assert told["top"].repeats >= 3
    assert told["left"].drawn == told["right"].drawn  # as without a box
    assert [str(finding.about) for finding in found.findings if "repeat]]" in str(finding.about)] == [
        "[[repeat]] 2, box"
    ]
