"""Round, oval and eight-sided rugs have bands along the outline, whole repeats all round, and the kept medallion.

That a border keeps its width and that motifs repeat whole is common practice of designers; that a ring of a rug which
mirrors both ways takes an even number of repeats is arithmetic, as are the lengths of circle and octagon.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import ndimage
from support.framed import COLOURS, KNOT_PX, MOTIF, Framed, fixed

from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.relaid import Relaid, relaid

KNOT_MM = 5
BORDER = 9


def laid_round(drawn: Framed, width: int, length: int, shape: str = "ellipse", **more: object) -> Relaid:
    """Return a design laid for an outline of that many knots."""
    sides = {"width": f"{width * KNOT_MM} mm", "length": f"{length * KNOT_MM} mm", "shape": shape}
    rug = Rug.model_validate({"density": "20x20 per dm", **sides})
    high, wide = (each * KNOT_MM for each in drawn.knots)
    layout = Layouting.model_validate({"drawn": f"{wide:.3f} x {high:.3f} mm", **more})
    return relaid(drawn.artwork, rug, Design(), layout)


def ring_of(anew: Relaid, depth_knots: float, *, octagon: bool, steps: int = 6_000) -> np.ndarray:
    """Return the colours all the way round, `depth_knots` inside the outline of a round or eight-sided rug."""
    picture = anew.placed.artwork.srgb
    px = picture.shape[0] / anew.plan.rows
    angle = (np.arange(steps) + 0.5) / steps * 2 * math.pi
    radius = np.full(steps, anew.plan.rows / 2 - depth_knots)
    if octagon:
        radius /= np.cos((angle + math.pi / 8) % (math.pi / 4) - math.pi / 8)
    middle = anew.plan.rows / 2
    rows, columns = (((middle + radius * turn) * px).astype(int) for turn in (np.sin(angle), np.cos(angle)))
    return picture[rows, columns]


def runs_of(colours: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Return the lengths of all runs of a colour round a ring, ignoring single pixels at their ends."""
    own = (colours == wanted).all(axis=-1)
    reach = len(own) // 600
    own = ndimage.binary_closing(np.pad(own, reach, mode="wrap"), iterations=reach)[reach:-reach]
    own = np.roll(own, -int(np.flatnonzero(~own)[0]))
    starts, ends = np.flatnonzero(own[1:] & ~own[:-1]), np.flatnonzero(~own[1:] & own[:-1])
    ends = np.append(ends, len(own) - 1)[: len(starts)]
    return ends - starts


@pytest.mark.parametrize("shape", ["ellipse", "octagon"])
@pytest.mark.parametrize("size", [60, 71, 96])
def test_whole_repeats_go_all_round_and_are_alike(shape: str, size: int) -> None:
    """A ring half a lozenge off the middle of the band cuts every motif once, and all cuts are equally long."""
    octagon = shape == "octagon"
    anew = laid_round(fixed("medallion"), size, size, shape)
    around = anew.plan.around[1]
    runs = runs_of(ring_of(anew, BORDER / 2 - 1.3, octagon=octagon), COLOURS[MOTIF])
    assert len(runs) == around and around % 2 == 0
    side = (size - BORDER) * math.tan(math.pi / 8) if octagon else (size - BORDER) * math.pi
    assert around == (8 * max(1, round(side / 10)) if octagon else 2 * max(1, round(side / 20)))
    assert runs.max() - runs.min() <= 0.25 * runs.mean()
    picture = anew.placed.artwork.srgb
    assert np.array_equal(picture, picture[::-1]) and np.array_equal(picture, picture[:, ::-1])


@pytest.mark.parametrize("shape", ["ellipse", "octagon"])
def test_bands_keep_their_width_all_round(shape: str) -> None:
    """The guard lines at the rim and at the field are one knot wide all round, to a tenth of a knot."""
    anew = laid_round(fixed("plain"), 72, 72, shape)
    for depth, colour in ((0.9, 5), (1.1, 1), (7.9, 1), (8.1, 5), (8.9, 5), (9.1, 3)):
        ring = ring_of(anew, depth, octagon=shape == "octagon")
        assert (ring == COLOURS[colour]).all(axis=-1).mean() > 0.97


def test_an_oval_keeps_its_bands_at_the_ends_of_both_axes() -> None:
    anew = laid_round(fixed("plain"), 70, 100)
    picture, px = anew.placed.artwork.srgb, 8
    for line in (picture[:, 35 * px], picture[50 * px]):
        field = np.flatnonzero((line == COLOURS[3]).all(axis=-1))
        assert abs(field[0] / px - BORDER) < 0.2 and abs((len(line) - 1 - field[-1]) / px - BORDER) < 0.2


def test_the_medallion_is_the_one_of_the_rectangle_and_corner_pieces_are_left_out() -> None:
    drawn = fixed("medallion")
    wide, high = round(drawn.knots[1]), round(drawn.knots[0])
    straight = laid_round(drawn, wide, high, "rectangle").placed.artwork.srgb
    anew = laid_round(drawn, 64, 64)
    picture = anew.placed.artwork.srgb
    half = 8 * int(0.22 * min(drawn.field) / KNOT_PX)
    middle = [[slice(n // 2 - half, n // 2 + half) for n in each.shape[:2]] for each in (straight, picture)]
    assert np.array_equal(straight[tuple(middle[0])], picture[tuple(middle[1])])
    assert anew.parts.pieces is not None and len(anew.parts.pieces.pieces) == 1
    assert any(finding.what.startswith("4 pieces") for finding in anew.findings)


def test_a_strewn_field_goes_on_to_the_rings_and_a_tiny_rug_is_refused() -> None:
    anew = laid_round(fixed("strewn"), 60, 60)
    picture = anew.placed.artwork.srgb
    across = picture[:, 22 * 8 : 38 * 8]
    assert np.array_equal(across[24 * 8 : 29 * 8], across[29 * 8 : 34 * 8])
    with pytest.raises(ArtworkError, match="leave no field"):
        laid_round(fixed("strewn"), 18, 18)
