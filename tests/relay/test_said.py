"""What [layout] says of a drawing overrides what is found, part by part, and what was found can be written back.

A designer who sees a wrong part on the overlay measures it with a ruler, to about half a knot (common practice).
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from support.framed import COLOURS, KNOT_PX, fixed

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.parts import Parts
from chartmaker.relay.relaid import taken_apart
from chartmaker.reports.partswords import layout_table

KNOT_MM = 5


def apart(picture: np.ndarray, **said: object) -> Parts:
    wide, high = (each / KNOT_PX * KNOT_MM for each in (picture.shape[1], picture.shape[0]))
    rug = Rug.model_validate({"density": "20x20 per dm", "width": f"{wide:.3f} mm", "length": f"{high:.3f} mm"})
    layout = Layouting.model_validate({"drawn": f"{wide:.3f} x {high:.3f} mm", **said})
    return taken_apart(Artwork(picture), rug, Design(), layout).parts


def boxes(parts: Parts) -> list[tuple[int, int, int, int]]:
    field = parts.field
    pieces = () if parts.pieces is None else parts.pieces.pieces
    left, top = int(field.left), int(field.top)
    return sorted((p.left + left, p.top + top, p.right + left, p.bottom + top) for p in pieces)


@pytest.mark.parametrize("kind", ["medallion", "strewn", "overlaid", "plain"])
def test_what_was_found_can_be_written_into_the_rug_file(kind: str) -> None:
    """The table that `layout` prints, put into the rug file, gives the same frames, repeats and pieces again."""
    picture = fixed(kind).artwork.srgb
    found = apart(picture)
    mm_per_px = (KNOT_MM / KNOT_PX, KNOT_MM / KNOT_PX)
    table = tomllib.loads("\n".join(layout_table(found, mm_per_px)))["layout"]
    again = apart(picture, **table)
    assert again.field == found.field
    assert [band.inner for band in again.bands] == [band.inner for band in found.bands]
    assert boxes(again) == boxes(found)
    for one, other in zip(found.bands, again.bands, strict=True):
        for side in ("bottom", "left"):
            mine, theirs = one.sides[side].repeating, other.sides[side].repeating  # type: ignore[index]
            assert (mine is None) == (theirs is None)
            assert mine is None or (theirs is not None and abs(mine.period - theirs.period) < 0.3)
    assert (again.lattice is None) == (found.lattice is None)
    if found.lattice is not None and again.lattice is not None:
        assert abs(again.lattice.lattice.width - found.lattice.lattice.width) < 0.3
        assert abs(again.lattice.lattice.height - found.lattice.lattice.height) < 0.3


def test_widths_of_the_rug_file_move_to_the_edges_that_are_drawn() -> None:
    """A border of nine knots, 45 mm, is measured as 4.4 or 4.6 cm: its edge is drawn 54 pixels from the rim."""
    picture = fixed("medallion").artwork.srgb
    for measured in ("4.4 cm", "4.6 cm"):
        field = apart(picture, borders=[measured]).field
        assert (field.left, field.top) == (9 * KNOT_PX, 9 * KNOT_PX)


def test_a_border_without_edges_is_as_wide_as_the_rug_file_says() -> None:
    picture = np.full((240, 180, 3), COLOURS[3], dtype=np.uint8)
    picture[::7, ::7] = COLOURS[1]
    field = apart(picture, borders=["2 cm"]).field
    assert (field.left, field.top, field.right, field.bottom) == (24, 24, 156, 216)


def test_a_field_of_the_rug_file_overrides_what_the_borders_leave() -> None:
    picture = fixed("medallion").artwork.srgb
    parts = apart(picture, field_box=[50, 48, picture.shape[1] - 50, picture.shape[0] - 48])
    assert (parts.field.left, parts.field.top) == (50, 48)
    assert parts.bands[-1].inner == parts.field and parts.bands[0].outer.left == 0


@pytest.mark.parametrize(("said", "period"), [("10 cm", 120), ("none", None), ("found", 60)])
def test_a_repeat_of_the_rug_file_overrides_the_one_that_is_found(said: str, period: float | None) -> None:
    """Two motifs of 5 cm may count as one repeat of 10 cm, as where they alternate, or as none at all."""
    parts = apart(fixed("medallion").artwork.srgb, borders=["4.5 cm"], repeats=[said])
    repeating = parts.bands[0].sides["left"].repeating
    assert (repeating is None) == (period is None)
    assert repeating is None or (period is not None and abs(repeating.period - period) < 0.3)


def test_pieces_of_the_rug_file_override_those_that_are_found() -> None:
    """Only the medallion is given, so that the corner pieces belong to a ground that is no longer plain."""
    drawn = fixed("medallion")
    found = apart(drawn.artwork.srgb)
    middle = next(piece for piece in found.pieces.pieces if piece.is_medallion)  # type: ignore[union-attr]
    left, top = int(found.field.left), int(found.field.top)
    box = [left + middle.left - 3, top + middle.top - 3, left + middle.right + 3, top + middle.bottom + 3]
    parts = apart(drawn.artwork.srgb, pieces=[box])
    assert parts.pieces is not None and len(parts.pieces.pieces) == 1
    piece = parts.pieces.pieces[0]
    assert piece.is_medallion
    own = parts.pieces.mask == piece.number
    away = np.hypot(*(np.ogrid[: own.shape[0], : own.shape[1]][k] + 0.5 - own.shape[k] / 2 for k in (0, 1)))
    assert abs(own.sum() - (away < 0.22 * min(drawn.field)).sum()) <= 0.02 * own.sum()
    assert apart(drawn.artwork.srgb, pieces=[]).pieces is None


def test_a_field_repeat_of_the_rug_file_overrides_the_one_that_is_found() -> None:
    """The dots lie every 25 mm; only every second one across is to repeat, measured to half a millimetre."""
    picture = fixed("strewn").artwork.srgb
    parts = apart(picture, field_repeat="49.5x25.5 mm")
    assert parts.lattice is not None
    assert abs(parts.lattice.lattice.width - 60) < 0.5 and abs(parts.lattice.lattice.height - 30) < 0.5
    assert apart(picture, field_repeat="none").lattice is None


def test_parts_too_crowded_to_be_found_can_be_given() -> None:
    """Medallion and corners leave few dots to find a repeat by; once given, the dots continue under them."""
    picture = fixed("overlaid").artwork.srgb
    assert apart(picture).pieces is None
    left, top, right, bottom = 54, 54, 246, 366
    corners = [[x, y, x + 50, y + 50] for x in (left, right - 50) for y in (top, bottom - 50)]
    said = {"borders": ["4.5 cm"], "field_repeat": "2.5x2.5 cm", "pieces": [[96, 127, 204, 293], *corners]}
    parts = apart(picture, **said)
    assert parts.tile is not None and parts.lattice is not None and not parts.tile.mirrored
    assert abs(parts.tile.width - 30) < 0.5 and abs(parts.tile.height - 30) < 0.5
    assert parts.pieces is not None
    assert [piece.is_corner for piece in parts.pieces.pieces].count(True) == 4


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"field_box": [10, 10, 9000, 300]}, "reaches beyond the artwork"),
        ({"pieces": [[10, 10, 50, 9000]]}, "reaches beyond the artwork"),
    ],
)
def test_a_box_beyond_the_artwork_is_refused(said: dict[str, object], words: str) -> None:
    with pytest.raises(ArtworkError, match=words):
        apart(fixed("medallion").artwork.srgb, **said)


def test_the_command_prints_the_table_and_takes_it_back(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    Image.fromarray(fixed("medallion").artwork.srgb).save(tmp_path / "design.png")
    wide, high = (each * KNOT_MM for each in reversed(fixed("medallion").knots))
    rug = f'[rug]\nsize = "{wide:g}x{high:g} mm"\ndensity = "20x20 per dm"\n[design]\nartwork = "design.png"\n'
    (tmp_path / "rug.toml").write_text(rug)
    first = chartmaker("layout", tmp_path / "rug.toml", "--out", tmp_path / "one.png")
    assert first.code == 0, first.err
    table = first.out[first.out.index("[layout]") :]
    (tmp_path / "rug.toml").write_text(rug + table)
    second = chartmaker("layout", tmp_path / "rug.toml", "--out", tmp_path / "two.png")
    assert (second.code, second.out) == (0, first.out)
