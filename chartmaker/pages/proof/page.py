"""The proof page: the rug beside its artwork down to the single knot, in one HTML file that needs no network."""

from __future__ import annotations

import base64
import hashlib
import html
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib.resources import files

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.findings import Finding
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import KnotMap
from chartmaker.pages.modules import joined
from chartmaker.pages.proof.pagedata import LANGUAGE, data_elements
from chartmaker.pages.proof.words import SENTENCES
from chartmaker.pages.words import filled


def proof_page(
    knot_map: KnotMap,
    artwork: Artwork | None = None,
    findings: Sequence[Finding] = (),
    figures_per_yarn: Mapping[str, str] | None = None,
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
    """
    style, script = _part("proof/style.css"), joined("proof/start.js", _part)
    policy = (
        "default-src 'none'; "
        f"script-src {_hash_source(script)}; style-src {_hash_source(style)}; base-uri 'none'; form-action 'none'"
    )
    filling: dict[str, Iterable[str]] = {
        "language": [LANGUAGE],
        "policy": [policy],
        "title": [html.escape(inert(knot_map.rug.name))],
        "style": [style],
        "script": [script],
        "data": data_elements(knot_map, artwork, findings, figures_per_yarn or {}),
    }
    yield from filled(_part("proof/frame.html"), SENTENCES, filling)


def _part(name: str) -> str:
    return files("chartmaker.pages").joinpath("web", *name.split("/")).read_text(encoding="utf-8")


def _hash_source(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"
