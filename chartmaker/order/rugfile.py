"""The rug file, in TOML, checked and turned into values."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import Field, ValidationError

from chartmaker.ground.errors import RugError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textfile import text_of
from chartmaker.ground.textsafe import inert
from chartmaker.order.complaints import Complaint, complaint_of
from chartmaker.order.design import MOST_REGIONS, Design, Region, Repeat, YarnChoice
from chartmaker.order.fields import Table
from chartmaker.order.layout import Layouting, Sizes
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Vessel, Workshop

#: A rug file is about a page of text; anything larger than this is something else.
MOST_BYTES = 1_000_000
#: The tables of a rug file by name, each a dict of its keys.
Tables = dict[str, dict[str, Any]]
#: The tables that are written in double brackets, as often as there are such things.
LISTED: dict[str, type[Table]] = {"region": Region, "repeat": Repeat}


class _Tables(Workshop):
    """The whole rug file: first what is ordered, then how the workshop makes it."""

    rug: Rug
    design: Design = Design()
    region: Annotated[tuple[Region, ...], Field(max_length=MOST_REGIONS)] = ()
    repeat: Annotated[tuple[Repeat, ...], Field(max_length=MOST_REGIONS)] = ()
    layout: Layouting = Layouting()
    sizes: Sizes = Sizes()
    yarns: YarnChoice = YarnChoice()


@dataclass(frozen=True)
class RugFile:
    """What a rug file says. `folder` is what its paths are relative to.

    `path` and `sha256` are those of the file; None and empty where there was no file.
    """

    rug: Rug
    design: Design
    yarns: YarnChoice
    workshop: Workshop
    regions: tuple[Region, ...] = ()
    repeats: tuple[Repeat, ...] = ()
    layout: Layouting = field(default_factory=Layouting)
    sizes: Sizes = field(default_factory=Sizes)
    folder: Path = Path()
    path: Path | None = field(default=None, compare=False)
    sha256: str = field(default="", compare=False)

    @property
    def artwork(self) -> Path | None:
        """The artwork's file, if the order names one."""
        return None if self.design.artwork is None else self.folder / self.design.artwork

    @property
    def card(self) -> Path | None:
        """The yarn card's file, if the order names one."""
        return None if self.yarns.card is None else self.folder / self.yarns.card

    @property
    def masks(self) -> dict[int, Path]:
        """The files of the masks that the order names, by the numbers of their regions, counted from 1."""
        named = ((number, region.mask) for number, region in enumerate(self.regions, start=1))
        return {number: self.folder / mask for number, mask in named if mask is not None}

    @property
    def inputs(self) -> tuple[Path, ...]:
        """The files that are read for the order, whether they are there or not."""
        font = self.workshop.chart.font
        named = (self.path, self.artwork, *self.masks.values(), self.card, None if font is None else self.folder / font)
        return tuple(path for path in named if path is not None)


def _keys_of(model: type[Table]) -> list[str]:
    """Return the keys that a table takes, as written in the file."""
    keys = [field.alias or name for name, field in model.model_fields.items()]
    return [*keys, "size"] if model is Rug else keys


def literals(annotation: Any) -> list[str]:
    """Return the values of the `Literal` in an annotation, a union's included."""
    parts = get_args(annotation)
    if get_origin(annotation) is Literal:
        return [str(part) for part in parts]
    return [value for part in parts for value in literals(part)]


def model_of(table: str) -> type[Table]:
    """Return what checks a table of the rug file, or each of the tables that are written in double brackets."""
    if table in LISTED:
        return LISTED[table]
    return _Tables.model_fields[table].annotation  # type: ignore[return-value]


def keys() -> dict[str, list[str]]:
    """Return the keys of every table, by its name; first what is ordered, then how the workshop makes it.

    Tables in double brackets are not among them: no option can say which of them it means.
    """
    ordered = sorted(_Tables.model_fields, key=lambda name: name in Workshop.model_fields)
    return {name: _keys_of(model_of(name)) for name in ordered if name not in LISTED}


def words_of(table: str, key: str) -> list[str]:
    """Return the words that may be given for a key of the rug file; none if any value may be."""
    if key == "size":  # it stands for two keys
        return []
    fields = model_of(table).model_fields
    field = next(field for name, field in fields.items() if key in (name, field.alias))
    return literals(field.annotation)


def _keys_at(path: Sequence[str]) -> list[str]:
    """Return the names possible in place of the last of `path`: the keys of its table, or the tables of the file."""
    if len(path) < 2:
        return list(_Tables.model_fields)
    if list(path[:2]) == ["dye", "vessels"] and len(path) > 2:
        return _keys_of(Vessel)
    return _keys_of(model_of(path[0]))


def from_tables(tables: dict[str, Any], *, where: str, folder: Path = Path()) -> RugFile:
    """Return the rug file that `tables` describe, as they come from TOML or JSON.

    Parameters
    ----------
    tables : dict
        The tables of the rug file by name: rug, design, yarns, pile, loom, dye, cost, chart, pattern.
    where : str
        The name of the file, for messages.
    folder : Path
        The folder that relative paths start from.

    Raises
    ------
    RugError
        Naming the table and the key of the first fault, and saying how many more there are.
    """
    try:
        checked = _Tables.model_validate(tables)
    except ValidationError as error:
        # a key that is misspelt is often the very one that is missing, and the message on it says so
        faults = sorted(error.errors(include_url=False), key=lambda fault: fault["type"] == "missing")
        raise refusal([complaint_of(fault, tables, _keys_at) for fault in faults], where) from error
    return RugFile(
        checked.rug,
        checked.design,
        checked.yarns,
        Workshop(**{name: getattr(checked, name) for name in Workshop.model_fields}),
        checked.region,
        checked.repeat,
        checked.layout,
        checked.sizes,
        folder,
    )


def refusal(complaints: Sequence[Complaint], where: str) -> RugError:
    """Return the first complaint as an error, which also says how many more there are."""
    first = complaints[0]
    message, more = first.message, len(complaints) - 1
    if more:
        one, many = "{message} ({n} more to mend after this)", "{message} ({n} more to mend after this)"
        message = say_n(one, many, more, message=message)
    if first.option is not None:
        return RugError(message, where=first.option)
    return RugError(message, where=f"{where}, {first.key}" if first.key else where)


def to_tables(rug: Rug, workshop: Workshop) -> dict[str, Any]:
    """Return the tables that describe `rug` and `workshop`, without what was left to the defaults."""
    tables: dict[str, Any] = {"rug": rug.model_dump(mode="json", by_alias=True, exclude_unset=True)}
    for name, table in workshop:
        tables[name] = table.model_dump(mode="json", by_alias=True, exclude_unset=True)
    return {name: table for name, table in tables.items() if table}


def toml_tables(data: bytes, where: str, what: str) -> dict[str, Any]:
    """Return the tables of the TOML file `data`, unchecked; `what` is what the file is called in a message."""
    text = text_of(data, RugError, what, where)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RugError(
            say("this is not a TOML file: {fault}; words and sizes stand in quotes", fault=inert(error)), where=where
        ) from error
    except RecursionError as error:
        raise RugError(say("this cannot be a {what}: it is nested too deeply", what=what), where=where) from error
    except ValueError as error:  # a number with more digits than Python reads
        raise RugError(
            say("this cannot be a {what}: a number in it has thousands of digits", what=what), where=where
        ) from error


def merge(tables: dict[str, Any], over: Tables) -> dict[str, Any]:
    """Return `tables` with the keys of `over` laid over them; a size replaces width with length."""
    merged: dict[str, Any] = dict(tables)
    for name, keys in over.items():
        table = {} if name in LISTED else merged.get(name, {})  # no option reaches those: the checker says so
        if not isinstance(table, dict):
            continue  # the check that follows reports it
        gone = {*keys, "width", "length"} if "size" in keys else {*keys}
        merged[name] = {key: value for key, value in table.items() if key not in gone} | keys
    return merged


def read_rugfile(path: Path, over: Tables | None = None) -> RugFile:
    """Return what the rug file at `path` says, with command-line values `over` it.

    Raises
    ------
    RugError
        If the file cannot be read, or says something impossible.
    """
    where = inert(path)
    data = read_whole(path, MOST_BYTES, RugError, say("rug file"))
    tables = toml_tables(data, where, say("rug file"))
    order = from_tables(merge(tables, over or {}), where=where, folder=path.parent)
    return replace(order, path=path, sha256=hashlib.sha256(data).hexdigest())
