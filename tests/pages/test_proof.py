"""The proof picture, read back with ImageMagick, shows every yarn's colour, to scale and upright."""

from __future__ import annotations

import io
import shutil
import subprocess
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from support.making import SettledMap, make_map, make_rug, make_yarn

from chartmaker.artwork.artwork import Artwork
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.pages.proof import proof
from chartmaker.pages.proof.proof import artwork_file, proof_picture
from chartmaker.pages.proof.prooflayout import Box, proof_layout


def pixels_of(picture: bytes) -> np.ndarray:
    """Return the 8-bit pixels of a picture file as ImageMagick reads it, shape (height, width, 3)."""
    program = shutil.which("convert")
    assert program is not None, "ImageMagick is missing"
    size = subprocess.run([program, "-", "-format", "%w %h", "info:"], input=picture, capture_output=True, check=True)
    raw = subprocess.run([program, "-", "-depth", "8", "rgb:-"], input=picture, capture_output=True, check=True)
    width, height = map(int, size.stdout.split())
    return np.frombuffer(raw.stdout, dtype=np.uint8).reshape(height, width, 3)


def linear(srgb: np.ndarray) -> np.ndarray:
    """Return linear light of sRGB bytes by the formula of IEC 61966-2-1, written independently here."""
    value = srgb / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def srgb(light: np.ndarray) -> np.ndarray:
    return 255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def panel(picture: np.ndarray, box: Box) -> np.ndarray:
    return picture[box.top : box.top + box.height, box.left : box.left + box.width]


@settings(max_examples=5)
@given(st.integers(0, 2**32 - 1))
def test_the_mean_of_every_knot_is_its_yarn(seed: int) -> None:
    """In linear light the mean of each knot is its yarn, within 1.5 of 255 once coded as sRGB."""
    rng = np.random.default_rng(seed)
    cells = rng.integers(0, 9, (20, 16)).astype(np.uint16)
    colours = [*rng.integers(0, 256, (8, 3)).tolist(), [255, 255, 255]]
    yarns = tuple(make_yarn(number, tuple(colour)) for number, colour in enumerate(colours))
    knot_map = SettledMap(cells, yarns, make_rug(16, 20, "40x40 per dm"), Workshop())
    box = proof_layout(knot_map, artwork=False, long_side_px=900).woven
    assert (box.width, box.height) == (16 * 32, 20 * 32)  # this is the largest size at which a knot is drawn
    pixels = panel(pixels_of(proof_picture(knot_map, long_side_px=900)), box)
    means = linear(pixels).reshape(20, 32, 16, 32, 3).mean(axis=(1, 3))[::-1]
    np.testing.assert_allclose(srgb(means), np.array(colours)[cells], rtol=0, atol=1.5)
    # the pile shows as a difference
    assert (pixels.reshape(20, 32, 16, 32, 3).std(axis=(1, 3)).max(axis=(0, 1)) > 1).all()


def test_a_rug_of_small_knots_has_its_middle_drawn_closer() -> None:
    """The square knots have 14 pixels, and each knot of the detail has its yarn's colour on average in its place."""
    cells = np.random.default_rng(4).integers(0, 6, (300, 401)).astype(np.uint16)
    knot_map = make_map(cells, make_rug(401, 300, "40x40 per dm"))
    layout = proof_layout(knot_map, artwork=False, long_side_px=900)
    detail = layout.detail
    assert detail is not None
    assert (detail.box.width, detail.box.height) == (14 * len(detail.columns), 14 * len(detail.rows))
    assert len(detail.columns) > 40
    assert abs(detail.columns.start - (401 - detail.columns.stop)) <= 1
    assert abs(detail.rows.start - (300 - detail.rows.stop)) <= 1
    assert layout.px_per_mm * detail.enlarged * 2.5 == pytest.approx(14)
    pixels = panel(pixels_of(proof_picture(knot_map, long_side_px=900)), detail.box)
    means = linear(pixels).reshape(len(detail.rows), 14, len(detail.columns), 14, 3).mean(axis=(1, 3))[::-1]
    shown = cells[detail.rows.start : detail.rows.stop, detail.columns.start : detail.columns.stop]
    colours = np.array([yarn.srgb for yarn in knot_map.yarns])
    np.testing.assert_allclose(srgb(means), colours[shown], rtol=0, atol=2)


def test_knots_smaller_than_a_pixel_blend_in_linear_light() -> None:
    """Alternating black and white knots blend to half the light, which is 188 in sRGB by IEC 61966-2-1."""
    cells = (np.indices((600, 600)).sum(axis=0) % 2).astype(np.uint16)
    yarns = (make_yarn(0, (0, 0, 0)), make_yarn(1, (255, 255, 255)))
    knot_map = SettledMap(cells, yarns, make_rug(600, 600, "40x40 per dm"), Workshop())
    layout = proof_layout(knot_map, artwork=False, long_side_px=300)
    pixels = panel(pixels_of(proof_picture(knot_map, long_side_px=300)), layout.woven)
    assert abs(srgb(linear(pixels).mean()) - 187.5) < 1.5


@given(st.integers(2, 400), st.integers(2, 400), st.sampled_from(["40x50 per dm", "9/60 indian", "8x8 per cm"]))
def test_panels_have_the_proportions_of_the_rug(columns: int, rows: int, density: str) -> None:
    columns, rows = columns + 30, rows + 40
    knot_map = make_map(np.zeros((rows, columns)), make_rug(columns, rows, density))
    for artwork in (False, True):
        layout = proof_layout(knot_map, artwork=artwork)
        assert max(layout.width, layout.height) <= 3000
        rug = knot_map.rug
        assert abs(layout.woven.width - float(rug.woven_width_mm) * layout.px_per_mm) <= 0.5
        assert abs(layout.woven.height - float(rug.woven_length_mm) * layout.px_per_mm) <= 0.5
        assert (layout.artwork is not None) == artwork
        if layout.artwork is not None:
            assert layout.artwork.left >= layout.woven.left + layout.woven.width
            assert (layout.artwork.width, layout.artwork.height) == (layout.woven.width, layout.woven.height)
            assert layout.artwork.left + layout.artwork.width <= layout.width


def test_the_artwork_lies_beside_the_rug_upright() -> None:
    knot_map = make_map(np.zeros((60, 80)))
    art = np.zeros((6, 8, 3), dtype=np.uint8)
    art[0] = (200, 40, 30)  # the top row of the artwork's file
    art[1:] = (20, 60, 90)
    layout = proof_layout(knot_map, artwork=True, long_side_px=800)
    assert layout.artwork is not None
    pixels = panel(pixels_of(proof_picture(knot_map, Artwork(art), long_side_px=800)), layout.artwork)
    assert (pixels[5, :] == (200, 40, 30)).all()
    assert (pixels[-5, :] == (20, 60, 90)).all()


def test_outside_the_outline_the_floor_is_seen() -> None:
    cells = np.zeros((60, 80), dtype=np.uint16)
    cells[:20, :30] = NO_KNOT  # the pixel at the bottom left
    knot_map = make_map(cells)
    layout = proof_layout(knot_map, artwork=False, long_side_px=800)
    assert layout.fringe == 0
    pixels = pixels_of(proof_picture(knot_map, long_side_px=800)).astype(int)
    rug = panel(pixels, layout.woven)
    assert np.abs(rug[-10, 10] - pixels[2, 2]).max() < 40
    assert np.abs(rug[10, 10] - knot_map.yarns[0].srgb).max() < 40
    assert np.abs(rug[10, 10] - rug[-10, 10]).max() > 40


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    """The length in pixels of the drawn bar is a round number of centimetres or inches."""
    knot_map = make_map(np.zeros((200, 300)))
    layout = proof_layout(knot_map, artwork=False, long_side_px=1500)
    pixels = pixels_of(proof_picture(knot_map, long_side_px=1500))[layout.caption_top :]
    ink = (np.abs(pixels.astype(int) - (58, 52, 46)).max(axis=2) < 3).astype(int)
    longest = 0
    for line in ink:
        edges = np.flatnonzero(np.diff(np.concatenate(([0], line, [0]))))
        longest = max(longest, *(edges[1::2] - edges[::2]), 0) if len(edges) else longest
    length_mm = longest / layout.px_per_mm
    round_numbers = [n * 10**p * unit for unit in (10, 25.4) for n in (1, 2, 5) for p in range(3)]
    assert min(abs(length_mm - number) for number in round_numbers) * layout.px_per_mm <= 1
    assert longest > 50


def test_the_same_map_gives_the_same_bytes() -> None:
    knot_map = make_map(np.arange(3000).reshape(50, 60) % 7)
    assert proof_picture(knot_map, long_side_px=500) == proof_picture(knot_map, long_side_px=500)


def test_a_name_in_letters_that_the_font_lacks_is_replaced_by_the_map_code() -> None:
    """A row of empty boxes in place of the name would tell nobody anything."""
    cells = np.zeros((60, 80))
    with_name = [
        proof_picture(make_map(cells, make_rug(80, 60, name=name)), long_side_px=600) for name in ("باغ", "庭", "Bagh")
    ]
    assert with_name[0] == with_name[1] != with_name[2]


def test_a_palace_rug_takes_little_memory() -> None:
    """For twelve million knots the arrays held at once stay far below eight bytes for each knot and channel."""
    cells = np.zeros((4000, 3000), dtype=np.uint16)
    cells[::2] = 1
    knot_map = make_map(cells, make_rug(3000, 4000, "80x80 per dm"))
    tracemalloc.start()
    try:
        proof_picture(knot_map, long_side_px=700)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 400e6


@pytest.mark.parametrize(("noise", "media_type"), [(False, "image/png"), (True, "image/webp")])
def test_the_browser_gets_lossless_artwork_when_it_is_small(noise: bool, media_type: str) -> None:
    srgb_bytes = np.full((90, 70, 3), 120, dtype=np.uint8)
    if noise:
        srgb_bytes = np.random.default_rng(3).integers(0, 256, srgb_bytes.shape, dtype=np.uint8)
    data, named = artwork_file(Artwork(srgb_bytes), long_side_px=100, most_bytes=5000)
    assert named == media_type
    if not noise:
        assert (pixels_of(data) == srgb_bytes).all()
    smaller, _ = artwork_file(Artwork(srgb_bytes), long_side_px=45, most_bytes=50_000)
    assert pixels_of(smaller).shape == (45, 35, 3)


def test_transparent_artwork_stays_so_when_it_is_made_smaller() -> None:
    srgb_bytes = np.full((90, 70, 3), 120, dtype=np.uint8)
    coverage = np.zeros((90, 70), dtype=np.uint8)
    coverage[:, 35:] = 255
    smaller, named = artwork_file(Artwork(srgb_bytes, coverage), long_side_px=45, most_bytes=50_000)
    assert named == "image/png"
    with Image.open(io.BytesIO(smaller)) as picture:
        pixels = np.asarray(picture)
    assert pixels.shape == (45, 35, 4)
    assert (pixels[:, :17, 3] == 0).all() and (pixels[:, 18:, 3] == 255).all()
    assert (pixels[:, 18:, :3] == 120).all()


def test_a_name_longer_than_the_picture_ends_in_an_ellipsis() -> None:
    """Nothing of it runs off the picture, whose last columns of pixels hold no ink of the letters."""
    cells = np.zeros((60, 40))
    names = ["Quince", "Quince and pomegranate garden under a very long evening sky of late autumn"]
    pictures = [
        pixels_of(proof_picture(make_map(cells, make_rug(40, 60, name=name)), long_side_px=600)) for name in names
    ]
    ground = pictures[0][0, 0]
    assert pictures[0].shape == pictures[1].shape
    differ = np.flatnonzero((pictures[0] != pictures[1]).any(axis=(0, 2)))
    assert len(differ) > 100
    assert (pictures[1][:, -4:] == ground).all()
    cut, whole = (
        proof._shortened(ImageDraw.Draw(Image.new("L", (1, 1))), names[1], ImageFont.load_default(20), width)
        for width in (200, 2000)
    )
    assert whole == names[1]
    assert cut.endswith("…") and names[1].startswith(cut[:-1]) and len(cut) > 10
