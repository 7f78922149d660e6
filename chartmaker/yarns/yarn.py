"""One yarn: its code, its name, its colour and what else the workshop knows of it."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.ground.plaintext import FORMULA_STARTS
from chartmaker.ground.textsafe import inert, printable
from chartmaker.ground.units import YarnCount

_CODE = re.compile(r"[A-Z0-9][A-Z0-9-]{0,5}")
_LONGEST_NAME, _LONGEST_FIBRE, _LONGEST_CALL = 80, 40, 24
#: No yarn is farther from grey than this in a or b, nor lighter (real surfaces stay well within). Nobody has as many
#: grams, and no kilogram costs as much.
MOST_LAB, MOST_AMOUNT = 200, 1e9
#: A millionth is far less than any eye or colour meter tells apart, and far more than processors differ in.
LAB_DECIMALS = 6
#: The charts have this many symbols.
MOST_SYMBOL = 255


@dataclass(frozen=True)
class Yarn:
    """A dyed yarn.

    `srgb` is 0..255; `lab` is CIELAB under D65, 2 degrees, kept to LAB_DECIMALS, because it is written into files that
    must be the same on every processor. `call` is the short name that is called aloud at the loom,
    and `symbol` the number, from 1, of the symbol that the charts print for it. Whatever the card leaves out is None.
    """

    code: str
    name: str
    srgb: tuple[int, int, int]
    lab: tuple[float, float, float]
    fibre: str | None = None
    count: YarnCount | None = None
    stock_g: float | None = None
    price_per_kg: float | None = None
    call: str | None = None
    symbol: int | None = None

    def __post_init__(self) -> None:
        lightness, a, b = (round(float(value), LAB_DECIMALS) + 0.0 for value in self.lab)
        object.__setattr__(self, "lab", (lightness, a, b))

    @property
    def called(self) -> str:
        """The word that the caller says for this yarn: its short name, or else its name."""
        return self.call or self.name


def fault_of(code: str, name: str, fibre: str | None, call: str | None = None) -> str | None:
    """Return what is wrong with a yarn's words, as a file from outside gives them; None if nothing is wrong."""
    if not _CODE.fullmatch(code):
        message = (
            "code {code!r} must be 1 to 6 of A-Z, 0-9 or -, and not begin with - (which a spreadsheet would take for a "
            "formula)"
        )
        return say(message, code=inert(code))
    words = (("name", name, _LONGEST_NAME), ("fibre", fibre or "", _LONGEST_FIBRE), ("call", call or "", _LONGEST_CALL))
    for what, text, longest in words:
        if not printable(text) or len(text) > longest:
            message = "{what} {text!r} must be printable text of at most {longest} letters"
            return say(message, what=what, text=inert(text), longest=longest)
        if text.startswith(FORMULA_STARTS):
            message = "{what} {text!r} begins like a spreadsheet formula; begin it with a letter or a digit"
            return say(message, what=what, text=inert(text))
    return None


def number_fault_of(
    lab: tuple[float, float, float], stock_g: object, price_per_kg: object, symbol: object = None
) -> str | None:
    """Return what is wrong with a yarn's numbers, as a file from outside gives them; None if nothing is wrong."""
    if not all(abs(value) <= MOST_LAB for value in lab):  # also false for what is not a number
        return say("lab must be three numbers between -{most} and {most}", most=MOST_LAB)
    for what, amount in (("stock_g", stock_g), ("price_per_kg", price_per_kg)):
        number = isinstance(amount, int | float) and not isinstance(amount, bool) and 0 <= amount < MOST_AMOUNT
        if amount is not None and not number:
            return say("{what} must be a number of zero or more", what=what)
    known = isinstance(symbol, int) and not isinstance(symbol, bool) and 1 <= symbol <= MOST_SYMBOL
    if symbol is not None and not known:
        return say("symbol must be a whole number from 1 to {most}", most=MOST_SYMBOL)
    return None


def lab_of(yarns: tuple[Yarn, ...]) -> NDArray[np.float64]:
    """Return the yarns' CIELAB, shape (yarns, 3)."""
    return np.array([yarn.lab for yarn in yarns], dtype=np.float64).reshape(-1, 3)


def srgb_of(yarns: tuple[Yarn, ...]) -> NDArray[np.uint8]:
    """Return the yarns' sRGB bytes, shape (yarns, 3)."""
    return np.array([yarn.srgb for yarn in yarns], dtype=np.uint8).reshape(-1, 3)
