"""The rug file's table for the carver: between which yarns grooves are cut, how deep, how wide, and when."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, model_validator

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.order.bounds import Within
from chartmaker.order.fields import LengthMm, Line, Table, TableError

Profile = Literal["vee", "bevel"]
CarvedWhen = Literal["before washing", "after washing"]

_CODE = r"[A-Z0-9-]{1,6}"
_BETWEEN = re.compile(rf"({_CODE}) *\| *({_CODE})")
_ROUND = re.compile(rf"round +({_CODE})")


def groove_codes(text: str) -> tuple[str, str | None]:
    """Return the codes of a groove: of the two yarns that it runs between, or of the one that it runs round and None.

    Raises
    ------
    ValueError
        If it is neither.
    """
    between, around = _BETWEEN.fullmatch(text.strip()), _ROUND.fullmatch(text.strip())
    if between is not None and between[1] != between[2]:
        return between[1], between[2]
    if around is not None:
        return around[1], None
    raise ValueError(say('{given!r} is no groove; write "I-31 | W-07" or "round M-14"', given=text))


def _groove(text: str) -> str:
    one, other = groove_codes(text)
    return f"round {one}" if other is None else f"{one} | {other}"


Groove = Annotated[Line, AfterValidator(_groove)]


class Carve(Table):
    """[carve]: what is cut into the finished pile.

    Fields that are cut down as a whole are given in [pile] carved. `depth_mm` and `width_mm` are those of a groove,
    from the pile's surface down and from edge to edge.
    """

    grooves: Annotated[tuple[Groove, ...], Field(max_length=40)] = Field(
        default=(),
        description="where grooves are cut: between two yarns, or round one",
        examples=['["I-31 | W-07", "round M-14"]'],
    )
    depth_mm: Annotated[LengthMm, Within("mm", 0.5, 1, 15, 40)] | None = Field(
        default=None, alias="depth", description="depth of a groove; needed with grooves, cut a test square to find it"
    )
    width_mm: Annotated[LengthMm, Within("mm", 0.5, 1, 15, 60)] | None = Field(
        default=None, alias="width", description="width of a groove at the surface; needed with grooves"
    )
    profile: Profile = Field(
        default="vee",
        description="vee: both sides slope; bevel: the yarn named first stands upright, what lies beside it slopes",
    )
    when: CarvedWhen | None = Field(default=None, description="when the rug is carved; left out, the guide asks")
    relief: bool = Field(default=True, description="light on the proof from one side, where heights differ")

    @model_validator(mode="after")
    def _once(self) -> Carve:
        if len(set(self.grooves)) != len(self.grooves):
            raise TableError(say("a groove is given twice"), "grooves")
        return self

    def check(self) -> None:
        """Refuse grooves of which nobody has said how deep and how wide they are.

        Raises
        ------
        RugError
        """
        missing = [key for key, value in (("depth", self.depth_mm), ("width", self.width_mm)) if value is None]
        if self.grooves and missing:
            message = say(
                "grooves need depth and width; there is no default to be trusted: cut a test square in a sample of "
                "this pile, measure it, write down what you like"
            )
            raise RugError(message, where=f"[carve] {missing[0]}")

    @property
    def asked(self) -> bool:
        """Whether a carver's guide is asked for: the table says anything but how the proof is lit."""
        return bool(self.model_fields_set - {"relief"})


def codes_in(grooves: tuple[Any, ...]) -> tuple[str, ...]:
    """Return the codes of all yarns that grooves name."""
    return tuple(code for groove in grooves for code in groove_codes(groove) if code is not None)
