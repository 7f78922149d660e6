"""The bounds within which each physical quantity of a rug file can lie, and within which it usually does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal, get_args

from pydantic import BaseModel, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.lengths import cm_words, mm_words
from chartmaker.ground.sentence import later
from chartmaker.ground.units import YarnCount

Kind = Literal["mm", "g", "tex", "share", "number"]


@dataclass(frozen=True, slots=True)
class Within:
    """The bounds of a quantity: it is refused below `least` or above `most`, and remarked on outside `low` to `high`.

    All bounds are generous estimates in the unit of `kind`. An instance is put into the annotation of a field.
    """

    kind: Kind
    least: float
    low: float
    high: float
    most: float

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self.checked, handler(source))

    def checked(self, value: Any) -> Any:
        """Return `value` if a rug can have it.

        Raises
        ------
        ValueError
            If no rug can have it.
        """
        if not self.least <= self.number(value) <= self.most:
            raise ValueError(
                say(
                    "{given} cannot be right; it must lie between {least} and {most}",
                    given=self.words(self.number(value)),
                    least=self.words(self.least),
                    most=self.words(self.most),
                )
            )
        return value

    def usual(self, value: Any) -> bool:
        """Return whether `value` is usual, so that it needs no remark."""
        return self.low <= self.number(value) <= self.high

    @staticmethod
    def number(value: Any) -> float:
        """Return `value` as a number in the unit of its kind; infinity where it is too large for a float."""
        try:
            return float(value.tex if isinstance(value, YarnCount) else value)
        except OverflowError:
            return float("inf")

    def words(self, number: float) -> str:
        """Return a number with its unit."""
        if self.kind == "mm" and number != float("inf"):
            return mm_words(number) if number < 100 else cm_words(number)
        if self.kind == "g" and number >= 1000:
            return f"{number / 1000:,.6g} kg"
        if self.kind == "share":
            return f"{number * 100:g} %"
        if self.kind == "number":
            return f"{number:,.6g}"
        return f"{number:,.6g} {self.kind}"


#: What a strand of pile yarn can weigh, in the rug file or on the card.
PILE_TEX = Within("tex", 5, 25, 5_000, 20_000)


def bounds_in(annotation: Any) -> Within | None:
    """Return the bounds found anywhere in the annotation of a field, or None."""
    if isinstance(annotation, Within):
        return annotation
    return next((found for part in get_args(annotation) if (found := bounds_in(part)) is not None), None)


def bounded_values(table: BaseModel, where: str) -> Iterator[tuple[str, Within, Any]]:
    """Yield the key, the bounds and the value of each quantity given in a table or in the tables below it."""
    for name, field in type(table).model_fields.items():
        value, key = getattr(table, name), field.alias or name
        if name not in table.model_fields_set or value is None:
            continue
        bounds = next((each for each in field.metadata if isinstance(each, Within)), None)
        bounds = bounds or bounds_in(field.annotation)
        if isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for number, part in enumerate(value, start=1):
                yield from bounded_values(part, f"{where} {key} {number}")
        elif bounds is not None and isinstance(value, Mapping):
            for code, each in value.items():
                yield f"{where} {key} {code}", bounds, each
        elif bounds is not None and isinstance(value, int | float | Fraction | YarnCount):
            yield f"{where} {key}", bounds, value


def odd_values(tables: Mapping[str, BaseModel]) -> tuple[Finding, ...]:
    """Return a warning for each given quantity that is unusual for a rug.

    Parameters
    ----------
    tables : mapping of str to Table
        By their names in the rug file.
    """
    found = []
    for table, values in tables.items():
        for key, bounds, value in bounded_values(values, f"[{table}]"):
            if not bounds.usual(value):
                what = later(
                    "{given} is unusual: rugs have {low} to {high} (an estimate). Is it a slip?",
                    given=bounds.words(bounds.number(value)),
                    low=bounds.words(bounds.low),
                    high=bounds.words(bounds.high),
                )
                found.append(Finding(what, key, "warning"))
    return tuple(found)
