"""Modules of JavaScript put together into one script, for pages that must be one file and may not load another."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable

_IMPORT = re.compile(r'^import \{([^}]*)\} from "(\.[^"]*)";\n', re.MULTILINE)
_EXPORT = re.compile(
    r"^export (?:(?:async )?function (?P<function>\w+)|const (?P<const>\w+)|const \{(?P<several>[^}]*)\} =)",
    re.MULTILINE,
)


def joined(entry: str, read: Callable[[str], str]) -> str:
    """Return one script that does what the module `entry` does, with everything that it imports.

    The modules are as the language has them (ECMA-262, 16.2), in a plain form that browsers could load as well:
    ``import { names } from "./path.js";`` and ``export`` before a function or a constant. Each becomes a function of
    its own that returns what it exports, so that no name is seen where it was not imported. What changes is kept in
    objects, since a value that is handed over does not follow a variable.

    Parameters
    ----------
    entry : str
        The path of the module to begin with, such as ``proof/start.js``.
    read : callable
        Returns the text of the module at a path.

    Raises
    ------
    ValueError
        If modules import each other in a circle, or what another does not export: the package is broken.
    """
    exports: dict[str, list[str]] = {}
    done: list[str] = []

    def add(path: str, above: tuple[str, ...]) -> None:
        if path in above:
            raise ValueError(f"modules in a circle: {' -> '.join((*above, path))}")
        if path in exports:
            return
        text = read(path)
        lines = []
        for names, other in _IMPORT.findall(text):
            source = posixpath.normpath(posixpath.join(posixpath.dirname(path), other))
            add(source, (*above, path))
            for name in (wanted := _names(names)):
                if name not in exports[source]:
                    raise ValueError(f"{path} imports {name}, which {source} does not export")
            lines.append(f"const {{ {', '.join(wanted)} }} = {_called(source)};\n")
        exports[path] = [
            name
            for found in _EXPORT.finditer(text)
            for name in _names(found["function"] or found["const"] or found["several"])
        ]
        body = _EXPORT.sub(lambda found: found[0].removeprefix("export "), _IMPORT.sub("", text)).strip("\n")
        given = f"return {{ {', '.join(exports[path])} }};\n" if exports[path] else ""
        done.append(f"const {_called(path)} = (() => {{\n{''.join(lines)}{body}\n{given}}})();\n")

    add(entry, ())
    return '"use strict";\n{\n' + "".join(done) + "}\n"


def _called(path: str) -> str:
    """Return what the script calls the exports of the module at `path`."""
    return "of_" + re.sub(r"\W", "_", path.removesuffix(".js"))


def _names(listed: str) -> list[str]:
    return [name.strip() for name in listed.split(",") if name.strip()]
