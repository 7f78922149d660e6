"""What is printed must be seen: not hidden, not off the paper, not too pale, too small or set into another text."""

from __future__ import annotations

from dataclasses import replace

import pytest

from chartmaker.readback.printed import Block, Fill, Group, Item, Picture, Text, stands_out
from chartmaker.verify.overlaps import hidden_differences, overlap_differences
from chartmaker.verify.sheets import Sheet


def text(words: str = "words", x: float = 20, y: float = 50, **more: object) -> Text:
    """Return a text 10 mm long and 4 mm high, whose capitals take 2.8 mm."""
    return replace(Text(words, x, y, 4, 4, 10, "T", b"", True, (0.0,)), **more)  # type: ignore[arg-type]


def fill(x: float, y: float, width: float, height: float) -> Fill:
    return Fill(x, y, width, height, (1.0,), False)


def found(*items: Item) -> list[str]:
    return list(overlap_differences(Sheet(1, 100, 80, Block("", {}, list(items)))))


def block(tag: str, *items: Item, box: tuple[float, ...] = (40, 40, 20, 20)) -> Block:
    return Block(tag, {"Box": box}, list(items))


def moved(item: Item, x: float, y: float) -> Group:
    return Group("F", x, y, Block("", {}, [item]))


RIGHT: dict[str, tuple[Item, ...]] = {
    "a text": (text(),),
    "dark enough": (text(colour=(0.62,)),),
    "large enough": (text(size_mm=1.0),),
    "at the edges": (text(x=0, y=0), text("b", x=90.5, y=77.2)),
    "upright at the edges": (text(upright=False, x=2.8, y=0), text("b", upright=False, x=100, y=70)),
    "a fill before": (fill(20, 50, 10, 3), text()),
    "a fill beside": (text(), fill(30, 50, 10, 3), fill(10, 50, 10, 3), fill(20, 53, 10, 3), fill(20, 47, 10, 3)),
    "a fill on the edge": (text(), fill(29.4, 40, 10, 30), fill(10, 52, 50, 10)),
    "two lines": (text(), text("b", y=46), text("c", y=54)),
    "two words": (text(), text("b", x=30)),
    "an accent": (text(), text("b", y=51.9)),
    "pieces of a line": (text(font="W"), text("b", font="W", x=22)),
    "pale symbols in cells": (block("cells", text(x=42, y=42, colour=(0.9,), size_mm=0.5)),),
    "cells beside": (text(x=29), block("cells"), text("b", x=61), text("c", x=45, y=61), text("d", x=45, y=36)),
    "a symbol apart": (text("", font="S", x=95, size_mm=4, pitch_mm=9, length_mm=9),),
    "blanks": (text(" "), text(" ")),
    "a wide line": (text(), Fill(20, 53, 10, 1, None, False)),
}
WRONG: dict[str, tuple[tuple[Item, ...], str]] = {
    "too pale": ((text(colour=(0.63,)),), "'words' is too pale"),
    "too pale in one band": ((text(colour=(0.0, 0.7, 0.0)),), "'words' is too pale"),
    "too small": ((text(size_mm=0.99),), "'words' is too small"),
    "off at the left": ((text(x=-0.1),), "runs off the paper"),
    "off at the right": ((text(x=90.6),), "runs off the paper"),
    "off below": ((text(y=-0.1),), "runs off the paper"),
    "off above": ((text(y=77.3),), "runs off the paper"),
    "upright off at the left": ((text(upright=False, x=2.7),), "runs off the paper"),
    "upright off above": ((text(upright=False, x=50, y=70.1),), "runs off the paper"),
    "off within cells": ((block("cells", text(x=95)),), "runs off the paper"),
    "off in a form": ((moved(text(x=50), 45, 0),), "runs off the paper"),
    "a fill": ((text(), fill(20, 50, 10, 3)), "something is painted over 'words'"),
    "a fill over its end": ((text(), fill(29.2, 40, 10, 30)), "something is painted over 'words'"),
    "a fill over its beginning": ((text(), fill(10, 40, 10.8, 30)), "something is painted over 'words'"),
    "a fill over its upper half": ((text(), fill(10, 51.7, 50, 10)), "something is painted over 'words'"),
    "a fill over its lower half": ((text(), fill(10, 40, 50, 11.1)), "something is painted over 'words'"),
    "a fill in a form": ((text(), moved(fill(0, 0, 10, 3), 20, 50)), "something is painted over 'words'"),
    "a fill over a form": ((moved(text(x=0, y=0), 20, 50), fill(20, 50, 10, 3)), "something is painted over 'words'"),
    "a fill over an upright text": ((text(upright=False), fill(17, 50, 4, 10)), "something is painted over 'words'"),
    "a wide line": ((text(), Fill(20, 50, 10, 2, None, False)), "something is painted over 'words'"),
    "a picture": ((text(), Picture("P", 10, 40, 30, 30)), "something is painted over 'words'"),
    "cells painted over it": ((text(x=45), block("cells")), "something is painted over 'words'"),
    "on the cells": ((block("cells"), text(x=45)), "'words' stands on the cells"),
    "on the join": ((block("join"), text(x=45)), "'words' stands on the cells"),
    "into another": ((text(), text("b", x=22, y=51)), "'words' and 'b' are printed into each other"),
    "into the next": ((text(), text("b", x=28.9)), "'words' and 'b' are printed into each other"),
    "its own font on two lines": ((text(font="W"), text("b", font="W", x=22, y=50.5)), "printed into each other"),
    "its own font into another": ((text(font="W"), text("b", x=22)), "printed into each other"),
}


@pytest.mark.parametrize("what", RIGHT)
def test_what_can_be_read_is_no_difference(what: str) -> None:
    assert found(*RIGHT[what]) == []


@pytest.mark.parametrize("what", WRONG)
def test_what_cannot_be_read_is_found(what: str) -> None:
    items, said = WRONG[what]
    assert any(said in words for words in found(*items)), found(*items)


def runs(*items: Item) -> list[str]:
    return list(hidden_differences(Sheet(1, 100, 80, Block("", {}, [block("script-row", *items)]))))


def run(x: float, y: float, **more: object) -> Group:
    return moved(text(x=0.5, y=-1.4, **more), x, y)


def test_runs_of_a_script_are_seen_as_well() -> None:
    assert runs(text(), run(40, 50), fill(20, 30, 50, 10), fill(71, 40, 9, 20)) == []
    assert runs(fill(30, 40, 50, 20), run(40, 50)) == []
    for wrong, said in (
        ((run(40, 50), fill(39, 49, 5, 5)), "painted over its runs"),
        ((text(), fill(19, 49, 5, 5)), "painted over its runs"),
        ((run(-0.6, 50),), "runs off the paper"),
        ((run(99.6, 50),), "runs off the paper"),
        ((run(40, -0.2),), "runs off the paper"),
        ((run(40, 80),), "runs off the paper"),
        ((text(colour=(0.7,)),), "too pale"),
        ((text(size_mm=0.9),), "too small"),
        ((run(40, 50, colour=(0.7,)),), "too pale"),
        ((run(40, 50, size_mm=0.9),), "too small"),
    ):
        assert any(said in words for words in runs(*wrong)), wrong  # type: ignore[arg-type]
    assert runs(run(40, 50, colour=(1.0,), font="S")) == []  # of a symbol its swatch is the measure


def test_ink_is_seen_by_its_contrast() -> None:
    """(L1 + 0.05) / (L2 + 0.05), with the weights of the bands and the steps of sRGB (WCAG 2.2, relative luminance)."""
    assert stands_out((0.0,), (1.0,), 21.0) and not stands_out((0.0,), (1.0,), 21.01)
    assert stands_out((1.0, 0.0, 0.0), (1.0,), 3.99) and not stands_out((1.0, 0.0, 0.0), (1.0,), 4.01)
    assert stands_out((0.0, 1.0, 0.0), (0.0,), 15.3) and not stands_out((0.0, 1.0, 0.0), (0.0,), 15.31)
    assert stands_out((0.0, 0.0, 1.0), (0.0,), 2.44) and not stands_out((0.0, 0.0, 1.0), (0.0,), 2.45)
    assert stands_out((0.5,), (1.0,), 3.97) and not stands_out((0.5,), (1.0,), 3.99)
    assert stands_out((0.04,), (0.0,), 1.06) and not stands_out((0.04,), (0.0,), 1.063)
    assert stands_out((0.0,), (0.5,)) and not stands_out((0.9,), (1.0,)) and not stands_out((0.2,), (0.2,))
