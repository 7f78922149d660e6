"""A page put together from its parts in `web/`: one file, nothing from any network, no script but its own."""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Iterable, Iterator, Mapping
from importlib.resources import files

from chartmaker.ground.textsafe import inert
from chartmaker.pages.modules import joined
from chartmaker.pages.words import filled

#: The language of the words of every page, by which its numbers are grouped (BCP 47).
LANGUAGE = "en"


def framed(
    folder: str,
    title: str,
    sentences: Mapping[str, str],
    data: Iterable[str],
    *,
    paper: bool = True,
    pictures: bool = False,
    **more: str,
) -> Iterator[str]:
    """Yield the text of a page, piece by piece; joined and written as UTF-8 it is the file.

    Parameters
    ----------
    folder : str
        Where below `web/` its frame.html, its style.css and its start.js are.
    title : str
    sentences : mapping of str to str
        What the frame says, by key.
    data : iterable of str
        The elements that hold its data.
    paper : bool
        Whether it has the colours of the pages that are read like paper; otherwise its style brings its own.
    pictures : bool
        Whether pictures that lie in the page itself may be shown.
    **more : str
        What else the frame has a place for, by the name of the place.
    """
    style = (part("common/paper.css") if paper else "") + part(f"{folder}/style.css")
    script = joined(f"{folder}/start.js", part)
    policy = f"default-src 'none'; script-src {hash_source(script)}; style-src {hash_source(style)}; "
    policy += ("img-src data:; " if pictures else "") + "base-uri 'none'; form-action 'none'"
    filling: dict[str, Iterable[str]] = {
        "language": [LANGUAGE],
        "policy": [policy],
        "title": [html.escape(inert(title))],
        "style": [style],
        "script": [script],
        "data": data,
        **{name: [html.escape(text)] for name, text in more.items()},
    }
    yield from filled(part("common/head.html") + part(f"{folder}/frame.html"), sentences, filling)


def part(name: str) -> str:
    """Return the text of a file below `web/`."""
    return files("chartmaker.pages").joinpath("web", *name.split("/")).read_text(encoding="utf-8")


def hash_source(text: str) -> str:
    """Return a script or a style as the content policy names it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"


def facts_element(facts: object) -> Iterator[str]:
    """Yield the element with what a page knows, as JSON that no reader of HTML takes for anything else."""
    text = json.dumps(facts, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    safe = text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")
    yield from data_element("page-facts", "application/json", [safe])


def data_element(name: str, media_type: str, texts: Iterable[str]) -> Iterator[str]:
    """Yield a script element that a browser does not run, with data in plain letters."""
    yield f'<script id="{name}" type="{media_type}">'
    yield from texts
    yield "</script>\n"
