"""The TOML file of a collection: its rugs, their sizes, colourways and qualities, and the dye house and the looms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from string import Formatter
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError, field_validator

from chartmaker.ground.errors import RugError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import guess, inert
from chartmaker.order.complaints import complaint_of
from chartmaker.order.fields import LengthMm, Line, PathText, Table, TableError, Whole, shown
from chartmaker.order.layout import Sizes
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import MOST_BYTES, Tables, keys, refusal, toml_tables
from chartmaker.order.workshop import Dye

#: The fields from which a set's name and a rug's title may be put together.
NAME_FIELDS = ("design", "folder", "size", "colourway", "quality")
TITLE_FIELDS = ("name", *NAME_FIELDS)
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
#: Which files of each set are written.
Kind = Literal["all", "figures"]


def _pattern(value: Any, fields: tuple[str, ...]) -> Any:
    """Return a pattern whose braces hold nothing but `fields`."""
    if not isinstance(value, str):
        raise ValueError(say("{given} is not in quotes; write it as text", given=shown(value)))
    known = ", ".join(f"{{{name}}}" for name in fields)
    try:
        pieces = list(Formatter().parse(value))
    except ValueError as error:
        message = "{given} has a brace without its partner; the names in braces may be {known}"
        raise ValueError(say(message, given=shown(value), known=known)) from error
    for _, name, form, turned in pieces:
        if name is not None and (name not in fields or form or turned):
            near, name = guess(name, list(fields)), inert(name)
            if near:
                message = "{{{name}}} is not one of the names that may be used in braces; did you mean {{{near}}}?"
                raise ValueError(say(message, name=name, near=near))
            message = "{{{name}}} is not one of the names that may be used in braces: {known}"
            raise ValueError(say(message, name=name, known=known))
    return value


def _day(value: Any) -> Any:
    """Return a day as TOML writes it, without a time."""
    if isinstance(value, datetime) or not isinstance(value, date):
        raise ValueError(say("{given} is not a day; write it without quotes, like 2027-03-01", given=shown(value)))
    return value


Day = Annotated[date, BeforeValidator(_day)]
NamePattern = Annotated[Line, BeforeValidator(lambda value: _pattern(value, NAME_FIELDS))]
TitlePattern = Annotated[Line, BeforeValidator(lambda value: _pattern(value, TITLE_FIELDS))]


class Sets(Table):
    """[collection]: the rug files, the name of each set, and which of its files are written.

    `skip` and `only` are patterns for names of sets, in which * stands for any letters and ? for one letter.
    """

    name: Line = Field(default="Untitled collection", description="what the collection is called")
    rugs: Annotated[tuple[PathText, ...], Field(min_length=1)] = Field(
        description="rug files, or patterns for them, relative to this file's folder", examples=['["designs/*.toml"]']
    )
    names: NamePattern | None = Field(
        default=None,
        description="the name of a set's folder; left out, the design with the size, the colourway and the quality if "
        "there are any",
        examples=['"{design}-{size}-{colourway}"'],
    )
    title: TitlePattern | None = Field(
        default=None,
        description="the rug's name as it is printed; left out, [rug] name with the colourway and the quality",
        examples=['"{name}, {colourway}"'],
    )
    set: Kind = Field(
        default="all",
        description="which files of each set are written: all, or figures (the knot map, yarns.csv and the summary)",
    )
    skip: tuple[Line, ...] = Field(
        default=(), description="names of sets to leave out; * stands for any letters", examples=['["*-dawn"]']
    )
    only: tuple[Line, ...] = Field(default=(), description="names of the only sets to make; left out, all are made")


class Store(Table):
    """[store]: the yarn in stock, and how long it takes from the order until yarn is in the store."""

    stock: PathText | None = Field(
        default=None,
        description="a table (CSV) of the yarn in stock, with the columns code and stock_g; without it, the stock "
        "that the yarn cards give counts",
    )
    lead_days: Annotated[Whole, Field(ge=0, le=365)] = Field(
        default=14, description="how many days before a rug is begun its yarn must be ordered"
    )


class LoomPlace(Table):
    """[looms.NAME]: a loom, the weavers who sit at it, and the day from which it is free."""

    width_mm: LengthMm = Field(alias="width", description="the widest rug that the loom takes")
    weavers: Annotated[Whole, Field(ge=1, le=30)] = Field(description="weavers who sit at it")
    start: Day = Field(description="the first day on which it is free", examples=["2027-03-01"])


class Calendar(Table):
    """[calendar]: the days on which nobody weaves, and the days that a loom needs between two rugs."""

    rest: tuple[Weekday, ...] = Field(default=("sunday",), description="days of the week on which nobody works")
    holidays: tuple[Day, ...] = Field(
        default=(), description="single days on which nobody works", examples=["[2027-05-01]"]
    )
    between_days: Annotated[Whole, Field(ge=0, le=60)] = Field(
        default=3, description="working days between two rugs, for cutting one down and warping the next"
    )

    @field_validator("rest")
    @classmethod
    def _some_work(cls, rest: tuple[Weekday, ...]) -> tuple[Weekday, ...]:
        if len(set(rest)) > 6:
            raise TableError(say("no day of the week is left for work"))
        return rest


class Order(Table):
    """[orders.NAME]: how many pieces of which sets are to be woven, and from which day."""

    sets: tuple[Line, ...] = Field(default=("*",), description="names of sets; * stands for any letters")
    pieces: Annotated[Whole, Field(ge=1, le=10_000)] = Field(
        default=1, description="how many pieces of each of these sets"
    )
    start: Day | None = Field(default=None, description="the first day on which a piece may be begun")


class _Whole(Table):
    """The whole file."""

    collection: Sets
    sizes: Sizes = Sizes()
    colourways: dict[Line, dict[Line, Line]] = Field(default={})
    qualities: dict[Line, dict[str, Any]] = Field(default={})
    every: dict[str, dict[str, Any]] = Field(default={})
    dye: Dye | None = None
    store: Store = Store()
    looms: dict[Line, LoomPlace] = Field(default={})
    calendar: Calendar = Calendar()
    orders: dict[Line, Order] = Field(default={})


@dataclass(frozen=True)
class CollectionFile:
    """What the file of a collection says; its paths are relative to `folder`.

    `colourways` give, for each code, the code of the yarn that takes its place; `qualities` and `every` hold tables of
    the rug file.
    """

    sets: Sets
    sizes: tuple[str, ...]
    colourways: dict[str, dict[str, str]]
    qualities: dict[str, Tables]
    every: Tables
    dye: Dye | None
    store: Store
    looms: dict[str, LoomPlace]
    calendar: Calendar
    orders: dict[str, Order]
    folder: Path
    path: Path


#: The tables that hold tables under names of the user's choice, with the model of each.
_NAMED: dict[str, type[Table]] = {"looms": LoomPlace, "orders": Order}
_PLAIN: dict[str, type[Table]] = {
    "collection": Sets,
    "sizes": Sizes,
    "store": Store,
    "calendar": Calendar,
    "dye": Dye,
}


def tables_of_collection() -> dict[str, type[Table]]:
    """Return the model of each table of the file by its name, for the manual."""
    return {**_PLAIN, **{f"{name}.NAME": model for name, model in _NAMED.items()}}


def _keys_at(path: Any) -> list[str]:
    """Return the names that are possible in place of the last name of `path`."""
    if len(path) < 2:
        return list(_Whole.model_fields)
    model = _NAMED.get(path[0]) or _PLAIN.get(path[0], Rug)
    return [field.alias or name for name, field in model.model_fields.items()]


def _as_tables(quality: dict[str, Any], where: str, name: str) -> Tables:
    """Return a quality as tables of the rug file: a plain key belongs to [rug], and a table stays a table."""
    known = keys()
    tables: Tables = {}
    for key, value in quality.items():
        table, inner = (key, value) if isinstance(value, dict) else ("rug", {key: value})
        if table not in known or any(each not in known[table] for each in inner):
            wrong = table if table not in known else next(each for each in inner if each not in known[table])
            among = list(known) if table not in known else known[table]
            raise RugError(_unknown(wrong, table, among), where=f"{where}, {inert(name)}")
        tables.setdefault(table, {}).update(inner)
    return tables


def _unknown(name: str, table: str, known: list[str]) -> str:
    near, name = guess(name, known), inert(name)
    if near:
        return say(
            "{name} is neither a table of the rug file nor a key of one; did you mean {near}?", name=name, near=near
        )
    return say("{name} is neither a table of the rug file nor a key of [{table}]", name=name, table=inert(table))


def read_collectionfile(path: Path) -> CollectionFile:
    """Return what the file of a collection says.

    Raises
    ------
    RugError
        If the file cannot be read, or says something impossible.
    """
    where = inert(path)
    what = say("collection file")
    tables = toml_tables(read_whole(path, MOST_BYTES, RugError, what), where, what)
    try:
        checked = _Whole.model_validate(tables)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        raise refusal([complaint_of(fault, tables, _keys_at) for fault in faults], where) from error
    qualities = {name: _as_tables(each, where, f"[qualities.{name}]") for name, each in checked.qualities.items()}
    return CollectionFile(
        sets=checked.collection,
        sizes=checked.sizes.of,
        colourways={name: dict(swaps) for name, swaps in checked.colourways.items()},
        qualities=qualities,
        every=_as_tables(dict(checked.every), where, "[every]"),
        dye=checked.dye,
        store=checked.store,
        looms=checked.looms,
        calendar=checked.calendar,
        orders=checked.orders,
        folder=path.parent.absolute(),
        path=path,
    )
