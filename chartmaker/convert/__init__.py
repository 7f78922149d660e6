"""From artwork to knot map: arrays in, arrays out."""

from chartmaker.convert.conversion import Choosing, Conversion, StyleChoice, convert
from chartmaker.convert.report import MatchReport, YarnMatch

__all__ = ["Choosing", "Conversion", "MatchReport", "StyleChoice", "YarnMatch", "convert"]
