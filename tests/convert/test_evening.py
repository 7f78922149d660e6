"""A drawing that was saved as JPEG is woven nearly as one that was not.

The oracle is the same drawing without loss. The compression is that of libjpeg, through Pillow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from skimage import data
from support.compressing import as_jpeg
from support.drawing_measures.motifs import motif_consistency
from support.drawing_measures.placed import Drawing, Placed
from support.drawing_measures.repeats import repeat_identity
from support.drawings import card_of, converted, drawing, picked
from support.holdouts import Artwork as Made
from support.holdouts import HoldOut, hold_outs, rows_of
from support.making import make_rug
from support.ordering import Result

from chartmaker.artwork.artwork import Artwork
from chartmaker.colours import evening
from chartmaker.colours.evening import evened


def held_out(name: str) -> tuple[HoldOut, Made]:
    found = next(one for one in hold_outs() if one.name == name)
    return found, found.made()


def scores(one: HoldOut, made: Made, srgb: np.ndarray) -> tuple[float, float]:
    """Return how many repeats are identical and how many equal motifs are equal, when `srgb` is woven."""
    assert made.labels is not None
    rows = rows_of(one, made.srgb)
    woven = converted(srgb, make_rug(one.columns, rows, one.density), card_of(made.colours))
    placement = woven.placed.placement
    whole = Drawing(made.labels, len(made.labels) / rows, made.labels.shape[1] / one.columns, len(made.colours))
    placed = Placed(whole, placement.raster_row_edges, placement.column_edges, picked(woven))
    return repeat_identity(placed, list(made.lattices)).value, motif_consistency(placed).value


@pytest.mark.parametrize("quality", [75, 95])
def test_repeats_of_a_jpeg_are_woven_alike(quality: int) -> None:
    one, made = held_out("star 12.5 square")
    even, colours = evened(Artwork(as_jpeg(made.srgb, quality)), 69)
    assert colours == len(made.colours)
    identity, consistency = scores(one, made, even.srgb)
    rough_identity, rough_consistency = scores(one, made, as_jpeg(made.srgb, quality))
    assert identity == 1
    assert rough_identity < 0.5
    assert consistency > 0.85 > 0.5 > rough_consistency


def test_a_jpeg_of_high_quality_loses_nothing() -> None:
    srgb = drawing("crosses")
    even, colours = evened(Artwork(as_jpeg(srgb, 95)), 81)
    assert colours == 6
    first = np.unique(srgb.reshape(-1, 3), axis=0, return_inverse=True)[1]
    restored = np.unique(even.srgb.reshape(-1, 3), axis=0, return_inverse=True)[1]
    mixed = np.bincount(restored).argsort()[:-6]
    pure = ~np.isin(restored, mixed)
    assert pure.mean() > 0.9
    pairs = np.unique(np.stack([first[pure], restored[pure]]), axis=1)
    assert pairs.shape[1] == 6  # each colour became one colour


def test_the_size_of_bands_makes_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    artwork = Artwork(as_jpeg(held_out("star 12.5 square")[1].srgb[:200], 60))
    whole, colours = evened(artwork, 69)
    assert colours
    monkeypatch.setattr(evening, "_BAND_PIXELS", 7 * artwork.width)
    np.testing.assert_array_equal(evened(artwork, 69)[0].srgb, whole.srgb)


def test_what_was_saved_without_loss_is_left_alone() -> None:
    for name in ("star 12.5 square", "flower 4.7 strewn", "discs"):
        artwork = Artwork(held_out(name)[1].srgb)
        assert evened(artwork, 60) == (artwork, 0)
    photograph = Artwork(data.astronaut())
    assert evened(photograph, 60) == (photograph, 0)


@pytest.mark.parametrize("side", [150, 400])
@pytest.mark.parametrize("quality", [None, 90])
def test_a_grey_photograph_set_into_a_drawing_keeps_its_shades(side: int, quality: int | None) -> None:
    srgb = held_out("star 12.5 square framed")[1].srgb.copy()
    photograph = np.array(Image.fromarray(data.camera()).resize((side, side)))
    srgb[300 : 300 + side, 200 : 200 + side] = photograph[..., None]
    artwork = Artwork(srgb if quality is None else as_jpeg(srgb, quality))
    assert evened(artwork, 69) == (artwork, 0)


def test_no_third_colour_is_drawn_round_a_motif() -> None:
    """Smeared, gold on navy runs through tones of brown and cream, which are colours of this drawing too."""
    picture = Image.new("RGB", (400, 400), (28, 44, 86))
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, 0, 399, 50), fill=(236, 226, 200))
    pen.rectangle((0, 51, 399, 90), fill=(74, 50, 38))
    for place in range(60, 400, 90):
        pen.ellipse((place - 28, 220, place + 28, 276), fill=(198, 152, 60))
    even, colours = evened(Artwork(as_jpeg(np.asarray(picture), 85)), 36)
    assert colours == 4
    below = even.srgb[110:].astype(int)
    for third in ((236, 226, 200), (74, 50, 38)):
        # Less than one knot of it is left round four discs; it was sixteen.
        assert (np.abs(below - third).max(axis=2) <= 12).sum() < 36


def test_transparent_pixels_and_regions_stay() -> None:
    made = held_out("star 12.5 square")[1]
    srgb = as_jpeg(made.srgb, 90)
    coverage = np.full(srgb.shape[:2], 255, dtype=np.uint8)
    coverage[:100] = 0
    regions = np.ones(srgb.shape[:2], dtype=np.uint8)
    even, colours = evened(Artwork(srgb, coverage, regions), 69)
    assert colours
    assert even.coverage is coverage
    assert even.regions is regions
    np.testing.assert_array_equal(even.srgb[:100], srgb[:100])


def test_an_order_tells_what_was_undone(tmp_path: Path, chartmaker: Callable[..., Result]) -> None:
    made = held_out("star 12.5 square")[1]
    Image.fromarray(made.srgb).save(tmp_path / "stars.jpg", quality=85)
    rug = '[rug]\nsize = "120x96 cm"\ndensity = "10x10 per dm"\n[design]\nartwork = "stars.jpg"\n'
    for style, told in (("auto", True), ("shaded", False)):
        (tmp_path / "rug.toml").write_text(f'{rug}style = "{style}"\n[yarns]\ncolours = 5\n', encoding="utf-8")
        result = chartmaker("knot", tmp_path / "rug.toml", "--out", tmp_path / f"{style}.knots.png", "--no-cache")
        assert result.code == 0, result.err
        assert ("even colours that were found" in result.out + result.err) == told


def test_the_note_is_not_made_of_a_drawing_without_loss() -> None:
    made = held_out("star 12.5 square")[1]
    artwork = Artwork(as_jpeg(made.srgb, 85))
    even, _ = evened(artwork, 69)
    assert evened(replace(artwork, srgb=even.srgb), 69)[1] == 0
