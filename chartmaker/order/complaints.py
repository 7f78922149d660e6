"""What is wrong with a rug file, in the trade's words: where the fault is, what it is and what to do about it.

The library that checks the file words its complaints for programmers, by the type of the fault. Each type has a
sentence of ours here, so that the designer never sees those words.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from chartmaker.ground.language import phrase, say
from chartmaker.ground.textsafe import guess, inert
from chartmaker.order.fields import TableError, shown
from chartmaker.order.origin import OptionKey

#: Gives the names that are known in place of the last one of a list.
KeysAt = Callable[[Sequence[str]], list[str]]


@dataclass(frozen=True)
class Complaint:
    """A fault of a rug file: its sentence, and its place, which is an option or a table with a key."""

    message: str
    option: str | None
    key: str


_NUMBER = phrase("{given} is not a number; write it like 12 or 12.5, without a unit")
_WHOLE = phrase("{given} is not a whole number")
_LIST = phrase("{given} is not a list; write the values in brackets, such as [{given}]")
_TOO_LONG = phrase("{given} is too long; it may have at most {max_length} letters")
_TABLE = phrase("{given} is not a table; write its keys below [{table}], one on each line")

#: The sentence for each type of fault that the checker finds by itself; its limits are fields under their own names.
SENTENCES = {
    "int_type": _WHOLE,
    "int_parsing": _WHOLE,
    "int_from_float": _WHOLE,
    "int_parsing_size": _WHOLE,
    "float_type": _NUMBER,
    "float_parsing": _NUMBER,
    "finite_number": phrase("{given} is not a number that can be used; write a plain number"),
    "bool_type": phrase("{given} is neither true nor false"),
    "bool_parsing": phrase("{given} is neither true nor false"),
    "greater_than_equal": phrase("{given} is too small; the least is {ge}"),
    "greater_than": phrase("{given} is too small; it must be above {gt}"),
    "less_than_equal": phrase("{given} is too large; the most is {le}"),
    "less_than": phrase("{given} is too large; it must be below {lt}"),
    "string_too_long": _TOO_LONG,
    "too_long": _TOO_LONG,
    "tuple_type": _LIST,
    "dict_type": phrase('{given} is not a table; write it in braces, such as {{ "W-07" = "14 mm" }}'),
    "model_type": _TABLE,
    "model_attributes_type": _TABLE,
}
#: What to give where a key of [rug] is missing.
_MISSING = {
    "width": phrase("the size is missing; give width and length in [rug], or --size 5x8ft"),
    "length": phrase("the size is missing; give width and length in [rug], or --size 5x8ft"),
    "density": phrase("the density is missing; give it in [rug], or as --density '9/60 indian'"),
}


def complaint_of(error: Mapping[str, Any], tables: Mapping[str, Any], keys_at: KeysAt) -> Complaint:
    """Return one fault that the checking library found, in our words.

    Parameters
    ----------
    error : mapping
        The fault as the library gives it: its type, its place, the value given and the limits.
    tables : mapping
        The tables that were checked; their keys may be `OptionKey`.
    keys_at : callable
        Gives the names that are known in place of the last one of a list.
    """
    path = [inert(part) for part in error["loc"]]
    message = _sentence(error, path, keys_at)
    own = error.get("ctx", {}).get("error")
    names = (*path[1:2], *(own.keys if isinstance(own, TableError) else ()))
    own_name = error["type"] in ("missing", "extra_forbidden")  # the message names the last key already
    return Complaint(message, _option(tables, path, names), _key(error["loc"], 2 if own_name else 3))


def _key(place: Sequence[Any], deep: int) -> str:
    """Return the place as it is named in the file: ``[loom] picks``, ``[pile] heights A``, ``[dye] vessels 2 holds``,
    ``[[region]] 2 style``.

    `deep` is how many names below a list of tables are given.
    """
    if not place:
        return ""
    table, *rest = place
    listed = bool(rest) and isinstance(rest[0], int)
    names = (
        str(name + 1) if isinstance(name, int) else inert(name)
        for name in rest[: deep if rest[:1] == ["vessels"] else deep - 1 if listed else 2]
    )
    head = f"[[{inert(table)}]]" if listed else f"[{inert(table)}]"
    return " ".join((head, *names))


def _option(tables: Mapping[str, Any], path: Sequence[str], names: Sequence[str]) -> str | None:
    """Return the option that gave one of the keys `names` of the table, or None where the file did."""
    table = tables.get(path[0]) if path else None
    given = table if isinstance(table, Mapping) else {}
    return next((key.option for key in given if isinstance(key, OptionKey) and key in names), None)


def _sentence(error: Mapping[str, Any], path: Sequence[str], keys_at: KeysAt) -> str:
    given = shown(error.get("input"))
    limits = {name: _plain(value) for name, value in error.get("ctx", {}).items()}
    if not path:
        return say("{given} is not a rug file; a rug file has tables, such as [rug]", given=given)
    match error["type"]:
        case "missing" if list(path) == ["rug"]:
            return say(
                "the size and the density are missing; give them in [rug] of a rug file, or as --size 5x8ft and "
                "--density '9/60 indian'"
            )
        case "missing" if path[0] == "rug" and path[-1] in _MISSING:
            return say(_MISSING[path[-1]])
        case "missing":
            return say("{key} is missing", key=path[-1])
        case "extra_forbidden":
            return _unknown(path, keys_at(path))
        case "too_long" if isinstance(error.get("input"), list | tuple):
            return say("there are {n} of them; the most is {max_length}", n=len(error["input"]), **limits)
        case "tuple_type" if isinstance(error.get("input"), Mapping):
            return say(
                "write it in double brackets, [[{table}]], once for each; --set does not reach it", table=path[0]
            )
        case "literal_error":
            words = _words(limits["expected"])
            near, (before, _, last) = guess(given.strip("'"), words), limits["expected"].rpartition(" or ")
            message = "{given} is not one of {before} or {last}"
            if near:
                message = "{given} is not one of {before} or {last}; did you mean {near}?"
            return say(message, given=given, before=before, last=last, near=near)
        case "value_error":
            return str(error["ctx"]["error"])
        case kind if kind in SENTENCES:
            return say(SENTENCES[kind], given=given, table=path[0], **limits)
        case _:
            return say("{given} cannot be used here", given=given)


def _unknown(path: Sequence[str], known: list[str]) -> str:
    name, near, names = path[-1], guess(path[-1], known), ", ".join(known)
    if len(path) > 1 and near:
        return say("unknown key {name}; did you mean {near}?", name=name, near=near)
    if len(path) > 1:
        return say("unknown key {name}; known: {names}", name=name, names=names)
    if near:
        return say("unknown table {name}; did you mean {near}?", name=name, near=near)
    return say("unknown table {name}; known: {names}", name=name, names=names)


def _words(expected: str) -> list[str]:
    return [word.strip("' ") for word in expected.replace(" or ", ",").split(",")]


def _plain(value: Any) -> Any:
    return f"{value:,g}" if isinstance(value, float) else f"{value:,}" if isinstance(value, int) else value
