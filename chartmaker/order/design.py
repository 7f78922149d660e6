"""What the rug file asks of the conversion in its tables [design], [yarns]."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from chartmaker.order.fields import Line, PathText, Table

Style = Literal["auto", "flat", "shaded"]
Fit = Literal["stretch", "crop", "pad"]
Mirror = Literal["none", "across", "along", "both"]


class Design(Table):
    """[design]: the artwork, with how to read it.

    `turn` rotates the artwork clockwise by that many degrees before anything else. `tidy` is the largest island of
    knots, in knots, that counts as a speck. `stipple` mixes shades knot by knot in shaded
    artwork, from calm (0, long runs of one yarn) to fine (1); left out, each knot takes the yarn nearest its own
    colour.
    """

    artwork: PathText | None = None
    style: Style = "auto"
    fit: Fit | None = None
    mirror: Mirror = "none"
    turn: Literal[0, 90, 180, 270] = 0
    tidy: Annotated[int, Field(ge=0, le=50)] = 1
    lines: bool = True
    stipple: Annotated[float, Field(ge=0, le=1)] | None = None


class YarnChoice(Table):
    """[yarns]: the card, how many of its yarns to use, which to keep in and which to leave out."""

    card: PathText | None = None
    colours: Annotated[int, Field(ge=1, le=250)] | None = None
    keep: tuple[Line, ...] = ()
    skip: tuple[Line, ...] = ()
