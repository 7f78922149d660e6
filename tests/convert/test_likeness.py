"""Knots that are copied from an earlier place are those that converting each place would give."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.cells import cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels, label_pixels
from chartmaker.convert.flat import tiles
from chartmaker.convert.flat.knotting import shares_of
from chartmaker.convert.flat.likeness import BLOCK, Block, blocks_of
from chartmaker.convert.flat.tiles import FlatKnots, flat_knots

INKS = np.array([(240, 232, 216), (160, 40, 32), (32, 44, 96), (40, 36, 30)], dtype=np.uint8)


def ornament(seed: int, size: int) -> NDArray[np.uint8]:
    """A patch of blots and thin crossing lines, given as palette numbers."""
    random, (y, x) = np.random.default_rng(seed), np.mgrid[:size, :size]
    patch = np.zeros((size, size), dtype=np.uint8)
    for _ in range(9):
        row, column, radius = random.uniform(0, size, 3) / (1, 1, 6)
        patch[np.hypot(y - row, x - column) < radius] = random.integers(1, 4)
    for _ in range(5):
        slope, start = random.uniform(-1, 1), random.uniform(0, size)
        patch[np.abs(y - start - slope * x) < random.uniform(0.7, 2)] = random.integers(1, 4)
    return patch


def tiled(seed: int, times: tuple[int, int]) -> Labels:
    return label_pixels(Artwork(INKS[np.tile(ornament(seed, 84), times)]), INKS)


def evenly(labels: Labels, per_knot: float) -> Placement:
    """A grid from the corner on; at 1.4 or 1.5 pixels a knot its lines lie on the edges of the patches."""
    rows, columns = (int(size / per_knot) for size in labels.first.shape)
    return Placement(np.arange(columns + 1) * per_knot, np.arange(rows + 1)[::-1] * per_knot)


def woven(labels: Labels, placement: Placement, outline: NDArray[np.bool_] | None = None) -> FlatKnots:
    return flat_knots(placement, labels, INKS, np.arange(4), outline, lines=True, tidy=3)


def one_by_one(*arguments: object) -> Iterator[Block]:
    return (Block(block.own, None) for block in blocks_of(*arguments))  # type: ignore[arg-type]


@settings(max_examples=6)
@given(st.integers(0, 1000), st.sampled_from([1.4, 1.5, 1.37]), st.booleans(), st.integers(0, 3))
def test_copied_knots_are_those_that_converting_gives(seed: int, per_knot: float, oval: bool, faults: int) -> None:
    labels = tiled(seed, (5, 4))
    for row, column in np.random.default_rng(seed).integers(0, labels.first.shape, (faults, 2)):
        labels.first[row : row + 2, column : column + 2] = seed % 4
        labels.second[row : row + 2, column : column + 2] = seed % 4
    placement = evenly(labels, per_knot)
    down, across = np.ogrid[-1 : 1 : placement.rows * 1j, -1 : 1 : placement.columns * 1j]
    outline = down**2 + across**2 <= 1 if oval else None
    quick = woven(labels, placement, outline)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tiles, "blocks_of", one_by_one)
        slow = woven(labels, placement, outline)
    assert np.array_equal(quick.knots, slow.knots)
    assert np.array_equal(quick.colours, slow.colours) and np.array_equal(quick.tidied, slow.tidied)
    assert quick.lines_kept == slow.lines_kept


@pytest.mark.parametrize(("per_knot", "least"), [(1.4, 0.25), (1.5, 0.25), (1.37, 0.0)])
def test_repeats_are_found_wherever_the_grid_lies_on_them_alike(per_knot: float, least: float) -> None:
    """60 or 56 knots a patch do not fit blocks of 64, and 1.37 pixels a knot coincide only after 137 patches."""
    labels = tiled(7, (9, 8))
    placement = evenly(labels, per_knot)
    blocks = list(blocks_of(cells_of(placement), labels, None))
    met = np.zeros((placement.rows, placement.columns), dtype=int)
    for block in blocks:
        if block.like is not None:
            assert [there.stop - there.start for there in block.like] == [own.stop - own.start for own in block.own]
            assert (met[block.like] == 1).all()  # the place that is copied was itself met before
        met[block.own] += 1
    assert (met == 1).all()
    found = np.mean([block.like is not None for block in blocks])
    assert found > least if least else found == 0


def test_even_ground_is_converted_once_and_then_copied() -> None:
    labels = Labels(*(np.zeros((800, 800), np.uint8) for _ in range(3)))
    blocks = list(blocks_of(cells_of(evenly(labels, 1.0)), labels, None))
    inner = [block for block in blocks if all(own.start >= BLOCK and own.stop <= 800 - BLOCK for own in block.own)]
    assert sum(block.like is None for block in inner) == 1


@given(st.integers(1, 10**7), st.data())
def test_shares_are_rounded_down_exactly(area: int, chance: st.DataObject) -> None:
    """The expected share is worked out in Python's exact whole numbers."""
    for size in (area, area * 508 * 508 * 254):
        part = chance.draw(st.integers(0, size) | st.sampled_from([size, max(size - 1, 0), size // 4096 + 1]))
        share = shares_of(np.array([[[part]]]), np.array([[size]]))[0, 0, 0]
        assert share == part * 4096 // size
