"""Numbers of things in words, one of them or many."""

from __future__ import annotations


def counted(number: int, one: str, many: str = "") -> str:
    """Return ``1 knot``, ``1,234 knots``; `many` where it is not `one` with an s, as in ``1 knot is``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
