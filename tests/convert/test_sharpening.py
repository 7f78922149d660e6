"""A smeared edge comes back as sharp as it was drawn and where it was drawn.

An edge that is box-filtered keeps its place: the mass on either side does not change (the mean of a box filter).
"""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.colours.labelling import WHOLE_SHARE, Labels
from chartmaker.colours.sharpening import Mixed, sharpened


def labels_of(of_first: np.ndarray, first: int = 0, second: int = 1) -> Labels:
    """Return labels of pixels that have so much of one colour and the rest of another."""
    swapped = of_first < 0.5
    one, other = np.where(swapped, second, first), np.where(swapped, first, second)
    share = np.round(np.minimum(of_first, 1 - of_first) * WHOLE_SHARE)
    other = np.where(share > 0, other, one)
    return Labels(one.astype(np.uint8), other.astype(np.uint8), share.astype(np.uint8))


def share_of(mixed: Mixed, colour: int) -> np.ndarray:
    return np.where(mixed.low == colour, mixed.of_low, 0) + np.where(
        (mixed.high == colour) & (mixed.high != mixed.low), 1 - mixed.of_low, 0
    )


@given(st.floats(8, 12), st.sampled_from([2.0, 3.0]), st.booleans())
def test_an_edge_is_where_it_was(place: float, smear: float, upright: bool) -> None:
    x = np.arange(20)
    of_first = np.clip((place + smear / 2 - x - 0.5) / smear, 0, 1)
    plane = np.tile(of_first, (9, 1))
    mixed = sharpened(labels_of(plane if upright else plane.T))
    share = share_of(mixed, 0)
    share = share if upright else share.T
    # One pixel at most is mixed, and where the edge is differs by what counts as noise.
    assert (((share > 0) & (share < 1)).sum(axis=1) <= 1).all()
    np.testing.assert_allclose(share.sum(axis=1), place, atol=0.2)


@given(st.integers(0, 2**32 - 1))
def test_mirror_images_are_sharpened_into_mirror_images(seed: int) -> None:
    rng = np.random.default_rng(seed)
    blocks = rng.integers(0, 2, (4, 5)).repeat(6, axis=0).repeat(6, axis=1).astype(float)
    smeared = (np.roll(blocks, 1, axis=1) + blocks + np.roll(blocks, -1, axis=1)) / 3
    share = share_of(sharpened(labels_of(smeared)), 0)
    for turned in (np.fliplr, np.flipud):
        image = share_of(sharpened(labels_of(turned(smeared))), 0)
        np.testing.assert_array_equal(turned(image), share)


def test_what_is_sharp_stays_as_it_is() -> None:
    blocks = np.kron(np.array([[0, 1], [1, 0]]), np.ones((7, 7)))
    np.testing.assert_array_equal(share_of(sharpened(labels_of(blocks)), 0), blocks)


def test_a_dot_goes_to_the_colour_of_which_it_has_most() -> None:
    plane = np.ones((9, 9))
    plane[4, 4], plane[6, 2] = 0.3, 0.7
    share = share_of(sharpened(labels_of(plane)), 0)
    assert share[4, 4] == 0
    assert share[6, 2] == 1
