"""Alters what is printed, as a slip would."""

from __future__ import annotations


def other_digit(words: str) -> str:
    """Return words with another last digit or letter."""
    place = max(index for index, letter in enumerate(words) if letter.isalnum())
    new = str((int(words[place]) + 1) % 10) if words[place].isdigit() else "q" if words[place] != "q" else "p"
    return words[:place] + new + words[place + 1 :]
