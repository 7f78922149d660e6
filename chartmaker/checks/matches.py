"""The remark on yarns that miss the artwork's colour."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from chartmaker.checks.places import places_where
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.sentence import later, later_n

if TYPE_CHECKING:
    from chartmaker.convert.conversion import Conversion

#: For a yarn tied in a smaller share of the knots, the remark is only a note (common practice).
SMALL_SHARE = 0.001

_ONE_OF_CARD = phrase(
    "{name} is not the artwork's colour: it is {mean_de00:.1f} away by CIEDE2000 at {n} knot. No yarn "
    "that may be used is nearer: add one, or accept it."
)
_MANY_OF_CARD = phrase(
    "{name} is not the artwork's colour: it is {mean_de00:.1f} away by CIEDE2000 on average over {n:,} knots, "
    "and {max_de00:.1f} at most. No yarn that may be used is nearer: add one, or accept it."
)
_ONE_NOT_CHOSEN = phrase(
    "{name} is not the artwork's colour: it is {mean_de00:.1f} away by CIEDE2000 at {n} knot. {nearer} of the "
    "card is nearer to some of it, but is not among the chosen: ask for more colours, or keep it."
)
_MANY_NOT_CHOSEN = phrase(
    "{name} is not the artwork's colour: it is {mean_de00:.1f} away by CIEDE2000 on average over {n:,} knots, "
    "and {max_de00:.1f} at most. {nearer} of the card is nearer to some of it, but is not among the chosen: ask for "
    "more colours, or keep it."
)
_ONE_TO_DYE = phrase(
    "{name} is not the artwork's colour: it is {mean_de00:.1f} away by CIEDE2000 at {n} knot. Ask for more shades."
)
_MANY_TO_DYE = phrase(
    "{name} is not the artwork's colour: it is {mean_de00:.1f} away by CIEDE2000 on average over {n:,} knots, "
    "and {max_de00:.1f} at most. Ask for more shades."
)


def colour_misses(conversion: Conversion) -> Iterator[Finding]:
    """Yield a finding for each yarn that stands in for colours that the card misses, the most to be seen first."""
    knot_map = conversion.knot_map
    yarns = {yarn.code: (index, yarn) for index, yarn in enumerate(knot_map.yarns)}
    nearer = {} if conversion.choosing is None else dict(conversion.choosing.nearer)
    for match in sorted(conversion.report.stand_ins, key=lambda match: -match.knots * match.mean_de00):
        if match.code not in yarns:
            continue  # it has been tidied away since
        index, yarn = yarns[match.code]
        one, many = (_ONE_TO_DYE, _MANY_TO_DYE) if conversion.dyed else (_ONE_OF_CARD, _MANY_OF_CARD)
        if match.code in nearer:
            one, many = _ONE_NOT_CHOSEN, _MANY_NOT_CHOSEN
        yield Finding(
            later_n(
                one,
                many,
                match.knots,
                name=yarn.name,
                mean_de00=match.mean_de00,
                max_de00=match.max_de00,
                nearer=nearer.get(match.code, ""),
            ),
            later("yarn {code}", code=yarn.code),
            "warning" if knot_map.counts[index] >= SMALL_SHARE * knot_map.tied else "note",
            places_where(knot_map.knots == index),
        )
