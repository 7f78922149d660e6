"""The changes between two knot maps agree with a count knot by knot, and the picture shows every one of them."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import SettledMap, as_file, knot_maps, make_map, make_rug, make_yarn

from chartmaker.ground.colour import ciede2000, lab_from_srgb8
from chartmaker.ground.errors import DifferenceError
from chartmaker.knots.changes import OUTSIDE, changes_between, places_csv, setting_changes
from chartmaker.knots.knotmap import NO_KNOT, tied_only
from chartmaker.order.workshop import Workshop
from chartmaker.pages.changepicture import MARKS, mark_for, picture_of_changes, picture_size
from chartmaker.yarns.yarn import lab_of


def codes_of(knot_map: SettledMap) -> list[list[str]]:
    """Return every cell as the code of its yarn, one by one."""
    return [[OUTSIDE if cell == NO_KNOT else knot_map.yarns[cell].code for cell in row] for row in knot_map.knots]


@st.composite
def edited_maps(draw: st.DrawFn) -> tuple[SettledMap, SettledMap]:
    """Draw a map and an edit of it: repainted knots, one more yarn, cells rubbed out, unused yarns left out."""
    before = draw(knot_maps(most_columns=30, most_rows=30, most_yarns=8))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    knots = before.knots.copy()
    for _ in range(draw(st.integers(0, 5))):
        row, column = rng.integers(before.rows), rng.integers(before.columns)
        fill = rng.choice([*range(len(before.yarns) + 1), NO_KNOT])
        knots[row : row + rng.integers(1, 5), column : column + rng.integers(1, 9)] = fill
    yarns = (*before.yarns, make_yarn(999, (12, 200, 77)))
    return before, SettledMap(*tied_only(knots, yarns), before.rug, before.workshop)


@given(edited_maps())
def test_changes_are_those_that_a_count_knot_by_knot_finds(pair: tuple[SettledMap, SettledMap]) -> None:
    before, after = pair
    changes = changes_between(before, after)
    old, new = codes_of(before), codes_of(after)
    expected = {
        (row, column): (old[row][column], new[row][column])
        for row in range(before.rows)
        for column in range(before.columns)
        if old[row][column] != new[row][column]
    }
    assert changes.knots == len(expected)
    assert {tuple(place) for place in np.argwhere(changes.changed).tolist()} == set(expected)
    found = {}
    for line in csv.DictReader(io.StringIO("".join(places_csv(changes)))):
        for step in range(int(line["knots"])):
            place = int(line["row"]) - 1, int(line["start"]) - 1 + step
            assert place not in found
            found[place] = line["before"], line["after"]
    assert found == expected
    moves = {(move.before, move.after): move.knots for move in changes.moves}
    assert moves == {move: list(expected.values()).count(move) for move in set(expected.values())}
    assert changes.rows.tolist() == sorted({row for row, _ in expected})
    names = {yarn.code: yarn.name for yarn in (*before.yarns, *after.yarns)}
    for yarn in changes.yarns:
        assert yarn.name == names[yarn.code]
        assert yarn.knots_before == sum(row.count(yarn.code) for row in old)
        assert yarn.knots_after == sum(row.count(yarn.code) for row in new)
    assert changes.any == bool(expected)


@given(knot_maps(most_columns=30, most_rows=30))
def test_the_order_of_the_yarns_is_no_change(knot_map: SettledMap) -> None:
    last = len(knot_map.yarns) - 1
    turned = np.where(knot_map.knots == NO_KNOT, NO_KNOT, last - np.minimum(knot_map.knots, last)).astype(np.uint16)
    other = SettledMap(turned, knot_map.yarns[::-1], knot_map.rug, knot_map.workshop)
    assert not changes_between(knot_map, other).any


def test_adjacent_changes_to_two_yarns_are_listed_apart() -> None:
    before = make_map(np.zeros((6, 20)), make_rug(20, 6))
    cells = np.zeros((6, 20), dtype=np.uint16)
    cells[1, 3:6], cells[1, 6:8], cells[3, 0] = 1, 2, 1
    after = SettledMap(
        cells, (*before.yarns, make_yarn(11, (1, 1, 1)), make_yarn(12, (2, 2, 2))), before.rug, Workshop()
    )
    said = "".join(places_csv(changes_between(before, after)))
    assert said == "row,start,knots,before,after\n2,4,3,Y000,Y011\n2,7,2,Y000,Y012\n4,1,1,Y000,Y011\n"


def test_a_new_colour_or_setting_is_a_difference_though_no_knot_changed() -> None:
    cells = np.zeros((20, 20), dtype=np.uint16)
    old = SettledMap(cells, (make_yarn(1, (200, 0, 0)),), make_rug(20, 20), Workshop())
    new = SettledMap(cells, (make_yarn(1, (190, 0, 0)),), make_rug(20, 20), Workshop())
    changes = changes_between(old, new)
    assert changes.any
    assert [yarn.code for yarn in changes.yarns if yarn.redyed] == ["Y001"]
    thicker = SettledMap(cells, old.yarns, old.rug, Workshop.model_validate({"loom": {"picks": 3}}))
    assert setting_changes(as_file(old), as_file(thicker)) == ("[loom] picks: default before, 3 after",)


def test_two_rugs_are_not_compared() -> None:
    old = make_map(np.zeros((20, 20)))
    with pytest.raises(DifferenceError, match="size, 20 x 20 and 21 x 20 knots"):
        changes_between(old, make_map(np.zeros((20, 21))))
    with pytest.raises(DifferenceError, match="density, 40x50 per dm and 40x40 per dm"):
        changes_between(old, make_map(np.zeros((20, 20)), make_rug(20, 20, "40x40 per dm")))


@given(edited_maps(), st.sampled_from([40, 97, 400]))
def test_the_picture_shows_every_changed_knot_however_small(pair: tuple[SettledMap, SettledMap], longest: int) -> None:
    before, after = pair
    changes = changes_between(before, after)
    picture = picture_of_changes(changes, long_side_px=longest)
    height, width = picture_size(after, longest)
    assert picture.shape == (height, width, 3)
    assert max(height, width) <= longest
    grey = (picture == picture[..., :1]).all(axis=-1)
    if not changes.knots:
        assert grey.all()
        return
    palette = {yarn.srgb for yarn in after.yarns} | {(255, 255, 255), mark_for(after)}
    assert {tuple(pixel) for pixel in picture[~grey].tolist()} <= palette
    for row, column in np.argwhere(changes.changed).tolist():
        # The pixels that the knot touches; the last woven row is on top.
        top, bottom = height * (after.rows - 1 - row) // after.rows, -(-height * (after.rows - row) // after.rows)
        left, right = width * column // after.columns, -(-width * (column + 1) // after.columns)
        cell = {tuple(pixel) for pixel in picture[top:bottom, left:right].reshape(-1, 3).tolist()}
        assert cell & palette


def test_the_picture_stands_upright_with_its_change_in_the_new_colour() -> None:
    before = make_map(np.zeros((30, 20)), make_rug(20, 30, "40x40 per dm"))
    cells = np.zeros((30, 20), dtype=np.uint16)
    cells[0, 0] = 1  # the first row woven is at the foot, so this is the picture's lower left corner
    after = SettledMap(cells, (*before.yarns, make_yarn(9, (255, 200, 0))), before.rug, Workshop())
    picture = picture_of_changes(changes_between(before, after), long_side_px=300)
    assert picture.shape == (300, 200, 3)
    yellow = np.argwhere((picture == (255, 200, 0)).all(axis=-1))
    assert (yellow.min(axis=0).tolist(), yellow.max(axis=0).tolist()) == ([290, 0], [299, 9])
    framed = np.argwhere((picture == mark_for(after)).all(axis=-1))
    assert len(framed)
    assert framed[:, 0].min() > 270
    assert framed[:, 1].max() < 30


def test_the_colour_of_the_mark_is_the_candidate_farthest_from_the_yarns() -> None:
    knot_map = make_map(np.arange(120).reshape(6, 20) % 12)
    away = [float(ciede2000(lab_from_srgb8(np.array(mark)), lab_of(knot_map.yarns)).min()) for mark in MARKS]
    assert mark_for(knot_map) == MARKS[int(np.argmax(away))]


def drawn(seed: int, ground: int = 0) -> np.ndarray:
    """Return a drawing of a hundred small motifs, by lot, on a ground that takes three quarters of it."""
    rng, cells = np.random.default_rng(seed), np.full((120, 100), ground)
    for _ in range(100):
        row, column, height, width = rng.integers((0, 0, 3, 3), (114, 94, 7, 7))
        cells[row : row + height, column : column + width] = 1 + rng.integers(2)
    return cells


def kept(before: np.ndarray, after: np.ndarray) -> float:
    maps = [make_map(cells.astype(np.uint16), make_rug(100, 120)) for cells in (before, after)]
    return changes_between(*maps).kept


def test_a_drawing_is_kept_by_where_its_yarns_meet_and_not_by_its_ground() -> None:
    """Two rugs of one ground have three quarters of their knots in common, and yet little of what is drawn."""
    one, other = drawn(1), drawn(2)
    assert (one == other).mean() > 0.6
    assert abs(kept(one, other)) < 0.2
    assert kept(one, one) == kept(np.zeros_like(one), np.zeros_like(one)) == 1
    for changed in (2 - one, np.minimum(one, 1), np.where(one == 0, 3, one)):
        assert kept(one, changed) > 0.99, "other yarns, or two that become one, leave the drawing"
    touched = one.copy()
    touched[:30] = other[:30]
    assert 0.6 < kept(one, touched) < 0.95
    moved = np.roll(one, 2, axis=1)
    assert kept(one, moved) < 0.5


def test_what_is_kept_is_counted_over_bands_of_rows_as_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = drawn(1), drawn(1)
    other[40:80] = drawn(3)[40:80]
    at_once = kept(one, other)
    monkeypatch.setattr("chartmaker.knots.changes._BAND_CELLS", 700)
    assert kept(one, other) == at_once
