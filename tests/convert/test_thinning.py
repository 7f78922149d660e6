"""Thinning, by what must hold of any skeleton: connectedness, thinness, length; also where other methods fail."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import ndimage

from chartmaker.convert.flat.labelling import OUTSIDE
from chartmaker.convert.flat.thinning import thinned, ways_of_codes

EIGHT = np.ones((3, 3), dtype=bool)


def skeleton(labels: np.ndarray) -> np.ndarray:
    padded = np.pad(labels, 1, constant_values=OUTSIDE)
    return thinned(padded, np.zeros(padded.shape, dtype=bool))[1:-1, 1:-1]


@given(
    arrays(np.uint8, st.tuples(st.integers(4, 14), st.integers(4, 14)), elements=st.integers(0, 2)), st.integers(1, 4)
)
def test_each_area_keeps_one_connected_skeleton(cells: np.ndarray, size: int) -> None:
    labels = np.kron(cells, np.ones((size, size), dtype=np.uint8))
    bone = skeleton(labels)
    assert (bone[bone != OUTSIDE] == labels[bone != OUTSIDE]).all()
    for label in range(3):
        areas, count = ndimage.label(labels == label, EIGHT)
        parts, pieces = ndimage.label(bone == label, EIGHT)
        assert pieces == count
        assert len(np.unique(areas[parts > 0])) == count


@pytest.mark.parametrize("degrees", range(0, 180, 15))
@pytest.mark.parametrize("wide", [2, 3, 4.5, 8, 11])
@pytest.mark.parametrize("shift", [0.0, 0.3])
def test_strokes_keep_their_length_at_every_slant(degrees: int, wide: float, shift: float) -> None:
    angle = np.deg2rad(degrees)
    y, x = np.mgrid[:240, :240] - (120 + shift)
    across, along = x * np.sin(angle) - y * np.cos(angle), x * np.cos(angle) + y * np.sin(angle)
    bone = skeleton(np.where((abs(across) <= wide / 2) & (abs(along) <= 100), 1, 0).astype(np.uint8)) == 1
    steps = 200 * max(abs(np.cos(angle)), abs(np.sin(angle)))
    assert bone.sum() >= steps - 1.5 * wide - 3
    assert not (bone[1:, 1:] & bone[:-1, 1:] & bone[1:, :-1] & bone[:-1, :-1]).any()


def test_ways_are_counted_round_the_ring() -> None:
    ways = ways_of_codes()
    assert ways[0] == 0
    assert ways[0b00000001] == 1
    assert ways[0b00000011] == 1  # up, up right: one way
    assert ways[0b00010001] == 2  # up, down
    assert ways[0b01010101] == 4
    assert ways[0b10000001] == 1  # the ring is closed
