"""Regions of an artwork are converted by keys of their own, and nothing else changes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from skimage import data
from support.drawings import card_of, picked
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.masks import with_regions
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.ground.errors import ArtworkError, RugError
from chartmaker.order.design import Design, Region, YarnChoice

INKS = [(250, 245, 230), (20, 20, 30), (200, 30, 40), (40, 90, 160), (200, 200, 60)]
SIDE, KNOTS = 96, 32


def woven(
    srgb: np.ndarray,
    *regions: Region,
    masks: dict[int, np.ndarray] | None = None,
    coverage: np.ndarray | None = None,
    inks: list[tuple[int, int, int]] = INKS,
    knots: int = KNOTS,
    **design: object,
) -> Conversion:
    artwork = with_regions(Artwork(srgb, coverage), regions, masks or {})
    rug = make_rug(knots, round(knots * srgb.shape[0] / srgb.shape[1]), SQUARE)
    asked = Design.model_validate({"fit": "stretch"} | design)
    return convert(artwork, rug, card_of(inks), asked, YarnChoice(), regions=regions)


def box(left: int, top: int, right: int, bottom: int, **keys: object) -> Region:
    return Region.model_validate({"box": [left, top, right, bottom]} | keys)


def masked(**keys: object) -> Region:
    return Region.model_validate({"mask": "mask.png"} | keys)


def photograph(side: int = SIDE) -> np.ndarray:
    return np.asarray(Image.fromarray(data.astronaut()).resize((side, side)))


@st.composite
def drawings(draw: st.DrawFn) -> np.ndarray:
    """Draw blocks of a few inks on a ground."""
    srgb = np.full((SIDE, SIDE, 3), INKS[0], dtype=np.uint8)
    for _ in range(draw(st.integers(1, 8))):
        y, x = draw(st.integers(0, SIDE - 2)), draw(st.integers(0, SIDE - 2))
        high, wide = draw(st.integers(2, 60)), draw(st.integers(2, 60))
        srgb[y : y + high, x : x + wide] = INKS[draw(st.integers(0, 4))]
    return srgb


@st.composite
def boxes(draw: st.DrawFn) -> tuple[int, int, int, int]:
    left, top = draw(st.integers(0, SIDE - 1)), draw(st.integers(0, SIDE - 1))
    return left, top, draw(st.integers(left + 1, SIDE)), draw(st.integers(top + 1, SIDE))


@settings(max_examples=8)
@given(drawings(), boxes(), st.sampled_from(["none", "across", "along", "both"]), st.booleans())
def test_a_region_that_asks_for_the_same_changes_nothing(
    srgb: np.ndarray, where: tuple[int, int, int, int], mirror: str, motifs: bool
) -> None:
    """This holds where the region covers a part, and where it covers everything and repeats the rug's own mirror."""
    design = {"tidy": 2, "style": "flat", "mirror": mirror, "motifs": motifs}
    plain = woven(srgb, **design)
    part, whole = box(*where, tidy=2, style="flat"), box(0, 0, SIDE, SIDE, mirror=mirror)
    cases = [[part], [whole], [box(0, 0, SIDE, SIDE, tidy=2)], [whole, box(*where, mirror=mirror), whole]]
    if mirror == "none":  # with a mirror there would be two middles
        cases.append([part, whole, box(*where)])
    for regions in cases:
        result = woven(srgb, *regions, **design)
        assert result.knot_map.sha256 == plain.knot_map.sha256
        assert (result.report, result.symmetry) == (plain.report, plain.symmetry)
        assert (result.tidied, result.lines_kept) == (plain.tidied, plain.lines_kept)


def test_a_region_that_covers_everything_acts_like_the_design_itself() -> None:
    srgb = photograph()
    for keys in ({"style": "shaded", "detail": 0.0}, {"style": "shaded", "detail": 1.0}):
        by_region = woven(srgb, box(0, 0, SIDE, SIDE, **keys))
        assert by_region.knot_map.sha256 == woven(srgb, **keys).knot_map.sha256
        assert by_region.report == woven(srgb, **keys).report


@settings(max_examples=12)
@given(drawings(), boxes(), st.booleans())
def test_a_mask_and_a_box_of_one_area_give_one_map(
    srgb: np.ndarray, where: tuple[int, int, int, int], larger: bool
) -> None:
    left, top, right, bottom = where
    mask = np.zeros((SIDE, SIDE), dtype=bool)
    mask[top:bottom, left:right] = True
    if larger:
        mask = mask.repeat(3, axis=0).repeat(3, axis=1)
    keys = {"style": "shaded", "detail": 0.5}
    by_box = woven(srgb, box(*where, **keys))
    by_mask = woven(srgb, masked(**keys), masks={1: mask})
    assert np.array_equal(picked(by_box), picked(by_mask))
    assert by_box.regions == by_mask.regions


@settings(max_examples=12)
@given(boxes(), st.integers(0, 2**32 - 1))
def test_a_mirrored_artwork_with_mirrored_regions_gives_the_mirrored_map(
    where: tuple[int, int, int, int], seed: int
) -> None:
    """Small squares of random ink show every boundary between regions, also where one halves a cell."""
    srgb = np.random.default_rng(seed).choice(np.array(INKS, np.uint8), (SIDE // 4, SIDE // 4))
    srgb = srgb.repeat(4, axis=0).repeat(4, axis=1)
    left, top, right, bottom = where
    keys = {"style": "shaded", "detail": 0.0}

    def knots(picture: np.ndarray, region: Region) -> np.ndarray:
        return picked(woven(picture, region, style="flat", fitted=False, knots=48))

    plain = knots(srgb, box(*where, **keys))
    assert np.array_equal(knots(srgb[:, ::-1], box(SIDE - right, top, SIDE - left, bottom, **keys)), plain[:, ::-1])
    assert np.array_equal(knots(srgb[::-1], box(left, SIDE - bottom, right, SIDE - top, **keys)), plain[::-1])


@settings(max_examples=15)
@given(drawings(), boxes(), st.sampled_from(["none", "across", "along", "both"]), st.sampled_from(["none", "both"]))
def test_a_mirrored_region_mirrors_exactly(
    srgb: np.ndarray, where: tuple[int, int, int, int], mirror: str, rest: str
) -> None:
    result = woven(srgb, box(*where, mirror=mirror), style="flat", fitted=False, mirror=rest)
    knots = result.knot_map.knots[::-1]
    edges = [[round(side * KNOTS / SIDE) for side in pair] for pair in (where[1::2], where[::2])]
    if all(side * KNOTS % SIDE == 0 for side in where) and all(low < high for low, high in edges):
        own = knots[edges[0][0] : edges[0][1], edges[1][0] : edges[1][1]]
        if mirror in ("across", "both"):
            assert np.array_equal(own, own[:, ::-1])
        if mirror in ("along", "both"):
            assert np.array_equal(own, own[::-1])
    inside = np.zeros(knots.shape, dtype=bool)
    inside[max(edges[0][0] - 1, 0) : edges[0][1] + 1, max(edges[1][0] - 1, 0) : edges[1][1] + 1] = True
    if rest == "both":
        outside = ~inside & ~inside[:, ::-1] & ~inside[::-1] & ~inside[::-1, ::-1]
        assert (knots == knots[:, ::-1])[outside].all()
        assert (knots == knots[::-1])[outside].all()
    assert sum(match.knots for match in result.report.yarns) == knots.size
    tied = dict(zip((yarn.code for yarn in result.knot_map.yarns), result.knot_map.counts.tolist(), strict=True))
    assert {match.code: match.knots for match in result.report.yarns} == tied


def test_a_mirrored_border_round_a_free_field() -> None:
    rng = np.random.default_rng(4)
    srgb = rng.choice(np.array(INKS, np.uint8), (KNOTS, KNOTS)).repeat(3, axis=0).repeat(3, axis=1)
    blocks = srgb[::3, ::3]
    result = woven(srgb, box(24, 24, 72, 72, mirror="none"), style="flat", tidy=0, lines=False, mirror="both")
    colours = np.array(INKS)[picked(result)]
    assert np.array_equal(colours[8:24, 8:24], blocks[8:24, 8:24])
    assert np.array_equal(colours[24:, :16][8:], blocks[32:, :16])
    border = np.ones((KNOTS, KNOTS), dtype=bool)
    border[8:24, 8:24] = False
    assert (colours == colours[:, ::-1])[border].all()
    assert (colours == colours[::-1])[border].all()
    assert np.array_equal(colours[24:, :8], blocks[24:, :8])  # the lower left is the master
    assert "the rest is mirrored across and along" in result.symmetry


def framed(side: int = 240, frame: int = 42) -> tuple[np.ndarray, int]:
    """Return a photograph in a flat frame that has a stripe and a thin line in it."""
    srgb = np.full((side, side, 3), INKS[3], dtype=np.uint8)
    for inset, ink in ((12, INKS[0]), (24, INKS[1]), (26, INKS[2])):
        srgb[inset : side - inset, inset : side - inset] = ink
    inner = side - 2 * frame
    srgb[frame : side - frame, frame : side - frame] = np.asarray(Image.fromarray(data.coffee()).resize((inner, inner)))
    return srgb, frame


def test_a_flat_frame_round_a_painting() -> None:
    """The frame has its own inks, the painting is what it is by itself, and no knot mixes colours of both."""
    srgb, frame = framed()
    side = len(srgb)
    card = [*INKS, (90, 60, 40), (150, 110, 80), (210, 190, 170), (60, 30, 20), (120, 130, 90)]
    inner = box(frame, frame, side - frame, side - frame, style="shaded")
    result = woven(srgb, inner, style="flat", inks=card, knots=81)
    assert result.style.style == "mixed"
    knots = np.array(card)[picked(result)]
    edges = result.placed.placement.column_edges
    assert abs(edges - frame).min() < 0.01  # the grid lies on the edge between them
    first = int(abs(edges - frame).argmin())
    painting = picked(result)[first : 81 - first, first : 81 - first]
    assert len(np.unique(painting)) > 5
    assert result.regions[0].knots == painting.size
    ring = np.ones((81, 81), dtype=bool)
    ring[first : 81 - first, first : 81 - first] = False
    assert {tuple(colour) for colour in knots[ring].tolist()} == set(INKS[:4])
    assert (knots[40, :first] == knots[:first, 40]).all()  # the same stripes on all sides


def test_each_region_has_its_own_ground_under_transparent_places() -> None:
    srgb, coverage = np.full((SIDE, SIDE, 3), INKS[2], dtype=np.uint8), np.zeros((SIDE, SIDE), dtype=np.uint8)
    coverage[:30] = 255
    here = box(0, 30, 48, SIDE, ground="Y003")
    result = woven(srgb, here, coverage=coverage, ground="Y001")
    knots = picked(result)
    assert (knots[:10] == 2).all()
    assert (knots[10:, :16] == 3).all()
    assert (knots[10:, 16:] == 1).all()
    assert result.regions[0].knots == 22 * 16
    empty = woven(srgb, here, coverage=coverage).knot_map
    assert empty.empty == 22 * 16
    with pytest.raises(RugError, match=r"\[\[region\]\] 1 ground names 'Y009', which is not on the card"):
        woven(srgb, box(0, 0, 9, 9, ground="Y009"))


def test_a_small_hole_in_the_artwork_is_no_dot_of_a_yarn() -> None:
    """A hole of a third of a knot leaves its knot tied, while one of two thirds leaves it out."""
    srgb, coverage = np.full((SIDE, SIDE, 3), INKS[2], dtype=np.uint8), np.full((SIDE, SIDE), 255, dtype=np.uint8)
    coverage[30:33, 30] = coverage[60:63, 60:62] = 0
    knots = woven(srgb, coverage=coverage, style="flat").knot_map
    assert (knots.empty, knots.knots[KNOTS - 1 - 20, 20] == 65535) == (1, True)


def test_specks_are_tidied_only_where_the_region_says_so() -> None:
    """Of two single knots of another ink on an even ground only one lies where specks are tidied."""
    srgb = np.full((SIDE, SIDE, 3), INKS[0], dtype=np.uint8)
    srgb[9:11, 9:12] = srgb[9:11, 69:72] = INKS[1]  # two thirds of a knot
    srgb[90:, 90:] = INKS[1]
    untidied = woven(srgb, style="flat", lines=False, tidy=0, fitted=False)
    assert (picked(untidied)[3, [3, 23]] == 1).all()
    tidied = woven(srgb, style="flat", lines=False, tidy=2, fitted=False)
    kept = woven(srgb, box(0, 0, 48, SIDE, tidy=0), style="flat", lines=False, tidy=2, fitted=False)
    assert kept.tidied <= tidied.tidied
    assert picked(kept)[3, 3] == 1
    assert picked(kept)[3, 23] == picked(tidied)[3, 23]


@pytest.mark.parametrize(
    ("region", "masks", "said"),
    [
        (box(0, 0, 97, 4), {}, "the box of region 1 reaches beyond the artwork, which has 96 x 96 pixels"),
        (masked(), {1: np.ones((40, 44), bool)}, "the mask of region 1 has 44 x 40 pixels, and the artwork 96 x 96"),
    ],
)
def test_regions_that_cannot_be_are_refused(region: Region, masks: dict[int, np.ndarray], said: str) -> None:
    with pytest.raises(ArtworkError, match=said):
        woven(photograph(), region, masks=masks)
