"""A ruler is true to the millimetre: its base, each tick, each figure and its place on the paper."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from chartmaker.readback.printed import Block, Group, Line, Text
from chartmaker.verify.rulers import ruler_differences, ruler_mm
from chartmaker.verify.sheets import Sheet

BLACK = (0.0,)


def ruler(length: int = 50, *, upward: bool = False, ticks: Any = None, figures: Any = None, base: Any = None) -> Block:
    """Return a ruler whose ticks are 1, 2 and 3 mm long, at every millimetre, every fifth and every tenth."""
    drawn = Block("", {})
    every = {float(at): 3.0 if at % 10 == 0 else 2.0 if at % 5 == 0 else 1.0 for at in range(length + 1)}
    lines = [(0.0, base or float(length), 0.0, 0.0), *((at, at, 0.0, long) for at, long in (ticks or every).items())]
    for begin, end, low, high in lines:
        places = (low, begin, high, end) if upward else (begin, low, end, high)
        drawn.items.append(Line(*places, 0.2, BLACK))
    told = figures or {**{f"{at}": float(at) for at in range(0, length - 9, 10)}, f"{length} mm": float(length)}
    for words, middle in told.items():
        text = Text(words, 4.0, 4.0, 2.0, 0.0, 1.5, "T", b"", not upward, BLACK)
        drawn.items.append(replace(text, **{"y_mm" if upward else "x_mm": middle - 0.75}))
    return drawn


TICKS = {float(at): 3.0 if at % 10 == 0 else 2.0 if at % 5 == 0 else 1.0 for at in range(51)}
FIGURES = {"0": 0.0, "10": 10.0, "20": 20.0, "30": 30.0, "40": 40.0, "50 mm": 50.0}


@pytest.mark.parametrize("upward", [False, True])
@pytest.mark.parametrize(
    ("more", "length"),
    [
        ({}, 50),
        ({"length": 60}, 60),
        ({"ticks": {**{at: long for at, long in TICKS.items() if at != 7}, 7.015: 1.0}}, 50),
        ({"ticks": {**{at: long for at, long in TICKS.items() if at != 7}, 7.03: 1.0}}, 0),
        ({"ticks": {at: long for at, long in TICKS.items() if at != 7}}, 0),
        ({"ticks": {**TICKS, 7.5: 1.0}}, 0),
        ({"ticks": {**TICKS, 7.0: 2.0}}, 0),
        ({"ticks": {**TICKS, 15.0: 1.0}}, 0),
        ({"ticks": {**TICKS, 15.0: 3.0}}, 0),
        ({"ticks": {**TICKS, 20.0: 2.0}}, 0),
        ({"base": 49.5}, 0),
        ({"base": 50.01}, 50),
        ({"figures": {**FIGURES, "20": 20.09}}, 50),
        ({"figures": {**FIGURES, "20": 20.11}}, 0),
        ({"figures": {name: at for name, at in FIGURES.items() if name != "20"}}, 0),
        ({"figures": {**FIGURES, "25": 25.0}}, 0),
        ({"figures": {name if name != "50 mm" else "50": at for name, at in FIGURES.items()}}, 0),
        ({"figures": {name if name != "10" else "11": at for name, at in FIGURES.items()}}, 0),
    ],
)
def test_a_ruler_has_a_tick_at_each_millimetre_and_a_figure_at_each_tenth(
    more: dict[str, Any], length: int, upward: bool
) -> None:
    assert ruler_mm(ruler(**more, upward=upward), upward=upward) == length


def test_a_ruler_is_seen_and_stands_on_its_base() -> None:
    for place, change in (
        (3, {"colour": (0.9,)}),
        (-1, {"colour": (0.9,)}),
        (3, {"y_mm": 0.5}),
        (-1, {"upright": False}),
    ):
        drawn = ruler()
        drawn.items[place] = replace(drawn.items[place], **change)  # type: ignore[type-var,arg-type]
        assert ruler_mm(drawn, upward=False) == 0, change
    assert ruler_mm(ruler(), upward=True) == ruler_mm(Block("", {}), upward=False) == 0
    twice = ruler()
    twice.items += [twice.items[0]]
    assert ruler_mm(twice, upward=False) == 0


def test_a_sheet_has_one_ruler_each_way_upon_the_paper() -> None:
    def found(*rulers: Group) -> list[str]:
        return list(ruler_differences(Sheet(1, 210.0, 297.0, Block("", {}, [*rulers]))))

    across, upward = Group("Across50", 20.0, 5.0, ruler()), Group("Upward50", 5.0, 20.0, ruler(upward=True))
    missing = "it does not have one ruler across and one upward"
    untrue = "its ruler is not true: its ticks are not a millimetre apart, or its figures are others"
    assert found(across, upward) == []
    assert found(across) == found(upward) == found(across, across, upward) == [missing]
    assert found() == [missing, missing]
    for x_mm, said in ((160.0, []), (160.5, [untrue]), (0.0, []), (-0.5, [untrue])):
        assert found(replace(across, x_mm=x_mm), upward) == said
    for y_mm, said in ((247.0, []), (247.5, [untrue]), (-0.5, [untrue])):
        assert found(across, replace(upward, y_mm=y_mm)) == said
    assert found(replace(across, root=ruler(40)), upward) == [untrue]
