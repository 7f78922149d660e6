"""A hairline whose width wanders about a quarter of a knot is woven whole or left out whole."""

from __future__ import annotations

import numpy as np
import pytest

from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.flat import tiles
from chartmaker.convert.flat.likeness import Block, blocks_of
from chartmaker.convert.flat.tiles import FlatKnots, flat_knots

INKS = np.array([(240, 232, 216), (40, 36, 30)], dtype=np.uint8)
COLUMNS, ROWS, SCALE = 150, 32, 8


def line(middle: float, wander: float, swing: float = 5) -> Labels:
    """A wave from rim to rim, as wide on average as `middle` says in knots, that swells and thins by a share."""
    x = (np.arange(COLUMNS * SCALE) + 0.5) / SCALE
    y = (np.arange(ROWS * SCALE) + 0.5)[:, None] / SCALE
    slope = swing * np.cos(x / 8) / 8
    width = middle * (1 + wander * np.sin(x / 25)) * np.hypot(1, slope)
    plane = (np.abs(y - ROWS / 2 - swing * np.sin(x / 8)) <= width / 2).astype(np.uint8)
    return Labels(plane, plane, np.broadcast_to(np.uint8(0), plane.shape))


def woven(labels: Labels) -> FlatKnots:
    down, across = (np.arange(size // SCALE + 1) * float(SCALE) for size in labels.first.shape)
    placement = Placement(across, down[::-1])
    return flat_knots(placement, labels, INKS, np.arange(2), None, lines=True, tidy=1)


@pytest.mark.parametrize(("middle", "share"), [(0.21, 0.0), (0.29, 1.0)])
def test_a_wandering_line_is_all_there_or_all_gone(
    middle: float, share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its width crosses the quarter, and on average it is on one side of it (arithmetic)."""
    labels = line(middle, 0.3)
    whole = woven(labels)
    assert (whole.knots == 1).any(axis=0).mean() == share
    assert (whole.faint > 100) == (share == 0)
    monkeypatch.setattr(tiles, "_TILE_PIXELS", 4000)
    monkeypatch.setattr(tiles, "_TILE_COLUMNS", 40)
    assert np.array_equal(woven(labels).knots, whole.knots)


@pytest.mark.parametrize(("middle", "wander"), [(0.5, 0.3), (0.9, 0.95)])
def test_other_strokes_are_drawn_crossing_by_crossing(
    middle: float, wander: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Those are a stroke that is never a hairline, and one that swells from a hair to nearly two knots."""
    labels = line(middle, wander)
    whole = woven(labels)
    monkeypatch.setattr(tiles, "judged_in", lambda *_: None)
    assert np.array_equal(woven(labels).knots, whole.knots)


def test_a_copied_line_is_judged_where_it_lies(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of one of several equal lines, most of which are copied, the thin half is missing, so the rest is woven."""
    plane = np.tile(line(0.23, 0.3).first, (8, 1))
    plane[4 * ROWS * SCALE : 5 * ROWS * SCALE, 80 * SCALE :] = 0
    labels, made = Labels(plane, plane, np.broadcast_to(np.uint8(0), plane.shape)), list[Block]()

    def noted(*arguments: object) -> list[Block]:
        made[:] = blocks_of(*arguments)  # type: ignore[arg-type]
        return made

    monkeypatch.setattr(tiles, "blocks_of", noted)
    quick = woven(labels)
    assert any(block.like is not None and block.own[0].start == 4 * ROWS for block in made)
    monkeypatch.setattr(tiles, "blocks_of", lambda *some: [Block(block.own, None) for block in noted(*some)])
    assert np.array_equal(woven(labels).knots, quick.knots)
    assert set(np.flatnonzero((quick.knots == 1).any(axis=1)) // ROWS) == {4}
