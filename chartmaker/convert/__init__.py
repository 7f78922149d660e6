"""The conversion of an artwork into a knot map, with arrays in and arrays out."""

from chartmaker.colours.yarnset import Choosing
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.convert.report import MatchReport, YarnMatch
from chartmaker.convert.style import StyleChoice

__all__ = ["Choosing", "Conversion", "MatchReport", "StyleChoice", "YarnMatch", "convert"]
