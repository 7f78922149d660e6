"""Alters what is printed, as a slip would, and finds in data all that may be altered."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any


def other_digit(words: str) -> str:
    """Return words with another last digit or letter."""
    place = max(index for index, letter in enumerate(words) if letter.isalnum())
    new = str((int(words[place]) + 1) % 10) if words[place].isdigit() else "q" if words[place] != "q" else "p"
    return words[:place] + new + words[place + 1 :]


def leaves(value: Any, path: tuple[Any, ...] = (), without: str | None = None) -> Iterator[tuple[Any, ...]]:
    """Yield the keys that lead to each single value of some data, but for what stands under one key."""
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            if without is None or key != without:
                yield from leaves(inner, (*path, key), without)
    else:
        yield path
