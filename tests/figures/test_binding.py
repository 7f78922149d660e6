"""The yarn for binding the sides is worked out by hand here, and it is ordered with the border's yarn."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import RugError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Loom, Pile, Workshop


def made(rug: dict[str, Any] | None = None, **loom: Any) -> Any:
    cells = np.zeros((500, 400), dtype=np.uint16)
    cells[:, 5:395] = 1
    pile = Pile(yarn="tex 400", cut="9 mm", waste="20%", length_per_knot="30 mm")
    workshop = Workshop(pile=pile, loom=Loom(warp="tex 500", **loom))
    return figures_of(*settled(make_map(cells, make_rug(400, 500, "40x50 per dm", **(rug or {})), workshop)))


def test_the_binding_by_hand() -> None:
    # Two sides of 1 m, 6 mm wide. Wool of 400 tex is 0.80497 mm thick and cotton of 500 tex 0.83548 mm (1.31 and 1.52
    # g/cm3, packed to 0.6). 2,000 / 0.80497 = 2,484.6 turns of 2 x (6 + 0.83548 + 0.80497) mm are 37.966 m, or 15.186
    # g.
    bound, bare = made(binding="6 mm"), made(binding="0 mm")
    border, field = bound.pile.yarns
    assert border.binding_m == pytest.approx(37.966, rel=1e-4)
    assert border.net_mass_g.best - bare.pile.yarns[0].net_mass_g.best == pytest.approx(15.186, rel=1e-3)
    assert border.mass_g.best - bare.pile.yarns[0].mass_g.best == pytest.approx(15.186 / 0.8, rel=1e-3)
    # the binding is not shorn
    assert bound.sheared_mass_g.best - bare.sheared_mass_g.best == pytest.approx(15.186, rel=1e-3)
    assert (field.binding_m, bare.binding.reached) == (0, ())
    assert bound.dye.shades[0].need_g > bare.dye.shades[0].need_g


def test_the_yarn_along_the_sides_binds_unless_another_is_named() -> None:
    told = {a.key: a.value for a in made().assumptions}
    assert (told["[loom] binding"], told["[loom] binding_yarn"]) == ("0.5 cm", "Y000")
    named = made(binding_yarn="Y001")
    assert [line.binding_m > 0 for line in named.pile.yarns] == [False, True]
    assert "[loom] binding_yarn" not in {a.key for a in named.assumptions}
    with pytest.raises(RugError, match=r"^\[loom\] binding_yarn: this rug has no yarn NOPE; it has Y000, Y001"):
        made(binding_yarn="NOPE")


def test_outlined_and_tufted_rugs_are_bound_only_on_request() -> None:
    for rug in ({"shape": "ellipse"}, {"technique": "tufted"}):
        assert [line.binding_m for line in made(rug).pile.yarns] == [0, 0]
    assert made({"shape": "ellipse"}, binding="5 mm").pile.yarns[0].binding_m > 0


def test_a_rug_without_a_knot_is_not_bound() -> None:
    empty = figures_of(*settled(make_map(np.full((50, 40), NO_KNOT))))
    assert empty.binding.net_length_m == 0
