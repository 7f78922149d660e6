"""How lengths and sizes are written: in centimetres, or in feet and inches.

There is one rule for every sheet, page and message, so that a rug has the same size wherever it is named:
centimetres to the millimetre, and inches to the nearest eighth. No rug keeps its size more closely than that.
"""

from __future__ import annotations

from fractions import Fraction

from chartmaker.ground.language import told
from chartmaker.ground.units import INCH_MM

#: A length in millimetres, exact or calculated.
Length = Fraction | float

_INCHES_IN_A_FOOT, _EIGHTHS = 12, 8


def cm_number(length_mm: Length) -> str:
    """Return a length in centimetres to the millimetre, without its unit: ``120``, ``243.8``."""
    return f"{float(length_mm) / 10:.1f}".removesuffix(".0")


def cm_words(length_mm: Length) -> str:
    """Return a length in centimetres to the millimetre: ``120 cm``, ``243.8 cm``."""
    return told("{length} cm", length=cm_number(length_mm))


def mm_words(length_mm: Length) -> str:
    """Return a small length in millimetres to four figures: ``9 mm``, ``1.905 mm``."""
    return told("{length:.4g} mm", length=float(length_mm))


def feet_inches(length_mm: Length) -> str:
    """Return a length in feet and inches to the nearest eighth: ``7'10"``, ``7'6 1/2"``."""
    eighths = round(Fraction(length_mm) / INCH_MM * _EIGHTHS)
    feet, rest = divmod(eighths, _INCHES_IN_A_FOOT * _EIGHTHS)
    inches, parts = divmod(rest, _EIGHTHS)
    fraction = f" {Fraction(parts, _EIGHTHS)}" if parts else ""
    return f"{feet}'{inches}{fraction}\""


def metric_size(width_mm: Length, length_mm: Length) -> str:
    """Return a size in centimetres, the width first: ``120 x 180 cm``."""
    return told("{width_cm} x {length_cm} cm", width_cm=cm_number(width_mm), length_cm=cm_number(length_mm))


def imperial_size(width_mm: Length, length_mm: Length) -> str:
    """Return a size in feet and inches, the width first: ``3'11 1/4" x 5'10 7/8"``."""
    return told("{width_feet} x {length_feet}", width_feet=feet_inches(width_mm), length_feet=feet_inches(length_mm))


def both_sizes(width_mm: Length, length_mm: Length) -> str:
    """Return a size in both systems: ``120 x 180 cm (3'11 1/4" x 5'10 7/8")``."""
    metric, imperial = metric_size(width_mm, length_mm), imperial_size(width_mm, length_mm)
    return told("{metric} ({imperial})", metric=metric, imperial=imperial)
