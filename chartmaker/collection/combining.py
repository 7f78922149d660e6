"""Designs by sizes by colourways by qualities: the sets that a collection asks for, and their names."""

from __future__ import annotations

import fnmatch
import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import guess, inert
from chartmaker.order.collectionfile import CollectionFile, Kind
from chartmaker.order.rugfile import Tables

#: No season has more sets than this; if there are more, a pattern has gone wrong.
MOST_SETS = 100_000
_NOT_IN_NAMES = re.compile(r"[^\w.+-]+")
_LONGEST_NAME = 120


@dataclass(frozen=True)
class Wanted:
    """A set that is asked for.

    `name` is its folder; `size`, `colourway` and `quality` are empty if the collection gives none. `over` holds the
    tables laid over the rug file, and `swaps` pairs of yarns, by code or by name.
    """

    name: str
    design: str
    size: str
    colourway: str
    quality: str
    rug_file: Path
    over: Tables
    swaps: tuple[tuple[str, str], ...]
    title: str
    kind: Kind

    @property
    def conversion(self) -> tuple[str, str, str]:
        """The key that sets share if they differ only in the colourway."""
        return str(self.rug_file), self.size, self.quality


def wanted_of(file: CollectionFile, rug_files: Sequence[Path]) -> tuple[Wanted, ...]:
    """Return the sets that `file` asks for, in the order of its `rug_files`.

    Raises
    ------
    RugError
        If two sets have the same name, a name cannot be that of a folder, or no set is left.
    """
    where = inert(file.path)
    number = len(rug_files) * max(len(file.sizes), 1) * max(len(file.colourways), 1) * max(len(file.qualities), 1)
    if number > MOST_SETS:
        message = "this asks for {number:,} sets; the most is {most:,}"
        raise RugError(say(message, number=number, most=MOST_SETS), where=where)
    every = list(_combined(file, rug_files))
    _one_name_each(every, where)
    known = [each.name for each in every]
    for key, patterns in (("skip", file.sets.skip), ("only", file.sets.only)):
        for pattern in patterns:
            if not fnmatch.filter(known, pattern):
                raise RugError(_no_such_set(pattern, known), where=", ".join((where, f"[collection] {key}")))
    kept = tuple(each for each in every if _kept(each.name, file.sets.skip, file.sets.only))
    if not kept:
        raise RugError(say("skip and only leave no set to make"), where=where)
    return kept


def _no_such_set(pattern: str, known: list[str]) -> str:
    near, pattern = guess(pattern, known), inert(pattern)
    if near:
        return say("no set is named {pattern}; did you mean {near}?", pattern=pattern, near=near)
    return say("no set is named {pattern}", pattern=pattern)


def matches(name: str, patterns: Sequence[str]) -> bool:
    """Say whether a set's name is one of `patterns`."""
    return any(fnmatch.fnmatchcase(name, pattern) for pattern in patterns)


def _kept(name: str, skip: Sequence[str], only: Sequence[str]) -> bool:
    return not matches(name, skip) and (not only or matches(name, only))


def _combined(file: CollectionFile, rug_files: Sequence[Path]) -> Iterator[Wanted]:
    names, title = _name_pattern(file), _title_pattern(file)
    ways: dict[str, dict[str, str]] = file.colourways or {"": {}}
    qualities: dict[str, Tables] = file.qualities or {"": {}}
    for rug_file, size, (quality, tables), (way, swaps) in itertools.product(
        rug_files, file.sizes or ("",), qualities.items(), ways.items()
    ):
        over = _laid_over(file.every, tables, {"rug": {"size": size}} if size else {}, _dye_tables(file))
        fields = {
            "design": rug_file.stem,
            "folder": rug_file.absolute().parent.name,
            "size": size,
            "colourway": way,
            "quality": quality,
        }
        yield Wanted(
            name=_as_folder(names.format(**{key: _in_name(value) for key, value in fields.items()}), file),
            design=rug_file.stem,
            size=size,
            colourway=way,
            quality=quality,
            rug_file=rug_file,
            over=over,
            swaps=tuple(swaps.items()),
            title=title.replace("{name}", "{{name}}").format(**fields),
            kind=file.sets.set,
        )


def _name_pattern(file: CollectionFile) -> str:
    if file.sets.names is not None:
        return file.sets.names
    there = (("size", file.sizes), ("colourway", file.colourways), ("quality", file.qualities))
    return "-".join(("{design}", *(f"{{{name}}}" for name, values in there if values)))


def _title_pattern(file: CollectionFile) -> str:
    if file.sets.title is not None:
        return file.sets.title
    there = (("colourway", file.colourways), ("quality", file.qualities))
    return ", ".join(("{name}", *(f"{{{name}}}" for name, values in there if values)))


def _dye_tables(file: CollectionFile) -> Tables:
    """Return the dye house of the collection as tables of the rug file, so that every set uses it."""
    return {} if file.dye is None else {"dye": file.dye.model_dump(mode="json", by_alias=True, exclude_unset=True)}


def _laid_over(*layers: Tables) -> Tables:
    """Return the tables merged, later keys over earlier ones; a size replaces a width and a length."""
    laid: dict[str, dict[str, Any]] = {}
    for tables in layers:
        for table, keys in tables.items():
            before = laid.setdefault(table, {})
            for key in ("width", "length") if "size" in keys else ():
                before.pop(key, None)
            before.update(keys)
    return laid


def _in_name(text: str) -> str:
    """Return a part of a set's name in letters that every system accepts."""
    return _NOT_IN_NAMES.sub("-", text.replace("'", "ft").replace('"', "in")).strip("-")


def _as_folder(name: str, file: CollectionFile) -> str:
    folder = _NOT_IN_NAMES.sub("-", name).strip("-.")
    if not folder or len(folder) > _LONGEST_NAME:
        message = "{name!r} cannot be the name of a set's folder; give another [collection] names"
        raise RugError(say(message, name=inert(name)), where=inert(file.path))
    return folder


def _one_name_each(every: Sequence[Wanted], where: str) -> None:
    seen: dict[str, Wanted] = {}
    for each in every:
        other = seen.setdefault(each.name.casefold(), each)
        if other is not each:
            message = (
                "two sets would be called {name} (of {first} and {second}); let [collection] names tell them apart, "
                "with {{design}}, {{folder}}, {{size}}, {{colourway}} or {{quality}}"
            )
            raise RugError(
                say(message, name=each.name, first=inert(other.rug_file), second=inert(each.rug_file)), where=where
            )
