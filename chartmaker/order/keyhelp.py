"""What each key of the rug file means, read from the models that check it, so that the manual cannot drift."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from pydantic.fields import FieldInfo

from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.fields import Table
from chartmaker.order.layout import Layouting, Sizes
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import LISTED, literals, words_of
from chartmaker.order.workshop import Vessel, Workshop


@dataclass(frozen=True)
class KeyHelp:
    """A key of the rug file and its explanation.

    Attributes
    ----------
    key : str
        The key as it is written in the file.
    default : str
        The value taken when the key is left out, as it would be written; empty where there is none.
    needed : bool
        Whether the key must be given.
    words : tuple of str
        The words that may be given; empty where any value may be.
    meaning : str
        What the key says, in a phrase.
    example : str
        How the value may be written; empty where that is obvious.
    """

    key: str
    default: str
    needed: bool
    words: tuple[str, ...]
    meaning: str
    example: str


def tables_explained() -> dict[str, tuple[KeyHelp, ...]]:
    """Return the keys of every table of the rug file, in their order, by the name of the table."""
    models: dict[str, type[Table]] = {
        "rug": Rug,
        "design": Design,
        **LISTED,
        "layout": Layouting,
        "sizes": Sizes,
        "yarns": YarnChoice,
    }
    models |= {name: field.annotation for name, field in Workshop.model_fields.items()}  # type: ignore[misc]
    explained = {name: _explained(name, model) for name, model in models.items()}
    explained["dye.vessels"] = tuple(_help(name, field, ()) for name, field in Vessel.model_fields.items())
    return explained


def keys_of_model(model: type[Table]) -> tuple[KeyHelp, ...]:
    """Return the keys of a table that belongs to another file than the rug file."""
    return tuple(_help(name, field, tuple(literals(field.annotation))) for name, field in model.model_fields.items())


def _explained(table: str, model: type[Table]) -> tuple[KeyHelp, ...]:
    return tuple(
        _help(name, field, tuple(words_of(table, field.alias or name))) for name, field in model.model_fields.items()
    )


def _help(name: str, field: FieldInfo, words: tuple[str, ...]) -> KeyHelp:
    return KeyHelp(
        field.alias or name,
        "" if field.is_required() else _written(name, field.default),
        field.is_required(),
        words,
        field.description or "",
        str(field.examples[0]) if field.examples else "",
    )


def _written(name: str, value: Any) -> str:
    """Return a default as it would be written in the rug file; empty where there is none."""
    if value is None or value in ("", (), {}):
        return ""
    match value:
        case bool():
            return str(value).lower()
        case Fraction():  # the field's name carries the unit
            return f'"{float(value):g} {name.rpartition("_")[2]}"'
        case str():
            return f'"{value}"'
        case tuple():
            return "[" + ", ".join(_written(name, each) for each in value) + "]"
        case _:
            return f"{value:g}"
