"""From artwork to knot map: arrays in, arrays out."""

from chartmaker.convert.conversion import Conversion, convert
from chartmaker.convert.report import MatchReport, YarnMatch
from chartmaker.convert.style import StyleChoice
from chartmaker.convert.yarnset import Choosing

__all__ = ["Choosing", "Conversion", "MatchReport", "StyleChoice", "YarnMatch", "convert"]
