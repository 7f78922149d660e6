"""How the workshop ties, strings, dyes and prints: the rug file's tables that stand beside the knot map."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field, model_validator

from chartmaker.ground.language import say
from chartmaker.order.fields import (
    Count,
    LengthFromZeroMm,
    LengthMm,
    Line,
    MassG,
    Number,
    PathText,
    Share,
    Shrinkage,
    Strips,
    Table,
    TableError,
    Whole,
)

Marks = Literal["colour", "symbol", "both"]
Reading = Literal["left to right", "right to left"]
Orientation = Literal["portrait", "landscape"]


class Pile(Table):
    """[pile]: what goes into a knot.

    A `yarn` left out is chosen by the density. `heights_mm` are cut heights of single yarns by code, where
    the pile is carved or raised. `spread` is how far a measured length per knot may be off, as a share.
    """

    cut_mm: LengthMm | None = Field(
        default=None,
        alias="cut",
        description="height of the tuft as the knife leaves it; left out, it follows from [rug] pile",
    )
    heights_mm: dict[Line, LengthMm] = Field(
        default={},
        alias="heights",
        description="cut heights of single yarns by code, where parts are carved or raised",
        examples=['{ "W-07" = "14 mm" }'],
    )
    yarn: Count | None = Field(
        default=None,
        description="count of the pile yarn; left out, chosen by the density; a count on the card comes first",
        examples=['"Nm 5 x2"'],
    )
    strands: Annotated[Whole, Field(ge=1, le=20)] = Field(default=1, description="strands tied together")
    waste: Share = Field(default=0.15, description="share lost in clipping and shearing")
    length_per_knot_mm: LengthMm | None = Field(
        default=None,
        alias="length_per_knot",
        description="measured length of yarn in a knot; overrides the model",
        examples=['"42 mm"'],
    )
    grams_per_1000_knots: Annotated[Number, Field(gt=0, le=100_000)] | None = Field(
        default=None, description="weighed mass of a thousand knots; overrides the model"
    )
    spread: Share | None = Field(default=None, description="how far that measure may be off; left out, by its source")

    @model_validator(mode="after")
    def _one_measure(self) -> Pile:
        if self.length_per_knot_mm is not None and self.grams_per_1000_knots is not None:
            keys = ("length_per_knot", "grams_per_1000_knots")
            raise TableError(say("give either length_per_knot or grams_per_1000_knots"), *keys)
        return self


class Loom(Table):
    """[loom]: warp and weft, the weavers and the working day.

    `warp` or `weft` left out are chosen by the density. `selvedge_ends` are those of both edges together,
    `fringe_mm` is the warp left at each end, `loom_waste_mm` what each warp end loses besides. Shrinkage is
    from the loom to the finished rug, below zero where stretching gains more than washing takes.
    `stretch_mm` is the length woven between two issues of yarn.
    """

    weavers: Annotated[Whole, Field(ge=1, le=30)] | None = Field(
        default=None, description="weavers side by side; left out, one for each 90 cm of width"
    )
    warp: Count | None = Field(
        default=None, description="count of the warp yarn; left out, chosen by the density", examples=['"Ne 10 x12"']
    )
    weft: Count | None = Field(default=None, description="count of the weft yarn; left out, chosen by the density")
    picks: Annotated[Whole, Field(ge=1, le=8)] = Field(default=2, description="passes of weft after each row of knots")
    take_up: Share = Field(default=0.125, description="weft taken up by its waves")
    selvedge_ends: Annotated[Whole, Field(ge=0, le=400)] = Field(
        default=8, alias="selvedge", description="warp ends of the selvedge, both edges together"
    )
    fringe_mm: LengthFromZeroMm = Field(
        default=Fraction(100), alias="fringe", description="warp left at each end of the rug"
    )
    loom_waste_mm: LengthFromZeroMm = Field(
        default=Fraction(400), alias="loom_waste", description="warp lost on each end besides"
    )
    shrinkage_across: Shrinkage = Field(
        default=0.0, description="from the loom to the finished rug, across; below 0 where it stretches"
    )
    shrinkage_along: Shrinkage = Field(
        default=0.0, description="from the loom to the finished rug, along; below 0 where it stretches"
    )
    backing_margin_mm: LengthFromZeroMm = Field(
        default=Fraction(150), alias="backing_margin", description="tufted: cloth beyond the rug on each side"
    )
    knots_per_weaver_day: Annotated[Whole, Field(ge=1, le=86_400)] = Field(
        default=6000, description="knots that a weaver ties in a day, over a month, not at the peak"
    )
    hours_per_day: Annotated[Number, Field(gt=0, le=24)] = Field(default=8.0, description="hours of a working day")
    working_days_per_month: Annotated[Number, Field(gt=0, le=31)] = Field(
        default=25.0, description="working days of a month"
    )
    stretch_mm: LengthMm = Field(
        default=Fraction(250), alias="stretch", description="length woven between two issues of yarn"
    )


class Vessel(Table):
    """A dye pot or machine: the dry yarn that it holds, the least that it dyes evenly, litres of liquor a kilogram."""

    name: Line = Field(description="what the vessel is called")
    holds_g: MassG = Field(alias="holds", description="dry yarn that it holds")
    least_g: MassG | None = Field(default=None, alias="least", description="least dry yarn that it dyes evenly")
    liquor_ratio: Annotated[Number, Field(ge=1, le=200)] = Field(
        default=40.0, description="litres of liquor for a kilogram of yarn"
    )

    @model_validator(mode="after")
    def _holds_its_least(self) -> Vessel:
        if self.least_g is not None and self.least_g > self.holds_g:
            raise TableError(say("least is more than holds"))
        return self


class Dye(Table):
    """[dye]: the dye order. Yarns whose codes are in `undyed` are bought as they are."""

    allowance: Share = Field(default=0.10, description="share dyed beyond the need")
    hank_g: MassG = Field(
        default=Fraction(500), alias="hank", description="mass of a hank; orders go up to whole hanks"
    )
    vessels: tuple[Vessel, ...] = Field(
        default=(),
        description="dye pots and machines; left out, one open pot for each lot",
        examples=['[{ name = "pot", holds = "3 kg", liquor_ratio = 40 }]'],
    )
    undyed: tuple[Line, ...] = Field(default=(), description="codes of yarns that are bought as they are")

    @model_validator(mode="after")
    def _hank_fits(self) -> Dye:
        if self.vessels and self.hank_g > max(vessel.holds_g for vessel in self.vessels):
            message = say("no vessel of vessels holds one hank; give a smaller hank or a larger vessel")
            raise TableError(message, "hank", "vessels")
        if len({vessel.name for vessel in self.vessels}) != len(self.vessels):
            raise TableError(say("two vessels have the same name"), "vessels")
        return self


Price = Annotated[Number, Field(ge=0, le=1e12)]


class Cost(Table):
    """[cost]: prices, all in `currency`. A yarn's own price on the card comes before `pile_per_kg`."""

    currency: Annotated[Line, Field(max_length=8)] = Field(default="", description="currency of all prices")
    pile_per_kg: Price | None = Field(default=None, description="price of pile yarn; a price on the card comes first")
    warp_per_kg: Price | None = Field(default=None, description="price of warp yarn")
    weft_per_kg: Price | None = Field(default=None, description="price of weft yarn")
    backing_per_m2: Price | None = Field(default=None, description="tufted: price of backing cloth")
    dyeing_per_kg: Price | None = Field(default=None, description="price of dyeing")
    weaving_per_1000_knots: Price | None = Field(default=None, description="wage for a thousand knots")
    weaving_per_day: Price | None = Field(
        default=None, description="wage of one weaver for a day, in place of the wage by knots"
    )
    finishing_per_m2: Price | None = Field(default=None, description="price of washing, shearing and finishing")

    @model_validator(mode="after")
    def _one_wage(self) -> Cost:
        if self.weaving_per_1000_knots is not None and self.weaving_per_day is not None:
            keys = ("weaving_per_1000_knots", "weaving_per_day")
            raise TableError(say("give either weaving_per_1000_knots or weaving_per_day (of one weaver)"), *keys)
        return self


class Chart(Table):
    """[chart]: the printed sheets.

    `square_cells` prints squares instead of the knots' true proportion, `whole` the whole of a symmetric rug,
    `counts` the number of knots in runs of five or more in place of their symbols.
    """

    paper: Line = Field(default="A4", description="A0 to A5, Letter, Legal, Tabloid, or rolls of 24, 36 and 42 inch")
    orientation: Orientation = Field(default="portrait", description="how the paper lies")
    cell_mm: LengthMm = Field(
        default=Fraction(3), alias="cell", description="width of a knot's cell; its height follows the knot"
    )
    strips: Strips | None = Field(
        default=None,
        description="strips side by side: a number, or the columns at which each begins; left out, one a weaver",
        examples=["3"],
    )
    marks: Marks = Field(default="both", description="what a cell shows")
    reading: Reading = Field(default="left to right", description="the way the weavers read a row")
    bold_every: Annotated[Whole, Field(ge=2, le=100)] = Field(
        default=10, description="heavier lines every so many knots"
    )
    square_cells: bool = Field(
        default=False, alias="square", description="print squares in place of the knots' true proportion"
    )
    whole: bool = Field(default=False, description="print all of a symmetric rug, not only its half or quarter")
    counts: bool = Field(default=False, description="runs of five or more knots show their count")
    font: PathText | None = Field(
        default=None, description="a font file, for names in letters that the built-in font lacks"
    )


class Workshop(Table):
    """The five tables together."""

    pile: Pile = Pile()
    loom: Loom = Loom()
    dye: Dye = Dye()
    cost: Cost = Cost()
    chart: Chart = Chart()
