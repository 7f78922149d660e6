"""Letters of mixed directions stand in the order of Unicode's own conformance test (fixtures/bidi)."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from chartmaker.paper.bidi import _bracket_pairs, base_level, levels, visual_pieces


def cases(root: Path) -> list[tuple[str, int, list[int], list[int]]]:
    """Return (text, level of the line, level of each letter, order on the line) for each line of that test."""
    found = []
    for line in gzip.decompress((root / "fixtures" / "bidi" / "characters.txt.gz").read_bytes()).decode().splitlines():
        if not line.startswith("#"):
            letters, _, base, each, order = line.split(";")
            text = "".join(chr(int(code, 16)) for code in letters.split())
            found.append((text, int(base), list(map(int, each.split())), list(map(int, order.split()))))
    return found


def order_of(text: str) -> list[int]:
    """Return the places in `text` of the letters from left to right."""
    places: list[int] = []
    for piece in visual_pieces(text):
        own = range(piece.start, piece.start + len(piece.text))
        places += own if piece.rightward else reversed(own)
    return places


def test_every_line_of_unicode_s_test_is_ordered_as_it_says(root: Path) -> None:
    tried = cases(root)
    assert len(tried) == 45_785
    wrong = [
        (text, each, levels(text))
        for text, base, each, order in tried
        if (base_level(text), levels(text), order_of(text)) != (base, each, order)
    ]
    assert wrong == []


@pytest.mark.parametrize(
    ("text", "pairs"),
    [  # these are the examples beside rule BD16 of Unicode Standard Annex 9
        ("a)b(c", []),
        ("a(b]c", []),
        ("a(b)c", [(1, 3)]),
        ("a(b[c)d]", [(1, 5)]),
        ("a(b]c)d", [(1, 5)]),
        ("a(b)c)d", [(1, 3)]),
        ("a(b(c)d", [(3, 5)]),
        ("a(b(c)d)", [(1, 7), (3, 5)]),
        ("a(b{c}d)", [(1, 7), (3, 5)]),
        ("\u2329a\u3009", [(0, 2)]),  # U+2329 is canonically equivalent to U+3008
        ("(" * 64 + ")", []),  # with more than 63 open brackets none is paired
    ],
)
def test_which_brackets_are_pairs(text: str, pairs: list[tuple[int, int]]) -> None:
    assert _bracket_pairs(text, ["ON"] * len(text)) == pairs
