"""The yarns within reach of each colour are those that trying all pairs finds."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.color import deltaE_ciede2000

from chartmaker.colours.reach import pairs_within
from chartmaker.ground.colour import lab_from_srgb8


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 400), st.integers(1, 120), st.floats(0.5, 30))
def test_every_pair_within_reach_is_found_once(seed: int, colours: int, yarns: int, far: float) -> None:
    random = np.random.default_rng(seed)
    lab, card = (lab_from_srgb8(random.integers(0, 256, (number, 3))) for number in (colours, yarns))
    reach = random.uniform(0, far, colours)
    de00 = np.stack([deltaE_ciede2000(lab, np.broadcast_to(yarn, lab.shape)) for yarn in card], axis=1)
    pairs = pairs_within(lab, reach, card)
    found = np.zeros(de00.shape, dtype=int)
    np.add.at(found, (pairs.colour, pairs.yarn), 1)
    clear = np.abs(de00 - reach[:, None]) > 1e-6
    assert (found[clear] == (de00 < reach[:, None])[clear]).all()
    np.testing.assert_allclose(pairs.de00, de00[pairs.colour, pairs.yarn], atol=1e-6)
