"""The figures as plain tables of words, for the terminal or for paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.figures.basis import Assumption, Reached
from chartmaker.figures.calibration import Calibration
from chartmaker.figures.cost import CostFigures, CostPart
from chartmaker.figures.dyeing import CAUTIONS, DEFERS, DyeOrder, Lot, Shade
from chartmaker.figures.foundation import Foundation
from chartmaker.figures.issuing import Bundles, bundles_of
from chartmaker.figures.labour import LABOUR_LAW, Labour, Stretch
from chartmaker.figures.pile import PileFigures
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import counted
from chartmaker.ground.measures import Measures, Units, measures_of
from chartmaker.ground.ranges import Range
from chartmaker.ground.rounding import adding_up, percents
from chartmaker.ground.units import YarnCount
from chartmaker.order.rug import Rug
from chartmaker.techniques.reckoning import Figures, Remaining
from chartmaker.yarns.yarn import Yarn

SHORT_ENDS = "Where a bundle weighs 0.0, a few knots are tied: hand out a short end. An empty place needs none."


@dataclass(frozen=True)
class FigureTable:
    """A table: `right` are the columns set flush right, `total` a last row, `yarns` the yarn of each row.

    `notes` are sentences that belong under it.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    total: tuple[str, ...] | None = None
    notes: tuple[str, ...] = ()
    yarns: tuple[Yarn, ...] = ()


def _pairs(title: str, rows: Sequence[tuple[str, str, str]], notes: tuple[str, ...] = ()) -> FigureTable:
    return FigureTable(title, ("", "figure", "range or detail"), tuple(rows), right=(1,), notes=notes)


def pile_table(pile: PileFigures, measures: Measures, title: str = "Pile yarn") -> FigureTable:
    """Return knots, share, metres, mass of every yarn; each column adds up to its total."""
    length, mass = measures.yarn_length, measures.yarn_mass
    lines = pile.yarns
    shares = percents([line.knots for line in lines])
    metres = length.column([line.length_m.best for line in lines])
    net = mass.column([line.net_mass_g.best for line in lines])
    gross = mass.column([line.mass_g.best for line in lines])
    rows = tuple(
        (
            line.yarn.code,
            line.yarn.name,
            f"{line.knots:,}",
            f"{shares[i]:.2f}",
            f"{line.yarn.fibre or 'wool'}, {line.count.notation}" + (f" x {line.strands}" if line.strands > 1 else ""),
            measures.pile.bare(line.length_per_knot_mm.best),
            metres[i],
            net[i],
            gross[i],
            mass.between(line.mass_g),
        )
        for i, line in enumerate(lines)
    )
    total = ("", "in all", f"{pile.knots:,}", "100.00" if pile.knots else "0.00", "", "")
    sums = (length.bare(pile.length_m.best), mass.bare(pile.net_mass_g.best), mass.bare(pile.mass_g.best))
    header = ("code", "yarn", "knots", "share %", "fibre, count", f"{measures.pile.name} a knot")
    units = (length.name, f"{mass.name} net", f"{mass.name} with waste", f"{mass.name} low to high")
    return FigureTable(
        title,
        header + units,
        rows,
        right=(2, 3, 5, 6, 7, 8, 9),
        total=(*total, *sums, mass.between(pile.mass_g)),
        yarns=tuple(line.yarn for line in lines),
    )


def _count(count: YarnCount) -> str:
    tex = f"{float(count.tex):.0f} tex"
    return tex if count.notation.startswith("tex") else f"{count.notation} ({tex})"


def foundation_table(foundation: Foundation, measures: Measures) -> FigureTable:
    """Return warp, weft, the size on the loom; or the backing cloth of a tufted rug."""
    f, mass, length = foundation, measures.mass, measures.yarn_length
    on_loom = measures.size(f.loom_width_mm, f.loom_length_mm)
    density = f"{f.knots_across_per_dm:.2f} knots x {f.rows_per_dm:.2f} rows per dm"
    if f.backing_cloth_m2:
        area = measures.area
        return _pairs(
            "Backing",
            [("size in the frame", on_loom, density), ("backing cloth", area.text(f.backing_cloth_m2), "with margins")],
        )
    rows = [
        ("size on the loom", on_loom, density),
        ("warp pitch on the loom", f"{f.warp_pitch_mm:.3f} mm", f"{f.warp_pitch_mm / 25.4:.4f} in"),
        ("warp ends", f"{f.warp_ends:,}", _count(f.warp)),
        ("warp, each end", f"{f.warp_end_m:.2f} m", f"{f.warp_end_m / 0.9144:.2f} yd"),
        ("warp in all", length.text(f.warp_length_m), mass.text(f.warp_mass_g)),
        (
            "rows of weft",
            f"{f.weft_rows:,}",
            f"{counted(f.picks, 'pass', 'passes')} a row, {f.weft.notation} ({float(f.weft.tex):.0f} tex)",
        ),
        ("weft in all", length.text(f.weft_length_m.best), f"{length.between(f.weft_length_m)} {length.name}"),
        ("weft mass", mass.text(f.weft_mass_g.best), f"{mass.between(f.weft_mass_g)} {mass.name}"),
    ]
    return _pairs("Foundation", rows)


def lot_words(lot: Lot, measures: Measures) -> str:
    """Return a lot on one line: mass, vessel, liquor."""
    vessel = "open pot" if lot.vessel is None else lot.vessel.name
    return f"{measures.mass.text(lot.mass_g)} in {vessel}, {measures.liquor.text(lot.liquor_l)}"


def _shade_row(shade: Shade, measures: Measures) -> tuple[str, ...]:
    mass = measures.yarn_mass
    words = "; ".join(lot_words(lot, measures) for lot in shade.lots)
    lots = "undyed" if shade.undyed else words or "from stock"
    return (
        shade.yarn.code,
        shade.yarn.name,
        mass.bare(shade.need_g),
        mass.bare(shade.wanted_g),
        mass.bare(shade.stock_g),
        mass.bare(shade.order_g),
        str(shade.hanks),
        lots,
    )


def dye_table(dye: DyeOrder, measures: Measures) -> FigureTable:
    """Return the dye order with its cautions."""
    mass = measures.yarn_mass
    header = ("code", "yarn", f"{mass.name} at most", f"{mass.name} with allowance", f"{mass.name} in stock")
    return FigureTable(
        "Dye order",
        (*header, f"{mass.name} to order", "hanks", "lots"),
        tuple(_shade_row(shade, measures) for shade in dye.shades),
        right=(2, 3, 4, 5, 6),
        total=("", "in all", "", "", "", mass.bare(dye.order_g), str(dye.hanks), ""),
        notes=(*CAUTIONS, DEFERS),
        yarns=tuple(shade.yarn for shade in dye.shades),
    )


def _days(value: Range) -> str:
    return f"{value.low:,.0f} to {value.high:,.0f}"


def labour_table(labour: Labour, rug: Rug) -> FigureTable:
    """Return the time at the loom, or at the frame."""
    rate, days, months = labour.knots_per_weaver_day, labour.days, labour.months
    rows = [
        (f"{rug.worker}s side by side", str(labour.weavers), ""),
        (f"{rug.stitch}s a {rug.worker} a day", f"{rate.best:,.0f}", _days(rate)),
        ("working days", f"{days.best:,.0f}", _days(days)),
        ("months", f"{months.best:.1f}", f"{months.low:.1f} to {months.high:.1f}"),
        ("rows a day", f"{labour.rows_a_day.best:.1f}", f"{labour.rows_a_day.low:.1f} to {labour.rows_a_day.high:.1f}"),
        ("runs a row", f"{labour.mean_runs:.1f}", f"most {labour.most_runs:,}, in row {labour.most_runs_row:,}"),
        ("colours a row", f"{labour.mean_colours:.1f}", f"most {labour.most_colours}"),
    ]
    return _pairs("Time", rows, notes=(LABOUR_LAW,))


def _stretch_row(stretch: Stretch) -> tuple[str, ...]:
    return (
        f"{stretch.first_row:,} to {stretch.last_row:,}",
        f"{stretch.knots:,}",
        f"{stretch.runs_a_row:.1f}",
        f"{stretch.colours_a_row:.1f}",
        str(stretch.colours),
        f"{stretch.pace:.2f}",
    )


def stretch_table(labour: Labour) -> FigureTable:
    """Return the stretches of rows as work, from the first woven."""
    slow = len(labour.slow)
    note = f"{slow} go slowly: many runs a row." if slow else "None is much slower than the rest."
    return FigureTable(
        "Stretches, first woven first",
        ("rows", "knots", "runs a row", "colours a row", "colours", "runs against mean"),
        tuple(_stretch_row(stretch) for stretch in labour.stretches),
        right=(1, 2, 3, 4, 5),
        total=("in all", f"{sum(s.knots for s in labour.stretches):,}", f"{labour.mean_runs:.1f}", "", "", ""),
        notes=(note,),
    )


def _in_turn(parts: Bundles, measures: Measures) -> list[str]:
    """Return mass, length, mass, length... of bundles of one yarn with their sum; nothing where no knot is tied."""
    mass, length = measures.bundle_mass.decimals, measures.bundle_length.decimals
    words = [[*array.tolist(), array.sum().item()] for array in (parts.knots, parts.mass, parts.length)]
    return [
        word if knots else ""
        for knots, m, n in zip(*words, strict=True)
        for word in (f"{m:,.{mass}f}", f"{n:,.{length}f}")
    ]


def issue_table(title: str, yarns: Sequence[Yarn], parts: Bundles, measures: Measures) -> FigureTable:
    """Return bundles of shape (strips, yarns): a row a yarn that is needed, mass with length by strip."""
    strips = [f"strip {number + 1}" for number in range(len(parts.knots))] + ["in all"]
    names = (measures.bundle_mass.name, measures.bundle_length.name)
    header = ("code", "yarn", *(f"{strip}, {name}" for strip in strips for name in names))
    needed = [index for index in range(len(yarns)) if parts.knots[:, index].any()]
    rows = [(yarns[i].code, yarns[i].name, *_in_turn(parts.take((slice(None), i)), measures)) for i in needed]
    return FigureTable(
        title,
        header,
        tuple(rows),
        tuple(range(2, len(header))),
        total=("", "in all", *_in_turn(parts.sum(1), measures)),
        notes=(SHORT_ENDS,) if any("0.0" in row for row in rows) else (),
        yarns=tuple(yarns[i] for i in needed),
    )


def issue_tables(figures: Figures, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return the bundles, a table a stretch; together they add up to the pile's rounded figures."""
    measures, stretches = measures_of(units), figures.issue.stretches
    parts = bundles_of(figures.issue.knots, figures.pile, measures.bundle_mass, measures.bundle_length)
    titles = [
        f"Stretch {number} of {len(stretches)}: rows {rows.start + 1:,} to {rows.stop:,}"
        for number, rows in enumerate(stretches, start=1)
    ]
    yarns = figures.knot_map.yarns
    return tuple(issue_table(title, yarns, parts.take(number), measures) for number, title in enumerate(titles))


def issue_total(figures: Figures, units: Units = "metric") -> FigureTable:
    """Return what all stretches together need, strip by strip."""
    measures = measures_of(units)
    parts = bundles_of(figures.issue.knots, figures.pile, measures.bundle_mass, measures.bundle_length)
    return issue_table("All stretches together", figures.knot_map.yarns, parts.sum(0), measures)


def _cost_row(part: CostPart, best: str) -> tuple[str, ...]:
    if part.amount is None:
        return (part.what, "no price", part.key)
    low, high = f"{part.amount.low:,.2f}", f"{part.amount.high:,.2f}"
    return (part.what, best, low if low == high else f"{low} to {high}")


def cost_table(cost: CostFigures) -> FigureTable:
    """Return the parts of the cost with their total; says so where a part has no price."""
    priced = [part.amount.best for part in cost.parts if part.amount is not None]
    bests = iter([f"{amount:,.2f}" for amount in adding_up(priced, 2)])
    rows = [_cost_row(part, next(bests) if part.amount is not None else "") for part in cost.parts]
    name = "total" if cost.complete else "total of the priced parts"
    for label, amount in (
        (f"{name}, the rug", cost.total),
        ("a square metre", cost.per_m2),
        ("a square foot", cost.per_ft2),
    ):
        rows.append((label, f"{amount.best:,.2f}", f"{amount.low:,.2f} to {amount.high:,.2f}"))
    title = f"Cost in {cost.currency}" if cost.currency else "Cost"
    return _pairs(title, [(row[0], row[1], row[2]) for row in rows])


def assumptions_table(assumptions: Sequence[Assumption]) -> FigureTable:
    """Return the defaults that stand in for keys not given."""
    rows = tuple((a.key, a.value, a.basis, a.why) for a in assumptions)
    return FigureTable("Assumed, because the rug file does not say", ("key", "taken", "basis", "why"), rows)


def reached_table(reached: Sequence[Reached]) -> FigureTable:
    """Return how each figure was reached."""
    rows = tuple((r.what, r.how, r.basis) for r in reached)
    return FigureTable("How the figures were reached", ("figure", "reckoned as", "basis"), rows)


def findings_table(findings: Sequence[Finding]) -> FigureTable:
    """Return what the workshop should look at."""
    rows = tuple((f.severity, f.where, f.what) for f in findings)
    return FigureTable("To look at", ("", "where", "what"), rows)


def mass_table(figures: Figures, measures: Measures) -> FigureTable:
    """Return what the finished rug weighs, in all and by area."""
    rug, mass, density = figures.knot_map.rug, measures.mass, measures.area_density
    area_m2 = float(rug.woven_width_mm * rug.woven_length_mm) / 1e6
    whole = figures.mass_g
    what = "as woven, clipping waste left out" if rug.technique == "knotted" else "pile only, without backing"
    return _pairs(
        "The rug",
        [
            ("area", measures.area.text(area_m2), ""),
            ("mass", mass.text(whole.best), f"{mass.between(whole)} {mass.name}, {what}"),
            ("mass by area", density.text(whole.best / area_m2), f"{density.between(whole.times(1 / area_m2))}"),
        ],
    )


def tables_of(figures: Figures, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return the tables that a reader of the terminal wants, bundles left out."""
    measures = measures_of(units)
    tables = [
        pile_table(figures.pile, measures),
        foundation_table(figures.foundation, measures),
        mass_table(figures, measures),
        dye_table(figures.dye, measures),
        labour_table(figures.labour, figures.knot_map.rug),
        stretch_table(figures.labour),
    ]
    if figures.cost is not None:
        tables.append(cost_table(figures.cost))
    tables += [findings_table(figures.findings), assumptions_table(figures.assumptions), reached_table(figures.reached)]
    return tuple(table for table in tables if table.rows)


def remaining_tables(remaining: Remaining, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return what is left to weave."""
    measures = measures_of(units)
    mass = measures.mass
    rows = [
        ("rows", f"{remaining.rows:,}", f"after row {remaining.finished_row:,}"),
        ("knots", f"{remaining.knots:,}", ""),
        ("working days", f"{remaining.days.best:,.0f}", _days(remaining.days)),
        ("pile yarn", mass.text(remaining.pile.mass_g.best), f"{mass.between(remaining.pile.mass_g)} {mass.name}"),
        ("weft", mass.text(remaining.weft_mass_g.best), f"{mass.between(remaining.weft_mass_g)} {mass.name}"),
    ]
    return (
        _pairs("Left to weave", rows, notes=(LABOUR_LAW,)),
        pile_table(remaining.pile, measures, "Pile yarn for what is left"),
    )


def calibration_tables(calibration: Calibration, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return what a finished rug's yarn says of the length per knot."""
    measures = measures_of(units)
    mass, c = measures.yarn_mass, calibration
    rows = [
        ("yarn used", mass.text(c.used_g), f"estimated {mass.text(c.estimated_g)}"),
        ("length per knot", f"{c.length_per_knot_mm:.2f} mm", f"spread {c.spread * 100:.1f} %"),
    ]
    notes = ("Write into [pile] of the next rug of the kind:", *c.rug_file_lines)
    first = _pairs("Calibration", rows, notes=notes)
    if not c.yarns:
        return (first,)
    used = mass.column([use.used_g for use in c.yarns])
    lines = tuple(
        (use.code, f"{use.knots:,}", used[i], mass.bare(use.estimated_g), f"{use.length_per_knot_mm:.2f}")
        for i, use in enumerate(c.yarns)
    )
    header = ("code", "knots", f"{mass.name} used", f"{mass.name} estimated", "mm a knot")
    return (first, FigureTable("By colour", header, lines, right=(1, 2, 3, 4)))
