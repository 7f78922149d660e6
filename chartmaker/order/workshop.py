"""How the workshop ties, warps, dyes and prints: the tables of the rug file that are kept beside the knot map."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from chartmaker.ground.language import say
from chartmaker.order.bounds import PILE_TEX, Within
from chartmaker.order.carve import Carve
from chartmaker.order.fields import (
    Count,
    LengthFromZeroMm,
    LengthMm,
    Line,
    MassFromZeroG,
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
from chartmaker.order.pattern import Pattern

Marks = Literal["colour", "symbol", "both"]
Reading = Literal["left to right", "right to left"]
Orientation = Literal["auto", "portrait", "landscape"]
PileYarn = Literal["weft", "warp"]


class Pile(Table):
    """[pile]: what goes into a knot.

    If `yarn` is left out, it is chosen by the density. `heights_mm` are cut heights of single yarns by code, where
    parts are tied lower or higher than the rest; `carved_mm` are finished heights of yarns that are tied like the rest
    and then carved down. `spread` is the share by which a measured length per knot may be off.
    """

    cut_mm: Annotated[LengthMm, Within("mm", 1, 3, 40, 80)] | None = Field(
        default=None,
        alias="cut",
        description="height of the tuft as the knife leaves it, before shearing, on a hand loom that of the rod; left "
        "out, estimated from [rug] pile",
    )
    loops: bool = Field(default=False, description="hand-loomed: the pile is left in loops, neither cut nor shorn")
    heights_mm: dict[Line, Annotated[LengthMm, Within("mm", 0.5, 2, 40, 80)]] = Field(
        default={},
        alias="heights",
        description="heights of single yarns, by code, as the knife leaves them or the tool tufts them, where parts "
        "are higher or lower than the rest; finished they are lower by what the shears take",
        examples=['{ "W-07" = "14 mm" }'],
    )
    carved_mm: dict[Line, Annotated[LengthMm, Within("mm", 0.5, 2, 40, 80)]] = Field(
        default={},
        alias="carved",
        description="finished heights, by code, of single yarns that are tied and cut like the rest and then carved "
        "down",
        examples=['{ "W-01" = "6 mm" }'],
    )
    yarn: Annotated[Count, PILE_TEX] | None = Field(
        default=None,
        description="count of the pile yarn; left out, chosen by the density; a count on the card comes first",
        examples=['"Nm 5 x2"'],
    )
    strands: Annotated[Whole, Field(ge=1, le=20), Within("number", 1, 1, 20, 20)] = Field(
        default=1, description="strands tied together"
    )
    waste: Annotated[Share, Within("share", 0, 0, 0.25, 0.6)] = Field(
        default=0.05,
        description="share of the issued yarn that is lost besides the cut: clipped ends and handling; what shearing "
        "takes off is already in the cut",
    )
    length_per_knot_mm: Annotated[LengthMm, Within("mm", 3, 12, 120, 250)] | None = Field(
        default=None,
        alias="length_per_knot",
        description="measured length of yarn in a knot as it is tied, before shearing; overrides the model",
        examples=['"42 mm"'],
    )
    grams_per_1000_knots: Annotated[Number, Field(gt=0), Within("number", 0.05, 0.5, 300, 2000)] | None = Field(
        default=None, description="mass of a thousand knots, weighed as they are tied; overrides the model"
    )
    grams_per_m2: Annotated[Number, Field(gt=0), Within("number", 20, 300, 8000, 30000)] | None = Field(
        default=None,
        description="weighed mass of the pile of a square metre as it is tied, before shearing; overrides the model",
    )
    spread: Annotated[Share, Within("share", 0, 0, 0.5, 0.9)] | None = Field(
        default=None, description="how far that measure may be off; left out, it follows from its source"
    )

    @model_validator(mode="after")
    def _one_measure(self) -> Pile:
        measures = (self.length_per_knot_mm, self.grams_per_1000_knots, self.grams_per_m2)
        if sum(measure is not None for measure in measures) > 1:
            keys = ("length_per_knot", "grams_per_1000_knots", "grams_per_m2")
            raise TableError(say("give one of length_per_knot, grams_per_1000_knots and grams_per_m2"), *keys)
        return self

    @property
    def measured(self) -> bool:
        """Whether what a knot takes was measured."""
        measures = (self.length_per_knot_mm, self.grams_per_1000_knots, self.grams_per_m2)
        return any(measure is not None for measure in measures)


class Loom(Table):
    """[loom]: warp and weft, the weavers and the working day.

    If `warp` or `weft` is left out, it is chosen by the density. `thin_picks` of the `picks` are of `thin_weft`, if
    there is one. `selvedge_ends` counts both edges together. `fringe_mm` is the warp left at each end, and `kilim_mm`
    the flat-woven band between the fringe and the knots; `loom_waste_mm` is what each warp end loses besides.
    `binding_mm` is the width of the overcast edge on each side. Shrinkage is measured from the loom to the finished
    rug, and is below zero where stretching gains more than washing takes.

    `section_mm` is the length woven between two issues of yarn.
    """

    weavers: Annotated[Whole, Field(ge=1, le=30), Within("number", 1, 1, 14, 30)] | None = Field(
        default=None, description="weavers who sit side by side; left out, one for each 90 cm of width"
    )
    warp: Annotated[Count, Within("tex", 5, 20, 3000, 20000)] | None = Field(
        default=None, description="count of the warp yarn; left out, chosen by the density", examples=['"Ne 10 x12"']
    )
    weft: Annotated[Count, Within("tex", 5, 20, 3000, 20000)] | None = Field(
        default=None, description="count of the weft yarn; left out, chosen by the density"
    )
    picks: Annotated[Whole, Field(ge=1, le=8), Within("number", 1, 1, 4, 8)] = Field(
        default=2, description="passes of weft after each row of knots"
    )
    thin_weft: Annotated[Count, Within("tex", 5, 10, 3000, 20000)] | None = Field(
        default=None, description="count of a thinner weft for some of the passes; left out, all passes are of `weft`"
    )
    thin_picks: Annotated[Whole, Field(ge=1, le=8)] | None = Field(
        default=None, description="how many of the `picks` are of the thin weft; left out, one if there is a thin weft"
    )
    outside_picks: Annotated[Whole, Field(ge=1, le=40)] | None = Field(
        default=None,
        description="passes of weft per row outside the outline, where there are no knots; left out, as many as fill a "
        "row",
    )
    take_up: Annotated[Share, Within("share", 0, 0, 0.3, 0.6)] = Field(
        default=0.125, description="share of extra weft that its waves round the warps take up"
    )
    selvedge_ends: Annotated[Whole, Field(ge=0, le=400), Within("number", 0, 0, 60, 400)] = Field(
        default=8, alias="selvedge", description="warp ends in the selvedges, both edges together"
    )
    binding_mm: Annotated[LengthFromZeroMm, Within("mm", 0, 0, 30, 100)] | None = Field(
        default=None,
        alias="binding",
        description="width of the overcast edge on each side; left out, 5 mm, and none on an outlined rug",
        examples=['"8 mm"'],
    )
    binding_yarn: Line | None = Field(
        default=None,
        description="code of the yarn that overcasts the sides; left out, the yarn tied most along them",
        examples=['"M-11"'],
    )
    kilim_mm: Annotated[LengthFromZeroMm, Within("mm", 0, 0, 300, 1000)] | None = Field(
        default=None,
        alias="kilim",
        description="flat-woven kilim at each end, beyond the knots; left out, 2 cm, and none on an outlined rug",
        examples=['"3 cm"'],
    )
    fringe_mm: Annotated[LengthFromZeroMm, Within("mm", 0, 0, 400, 1500)] | None = Field(
        default=None,
        alias="fringe",
        description="warp left at each end of the rug; left out, 10 cm, and none on an outlined rug",
        examples=['"12 cm"'],
    )
    loom_waste_mm: Annotated[LengthFromZeroMm, Within("mm", 0, 0, 1500, 5000)] = Field(
        default=Fraction(360), alias="loom_waste", description="length that each warp end loses on the loom besides"
    )
    shrinkage_across: Annotated[Shrinkage, Within("share", -0.5, -0.1, 0.2, 0.5)] = Field(
        default=0.0,
        description="share lost across from the loom to the finished rug; below 0 where the rug is stretched",
    )
    shrinkage_along: Annotated[Shrinkage, Within("share", -0.5, -0.1, 0.2, 0.5)] = Field(
        default=0.0,
        description="share lost along from the loom to the finished rug; below 0 where the rug is stretched",
    )
    backing_margin_mm: Annotated[LengthFromZeroMm, Within("mm", 0, 0, 500, 2000)] = Field(
        default=Fraction(150), alias="backing_margin", description="tufted: cloth beyond the rug on each side"
    )
    cloth_per_m2_g: Annotated[MassG, Within("g", 10, 80, 900, 3000)] = Field(
        default=Fraction(300), alias="cloth_per_m2", description="tufted: mass of a square metre of backing cloth"
    )
    latex_per_m2_g: Annotated[MassG, Within("g", 10, 300, 3000, 8000)] = Field(
        default=Fraction(1200), alias="latex_per_m2", description="tufted: dry mass of the latex on a square metre"
    )
    second_backing_per_m2_g: Annotated[MassFromZeroG, Within("g", 0, 0, 1500, 5000)] = Field(
        default=Fraction(500),
        alias="second_backing_per_m2",
        description="tufted: mass of a square metre of the cloth that is glued on behind",
    )
    knots_per_weaver_day: Annotated[Whole, Field(ge=1, le=86_400)] = Field(
        default=6000, description="knots that a weaver ties in a day, averaged over a month and not at the peak"
    )
    reed: Annotated[Number, Field(gt=0), Within("number", 2, 4, 40, 120)] = Field(
        default=10.0, description="hand-loomed: the reed, by its warp ends on two inches"
    )
    pile_yarn: PileYarn = Field(
        default="weft",
        description="hand-loomed: whether the pile is laid in with the weft, one yarn a rod, or runs with the warp",
    )
    days: Annotated[Number, Field(gt=0), Within("number", 0.1, 0.5, 400, 4000)] | None = Field(
        default=None, description="hand-loomed: working days that the rug takes; no source gives a rate"
    )
    hours_per_day: Annotated[Number, Field(gt=0, le=24), Within("number", 0.5, 3, 12, 24)] = Field(
        default=8.0, description="hours of a working day"
    )
    working_days_per_month: Annotated[Number, Field(gt=0, le=31), Within("number", 1, 8, 27, 31)] = Field(
        default=25.0, description="working days of a month"
    )
    section_mm: Annotated[LengthMm, Within("mm", 1, 20, 1500, 5000)] = Field(
        default=Fraction(250), alias="section", description="length woven on the loom between two issues of yarn"
    )
    weigh_g: Annotated[MassG, Within("g", 0.01, 0.5, 250, 5000)] = Field(
        default=Fraction(5), alias="weigh", description="step in which bundles of yarn are weighed out"
    )
    issue_margin: Annotated[Share, Within("share", 0, 0, 0.4, 0.9)] = Field(
        default=0.10, description="share of yarn handed out beyond the need"
    )

    @model_validator(mode="before")
    @classmethod
    def _older_name(cls, table: Any) -> Any:
        """Accept `stretch`, the name that rug files and maps of earlier versions have for the section."""
        if isinstance(table, dict) and "stretch" in table and "section" not in table:
            return {"section" if key == "stretch" else key: value for key, value in table.items()}
        return table

    @model_validator(mode="after")
    def _thin_passes(self) -> Loom:
        if self.thin_picks is not None and self.thin_weft is None:
            raise TableError(say("thin_picks needs the count of thin_weft"), "thin_picks", "thin_weft")
        if self.thin_weft is not None and (self.thin_picks or 1) > self.picks:
            message = say("more passes of thin weft than passes in all; picks counts all of them")
            raise TableError(message, "thin_picks", "thin_weft", "picks")
        return self


class Vessel(Table):
    """A dye pot or machine: the dry yarn that it holds, the least that it dyes evenly, and its liquor ratio."""

    name: Line = Field(description="what the vessel is called")
    holds_g: Annotated[MassG, Within("g", 10, 100, 500000, 5000000)] = Field(
        alias="holds", description="dry yarn that it holds"
    )
    least_g: Annotated[MassG, Within("g", 1, 20, 200000, 5000000)] | None = Field(
        default=None, alias="least", description="smallest amount of dry yarn that it dyes evenly"
    )
    liquor_ratio: Annotated[Number, Field(ge=1, le=200), Within("number", 1, 3, 80, 200)] = Field(
        default=40.0, description="litres of liquor per kilogram of yarn"
    )

    @model_validator(mode="after")
    def _holds_its_least(self) -> Vessel:
        if self.least_g is not None and self.least_g > self.holds_g:
            raise TableError(say("least is more than holds"))
        return self


class Dye(Table):
    """[dye]: the dye order. Yarns whose codes are in `undyed` are not dyed but bought as they are."""

    allowance: Annotated[Share, Within("share", 0, 0, 0.4, 0.9)] = Field(
        default=0.10, description="share dyed beyond the need"
    )
    hank_g: Annotated[MassG, Within("g", 5, 20, 2500, 50000)] = Field(
        default=Fraction(500), alias="hank", description="mass of a hank; orders are rounded up to whole hanks"
    )
    vessels: Annotated[tuple[Vessel, ...], Field(max_length=20)] = Field(
        default=(),
        description="dye pots and machines; left out, one open pot for each lot",
        examples=['[{ name = "pot", holds = "3 kg", liquor_ratio = 40 }]'],
    )
    undyed: tuple[Line, ...] = Field(default=(), description="codes of yarns that are bought as they are")

    @model_validator(mode="after")
    def _hank_fits(self) -> Dye:
        if self.vessels and self.hank_g > max(vessel.holds_g for vessel in self.vessels):
            message = say("none of the vessels holds one hank; give a smaller hank or a larger vessel")
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
    latex_per_kg: Price | None = Field(default=None, description="tufted: price of latex, by its dry mass")
    second_backing_per_m2: Price | None = Field(
        default=None, description="tufted: price of the cloth that is glued on behind"
    )
    dyeing_per_kg: Price | None = Field(default=None, description="price of dyeing")
    weaving_per_1000_knots: Price | None = Field(default=None, description="wage for a thousand knots")
    weaving_per_day: Price | None = Field(
        default=None, description="wage of one weaver for a day, instead of the wage by knots"
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

    `square_cells` prints squares instead of the knots' true proportion, `whole` prints all of a symmetric rug, and
    `counts` prints the number of knots in runs of five or more, between symbols at both ends.
    """

    paper: Line = Field(default="A4", description="A0 to A5, Letter, Legal, Tabloid, or rolls of 24, 36 and 42 inch")
    orientation: Orientation = Field(
        default="auto", description="how the paper lies; auto keeps the chart's strips whole where it can"
    )
    cell_mm: Annotated[LengthMm, Within("mm", 0.1, 0.8, 20, 100)] = Field(
        default=Fraction(3), alias="cell", description="width of a knot's cell; its height follows the knot"
    )
    strips: Strips | None = Field(
        default=None,
        description="strips side by side: a number, or the columns at which they begin; left out, one for each weaver",
        examples=["3"],
    )
    marks: Marks = Field(default="both", description="what a cell shows")
    reading: Reading = Field(default="left to right", description="the direction in which the weavers read a row")
    bold_every: Annotated[Whole, Field(ge=2, le=100)] = Field(
        default=10, description="a heavier line after this many knots"
    )
    square_cells: bool = Field(
        default=False, alias="square", description="print squares instead of the knots' true proportion"
    )
    whole: bool = Field(default=False, description="print all of a symmetric rug, not only its half or quarter")
    counts: bool = Field(default=False, description="runs of five or more knots show their count between two symbols")
    font: PathText | None = Field(
        default=None, description="a font file, for names in letters that the built-in font lacks"
    )


class Workshop(Table):
    """All the tables that say how the workshop makes the rug."""

    pile: Pile = Pile()
    loom: Loom = Loom()
    dye: Dye = Dye()
    cost: Cost = Cost()
    chart: Chart = Chart()
    pattern: Pattern = Pattern()
    carve: Carve = Carve()
