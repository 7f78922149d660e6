"""What the fields of a pattern take beyond the map's tufts is told by area, as a ruler on the artwork gives it."""

from __future__ import annotations

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.jobs.drawn import drawing_of, drawn_findings
from chartmaker.order.workshop import Pile, Workshop
from chartmaker.sheets.pattern.drawnareas import drawn_more


@pytest.mark.parametrize(("pixels", "more"), [(10, 0.25), (8, 0.0), (6, 0.0)])
def test_a_stripe_takes_what_it_is_wider_than_its_tufts(pixels: int, more: float) -> None:
    """A stripe two tufts wide in the map is drawn `pixels` wide, four of which are a tuft (arithmetic)."""
    cells = np.zeros((600, 100), dtype=int)
    cells[:, 40:42] = 1
    labels = np.zeros((2400, 400), dtype=np.int16)
    labels[:, 160 : 160 + pixels] = 1
    rug = make_rug(100, 600, "20x20 per dm", technique="tufted")
    workshop = Workshop(pile=Pile(length_per_knot="40 mm", yarn="tex 800", cut="18 mm", waste=0, spread="10%"))
    knot_map = make_map(cells, rug, workshop)
    figures, drawing = figures_of(*settled(knot_map)), drawing_of(knot_map, workshop, labels)
    found = drawn_more(drawing, figures)
    remarks = drawn_findings(drawing, figures)
    if not more:
        assert found == () == remarks
        return
    ((only,), (remark,)) = found, remarks
    assert (only.number, only.pile.yarn.code) == ("2", "Y001")
    assert only.share == pytest.approx(more, abs=0.01)
    assert only.more_g == pytest.approx(more * only.pile.mass_g.best, rel=0.05)
    assert "2 (Y001) 25 %" in remark.what and remark.severity == "warning", "it is over the upper end of the estimate"
