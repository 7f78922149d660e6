"""What is said of a size that does not come out: the nearest that do, and what each part would have to give in it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from chartmaker.ground.language import say, say_n
from chartmaker.ground.lengths import cm_words
from chartmaker.order.density import Density
from chartmaker.relay.counting import MOST_GIVEN, Demand, count_of, lacking
from chartmaker.relay.fields import LEAST_FIELD_KNOTS
from chartmaker.relay.planning import Plan, Unmet


def unmet_words(unmet: Unmet, density: Density) -> str:
    """Return which sizes near the ordered one come out, and what each part would have to give in the ordered one."""
    knot_mm = density.knot_width_mm if unmet.across else density.knot_height_mm
    which = say("width") if unmet.across else say("length")
    wanted = cm_words(unmet.wanted * knot_mm)
    sizes = say(" or ").join(_size_words(each.knots, knot_mm) for each in unmet.nearest)
    if sizes:
        first = say(
            "a {which} of {wanted} does not let every repeat come out whole within the tolerance; the nearest that "
            "does is {nearest}: order that, or give a larger [layout] tolerance.",
            which=which,
            wanted=wanted,
            nearest=sizes,
        )
    else:
        first = say(
            "no {which} near {wanted} lets every repeat come out whole; let borders be pulled with fit = 'stretch', or "
            "say other [layout] borders.",
            which=which,
            wanted=wanted,
        )
    gives = "; ".join(dict.fromkeys(_gives(unmet)))
    return " ".join((first, say("For {wanted}: {gives}.", wanted=wanted, gives=gives))) if gives else first


def no_room_words(plan: Plan, roomy: Plan | None, density: Density) -> str:
    """Return why a size is refused in which all repeats come out, and the nearest in which all parts have room."""
    first = (
        say("the borders leave no field in this size")
        if min(plan.field) < LEAST_FIELD_KNOTS
        else say("the pieces of the field meet in this size: its medallion, corners or pendants have no room")
    )
    if roomy is None:
        return say(
            "{why}; order a larger size, or let the whole field be pulled with [layout] field = 'scale'", why=first
        )
    return say(
        "{why}; the nearest that has room for all is {width} x {length}: order that, or let the whole field be pulled "
        "with [layout] field = 'scale'",
        why=first,
        width=_size_words(roomy.columns, density.knot_width_mm),
        length=_size_words(roomy.rows, density.knot_height_mm),
    )


def _size_words(knots: int, knot_mm: Fraction) -> str:
    return cm_words(knots * knot_mm)


def _gives(unmet: Unmet) -> Iterator[str]:
    """Yield what each part would have to give in the ordered size, and which border could."""
    for demand in unmet.demands:
        yield _give(unmet.wanted - demand.taken, demand)
    if unmet.off_middle:
        yield say("the field is a knot too wide or too narrow to keep its middle")
    if unmet.wider is None:
        return
    if unmet.wider.knots > 0:
        yield say(
            "band {number} a knot wider lets all come out ([layout] give, 'borders')", number=unmet.wider.band + 1
        )
    else:
        yield say(
            "band {number} a knot narrower lets all come out ([layout] give, 'borders')", number=unmet.wider.band + 1
        )


def _give(length: int, demand: Demand) -> str:
    """Return what a side of so many knots would have to give."""
    name, count = demand.name, count_of(length, demand)
    if count is not None and count.way == "exact":
        return say_n("{name} has {n} repeat as drawn", "{name} has {n} repeats as drawn", count.times, name=name)
    if count is not None and count.way == "ground":
        return (
            say_n(
                "{name} gives {n} knot of ground between motifs",
                "{name} gives {n} knots of ground between motifs",
                abs(count.spare),
                name=name,
            )
            if count.spare < 0
            else say_n(
                "{name} takes {n} knot more ground between motifs",
                "{name} takes {n} knots more ground between motifs",
                count.spare,
                name=name,
            )
        )
    lacks = lacking(length, demand)
    if lacks is None:
        return say("{name} has no room for its repeat of {knots} knots", name=name, knots=demand.period)
    times, spare = lacks
    share = 100 * spare / (times * demand.period)
    if count is not None:
        return say_n(
            "{name} pulls {n} repeat by {share:+.1f} %",
            "{name} pulls {n} repeats by {share:+.1f} %",
            times,
            name=name,
            share=share,
        )
    return say_n(
        "{name} would pull {n} repeat by {share:+.1f} %, where {most:.0f} % may be",
        "{name} would pull {n} repeats by {share:+.1f} %, where {most:.0f} % may be",
        times,
        name=name,
        share=share,
        most=100 * MOST_GIVEN,
    )
