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


def framed(
    folder: str, title: str, language: str, sentences: Mapping[str, str], data: Iterable[str], *, pictures: bool = False
) -> Iterator[str]:
    """Yield the text of a page, piece by piece; joined and written as UTF-8 it is the file.

    Parameters
    ----------
    folder : str
        Where below `web/` its frame.html, its style.css and its start.js are.
    title, language : str
    sentences : mapping of str to str
        What the frame says, by key.
    data : iterable of str
        The elements that hold its data.
    pictures : bool
        Whether pictures that lie in the page itself may be shown.
    """
    style, script = part(f"{folder}/style.css"), joined(f"{folder}/start.js", part)
    policy = f"default-src 'none'; script-src {hash_source(script)}; style-src {hash_source(style)}; "
    policy += ("img-src data:; " if pictures else "") + "base-uri 'none'; form-action 'none'"
    filling: dict[str, Iterable[str]] = {
        "language": [language],
        "policy": [policy],
        "title": [html.escape(inert(title))],
        "style": [style],
        "script": [script],
        "data": data,
    }
    yield from filled(part(f"{folder}/frame.html"), sentences, filling)


def part(name: str) -> str:
    """Return the text of a file below `web/`."""
    return files("chartmaker.pages").joinpath("web", *name.split("/")).read_text(encoding="utf-8")


def hash_source(text: str) -> str:
    """Return a script or a style as the content policy names it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"


def json_element(name: str, value: object) -> Iterator[str]:
    """Yield a script element that a browser does not run, with JSON that no reader can take for anything else."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    yield f'<script id="{name}" type="application/json">'
    yield text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")
    yield "</script>\n"
