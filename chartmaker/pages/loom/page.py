"""The loom page: the row script one call at a time, in one HTML file that needs no network and keeps its place."""

from __future__ import annotations

import base64
import hashlib
import html
from collections.abc import Iterable, Iterator
from importlib.resources import files

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.pages.loom.loomdata import data_elements
from chartmaker.pages.loom.parts import Part, whole
from chartmaker.pages.loom.words import SENTENCES
from chartmaker.pages.modules import joined
from chartmaker.pages.words import filled


def loom_page(figures: Figures, part: Part | None = None) -> Iterator[str]:
    """Yield the text of the loom page, piece by piece; joined and written as UTF-8 it is the file.

    Parameters
    ----------
    figures : Figures
        Of the rug, with its map.
    part : Part, optional
        The part of the rug that the page holds; without it, all of the rug.
    """
    rug = figures.knot_map.rug
    style, script = _read("loom/style.css"), joined("loom/start.js", _read)
    policy = (
        "default-src 'none'; "
        f"script-src {_hash_source(script)}; style-src {_hash_source(style)}; base-uri 'none'; form-action 'none'"
    )
    filling: dict[str, Iterable[str]] = {
        "language": ["en"],
        "policy": [policy],
        "code": [say("map {code}", code=figures.knot_map.map_code)],
        "title": [html.escape(inert(rug.name))],
        "style": [style],
        "script": [script],
        "data": data_elements(figures, part or whole(figures.knot_map)),
    }
    yield from filled(_read("loom/frame.html"), SENTENCES, filling)


def _read(name: str) -> str:
    return files("chartmaker.pages").joinpath("web", *name.split("/")).read_text(encoding="utf-8")


def _hash_source(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"
