"""Drawn and painted parts of one artwork are told apart, to the pixel where the edge between them is sharp."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image
from skimage import data
from support.drawing_measures.shaded import third_yarn
from support.drawings import COLOURS, card_of, converted, drawing, picked, rows_for
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.palette import find_palette
from chartmaker.convert.splitting import painted_part

BLUE, IVORY, RED, INK = (40, 90, 160), (250, 245, 230), (200, 30, 40), (20, 20, 30)


def painted(srgb: np.ndarray, columns: int, coverage: np.ndarray | None = None) -> np.ndarray | None:
    artwork = Artwork(np.ascontiguousarray(srgb), coverage)
    placement = evenly_placed(0, 0, *srgb.shape[:2], rows_for(srgb, columns), columns)
    return painted_part(artwork, placement, find_palette(artwork, placement.knot_width * placement.knot_height))


def framed(name: str, frame: int, side: int = 300) -> np.ndarray:
    """Return a photograph in a frame of three stripes."""
    srgb = np.full((side + 2 * frame, side + 2 * frame, 3), BLUE, dtype=np.uint8)
    for inset, ink in ((frame // 4, IVORY), (frame // 2, RED)):
        srgb[inset:-inset, inset:-inset] = ink
    srgb[frame:-frame, frame:-frame] = np.asarray(Image.fromarray(getattr(data, name)()[..., :3]).resize((side, side)))
    return srgb


def discs() -> np.ndarray:
    """Return discs that run from red to straw on an even ground, with outlines of less than a knot."""
    y, x = np.mgrid[: 450 * 3, : 600 * 3] / 3
    srgb = np.empty((*x.shape, 3))
    srgb[:] = IVORY
    for number in range(6):
        u, v = (x - 110 - 190 * (number % 3)) / 80, (y - 120 - 210 * (number // 3)) / 80
        srgb[np.hypot(u, v) <= 1.075] = INK
        light = np.clip(0.5 - 0.4 * u - 0.3 * v, 0, 1)[..., None]
        shade = np.array((170, 30, 30)) * (1 - light) + np.array((250, 210, 120)) * light
        srgb = np.where((np.hypot(u, v) <= 1)[..., None], shade, srgb)
    return np.round(srgb.reshape(450, 3, 600, 3, 3).mean(axis=(1, 3))).astype(np.uint8)


@pytest.mark.parametrize("name", COLOURS)
@pytest.mark.parametrize("smaller", [1, 3])
def test_a_drawing_is_drawn_all_over(name: str, smaller: int) -> None:
    """This holds for soft edges too: reduced to a third, the drawing has mixed pixels along every edge."""
    picture = Image.fromarray(drawing(name))
    srgb = np.asarray(picture.resize((picture.width // smaller, picture.height // smaller), Image.Resampling.BICUBIC))
    assert painted(srgb, COLOURS[name][0]) is None


@pytest.mark.parametrize("name", ["astronaut", "coffee", "chelsea", "rocket"])
def test_a_photograph_is_painted_all_over(name: str) -> None:
    """This holds although some of it is black or burnt out, because that runs softly into the rest."""
    assert painted(getattr(data, name)(), 100) is None


@pytest.mark.parametrize(("name", "frame"), [("coffee", 30), ("coffee", 120), ("chelsea", 50), ("astronaut", 60)])
def test_a_frame_is_distinguished_from_the_picture_in_it(name: str, frame: int) -> None:
    srgb = framed(name, frame)
    found = painted(srgb, 80)
    assert found is not None
    inner = np.zeros(found.shape, dtype=bool)
    inner[frame:-frame, frame:-frame] = True
    assert not found[~inner].any()
    assert found[inner].mean() > 0.99
    turned = painted(np.rot90(srgb, 2), 80)
    assert turned is not None
    # the cuts between blocks need not mirror, hence the small tolerance
    assert (turned != found[::-1, ::-1]).mean() < 0.002


def test_a_painted_picture_in_a_frame_comes_right_by_itself() -> None:
    srgb = framed("coffee", 60)
    inks = np.asarray(Image.fromarray(srgb).quantize(20).getpalette(), np.uint8).reshape(-1, 3)[:20]
    card = np.unique(np.vstack([inks, [BLUE, IVORY, RED]]), axis=0).astype(np.uint8)
    result = converted(srgb, make_rug(84, 84, SQUARE), card_of(card))
    assert result.style.style == "mixed"
    assert "51 % of the artwork is painted or photographed" in result.style.reason
    knots, edges = card[picked(result)], result.placed.placement.column_edges
    first = int(abs(edges - 60).argmin())
    assert abs(edges[first] - 60) < 0.01
    ring = np.ones((84, 84), dtype=bool)
    ring[first : 84 - first, first : 84 - first] = False
    assert {tuple(colour) for colour in knots[ring].tolist()} == {BLUE, IVORY, RED}
    assert sum(match.knots for match in result.report.yarns) == 84 * 84


def test_gradients_in_a_drawing_take_no_third_yarn_and_their_outlines_stay_whole() -> None:
    srgb = discs()
    steps = np.linspace(0, 1, 9)[:, None]
    shades = np.array((170, 30, 30)) * (1 - steps) + np.array((250, 210, 120)) * steps
    # mixtures at the edges resemble these colours
    between = [(120, 120, 120), (150, 110, 90), (90, 60, 60), (190, 180, 170)]
    card = np.round(np.vstack([shades, between, [IVORY, INK]])).astype(np.uint8)
    result = converted(srgb, make_rug(80, 60, SQUARE), card_of(card))
    assert result.style.style == "mixed"
    placement, knots = result.placed.placement, card[picked(result)]
    assert third_yarn(srgb, placement.raster_row_edges, placement.column_edges, knots).value <= 0.02
    ground = (knots == IVORY).all(axis=-1)
    disc = ~ground & ~(knots == INK).all(axis=-1)
    touching = (ground[1:] & disc[:-1]).sum() + (ground[:-1] & disc[1:]).sum()
    touching += (ground[:, 1:] & disc[:, :-1]).sum() + (ground[:, :-1] & disc[:, 1:]).sum()
    assert touching <= 4  # there are some 700 knots along the six outlines
