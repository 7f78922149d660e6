"""What a sheet prints is found in its tagged spans, and how far each item reaches is reckoned from its own figures."""

from __future__ import annotations

import pytest

from chartmaker.readback.printed import Block, Fill, Group, Line, Picture, Text, extent_of, flat


def text(words: str, upright: bool = True) -> Text:
    return Text(words, 20, 50, 4, 4, 10, "T", b"", upright, (0.0,))


def span(tag: str, *items: object, **values: tuple[float, ...]) -> Block:
    return Block(tag, values, list(items))  # type: ignore[arg-type]


BOX = Fill(1, 2, 3, 4, (0.0,), False)
HIDDEN = Group("form", 5, 7, span("", text("form"), span("row", BOX), Group("inner", 100, 200, span("", BOX))))
TREE = span("", text("a"), span("row", text("b"), span("row", text("c"))), span("head", span("row", text("d"))), HIDDEN)


def test_spans_are_found_outermost_first_and_not_in_repeated_drawings() -> None:
    assert [each.words for each in TREE.find("row")] == ["bc", "d"]
    assert [each.tag for each in TREE.blocks()] == ["row", "head"]
    assert [each.words for each in TREE.blocks("row")] == ["bc"]
    assert [each.words for each in TREE.texts()] == ["a", "b", "c", "d"]
    assert TREE.words == "abcd"


def test_all_that_is_painted_is_found_with_how_far_it_is_moved() -> None:
    found = [(getattr(item, "words", "box"), x, y) for item, x, y in flat(TREE)]
    plain = [(words, 0, 0) for words in "abcd"]
    assert found == [*plain, ("form", 5, 7), ("box", 5, 7), ("box", 105, 207)]


def test_fields_are_spans_or_parts_of_a_line_that_is_shown_whole() -> None:
    line = span("words", text("12 of "), text("30 cm"), first=(0, 2), last=(6, 8), unit=(9, 11, 3, 5))
    block = span("head", span("first", text("11")), line, span("name", text("x"), text("y")), text("no field"))
    assert block.fields() == {"first": ["11", "12"], "last": ["30"], "unit": ["cm", "of"], "name": ["xy"]}
    with pytest.raises(ValueError, match="shorter"):
        span("head", span("words", text("12"), first=(0,))).fields()


def test_items_reach_as_far_as_their_figures_say() -> None:
    """A text's figures take 0.73 of its size above its line; one that runs upward has them on its left."""
    assert extent_of(text("a")) == pytest.approx((20, 50, 30, 52.92))
    assert extent_of(text("a", upright=False)) == pytest.approx((17.08, 50, 20, 60))
    assert extent_of(Line(5, 9, 2, 3, 1, (0.0,))) == (2, 3, 5, 9)
    assert extent_of(Line(2, 3, 5, 9, 1, (0.0,))) == (2, 3, 5, 9)
    assert extent_of(BOX) == (1, 2, 4, 6)
    assert extent_of(Picture("P", 10, 20, 30, 50)) == (10, 20, 40, 70)
    with pytest.raises(TypeError):
        extent_of(HIDDEN)
