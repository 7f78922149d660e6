"""The proof page: the rug beside its artwork down to the single knot, in one HTML file that needs no network."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from chartmaker.artwork.artwork import Artwork
from chartmaker.figures.carving import Carving
from chartmaker.ground.findings import Finding
from chartmaker.knots.knotmap import KnotMap
from chartmaker.pages.frames import framed
from chartmaker.pages.proof.pagedata import data_elements
from chartmaker.pages.proof.words import SENTENCES


def proof_page(
    knot_map: KnotMap,
    artwork: Artwork | None = None,
    findings: Sequence[Finding] = (),
    figures_per_yarn: Mapping[str, str] | None = None,
    carving: Carving | None = None,
) -> Iterator[str]:
    """Yield the text of the proof page, piece by piece; joined and written as UTF-8 it is the file.

    Parameters
    ----------
    knot_map : KnotMap
    artwork : Artwork, optional
        As fitted to the rug: it covers the rug's rectangle, at any resolution. Without it the page has no
        slider and no differences.
    findings : sequence of Finding
        Listed in this order; those with places can be shown on the rug.
    figures_per_yarn : mapping of code to words, optional
        What to say of a yarn besides its knots, such as ``1.24 kg, 3 hanks``.
    carving : Carving, optional
        What is cut into the pile, to be told of each knot.
    """
    data = data_elements(knot_map, artwork, findings, figures_per_yarn or {}, carving)
    yield from framed("proof", knot_map.rug.name, SENTENCES, data)
