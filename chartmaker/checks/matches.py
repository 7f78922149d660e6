"""The remark on yarns that miss the artwork's colour."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.checks.places import places_where
from chartmaker.convert import Conversion
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import counted

#: A yarn tied in a smaller share of the knots is no more than a note (common practice).
SMALL_SHARE = 0.001


def colour_misses(conversion: Conversion) -> Iterator[Finding]:
    """Yield a finding for each yarn that stands in for colours that the card misses."""
    knot_map = conversion.knot_map
    yarns = {yarn.code: (index, yarn) for index, yarn in enumerate(knot_map.yarns)}
    for match in conversion.report.stand_ins:
        if match.code not in yarns:
            continue  # tidied away since
        index, yarn = yarns[match.code]
        advice = "ask for more shades" if conversion.dyed else "the card has nothing nearer: add a yarn, or accept it"
        yield Finding(
            f"{yarn.code} {yarn.name} is not the artwork's colour: {match.mean_de00:.1f} away by CIEDE2000 on average "
            f"over {counted(match.knots, 'knot')}, {match.max_de00:.0f} at most; {advice}.",
            f"yarn {yarn.code}",
            "warning" if knot_map.counts[index] >= SMALL_SHARE * knot_map.tied else "note",
            places_where(knot_map.knots == index),
        )
