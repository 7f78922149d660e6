"""How the workshop ties, strings, dyes and prints: the rug file's tables that follow the knot map about."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field

from chartmaker.fields import Count, LengthMm, Line, MassG, Share, Table
from chartmaker.units import parse_yarn_count

Marks = Literal["colour", "symbol", "both"]
Reading = Literal["left to right", "right to left"]
Orientation = Literal["portrait", "landscape"]


class Pile(Table):
    """[pile]: what goes into a knot."""

    cut_mm: LengthMm | None = Field(default=None, alias="cut")
    yarn: Count = parse_yarn_count("Nm 5 x2")
    strands: Annotated[int, Field(ge=1, le=20)] = 1
    waste: Share = 0.15
    length_per_knot_mm: LengthMm | None = Field(default=None, alias="length_per_knot")
    grams_per_1000_knots: Annotated[float, Field(gt=0, le=100_000)] | None = None


class Loom(Table):
    """[loom]: warp, weft, the weavers."""

    weavers: Annotated[int, Field(ge=1, le=30)] | None = None
    warp: Count = parse_yarn_count("Ne 10 x9")
    weft: Count = parse_yarn_count("Ne 10 x6")
    picks: Annotated[int, Field(ge=1, le=8)] = 2
    selvedge_ends: Annotated[int, Field(ge=0, le=400)] = Field(default=8, alias="selvedge")
    knots_per_weaver_day: Annotated[int, Field(ge=1, le=86_400)] = 6000


class Dye(Table):
    """[dye]: the dye order."""

    allowance: Share = 0.10
    hank_g: MassG = Field(default=Fraction(500), alias="hank")


class Chart(Table):
    """[chart]: the printed sheets.

    `square_cells` prints squares instead of the knots' true proportion, `whole` the whole of a symmetric rug,
    `counts` the number of knots in runs of five or more in place of their symbols.
    """

    paper: Line = "A4"
    orientation: Orientation = "portrait"
    cell_mm: LengthMm = Field(default=Fraction(3), alias="cell")
    strips: Annotated[int, Field(ge=1, le=60)] | tuple[Annotated[int, Field(ge=1)], ...] | None = None
    marks: Marks = "both"
    reading: Reading = "left to right"
    bold_every: Annotated[int, Field(ge=2, le=100)] = 10
    square_cells: bool = Field(default=False, alias="square")
    whole: bool = False
    counts: bool = False
    font: Line | None = None


class Workshop(Table):
    """The four tables together."""

    pile: Pile = Pile()
    loom: Loom = Loom()
    dye: Dye = Dye()
    chart: Chart = Chart()
