"""Faults that a master would see in a drawing are found where they were drawn, and a sound design gets no remark.

That repeats come out whole, corners turn and a medallion lies in the middle is common practice; that borders take about
a third of the width is from siti1.com, proportions of 1.3 to 1.5 from the Ildiz handbook after TS 43.
"""

from __future__ import annotations

import numpy as np
import pytest
from support.framed import BLACK, COLOURS, FIELD, GROUND, KNOT_PX, MOTIF

from chartmaker.artwork.artwork import Artwork
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.masterly import remarks_on_drawn
from chartmaker.relay.relaid import taken_apart

PERIOD, DEEP = 60, 42


def _lozenges(length: int, left: int) -> np.ndarray:
    """Return a side whose repeats begin `left` pixels from both of its ends and continue to them."""
    y, x = np.mgrid[:DEEP, :length] + 0.5
    along = np.abs((x - left) % PERIOD - PERIOD / 2) / (0.42 * PERIOD)
    return np.where(along + np.abs(y - DEEP / 2) / (0.4 * DEEP) < 1, MOTIF, GROUND).astype(np.uint8)


def drawn(times: tuple[int, int] = (5, 8), left: int = 0, through: bool = False, off: int = 0) -> np.ndarray:
    """Return a border with `times` repeats between two guard lines, round a field with a medallion."""
    line = KNOT_PX
    wide, high = (number * PERIOD + 2 * left for number in times)
    rim = DEEP + 2 * line
    picture = np.full((high + 2 * rim, wide + 2 * rim), BLACK, dtype=np.uint8)
    picture[line:-line, line:-line] = GROUND
    across, along = (_lozenges(length + 2 * line, left + line) for length in (wide, high))
    inner = slice(rim - line, line - rim)
    if through:
        across = _lozenges(wide + 2 * DEEP + 2 * line, (left + DEEP + line) % PERIOD)
        picture[line : line + DEEP, line:-line] = across
        picture[-line - DEEP : -line, line:-line] = across[::-1]
    else:
        picture[line : line + DEEP, inner] = across
        picture[-line - DEEP : -line, inner] = across[::-1]
    picture[inner, line : line + DEEP] = along.T
    picture[inner, -line - DEEP : -line] = along.T[:, ::-1]
    picture[rim - line : line - rim, rim - line : line - rim] = BLACK
    picture[rim:-rim, rim:-rim] = FIELD
    y, x = np.ogrid[: picture.shape[0], : picture.shape[1]]
    away = np.hypot(y + 0.5 - picture.shape[0] / 2 - off, x + 0.5 - picture.shape[1] / 2)
    picture[away < 60] = MOTIF
    return picture


def remarks(picture: np.ndarray) -> list[str]:
    sides = {"width": f"{picture.shape[1] / KNOT_PX * 5:.3f} mm", "length": f"{picture.shape[0] / KNOT_PX * 5:.3f} mm"}
    rug = Rug.model_validate({"density": "20x20 per dm", **sides})
    artwork = Artwork(COLOURS[picture])
    apart = taken_apart(artwork, rug, Design(), Layouting())
    return [finding.what for finding in remarks_on_drawn(apart.drawing, apart.parts, apart.knot_px, rug)]


def test_a_sound_design_gets_no_remark() -> None:
    assert remarks(drawn()) == []


@pytest.mark.parametrize(
    ("picture", "words"),
    [
        (drawn(left=18), "40 % of one is left at each corner"),
        (drawn(through=True), "the pattern does not turn"),
        (drawn(times=(5, 5)), "1.00 times as long as it is wide"),
        (drawn(times=(3, 5)), "The borders take 38 % of the width"),
        (drawn(off=20), "medallion does not lie in the middle of the field as it is drawn: it is off by "),
    ],
)
def test_each_fault_is_reported_once(picture: np.ndarray, words: str) -> None:
    found = remarks(picture)
    assert sum(words in each for each in found) == 1, found
    assert len(found) == 1 or words.startswith("The borders"), found


def test_a_picture_without_borders_gets_no_remark() -> None:
    assert remarks(np.full((300, 200), FIELD, dtype=np.uint8)) == []
