"""The remark on yarns that are used so little that a dye lot is not worth while."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from chartmaker.checks.places import places_where
from chartmaker.figures.pile import pile_figures
from chartmaker.ground.colour import ciede2000
from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later, later_n
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import lab_of

#: A lot of less than this share of a hank is mostly left over, and a yarn in less than this share of the knots is not a
#: main colour (both common practice).
SHARE_OF_HANK, SHARE_OF_KNOTS = 0.2, 0.01
#: Across a room nobody sees that yarns nearer than this, by CIEDE2000, were merged (common practice). Yarns that are
#: farther apart may be meant as an accent.
LOOKALIKE_DE00 = 6.0


def scarce_yarns(knot_map: KnotMap, workshop: Workshop) -> Iterator[Finding]:
    """Yield a finding for each yarn that must be dyed for a few grams, with the nearest yarn to merge it into.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    if len(knot_map.yarns) < 2:
        return
    dye = workshop.dye
    pile = pile_figures(knot_map.yarns, knot_map.counts, knot_map.rug, workshop)
    lab = lab_of(knot_map.yarns)
    for index, line in enumerate(pile.yarns):
        yarn = line.yarn
        in_store = yarn.code in dye.undyed or (yarn.stock_g or 0) >= line.mass_g.high
        if in_store or line.mass_g.high >= SHARE_OF_HANK * float(dye.hank_g) or line.share >= SHARE_OF_KNOTS:
            continue
        away = ciede2000(lab[index], lab)
        away[index] = np.inf
        near = int(away.argmin())
        other = knot_map.yarns[near]
        yield Finding(
            later_n(
                "{code} {name} is tied in only {n} knot, about {mass_g:.3g} g, which is hardly worth a dye lot. The "
                "nearest yarn is {other_code} {other_name}, {away:.1f} away by CIEDE2000 (merge with --merge "
                "{code}:{other_code}).",
                "{code} {name} is tied in only {n:,} knots, about {mass_g:.3g} g, which is hardly worth a dye lot. The "
                "nearest yarn is {other_code} {other_name}, {away:.1f} away by CIEDE2000 (merge with --merge "
                "{code}:{other_code}).",
                line.knots,
                code=yarn.code,
                name=yarn.name,
                mass_g=line.mass_g.best,
                other_code=other.code,
                other_name=other.name,
                away=float(away[near]),
            ),
            later("yarn {code}", code=yarn.code),
            "warning" if away[near] < LOOKALIKE_DE00 else "note",
            places_where(knot_map.knots == index),
        )
