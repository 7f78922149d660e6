"""The figures as plain tables of words, for the terminal and for paper."""

from __future__ import annotations

from collections.abc import Sequence

from chartmaker.figures.calibration import Calibration
from chartmaker.figures.cost import CostFigures, CostPart
from chartmaker.figures.labour import LABOUR_LAW, Labour, Section
from chartmaker.figures.pile import PileFigures, YarnPile
from chartmaker.figures.reckoning import Figures, Remaining
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import joined, phrase, say, told, told_n
from chartmaker.ground.measures import Measures, Units, between, measures_of
from chartmaker.ground.ranges import Range
from chartmaker.ground.rounding import adding_up, percents
from chartmaker.ground.sentence import told_words
from chartmaker.order.rug import Rug
from chartmaker.reports.dyetables import buy_table, dye_table
from chartmaker.reports.figuretable import FigureTable, pairs
from chartmaker.reports.issuetables import step_of
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.foundation import Foundation

#: So many stretches of slow sections are named by their rows; the sections of further ones are counted.
MOST_SLOW = 12


def pile_table(pile: PileFigures, measures: Measures, title: str = phrase("Pile yarn")) -> FigureTable:
    """Return the knots, the share, the metres and the mass of every yarn; each column adds up to its total."""
    length, mass = measures.yarn_length, measures.yarn_mass
    lines = pile.yarns
    shares = percents([line.knots for line in lines])
    columns = zip(
        length.column([line.net_length_m.best for line in lines]),
        mass.column([line.net_mass_g.best for line in lines]),
        length.column([line.length_m.best for line in lines]),
        mass.column([line.mass_g.best for line in lines]),
        mass.column([line.mass_g.low for line in lines]),
        mass.column([line.mass_g.high for line in lines]),
        strict=True,
    )
    heights = _heights_of(pile, measures)
    rows = tuple(
        (
            line.yarn.code,
            line.yarn.name,
            f"{line.knots:,}",
            f"{shares[i]:.2f}",
            _yarn_words(line),
            *heights[i],
            measures.pile.bare(line.length_per_knot_mm.best),
            *each,
        )
        for i, (line, each) in enumerate(zip(lines, columns, strict=True))
    )
    total = (
        "",
        say("in all"),
        f"{pile.knots:,}",
        "100.00" if pile.knots else "0.00",
        "",
        *([""] * len(heights[0])),
        "",
    )
    sums = (pile.net_length_m.best, pile.net_mass_g.best, pile.length_m.best, *_best_low_high(pile.mass_g))
    units = (length, mass, length, mass, mass, mass)
    header = _pile_header(pile, measures)
    return FigureTable(
        say(title),
        header,
        rows,
        right=(2, 3, *range(5, len(header))),
        total=(*total, *(unit.bare(value) for unit, value in zip(units, sums, strict=True))),
        notes=tuple(
            told(
                "{length} of {code} overcast the sides; the net metres include them.",
                length=length.text(line.binding_m),
                code=line.yarn.code,
            )
            for line in lines
            if line.binding_m
        ),
        yarns=tuple(line.yarn for line in lines),
        key="pile",
        fields=(
            *("code", "name", "knots", "share", ""),
            *([""] if pile.uneven else []),
            *("length_per_knot", "net_length", "net_mass", "length", "mass", "mass_low", "mass_high"),
        ),
    )


def _pile_header(pile: PileFigures, measures: Measures) -> tuple[str, ...]:
    length, mass = measures.yarn_length, measures.yarn_mass
    return (
        say("code"),
        say("yarn"),
        say("knots"),
        say("share %"),
        say("fibre, count"),
        *([told("{unit} cut, finished", unit=measures.height.name)] if pile.uneven else []),
        told("{unit} per knot", unit=measures.pile.name),
        told("{unit} net", unit=length.name),
        told("{unit} net", unit=mass.name),
        told("{unit} with waste", unit=length.name),
        told("{unit} with waste", unit=mass.name),
        told("{unit} low", unit=mass.name),
        told("{unit} high", unit=mass.name),
    )


def _heights_of(pile: PileFigures, measures: Measures) -> list[tuple[str, ...]]:
    """Return a cell with both heights of each yarn, unless all yarns have the same."""
    if not pile.uneven:
        return [()] * max(len(pile.yarns), 1)
    unit = measures.height
    return [(told("{cut}, {pile}", cut=unit.bare(y.cut_mm), pile=unit.bare(y.pile_mm)),) for y in pile.yarns]


def _best_low_high(value: Range) -> tuple[float, float, float]:
    return value.best, value.low, value.high


def _yarn_words(line: YarnPile) -> str:
    fibre = line.yarn.fibre or say("wool")
    if line.strands > 1:
        template = "{fibre}, {count} x {strands}"
        return told(template, fibre=fibre, count=line.count.notation, strands=line.strands)
    return told("{fibre}, {count}", fibre=fibre, count=line.count.notation)


def ground_table(ground: Foundation, rug: Rug, measures: Measures) -> FigureTable:
    """Return what holds the pile: warp, weft and the size on the loom, or the backing cloth of a tufted rug."""
    craft = craft_of(rug)
    return pairs(say(craft.words.ground), craft.ground_rows(ground, measures), key="ground")


def _days(value: Range) -> str:
    return between(f"{value.low:,.0f}", f"{value.high:,.0f}")


def _tenths(value: Range) -> str:
    return between(f"{value.low:,.1f}", f"{value.high:,.1f}")


def labour_table(labour: Labour, rug: Rug) -> FigureTable:
    """Return the time at the loom, or at the frame."""
    rate, days, months = labour.knots_per_weaver_day, labour.whole_days, labour.told_months
    words = craft_of(rug).words
    most_runs = told("most {most:,}, in row {row:,}", most=labour.most_runs, row=labour.most_runs_row)
    most_colours = told("most {most}", most=labour.most_colours)
    rows = [
        ("weavers", say(words.hands_together), str(labour.weavers), ""),
        ("rate", say(words.pace_label), f"{rate.best:,.0f}", _days(rate)),
        ("days", say("working days"), f"{days.best:,.0f}", _days(days)),
        ("months", say("months"), f"{months.best:.1f}", _tenths(months)),
    ]
    by_rows = [
        ("rows-a-day", say("rows per day"), f"{labour.rows_a_day.best:,.1f}", _tenths(labour.rows_a_day)),
        ("runs-a-row", say("runs per row"), f"{labour.mean_runs:,.1f}", most_runs),
        ("colours-a-row", say("colours per row"), f"{labour.mean_colours:.1f}", most_colours),
    ]
    rows += by_rows if craft_of(rug).by_rows else []
    return pairs(say("Time"), rows, notes=(say(LABOUR_LAW),), key="time")


def _section_row(section: Section) -> tuple[str, ...]:
    return (
        told("{first:,} to {last:,}", first=section.first_row, last=section.last_row),
        f"{section.knots:,}",
        f"{section.runs_a_row:,.1f}",
        f"{section.colours_a_row:.1f}",
        str(section.colours),
        f"{section.pace:.2f}",
    )


def _slow_words(labour: Labour) -> str:
    """Return which sections go slowly, by their rows, the first woven first."""
    slow: list[tuple[int, int, int]] = []
    for each in sorted(labour.slow, key=lambda section: section.first_row):
        first, number = each.first_row, 1
        if slow and slow[-1][1] + 1 == first:  # they follow each other
            first, _, number = slow.pop()
            number += 1
        slow.append((first, each.last_row, number))
    if not slow:
        return say("None is much slower than the rest.")
    named = joined(", ", [told("{first:,} to {last:,}", first=first, last=last) for first, last, _ in slow[:MOST_SLOW]])
    if len(slow) > MOST_SLOW:
        one = "Rows {rows} and {n} section more go slowly, with many runs per row."
        many = "Rows {rows} and {n:,} sections more go slowly, with many runs per row."
        return told_n(one, many, sum(number for *_, number in slow[MOST_SLOW:]), rows=named)
    return told("Rows {rows} go slowly, with many runs per row.", rows=named)


def section_table(labour: Labour) -> FigureTable:
    """Return the work in each section of rows, from the first woven."""
    header = (
        say("rows"),
        say("knots"),
        say("runs per row"),
        say("colours per row"),
        say("colours"),
        say("runs against mean"),
    )
    return FigureTable(
        say("Sections, first woven first"),
        header,
        tuple(_section_row(section) for section in labour.sections),
        right=(1, 2, 3, 4, 5),
        total=(say("in all"), f"{sum(s.knots for s in labour.sections):,}", f"{labour.mean_runs:,.1f}", "", "", ""),
        notes=(_slow_words(labour),),
        key="sections",
        fields=("", "knots", "runs", "colours_a_row", "colours", "pace"),
    )


def _cost_row(part: CostPart, best: str) -> tuple[str, str, str, str]:
    if part.amount is None:
        return ("part", say(part.what), say("no price"), part.key)
    return ("part", say(part.what), best, between(f"{part.amount.low:,.2f}", f"{part.amount.high:,.2f}"))


def cost_table(cost: CostFigures) -> FigureTable:
    """Return the parts of the cost with their total; a part without a price says so."""
    priced = [part.amount.best for part in cost.parts if part.amount is not None]
    bests = iter([f"{amount:,.2f}" for amount in adding_up(priced, 2)])
    rows = [_cost_row(part, next(bests) if part.amount is not None else "") for part in cost.parts]
    whole = say("total, the rug") if cost.complete else say("total of the priced parts, the rug")
    for name, label, amount in (
        ("total", whole, cost.total),
        ("per-m2", say("per square metre"), cost.per_m2),
        ("per-ft2", say("per square foot"), cost.per_ft2),
    ):
        span = between(f"{amount.low:,.2f}", f"{amount.high:,.2f}")
        rows.append((name, label, f"{amount.best:,.2f}", span))
    if cost.currency:
        return pairs(told("Cost in {currency}", currency=cost.currency), rows, key="cost")
    note = say("In the currency of the prices given: [cost] currency names it.")
    return pairs(say("Cost, currency not named"), rows, notes=(note,), key="cost")


def assumptions_table(assumptions: Sequence[Assumption]) -> FigureTable:
    """Return the defaults that are taken for keys that were not given."""
    rows = tuple((*map(told_words, (a.place, a.taken)), say(a.basis), told_words(a.reason)) for a in assumptions)
    header = (say("key"), say("taken"), say("basis"), say("why"))
    title = say("Assumed, because the rug file does not say")
    return FigureTable(title, header, rows, key="assumed", fields=("place", "taken", "", "why"))


def reached_table(reached: Sequence[Reached]) -> FigureTable:
    """Return how each figure was reached."""
    rows = tuple((told_words(r.figure), told_words(r.reckoned), say(r.basis)) for r in reached)
    header = (say("figure"), say("worked out as"), say("basis"))
    return FigureTable(say("How the figures were reached"), header, rows, key="reached", fields=("figure", "how", ""))


def findings_table(findings: Sequence[Finding]) -> FigureTable:
    """Return what the workshop should look at."""
    rows = tuple((say(f.severity), told_words(f.about), told_words(f.said)) for f in findings)
    return FigureTable(
        say("To look at"), ("", say("where"), say("what")), rows, key="findings", fields=("", "where", "what")
    )


#: What the masses of a woven rug with an outline include.
CUT_OUT, CUT_OUT_WOVEN = phrase("cut out along its outline"), phrase("cut out along its outline, before shearing")
#: What a finished rug has lost and what is not reckoned off, by whether anything is shorn, carved down and grooved.
TAKEN_OFF = {
    (False, False, False): phrase("{held}, nothing shorn"),
    (False, False, True): phrase("{held}, nothing shorn, grooves not taken out"),
    (True, False, False): phrase("{held}, shorn"),
    (True, False, True): phrase("{held}, shorn, grooves not taken out"),
    (True, True, False): phrase("{held}, shorn and carved down"),
    (True, True, True): phrase("{held}, shorn and carved down, grooves not taken out"),
}


def _taken_off(figures: Figures) -> tuple[bool, bool, bool]:
    """Return whether any pile is shorn or carved at all, whether any is carved down, and whether grooves are cut."""
    codes = {line.yarn.code for line in figures.pile.yarns}
    lower = any(line.cut_mm > line.pile_mm for line in figures.pile.yarns)
    return lower, bool(codes & figures.workshop.pile.carved_mm.keys()), bool(figures.workshop.carve.grooves)


def mass_table(figures: Figures, measures: Measures) -> FigureTable:
    """Return the area of the finished rug and its mass as woven and as sheared, in all and by area."""
    mass, density, area_m2 = measures.mass, measures.area_density, figures.area_m2
    words, woven = craft_of(figures.knot_map.rug).words, figures.foundation.warp_ends > 0
    rows = [("area", say("area"), measures.area.text(area_m2), say("inside the outline") if figures.outlined else "")]
    # Off the loom the ground outside an outline still hangs on the rug, and is cut off later.
    cut_out = figures.outlined and woven
    for name, whole, label, by_area, held in (
        ("woven", figures.mass_g, say("mass as woven"), say("by area, as woven"), CUT_OUT_WOVEN),
        ("sheared", figures.sheared_mass_g, say("mass as sheared"), say("by area, as sheared"), CUT_OUT),
    ):
        held = say(held if cut_out else words.mass if name == "woven" else words.held)
        held = held if name == "woven" else say(TAKEN_OFF[_taken_off(figures)], held=held)
        detail = told("{between} {unit}, {held}", between=mass.between(whole), unit=mass.name, held=held)
        rows.append((name, label, mass.text(whole.best), detail))
        if area_m2:
            each = whole.times(1 / area_m2)
            rows.append((f"{name}-by-area", by_area, density.text(each.best), density.between(each)))
    return pairs(say("The rug"), rows, key="rug")


def tables_of(figures: Figures, units: Units = "metric", remarks: Sequence[Finding] = ()) -> tuple[FigureTable, ...]:
    """Return the tables that a reader at the terminal wants, without the bundles; `remarks` are those on the map."""
    measures = measures_of(units)
    tables = [
        pile_table(figures.pile, measures),
        ground_table(figures.foundation, figures.knot_map.rug, measures),
        mass_table(figures, measures),
        dye_table(figures.dye, measures),
        buy_table(figures.dye, measures),
        labour_table(figures.labour, figures.knot_map.rug),
        *([section_table(figures.labour)] if craft_of(figures.knot_map.rug).by_rows else []),
    ]
    if figures.cost is not None:
        tables.append(cost_table(figures.cost))
    tables.append(findings_table((*remarks, *figures.findings_in(step_of(figures, units), measures.yarn_mass))))
    tables += [assumptions_table(figures.assumptions), reached_table(figures.reached)]
    return tuple(table for table in tables if table.rows)


def remaining_tables(remaining: Remaining, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return what is left to weave."""
    measures = measures_of(units)
    mass = measures.mass
    rows = [
        ("rows", say("rows"), f"{remaining.rows:,}", say("after row {row:,}", row=remaining.finished_row)),
        ("knots", say("knots"), f"{remaining.knots:,}", ""),
        ("days", say("working days"), f"{remaining.whole_days.best:,.0f}", _days(remaining.whole_days)),
        ("pile", say("pile yarn"), mass.text(remaining.pile.mass_g.best), mass.range_text(remaining.pile.mass_g)),
        ("weft", say("weft"), mass.text(remaining.weft_mass_g.best), mass.range_text(remaining.weft_mass_g)),
    ]
    return (
        pairs(say("Left to weave"), rows, notes=(say(LABOUR_LAW),)),
        pile_table(remaining.pile, measures, phrase("Pile yarn for what is left")),
    )


def calibration_tables(calibration: Calibration, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return what the yarn used in a finished rug says about the length per knot."""
    measures = measures_of(units)
    mass, c = measures.yarn_mass, calibration
    estimated = say("estimated {mass}, used {ratio:.2f} times that", mass=mass.text(c.estimated_g), ratio=c.ratio)
    spread = say("spread {share:.1f} %", share=c.spread * 100)
    rows = [
        ("used", say("yarn used"), mass.text(c.used_g), estimated),
        (
            "length",
            say("length per knot"),
            f"{c.length_per_knot_mm:.2f} mm",
            spread,
        ),
    ]
    notes = (say("Write this into [pile] for the next rug of this kind:"), *c.rug_file_lines)
    first = pairs(say("Calibration"), rows, notes=(*(finding.what for finding in c.findings), *notes))
    if not c.yarns:
        return (first,)
    used = mass.column([use.used_g for use in c.yarns])
    lines = tuple(
        (use.code, f"{use.knots:,}", used[i], mass.bare(use.estimated_g), f"{use.length_per_knot_mm:.2f}")
        for i, use in enumerate(c.yarns)
    )
    header = (
        say("code"),
        say("knots"),
        say("{unit} used", unit=mass.name),
        say("{unit} estimated", unit=mass.name),
        say("mm per knot"),
    )
    return (first, FigureTable(say("By colour"), header, lines, right=(1, 2, 3, 4)))
