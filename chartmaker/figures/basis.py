"""What a figure rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Basis = Literal["given", "measured here", "published", "common practice", "estimate", "arithmetic"]


@dataclass(frozen=True)
class Reached:
    """How a figure was reached: `what` it is, the arithmetic in words, what that rests on."""

    what: str
    how: str
    basis: Basis


@dataclass(frozen=True)
class Assumption:
    """A default that stands in for a key that was not given."""

    key: str
    value: str
    why: str
    basis: Basis
