"""A page of a set is held against this program's own: its script, its style, its policy and its markup, to the byte.

What a page does is as much a part of it as what it says, because a script may show another rug than the page holds. The
parts of pages lie in the package as files of their own. Only these files are read here; how they become one page is
told anew, by code that owes the writer nothing. Words are not compared, since a page may be in any language.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator, Sequence
from importlib.resources import files
from posixpath import dirname, join, normpath
from typing import Any

from chartmaker import __version__
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.verify.looms import DATA as LOOM_DATA
from chartmaker.verify.proofs import DATA as PROOF_DATA
from chartmaker.verify.proofs import scripts_of

#: The styles of each kind of page, below `web/`, and the ids of the elements that hold its data.
_STYLES = {"proof": ("common/paper.css", "proof/style.css"), "loom": ("loom/style.css",)}
_DATA = {"proof": PROOF_DATA, "loom": LOOM_DATA}
#: A module takes from another at the start of a line, and marks what it gives where that is made.
_TAKES = re.compile(r'^import \{([^}]*)\} from "(.*)";\n', re.MULTILINE)
_GIVES = re.compile(r"^export ((?:async )?function|const) (\w+|\{[^}]*\})", re.MULTILINE)
_PLACE = re.compile(r"\{\{([\w:]+)\}\}")
#: What stands in a place of the frame holds no markup.
_PLAIN = r"[^<>\x22]*"


def own_page_differences(data: bytes, kind: str, made_by: Any) -> Iterator[str]:
    """Yield which parts of a page of this kind, ``proof`` or ``loom``, are not those of this program.

    `made_by` is the version of the program that the set's summary names, as far as it names one.
    """
    try:
        texts, rest = scripts_of(data.decode("utf-8"), _DATA[kind])
    except ValueError:
        return  # whoever reads the page says so
    script = script_of(kind)
    style = "".join(_part(name) for name in _STYLES[kind])
    policy = (
        f"default-src 'none'; script-src {_named(script)}; style-src {_named(style)}; base-uri 'none'; "
        "form-action 'none'"
    )
    wrong = [
        name
        for name, alike in (
            (say("script"), texts.get("") == script),
            (say("style"), rest.count("<style") == 1 and f"<style>{style}</style>" in rest),
            (say("policy"), f'<meta http-equiv="Content-Security-Policy" content="{policy}">' in rest),
            (say("markup"), _frame(kind).fullmatch(rest) is not None),
        )
        if not alike
    ]
    if not wrong:
        return
    words = say(
        "its {parts} are not those of a page of this chartmaker, {version}", parts=", ".join(wrong), version=__version__
    )
    if isinstance(made_by, str) and made_by != __version__:
        words = say(
            "its {parts} cannot be judged, since its set says that chartmaker {other} made it, and this is {version}: "
            "verify it with that version, or make it again",
            parts=", ".join(wrong),
            other=inert(made_by[:40]),
            version=__version__,
        )
    yield words


def _part(name: str) -> str:
    return files("chartmaker.pages").joinpath("web", *name.split("/")).read_text(encoding="utf-8")


def _named(text: str) -> str:
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
    return f"'sha256-{digest}'"


def _frame(kind: str) -> re.Pattern[str]:
    """Return the pattern of a page without its scripts, with any plain words and any style in their places."""
    told = re.sub(
        r"\{\{data\}\}\s*<script>\{\{script\}\}</script>\s*",
        "{{data}}",
        _part("common/head.html") + _part(f"{kind}/frame.html"),
    )
    special = {"data": r"\s*", "style": r"[^<]*"}
    pieces = [
        special.get(piece, _PLAIN) if number % 2 else re.escape(piece)
        for number, piece in enumerate(_PLACE.split(told))
    ]
    return re.compile("".join(pieces))


def script_of(kind: str) -> str:
    """Return the whole script of a page: each module a closed room, after those that it takes something from."""
    rooms: dict[str, str] = {}
    _furnish(f"{kind}/start.js", rooms)
    return '"use strict";\n{\n' + "".join(rooms.values()) + "}\n"


def _furnish(path: str, rooms: dict[str, str]) -> None:
    """Add the room of the module at `path` to the `rooms`, unless it is there, behind those that it needs."""
    if path in rooms:
        return
    text, taken = _part(path), ""
    for names, source in _TAKES.findall(text):
        other = normpath(join(dirname(path), source))
        _furnish(other, rooms)
        taken += f"const {{ {_listed([names])} }} = {_room(other)};\n"
    text = _TAKES.sub("", text)
    gives = _listed([given.strip("{}") for _, given in _GIVES.findall(text)])
    inside = taken + _GIVES.sub(r"\1 \2", text).strip("\n") + "\n" + (f"return {{ {gives} }};\n" if gives else "")
    rooms[path] = f"const {_room(path)} = (() => {{\n{inside}}})();\n"


def _room(path: str) -> str:
    return "of_" + "".join(letter if letter.isalnum() else "_" for letter in path.removesuffix(".js"))


def _listed(names: Sequence[str]) -> str:
    return ", ".join(name.strip() for each in names for name in each.split(",") if name.strip())
