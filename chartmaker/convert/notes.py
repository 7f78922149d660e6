"""What the designer should know of a conversion, as findings."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.report import MatchReport
from chartmaker.ground.colour import ciede2000, hex_of, lab_from_srgb8
from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later, later_n
from chartmaker.order.rug import Rug
from chartmaker.yarns.yarn import Yarn

#: Two colours of flat artwork that became one yarn are worth a word when they are further apart than this.
MERGED_DE00 = 2.0


def size_findings(placement: Placement) -> Iterator[Finding]:
    """Yield a warning if the artwork has fewer pixels than the rug has knots in either direction."""
    if min(placement.knot_width, placement.knot_height) < 1 - 1e-9:
        yield Finding(
            later(
                "The artwork has fewer pixels than the rug has knots ({width:.0f} x {height:.0f} pixels for {columns} "
                "x {rows} knots), so blocks of knots share one pixel; use a larger artwork.",
                width=placement.width,
                height=placement.height,
                columns=placement.columns,
                rows=placement.rows,
            ),
            "artwork",
            "warning",
        )


def outline_findings(artwork: Artwork, rug: Rug) -> Iterator[Finding]:
    """Yield a warning if the artwork's transparency should give the outline but there is none."""
    if rug.shape == "artwork" and (artwork.coverage is None or bool((artwork.coverage == 255).all())):
        yield Finding(
            later(
                "The rug's shape is to follow the artwork's transparency, but the artwork has none, so the rug is a "
                "rectangle."
            ),
            "[rug] shape",
            "warning",
        )


def match_findings(report: MatchReport, yarns: tuple[Yarn, ...]) -> Iterator[Finding]:
    """Yield a warning for each yarn that stands in for colours that the card misses."""
    names = {yarn.code: yarn.name for yarn in yarns}
    for match in report.stand_ins:
        yield Finding(
            later_n(
                "{code} {name} stands in for a colour that is {mean_de00:.1f} away by CIEDE2000 ({n} knot); no yarn "
                "that may be used is nearer.",
                "{code} {name} stands in for colours that are {mean_de00:.1f} away by CIEDE2000 on average ({n:,} "
                "knots); no yarn that may be used is nearer.",
                match.knots,
                code=match.code,
                name=names[match.code],
                mean_de00=match.mean_de00,
            ),
            later("yarn {code}", code=match.code),
            "warning",
        )


def hairline_findings(knots: int) -> Iterator[Finding]:
    """Yield a note if lines that run over so many `knots` are too thin to be woven."""
    if knots:
        yield Finding(
            later_n(
                "Lines thinner than a quarter of a knot are left out: they run over {n} knot. Draw them thicker, or "
                "weave the rug with more knots.",
                "Lines thinner than a quarter of a knot are left out: they run over {n:,} knots. Draw them thicker, or "
                "weave the rug with more knots.",
                knots,
            ),
            "artwork",
            "note",
        )


def merged_findings(real: ByteArray, yarn_of: NDArray[np.intp], yarns: tuple[Yarn, ...]) -> Iterator[Finding]:
    """Yield a warning for each yarn that several plainly different colours of flat artwork became.

    Parameters
    ----------
    real : ndarray of uint8, shape (colours, 3)
        The artwork's real colours.
    yarn_of : ndarray, shape (colours,)
        The yarn of each.
    """
    lab = lab_from_srgb8(real)
    for yarn in np.unique(yarn_of):
        own = np.flatnonzero(yarn_of == yarn)
        if len(own) < 2 or ciede2000(lab[own][:, None], lab[own][None]).max() <= MERGED_DE00:
            continue
        colours = ", ".join(hex_of((int(r), int(g), int(b))) for r, g, b in real[own])
        yield Finding(
            later(
                "The artwork's colours {colours} all become {code} {name}; where they touch, the edge between them is "
                "lost.",
                colours=colours,
                code=yarns[yarn].code,
                name=yarns[yarn].name,
            ),
            later("yarn {code}", code=yarns[yarn].code),
            "warning",
        )
