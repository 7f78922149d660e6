"""Shaded artwork keeps its details, its edges take no third colour, and transparent places take the ground."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data
from support.drawing_measures.shaded import details, third_yarn
from support.drawings import card_of, converted, picked
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.convert.conversion import convert
from chartmaker.convert.shaded.keeping import cell_colours
from chartmaker.ground.colour import LINEAR_OF_BYTE, srgb8_from_linear
from chartmaker.ground.errors import RugError
from chartmaker.order.design import Design, YarnChoice


def placed(srgb: np.ndarray, rows: int, columns: int) -> Placement:
    return Placement(np.linspace(0, srgb.shape[1], columns + 1), np.linspace(srgb.shape[0], 0, rows + 1))


def drawing() -> np.ndarray:
    """Return shaded balls on an even ground within an even frame."""
    y, x = np.mgrid[0:450, 0:360]
    srgb = np.full((450, 360, 3), (200, 40, 30), dtype=np.uint8)
    for middle_y in range(75, 450, 100):
        for middle_x in range(80, 360, 100):
            away = np.hypot(y - middle_y, x - middle_x)
            ball = away < 40
            srgb[ball] = np.array([240, 230, 200]) * (1 - away[ball] / 60)[:, None]
    frame = np.ones(srgb.shape[:2], dtype=bool)
    frame[21:-21, 21:-21] = False
    srgb[frame] = (20, 30, 90)
    return srgb


@pytest.mark.parametrize("name", ["astronaut", "chelsea"])
def test_paintings_keep_more_of_their_strongest_details(name: str) -> None:
    srgb = getattr(data, name)()
    rows = round(100 * srgb.shape[0] / srgb.shape[1])
    where, kept = placed(srgb, rows, 100), []
    for detail in (0.0, 0.75):
        woven = srgb8_from_linear(cell_colours(Artwork(srgb), where, 0, rows, detail))
        good, every = details(srgb, where.raster_row_edges, where.column_edges, woven)
        kept.append(good / every)
    assert kept[1] > kept[0] + 0.02
    assert kept[1] > 0.93


@pytest.mark.parametrize("size", [(60, 48), (90, 72), (70, 101)])
def test_edges_between_two_areas_take_no_third_colour(size: tuple[int, int]) -> None:
    srgb, where = drawing(), placed(drawing(), *size)
    third = []
    for detail in (0.0, 0.75):
        woven = srgb8_from_linear(cell_colours(Artwork(srgb), where, 0, size[0], detail))
        bad, every = third_yarn(srgb, where.raster_row_edges, where.column_edges, woven)
        third.append(bad / every)
    assert third[1] <= 0.02 < 0.1 < third[0]


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.integers(5, 25), st.integers(5, 25), st.floats(0.1, 1))
def test_mirrored_artwork_gives_mirrored_colours_in_bands_of_any_height(
    seed: int, rows: int, columns: int, detail: float
) -> None:
    random = np.random.default_rng(seed)
    srgb = np.kron(random.integers(0, 256, (12, 15, 3)), np.ones((4, 4, 1))).astype(np.uint8)
    where = placed(srgb, rows, columns)
    whole = cell_colours(Artwork(srgb), where, 0, rows, detail)
    for turn in ((slice(None), slice(None, None, -1)), (slice(None, None, -1), slice(None))):
        mirrored = cell_colours(Artwork(np.ascontiguousarray(srgb[turn])), where, 0, rows, detail)
        np.testing.assert_allclose(mirrored[turn], whole, atol=1e-9)
    cut = rows // 2
    parts = [cell_colours(Artwork(srgb), where, *span, detail) for span in ((0, cut), (cut, rows))]
    np.testing.assert_allclose(np.concatenate(parts), whole, atol=1e-9)


def test_even_areas_keep_their_colour() -> None:
    srgb = np.full((40, 40, 3), (120, 60, 30), dtype=np.uint8)
    colours = cell_colours(Artwork(srgb), placed(srgb, 7, 7), 0, 7, 1.0)
    np.testing.assert_allclose(colours, np.broadcast_to(LINEAR_OF_BYTE[srgb[0, 0]], colours.shape), atol=1e-12)


@pytest.mark.parametrize("style", ["flat", "shaded"])
def test_transparent_places_take_the_ground(style: str) -> None:
    srgb = drawing()[:360]
    coverage = np.zeros(srgb.shape[:2], dtype=np.uint8)
    coverage[:180] = 255
    card = card_of([(200, 40, 30), (20, 30, 90), (240, 230, 200), (9, 9, 9)])
    rug = make_rug(36, 36, SQUARE)

    def woven(**design: object) -> np.ndarray:
        asked = Design.model_validate({"style": style, **design})
        return picked(convert(Artwork(srgb, coverage), rug, card, asked, YarnChoice(colours=2)))

    assert (woven(ground="Y003")[18:] == 3).all()
    for ground, message in (("Y009", "not on the card; did you mean Y00"), ("zzz", "not on the card")):
        with pytest.raises(RugError, match=message):
            woven(ground=ground)
    asked = Design(ground="Y003")
    with pytest.raises(RugError, match="both name"):
        convert(Artwork(srgb, coverage), rug, card, asked, YarnChoice(skip=("Y003",)))
    with pytest.raises(RugError, match="no yarn card"):
        converted(srgb, rug, (), YarnChoice(colours=3), ground="Y003")


_MADE = """
import sys
sys.path.insert(0, {tests!r})
from convert.test_keeping import drawing
from skimage import data
from support.drawings import card_of, converted
from support.making import SQUARE, make_rug
import numpy as np
import hashlib
from chartmaker.order.design import YarnChoice
from chartmaker.pages.proof.proof import proof_picture
from chartmaker.pages.proof.pile import woven_bands

card = card_of(np.random.default_rng(5).integers(0, 256, (60, 3)).astype(np.uint8))
asked = ((data.astronaut()[::2, ::2], {{}}), (data.coffee()[::3, ::3], {{"stipple": 0.5}}), (drawing(), {{}}))
for srgb, design in asked:
    rug = make_rug(48, 48, SQUARE)
    made = converted(srgb, rug, card, YarnChoice(colours=14), style="shaded", fit="stretch", **design)
    print(made.knot_map.sha256)
rug, seen = made.knot_map, hashlib.sha256(proof_picture(made.knot_map, long_side_px=700))
for size in (97, 1200):
    for _, light, _ in woven_bands(rug.knots, rug.yarns, size, size):
        seen.update(light.tobytes())
print(seen.hexdigest())
print(*(value for yarn in rug.yarns for value in yarn.lab), sep="/")
"""


def test_every_processor_gives_the_same_knots_and_pictures() -> None:
    """The second run is that of a plain processor: the wide instructions of this one are off in NumPy, BLAS and C."""
    wide = np.__config__.show(mode="dicts")["SIMD Extensions"]["found"]
    assert wide, "this processor has no wide instructions to switch off"
    found = []
    code = _MADE.format(tests=str(Path(__file__).parents[1]))
    plain = {"NPY_DISABLE_CPU_FEATURES": " ".join(wide), "OPENBLAS_CORETYPE": "Nehalem"}
    plain["GLIBC_TUNABLES"] = "glibc.cpu.hwcaps=-AVX2,-FMA,-AVX,-FMA4,-AVX512F"
    for narrow in ({}, plain):
        environment = os.environ | narrow
        run = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
        found.append(run.stdout.split())
    assert len(found[0]) == 5
    assert found[0] == found[1]


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_a_mirrored_artwork_gives_the_mirrored_map(seed: int) -> None:
    random = np.random.default_rng(seed)
    srgb = data.astronaut()[40 : 40 + 8 * 24, 120 : 120 + 8 * 24]
    card = card_of(random.integers(0, 256, (30, 3)).astype(np.uint8))
    plain = picked(converted(srgb, make_rug(29, 31, SQUARE), card, style="shaded", fit="stretch"))
    across = picked(
        converted(np.ascontiguousarray(srgb[:, ::-1]), make_rug(29, 31, SQUARE), card, style="shaded", fit="stretch")
    )
    along = picked(
        converted(np.ascontiguousarray(srgb[::-1]), make_rug(29, 31, SQUARE), card, style="shaded", fit="stretch")
    )
    assert (across[:, ::-1] == plain).all()
    assert (along[::-1] == plain).all()
