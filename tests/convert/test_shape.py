"""How artwork lies on the grid: its fit, its turn, the outline of the rug and its symmetry."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw
from skimage import data
from support.drawings import card_of, converted, drawing, picked, rows_for
from support.making import SQUARE, make_rug, make_yarn

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import convert
from chartmaker.ground.errors import ArtworkError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.design import Design, YarnChoice

CARD = card_of([(0, 0, 0), (255, 255, 255), (200, 30, 30), (30, 30, 200), (120, 110, 90), (220, 190, 150)])


@pytest.mark.parametrize("columns", [40, 41])
@pytest.mark.parametrize("mirror", ["across", "along", "both"])
@pytest.mark.parametrize("style", ["flat", "shaded"])
def test_mirrored_rugs_are_symmetric_to_the_knot(columns: int, mirror: str, style: str) -> None:
    srgb = drawing("rosette_panel") if style == "flat" else data.astronaut()
    rows = columns + 1
    result = converted(srgb, make_rug(columns, rows, SQUARE), CARD, mirror=mirror, fit="stretch", style=style)
    knots = result.knot_map.knots
    if mirror != "along":
        assert (knots == knots[:, ::-1]).all()
    if mirror != "across":
        assert (knots == knots[::-1]).all()
    assert sum(match.knots for match in result.report.yarns) == columns * rows
    across, along = ("once" if count % 2 else "two centre" for count in (columns, rows))
    assert (across in result.symmetry) == (mirror != "along") or across == along
    plain = converted(srgb, make_rug(columns, rows, SQUARE), CARD, fit="stretch", style=style)
    half = slice(0, rows - rows // 2)  # the master is the half that is woven first, or the left half
    assert (plain.knot_map.counts.sum()) == columns * rows
    if mirror == "along":
        woven = np.array([y.srgb for y in result.knot_map.yarns])[knots[half]]
        alike = woven == np.array([y.srgb for y in plain.knot_map.yarns])[plain.knot_map.knots[half]]
        # Lines that meet compete for knots along their whole length, also in the half that is thrown away.
        assert alike.mean() >= (0.98 if style == "flat" else 1)


def test_near_symmetry_is_noticed_with_the_number_of_knots() -> None:
    cells = np.zeros((20, 30), dtype=np.uint8)
    cells[5:9, 3:8] = cells[5:9, 22:27] = 1
    cells[15, 4] = 1
    srgb = np.array([(255, 255, 255), (0, 0, 0)], dtype=np.uint8)[cells]
    result = converted(srgb, make_rug(30, 20, SQUARE), CARD)
    assert "nearly symmetric across: 2 knots differ" in result.symmetry
    cells[15, 4] = 0
    srgb = np.array([(255, 255, 255), (0, 0, 0)], dtype=np.uint8)[cells]
    assert "symmetric across to the knot" in converted(srgb, make_rug(30, 20, SQUARE), CARD).symmetry


def test_a_turn_and_the_first_row_place_the_artwork_as_documented() -> None:
    cells = np.arange(6, dtype=np.uint8).reshape(2, 3)
    colours = np.array([yarn.srgb for yarn in CARD], dtype=np.uint8)
    assert (picked(converted(colours[cells], make_rug(3, 2, "8x8 per dm"), CARD)) == cells).all()
    assert converted(colours[cells], make_rug(3, 2, "8x8 per dm"), CARD).knot_map.knots[0].tolist() == [3, 4, 5]
    for degrees, quarters in ((90, -1), (180, 2), (270, 1)):
        turned = np.rot90(cells, quarters)
        rug = make_rug(turned.shape[1], turned.shape[0], "8x8 per dm")
        assert (picked(converted(colours[cells], rug, CARD, turn=degrees)) == turned).all()


def test_artwork_of_other_proportions_needs_a_fit() -> None:
    cells = np.zeros((20, 40), dtype=np.uint8)
    cells[:, :10] = 2
    cells[:, 30:] = 3
    colours = np.array([yarn.srgb for yarn in CARD], dtype=np.uint8)
    srgb = np.kron(colours[cells], np.ones((6, 6, 1), dtype=np.uint8))
    with pytest.raises(ArtworkError, match=r"(?s)stretch.*crop.*pad"):
        converted(srgb, make_rug(20, 20, SQUARE), CARD)
    stretched = picked(converted(srgb, make_rug(20, 20, SQUARE), CARD, fit="stretch"))
    assert (stretched == cells[:, ::2]).all()
    cropped = converted(srgb, make_rug(20, 20, SQUARE), CARD, fit="crop")
    assert "60 pixels are cut off at left and right" in cropped.placed.fit
    assert (picked(cropped) == 0).all()
    padded = converted(srgb, make_rug(40, 40, SQUARE), CARD, fit="pad")
    assert "60 pixels of #" in padded.placed.fit
    assert (picked(padded)[10:30] == cells).all()
    assert len(np.unique(picked(padded)[:10])) == 1
    exact = converted(srgb, make_rug(40, 20, SQUARE), CARD)
    assert exact.placed.fit == "The artwork has the rug's proportions."


def test_padding_continues_the_edge_of_the_artwork_transparent_or_not() -> None:
    srgb = np.full((100, 200, 3), (200, 30, 30), dtype=np.uint8)
    coverage = np.full((100, 200), 255, dtype=np.uint8)
    for clear, said in ((False, "50 pixels of #c81e1e are added"), (True, "50 pixels of transparency are added")):
        if clear:
            coverage[:5], coverage[-5:], coverage[:, :5], coverage[:, -5:] = 0, 0, 0, 0
        design = Design.model_validate({"fit": "pad"})
        result = convert(
            Artwork(srgb, coverage.copy()), make_rug(40, 40, SQUARE, shape="artwork"), CARD, design, YarnChoice()
        )
        assert said in result.placed.fit
        assert (result.knot_map.knots[:9] == (NO_KNOT if clear else 0)).all()


@pytest.mark.parametrize("shape", ["ellipse", "octagon"])
@pytest.mark.parametrize("style", ["flat", "shaded"])
def test_outlines_are_symmetric_and_of_the_right_area(shape: str, style: str) -> None:
    srgb = drawing("harlequin")
    rows = rows_for(srgb, 90)
    knots = converted(srgb, make_rug(90, rows, SQUARE, shape=shape), CARD, style=style).knot_map.knots
    outside = knots == NO_KNOT
    assert (outside == outside[::-1]).all()
    assert (outside == outside[:, ::-1]).all()
    cut = 90 / (2 + 2**0.5)
    area = np.pi / 4 * 90 * rows if shape == "ellipse" else 90 * rows - 2 * cut**2
    assert (~outside).sum() == pytest.approx(area, rel=0.01)


@pytest.mark.parametrize("style", ["flat", "shaded"])
def test_transparency_is_outside_the_rug(style: str) -> None:
    srgb = np.full((200, 300, 3), (200, 30, 30), dtype=np.uint8)
    srgb[:, 100:] = (255, 255, 255)
    coverage = np.full((200, 300), 255, dtype=np.uint8)
    coverage[:, :57] = 0
    srgb[:, :57] = (0, 0, 0)  # colours hidden under transparency colour no knot
    rug, design = make_rug(30, 20, SQUARE, shape="artwork"), Design.model_validate({"style": style})
    result = convert(Artwork(srgb, coverage), rug, CARD, design, YarnChoice())
    assert (result.knot_map.knots[:, :5] == NO_KNOT).all()
    assert [yarn.code for yarn in result.knot_map.yarns] == ["Y001", "Y002"]
    assert result.knot_map.empty in (20 * 5, 20 * 6)
    bare = convert(Artwork(srgb), rug, CARD, design, YarnChoice())
    assert any("transparency" in finding.what for finding in bare.findings)
    with pytest.raises(ArtworkError, match="transparent there"):
        convert(Artwork(srgb, coverage * 0), rug, CARD, design, YarnChoice())


def test_fewer_pixels_than_knots_is_reported() -> None:
    result = converted(data.astronaut()[::8, ::8], make_rug(100, 100, SQUARE), CARD)
    (finding,) = [finding for finding in result.findings if "fewer pixels" in finding.what]
    assert finding.severity == "warning"


@pytest.mark.parametrize("style", ["flat", "shaded"])
@pytest.mark.parametrize("shape", ["ellipse", "octagon"])
@pytest.mark.parametrize("size", [(240, 180), (247, 185)])
def test_what_lies_beyond_the_outline_decides_no_knot(shape: str, style: str, size: tuple[int, int]) -> None:
    """Artwork that draws its own outline on a ground of another colour is one colour within it (arithmetic).

    Its edge is blurred over a pixel, as drawing programs leave it; every knot has the colour within.
    """
    columns, rows = 60, 45
    rug = make_rug(columns, rows, "20x20 per dm", shape=shape)
    mask = Image.new("L", (size[0] * 4, size[1] * 4), 0)
    wide, high = mask.size
    cut = min(wide, high) / (2 + 2**0.5)
    corners = [(cut, 0), (wide - cut, 0), (wide, cut), (wide, high - cut), (wide - cut, high), (cut, high)]
    if shape == "ellipse":
        ImageDraw.Draw(mask).ellipse((0, 0, wide - 1, high - 1), fill=255)
    else:
        ImageDraw.Draw(mask).polygon([*corners, (0, high - cut), (0, cut)], fill=255)
    inside = np.asarray(mask.resize(size, Image.Resampling.BOX))[..., None] / 255
    srgb = np.rint(inside * (34, 48, 79) + (1 - inside) * (200, 60, 48)).astype(np.uint8)
    srgb[size[1] // 2 - 9 : size[1] // 2 + 9, size[0] // 2 - 9 : size[0] // 2 + 9] = (200, 60, 48)  # both are tied
    card = (make_yarn(0, (34, 48, 79)), make_yarn(1, (200, 60, 48)), make_yarn(2, (117, 54, 63)))
    found = convert(Artwork(srgb), rug, card, Design(style=style), YarnChoice()).knot_map
    names = [yarn.code for yarn in found.yarns]
    assert set(names) == {"Y000", "Y001"}
    outer = found.knots.copy()
    outer[rows // 2 - 5 : rows // 2 + 6, columns // 2 - 5 : columns // 2 + 6] = NO_KNOT
    assert set(np.unique(outer)) == {names.index("Y000"), NO_KNOT}
