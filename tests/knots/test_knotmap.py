"""The knot map is frozen, copies what it is given, and has a code that follows from its knots alone."""

from __future__ import annotations

import hashlib
import struct

import numpy as np
import pytest
from hypothesis import given
from support.making import knot_maps, make_map, make_rug, make_yarn

from chartmaker.ground.colour import hex_of
from chartmaker.ground.errors import KnotFileError
from chartmaker.knots.knotmap import NO_KNOT, KnotMap, tied_only, without_unused


@given(knot_maps())
def test_the_code_is_the_documented_sha256(knot_map: KnotMap) -> None:
    # The documented definition is followed literally here, with the standard library alone.
    digest = hashlib.sha256(f"{knot_map.rows} {knot_map.columns}\n".encode())
    for yarn in knot_map.yarns:
        digest.update(f"{yarn.code} {hex_of(yarn.srgb)}\n".encode())
    for row in knot_map.knots.tolist():
        digest.update(struct.pack(f"<{len(row)}H", *row))
    assert knot_map.sha256 == digest.hexdigest()
    assert knot_map.map_code == digest.hexdigest()[:8]


@given(knot_maps())
def test_counts_add_up(knot_map: KnotMap) -> None:
    expected = [int((knot_map.knots == index).sum()) for index in range(len(knot_map.yarns))]
    assert knot_map.counts.tolist() == expected
    assert knot_map.tied + knot_map.empty == knot_map.rows * knot_map.columns


def test_long_maps_are_counted_to_the_last_row() -> None:
    cells = np.random.default_rng(1).integers(0, 3, (700, 13)).astype(np.uint16)
    cells[::9] = NO_KNOT
    knot_map = make_map(cells)
    flat = cells.ravel().tolist()
    assert knot_map.counts.tolist() == [flat.count(index) for index in range(3)]
    assert knot_map.counts.dtype == np.int64
    assert knot_map.empty == 78 * 13


def test_any_whole_numbers_become_cells_of_two_bytes() -> None:
    yarns = (make_yarn(0, (1, 2, 3)),)
    knot_map = KnotMap(np.zeros((20, 20), dtype=np.int64), yarns, make_rug(20, 20))  # type: ignore[arg-type]
    assert knot_map.knots.dtype == np.uint16
    knots, left = tied_only(np.full((3, 3), 1, dtype=np.uint16), (*yarns, make_yarn(1, (4, 5, 6))))
    assert knots.dtype == np.uint16
    assert (knots.max(), [yarn.code for yarn in left]) == (0, ["Y001"])


@pytest.mark.parametrize("kind", ["uint16", "int64", "read-only", "a view"])
def test_later_changes_to_the_array_do_not_reach_the_map(kind: str) -> None:
    yarns = (make_yarn(0, (1, 2, 3)), make_yarn(1, (4, 5, 6)))
    mine = np.zeros((20, 40), dtype=np.int64 if kind == "int64" else np.uint16)
    given = mine[:, ::2] if kind == "a view" else mine[:, :20].copy()
    given.flags.writeable = kind != "read-only"
    knot_map = KnotMap(given, yarns, make_rug(20, 20))
    before = knot_map.sha256
    given.flags.writeable = True
    given[:] = 1
    mine[:] = 1
    assert not knot_map.knots.any()
    assert KnotMap(knot_map.knots, yarns, make_rug(20, 20)).sha256 == before
    with pytest.raises(ValueError, match="read-only"):
        knot_map.knots[0, 0] = 1
    with pytest.raises(ValueError, match="WRITEABLE"):
        knot_map.knots.flags.writeable = True


def test_a_map_may_have_no_yarn_or_as_many_as_a_palette_holds() -> None:
    bare = KnotMap(np.full((20, 20), NO_KNOT, dtype=np.uint16), (), make_rug(20, 20))
    assert (bare.tied, bare.empty, bare.counts.tolist()) == (0, 400, [])
    cells = (np.arange(400) % 255).reshape(20, 20).astype(np.uint16)
    full = KnotMap(cells, tuple(make_yarn(i, (0, 0, i)) for i in range(255)), make_rug(20, 20))
    assert (len(full.yarns), full.tied) == (255, 400)
    assert without_unused(full) is full


def test_unused_yarns_are_dropped_without_changing_a_knot() -> None:
    yarns = tuple(make_yarn(i, (i, i, i)) for i in range(5))
    cells = np.full((20, 20), 3, dtype=np.uint16)
    cells[0, 0], cells[1, 1] = 1, NO_KNOT
    before = KnotMap(cells, yarns, make_rug(20, 20))
    after = without_unused(before)
    assert after.rug == before.rug
    assert [yarn.code for yarn in after.yarns] == ["Y001", "Y003"]
    assert after.knots[0, 0] == 0
    assert after.knots[1, 1] == NO_KNOT
    assert after.knots[5, 5] == 1


def test_a_map_is_frozen_and_leaves_its_source_alone() -> None:
    cells = np.zeros((20, 20), dtype=np.uint16)
    knot_map = make_map(cells)
    cells[0, 0] = 0  # the source stays writable
    with pytest.raises(ValueError, match="read-only"):
        knot_map.knots[0, 0] = 1


@pytest.mark.parametrize(
    ("cells", "yarns", "message"),
    [
        (np.zeros((20, 21), dtype=np.uint16), 1, "21 x 20 knots, but the rug 20 x 20"),
        (np.ones((20, 20), dtype=np.uint16), 1, "names yarn 1"),
        (np.zeros((20, 20), dtype=np.uint16), 256, "at most 255 yarns"),
    ],
)
def test_an_array_that_is_no_map_is_refused(cells: np.ndarray, yarns: int, message: str) -> None:
    with pytest.raises(KnotFileError, match=message):
        KnotMap(cells, tuple(make_yarn(i, (0, 0, i)) for i in range(yarns)), make_rug(20, 20))


def test_two_yarns_of_one_code_are_refused() -> None:
    yarn = make_yarn(1, (0, 0, 0))
    with pytest.raises(KnotFileError, match="same code"):
        KnotMap(np.zeros((20, 20), dtype=np.uint16), (yarn, yarn), make_rug(20, 20))
