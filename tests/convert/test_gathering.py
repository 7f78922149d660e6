"""The colours of a drawing are found again in a JPEG of it, and none are found in photographs.

The colours of the drawings are known, so that they are the oracle; the compression is that of libjpeg. The photographs
are those that come with scikit-image.
"""

from __future__ import annotations

import numpy as np
import pytest
from skimage import data
from support.compressing import as_jpeg
from support.drawings import COLOURS, drawing
from support.holdouts import hold_outs

from chartmaker.artwork.artwork import Artwork
from chartmaker.colours import gathering
from chartmaker.colours.gathering import gathered


@pytest.mark.parametrize("quality", [70, 85, 95])
def test_colours_of_a_small_tiling_are_found(quality: int) -> None:
    made = next(one for one in hold_outs() if one.name == "star 12.5 square").made()
    found = gathered(Artwork(as_jpeg(made.srgb, quality)))
    assert found is not None
    away = np.abs(found[:, None].astype(int) - made.colours[None].astype(int)).max(axis=2)
    # Five bytes are about one CIEDE2000; gold dots a knot wide lose more of their colour to the ground.
    assert len(found) == len(made.colours)
    assert (np.sort(away.min(axis=0))[:-1] <= 5).all()
    assert away.min(axis=0).max() <= 20


@pytest.mark.parametrize("quality", [75, 95])
def test_two_close_colours_stay_two(quality: int) -> None:
    """The ribbons of this drawing have two browns twelve bytes apart, which is less than compression scatters them."""
    found = gathered(Artwork(as_jpeg(drawing("solomons_knot"), quality)))
    assert found is not None
    for brown in COLOURS["solomons_knot"][1][3:5]:
        assert np.abs(found.astype(int) - brown).max(axis=1).min() <= 3


@pytest.mark.parametrize("name", ["astronaut", "coffee", "chelsea", "rocket", "brick", "moon", "camera", "page"])
@pytest.mark.parametrize("quality", [60, 90])
def test_photographs_have_no_such_colours(name: str, quality: int) -> None:
    photograph = getattr(data, name)()
    if photograph.ndim == 2:
        photograph = np.repeat(photograph[..., None], 3, axis=2)
    assert gathered(Artwork(as_jpeg(np.ascontiguousarray(photograph[..., :3]), quality))) is None


def test_gradients_have_no_such_colours() -> None:
    for one in hold_outs():
        if one.family == "gradients":
            assert gathered(Artwork(as_jpeg(one.made().srgb, 90))) is None


def test_a_last_band_of_one_row_is_looked_at_too(monkeypatch: pytest.MonkeyPatch) -> None:
    srgb = np.full((33, 40, 3), (240, 230, 210), dtype=np.uint8)
    srgb[:, 20:] = (150, 28, 36)
    monkeypatch.setattr(gathering, "_BAND_PIXELS", 1)  # so that bands have sixteen rows
    found = gathered(Artwork(srgb))
    assert found is not None
    assert len(found) == 2


def test_pixels_outside_the_rug_count_for_nothing() -> None:
    srgb = np.full((80, 120, 3), (240, 230, 210), dtype=np.uint8)
    srgb[:, 40:80] = (150, 28, 36)
    srgb[:, 80:] = (30, 44, 92)
    coverage = np.full((80, 120), 255, dtype=np.uint8)
    coverage[:, 80:] = 0
    found = gathered(Artwork(srgb, coverage))
    assert found is not None
    assert sorted(map(tuple, found.tolist())) == [(150, 28, 36), (240, 230, 210)]
