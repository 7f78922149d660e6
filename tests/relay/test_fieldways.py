"""A field is laid by repeating it, by growing its ground or by pulling it, with the medallion kept or scaled.

What each of these does to a medallion or to a repeat is arithmetic on the sizes of the drawing.
"""

from __future__ import annotations

import numpy as np
import pytest
from support.framed import COLOURS, FIELD, GOLD, KNOT_PX, MOTIF, BorderDrawn, Framed, drawn_of, fixed

from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.relaid import Relaid, relaid

KNOT_MM = 5
#: The rug is so many times as wide and as long as it is drawn.
WIDE, LONG = 1.33, 1.7


def laid(drawn: Framed, **said: object) -> Relaid:
    high, wide = (each * KNOT_MM for each in drawn.knots)
    rug = {"density": "20x20 per dm", "width": f"{wide * WIDE:.3f} mm", "length": f"{high * LONG:.3f} mm"}
    layout = Layouting.model_validate({"drawn": f"{wide:.3f} x {high:.3f} mm", "tolerance": 0.1, **said})
    return relaid(drawn.artwork, Rug.model_validate(rug), Design(), layout)


def field_of(anew: Relaid) -> np.ndarray:
    """Return the colours of the field, one for each knot."""
    px = anew.placed.artwork.height // anew.plan.rows
    rows = sum(band.widths["top"] for band in anew.plan.bands)
    columns = sum(band.widths["left"] for band in anew.plan.bands)
    return anew.placed.artwork.srgb[px // 2 :: px, px // 2 :: px][rows:-rows, columns:-columns]


def of(field: np.ndarray, colour: int) -> np.ndarray:
    return (field == COLOURS[colour]).all(axis=-1)


def reach(mask: np.ndarray) -> tuple[int, int]:
    """Return how many rows and columns a shape takes."""
    rows, columns = (np.flatnonzero(mask.any(axis=axis)) for axis in (1, 0))
    return int(rows[-1] - rows[0] + 1), int(columns[-1] - columns[0] + 1)


def drawn_field(drawn: Framed) -> tuple[float, float]:
    return drawn.field[0] / KNOT_PX, drawn.field[1] / KNOT_PX


@pytest.mark.parametrize("way", ["auto", "repeat"])
def test_a_repeat_goes_on_at_its_own_length(way: str) -> None:
    """Dots at every fifth knot stay so, and there are as many more of them as the field has grown."""
    field = of(field_of(laid(fixed("strewn"), field=way)), MOTIF)
    assert np.array_equal(field[5:], field[:-5]) and np.array_equal(field[:, 5:], field[:, :-5])
    assert field[:5, :5].sum() == field[5:10, 10:15].sum() > 0


@pytest.mark.parametrize("way", ["auto", "extend"])
def test_plain_ground_grows_and_pieces_keep_their_size(way: str) -> None:
    drawn = fixed("medallion")
    field = field_of(laid(drawn, field=way))
    radius = 0.22 * min(drawn.field) / KNOT_PX
    high, wide = reach(of(field, MOTIF))
    assert abs(high - 2 * radius) <= 1 and abs(wide - 2 * radius) <= 1
    assert of(field, MOTIF)[field.shape[0] // 2].any() and of(field, GOLD)[0, 0] and of(field, GOLD)[-1, -1]
    corner = of(field[: field.shape[0] // 2, : field.shape[1] // 2], GOLD)
    assert abs(corner.sum() - np.pi * (0.8 * radius) ** 2 / 4) <= 0.1 * corner.sum()
    ground = (drawn.picture == FIELD).sum() / KNOT_PX**2
    grown = field.shape[0] * field.shape[1] - np.prod(drawn_field(drawn))
    assert abs(of(field, FIELD).sum() - ground - grown) <= 0.02 * grown  # everything that is new is ground


def test_a_pulled_field_pulls_its_medallion_alike_and_reports_it() -> None:
    drawn = fixed("medallion")
    anew = laid(drawn, field="scale")
    field = field_of(anew)
    radius = 0.22 * min(drawn.field) / KNOT_PX
    for knots, size, own in zip(reach(of(field, MOTIF)), field.shape, drawn_field(drawn), strict=False):
        assert abs(knots - 2 * radius * size / own) <= 1.5
    assert any("oval" in finding.what for finding in anew.findings)


def test_a_scaled_medallion_stays_round_and_grows_as_far_as_the_field_lets_it() -> None:
    """It grows with its corner pieces by the lesser of the field's two growths, so that nothing becomes oval."""
    drawn = fixed("medallion")
    anew = laid(drawn, medallion="scale")
    field = field_of(anew)
    grown = min(size / own for size, own in zip(field.shape, drawn_field(drawn), strict=False))
    radius = 0.22 * min(drawn.field) / KNOT_PX * grown
    assert grown > 1.3
    high, wide = reach(of(field, MOTIF))
    assert abs(high - 2 * radius) <= 1.5 and abs(wide - 2 * radius) <= 1.5
    corner = of(field[: field.shape[0] // 2, : field.shape[1] // 2], GOLD)
    assert abs(corner.sum() - np.pi * (0.8 * radius) ** 2 / 4) <= 0.1 * corner.sum()
    assert not any("oval" in finding.what for finding in anew.findings)


def test_a_medallion_on_a_pattern_is_scaled_and_the_pattern_is_not() -> None:
    drawn = drawn_of((BorderDrawn(9 * KNOT_PX, 60.0, (5, 7), KNOT_PX),), (7 * 60 + 12, 5 * 60 + 12), "overlaid")
    kept, scaled = (field_of(laid(drawn, medallion=way)) for way in ("keep", "scale"))
    dots = [of(field, MOTIF)[-12:, field.shape[1] // 2 - 5 : field.shape[1] // 2 + 5] for field in (kept, scaled)]
    assert np.array_equal(dots[0], dots[1]) and dots[0].any()
    middle = slice(kept.shape[0] // 2, kept.shape[0] // 2 + 1)
    rows = [np.flatnonzero(of(field[middle], 5)[0]) for field in (kept, scaled)]  # the black outline of the medallion
    assert rows[1][0] < rows[0][0] and rows[1][-1] > rows[0][-1]


@pytest.mark.parametrize(
    ("kind", "way", "words"),
    [
        ("strewn", "extend", "needs pieces on plain ground"),
        ("overlaid", "extend", "needs pieces on plain ground"),
        ("medallion", "repeat", "needs a field that repeats"),
    ],
)
def test_a_way_that_the_drawing_does_not_allow_is_refused(kind: str, way: str, words: str) -> None:
    with pytest.raises(ArtworkError, match=words):
        laid(fixed(kind), field=way)
