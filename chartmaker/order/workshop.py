"""How the workshop ties, strings, dyes, prints: the rug file's tables that follow the knot map about."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field, model_validator

from chartmaker.order.fields import Count, LengthFromZeroMm, LengthMm, Line, MassG, PathText, Share, Shrinkage, Table

Marks = Literal["colour", "symbol", "both"]
Reading = Literal["left to right", "right to left"]
Orientation = Literal["portrait", "landscape"]


class Pile(Table):
    """[pile]: what goes into a knot.

    A `yarn` left out is chosen by the density. `heights_mm` are cut heights of single yarns by code, where
    the pile is carved or raised. `spread` is how far a measured length per knot may be off, as a share.
    """

    cut_mm: LengthMm | None = Field(default=None, alias="cut")
    heights_mm: dict[Line, LengthMm] = Field(default={}, alias="heights")
    yarn: Count | None = None
    strands: Annotated[int, Field(ge=1, le=20)] = 1
    waste: Share = 0.15
    length_per_knot_mm: LengthMm | None = Field(default=None, alias="length_per_knot")
    grams_per_1000_knots: Annotated[float, Field(gt=0, le=100_000)] | None = None
    spread: Share | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Pile:
        if self.length_per_knot_mm is not None and self.grams_per_1000_knots is not None:
            raise ValueError("give either length_per_knot or grams_per_1000_knots")
        return self


class Loom(Table):
    """[loom]: warp, weft, the weavers, the working day.

    `warp` or `weft` left out are chosen by the density. `selvedge_ends` are those of both edges together,
    `fringe_mm` is the warp left at each end, `loom_waste_mm` what each warp end loses besides. Shrinkage is
    from the loom to the finished rug, below zero where stretching gains more than washing takes.
    `stretch_mm` is the length woven between two issues of yarn.
    """

    weavers: Annotated[int, Field(ge=1, le=30)] | None = None
    warp: Count | None = None
    weft: Count | None = None
    picks: Annotated[int, Field(ge=1, le=8)] = 2
    take_up: Share = 0.125
    selvedge_ends: Annotated[int, Field(ge=0, le=400)] = Field(default=8, alias="selvedge")
    fringe_mm: LengthFromZeroMm = Field(default=Fraction(100), alias="fringe")
    loom_waste_mm: LengthFromZeroMm = Field(default=Fraction(400), alias="loom_waste")
    shrinkage_across: Shrinkage = 0.0
    shrinkage_along: Shrinkage = 0.0
    backing_margin_mm: LengthFromZeroMm = Field(default=Fraction(150), alias="backing_margin")
    knots_per_weaver_day: Annotated[int, Field(ge=1, le=86_400)] = 6000
    hours_per_day: Annotated[float, Field(gt=0, le=24)] = 8.0
    working_days_per_month: Annotated[float, Field(gt=0, le=31)] = 25.0
    stretch_mm: LengthMm = Field(default=Fraction(250), alias="stretch")


class Vessel(Table):
    """A dye pot or machine: the dry yarn that it holds, the least that it dyes evenly, litres of liquor a kilogram."""

    name: Line
    holds_g: MassG = Field(alias="holds")
    least_g: MassG | None = Field(default=None, alias="least")
    liquor_ratio: Annotated[float, Field(ge=1, le=200)] = 40.0

    @model_validator(mode="after")
    def _holds_its_least(self) -> Vessel:
        if self.least_g is not None and self.least_g > self.holds_g:
            raise ValueError("least is more than holds")
        return self


class Dye(Table):
    """[dye]: the dye order. Yarns whose codes are in `undyed` are bought as they are."""

    allowance: Share = 0.10
    hank_g: MassG = Field(default=Fraction(500), alias="hank")
    vessels: tuple[Vessel, ...] = ()
    undyed: tuple[Line, ...] = ()

    @model_validator(mode="after")
    def _hank_fits(self) -> Dye:
        if self.vessels and self.hank_g > max(vessel.holds_g for vessel in self.vessels):
            raise ValueError("no vessel of vessels holds one hank; give a smaller hank or a larger vessel")
        if len({vessel.name for vessel in self.vessels}) != len(self.vessels):
            raise ValueError("two vessels have the same name")
        return self


Price = Annotated[float, Field(ge=0, le=1e12)]


class Cost(Table):
    """[cost]: prices, all in `currency`. A yarn's own price on the card comes before `pile_per_kg`."""

    currency: Annotated[Line, Field(max_length=8)] = ""
    pile_per_kg: Price | None = None
    warp_per_kg: Price | None = None
    weft_per_kg: Price | None = None
    backing_per_m2: Price | None = None
    dyeing_per_kg: Price | None = None
    weaving_per_1000_knots: Price | None = None
    weaving_per_day: Price | None = None
    finishing_per_m2: Price | None = None

    @model_validator(mode="after")
    def _one_wage(self) -> Cost:
        if self.weaving_per_1000_knots is not None and self.weaving_per_day is not None:
            raise ValueError("give either weaving_per_1000_knots or weaving_per_day (of one weaver)")
        return self


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
    font: PathText | None = None


class Workshop(Table):
    """The five tables together."""

    pile: Pile = Pile()
    loom: Loom = Loom()
    dye: Dye = Dye()
    cost: Cost = Cost()
    chart: Chart = Chart()
