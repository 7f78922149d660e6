"""The tables of figures as they must be printed, with every number taken from what is reckoned anew.

The sentences that say how a figure was reached, or what it rests on, come from the figures themselves, and the numbers
printed in them must be those of the sentence. The cost is compared with the set's summary, because no knot map holds
prices.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from chartmaker.figures.cost import REACHED as COST_REACHED
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import English, fields_of, speaking
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import Sentence, Words
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.records import COLUMN_OFF
from chartmaker.verify.recount.ground import Ground
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.recount.work import Work, begun
from chartmaker.verify.tabletypes import YARD_M, Line, Table, Unit, Units, ends
from chartmaker.verify.values import AnyWords, Feet, Name, Number, Numbers, Text, Value

#: A note names no more stretches of sections that go slowly.
MOST_SLOW = 12


def pile_table(again: Recount, units: Units) -> Table:
    """Return the table of the pile yarn."""
    lines, length, mass = again.lines, units.length, units.yarn
    tied = max(sum(line.knots for line in lines), 1)
    rows = []
    for index, line in enumerate(lines):
        printed: dict[str, Value] = {
            "code": Text(line.yarn.code),
            "name": Name(line.yarn.name),
            "knots": Number(line.knots),
            "share": Number(100 * line.knots / tied, 2, "", 1),
            "fibre": Text(line.yarn.fibre) if line.yarn.fibre else AnyWords(),
            "count": Text(line.count.notation),
            "length_per_knot": units.knot.number(line.length_per_knot_mm.best),
            "net_length": length.number(line.net_length_m.best, COLUMN_OFF),
            "net_mass": mass.number(line.net_mass_g.best, COLUMN_OFF),
            "length": length.number(line.length_m.best, COLUMN_OFF),
            "mass": mass.number(line.mass_g.best, COLUMN_OFF),
            "mass_low": mass.number(line.mass_g.low, COLUMN_OFF),
            "mass_high": mass.number(line.mass_g.high, COLUMN_OFF),
        }
        if line.strands > 1:
            printed["strands"] = Number(line.strands)
        if again.uneven:
            printed |= {"cut": units.height.number(line.cut_mm), "pile": units.height.number(line.pile_mm)}
        rows.append(Line(printed, yarn=index))
    all_g = again.sum_of("mass_g")
    sums = {
        "knots": Number(sum(line.knots for line in lines)),
        "share": Number(100.0 if sum(line.knots for line in lines) else 0.0, 2),
        "net_length": length.number(again.sum_of("net_length_m").best),
        "net_mass": mass.number(again.sum_of("net_mass_g").best),
        "length": length.number(again.sum_of("length_m").best),
        "mass": mass.number(all_g.best),
        "mass_low": mass.number(all_g.low),
        "mass_high": mass.number(all_g.high),
    }
    bound = [line for line in lines if line.binding_m]
    notes: dict[str, Value] = {}
    if bound:
        notes = {"length": length.text(bound[0].binding_m), "code": Text(bound[0].yarn.code)}
    heads: tuple[str, ...] = (units.height.name,) if again.uneven else ()
    heads += (units.knot.name, length.name, mass.name, length.name, mass.name, mass.name, mass.name)
    return Table("pile", rows, heads, sums, tuple(sums), notes=notes)


def ground_table(again: Recount, units: Units) -> Table:
    """Return the table of warp and weft, or of the backing cloth."""
    ground, length, mass = again.ground, units.length, units.mass
    size: dict[str, Value] = {
        "across": Number(again.knot_map.columns * 100 / ground.loom_width_mm, 2),
        "along": Number(again.knot_map.rows * 100 / ground.loom_length_mm, 2),
        "across_inch": Number(again.knot_map.columns * 25.4 / ground.loom_width_mm, 2),
        "along_inch": Number(again.knot_map.rows * 25.4 / ground.loom_length_mm, 2),
    }
    for name, mm in (("width", ground.loom_width_mm), ("length", ground.loom_length_mm)):
        size[f"{name}_feet" if units.imperial else f"{name}_cm"] = Feet(mm) if units.imperial else _cm(mm)
    rows = [Line(size, "size")]
    if not ground.warp_ends:
        rows.append(Line({"figure": units.area.text(ground.backing_cloth_m2)}, "backing"))
        rows += [_ranged("material", mass, each.in_rug_g) for each in ground.materials if each.in_rug_g is not None]
        return Table("ground", rows)
    weft: dict[str, Value] = {
        "all_picks": Number(ground.picks * ground.weft_rows),
        "picks": Number(ground.picks),
        **_count(ground.weft),
    }
    rows += [
        *_reed(ground),
        Line({"figure": Number(ground.warp_ends), **_count(ground.warp)}, "ends"),
        _row("end", Number(ground.warp_end_m, 2, "m"), detail=Number(ground.warp_end_m / YARD_M, 2, "yd")),
        _row("warp", length.text(ground.warp_length_m), detail=mass.text(ground.warp_mass_g)),
        Line({"figure": Number(ground.weft_rows), **weft}, "weft-rows"),
        *_weft_parts(again, units),
        _ranged("weft", length, ground.weft_length_m),
        _ranged("weft-mass", mass, ground.weft_mass_g),
    ]
    if ground.reed:
        rods = Number(ground.weft_rows * 100 / ground.loom_length_mm, 2)
        rows.append(_row("rods", Number(ground.weft_rows), rods=rods))
    return Table("ground", rows)


def _reed(ground: Ground) -> Iterator[Line]:
    """Yield the pitch of the warp, or the reed of a hand loom."""
    if ground.reed:
        yield Line({"reed": Text(f"{ground.reed:g}"), "ends": Number(ground.reed / 0.0508, 2)}, "reed")
    else:
        pitch_mm = ground.warp_pitch_mm
        yield _row("pitch", Number(pitch_mm, 3, "mm"), detail=Number(pitch_mm / 25.4, 4, "in"))


def _weft_parts(again: Recount, units: Units) -> list[Line]:
    ground, length = again.ground, units.length
    thin: dict[str, Value] = {"thin": Number(ground.thin_picks), "picks": Number(ground.picks)}
    if ground.thin_weft is not None:
        thin |= _count(ground.thin_weft)
    parts: list[tuple[str, float, Mapping[str, Value]]] = [
        ("weft-knots", ground.knots_m.best, {}),
        ("weft-thin", ground.thin_m.best, thin),
        ("weft-outside", ground.outside_m.best, {"n": Number(ground.outside_picks)}),
        ("weft-kilim", ground.kilim_m.best, {}),
    ]
    rows = [Line({"figure": length.text(metres), **more}, name) for name, metres, more in parts if metres]
    return rows if len(rows) > 1 else []


def _count(count: Any) -> dict[str, Value]:
    tex: dict[str, Value] = {"tex": Number(float(count.tex))}
    return tex if count.notation.startswith("tex") else {"count": Text(count.notation), **tex}


def _row(name: str, figure: Value, **more: Value) -> Line:
    return Line({"figure": figure, **more}, name)


def _ranged(name: str, unit: Unit, value: Range, **more: Value) -> Line:
    return Line({"figure": unit.text(value.best), **unit.between(value), "unit": Text(unit.name), **more}, name)


def _cm(mm: float) -> Value:
    words = f"{mm / 10:.1f}"
    return Number(mm / 10) if words.endswith(".0") else Number(mm / 10, 1)


def rug_table(again: Recount, units: Units) -> Table:
    """Return the table of the finished rug's area and mass."""
    rows = [_row("area", units.area.text(again.area_m2))]
    for name, mass_g in (("woven", again.mass_g), ("sheared", again.sheared_mass_g)):
        rows.append(_ranged(name, units.mass, mass_g, held=AnyWords()))
        if again.area_m2:
            each = mass_g.times(1 / again.area_m2)
            more = units.by_area.between(each)
            rows.append(Line({"figure": units.by_area.text(each.best), **more}, f"{name}-by-area"))
    return Table("rug", rows)


def work_tables(again: Recount) -> Iterator[Table]:
    """Yield the table of the time, and that of the sections of rows as work."""
    work = again.work
    rate, rows = work.knots_per_weaver_day, work.rows_a_day
    days = [begun(each) for each in (work.days.low, work.days.best, work.days.high)]
    months = [begun(each, 1) for each in (work.months.low, work.months.best, work.months.high)]
    most: dict[str, Value] = {"most": Number(work.most_runs), "row": Number(work.most_runs_row)}
    time = [
        _row("weavers", Number(work.weavers)),
        _row("rate", Number(rate.best), **ends(Number(rate.low), Number(rate.high))),
        _row("days", Number(days[1]), **ends(Number(days[0]), Number(days[2]))),
        _row("months", Number(months[1], 1), **ends(Number(months[0], 1), Number(months[2], 1))),
    ]
    if not craft_of(again.knot_map.rug).by_rows:
        yield Table("time", time)
        return
    time += [
        _row("rows-a-day", Number(rows.best, 1), **ends(Number(rows.low, 1), Number(rows.high, 1))),
        _row("runs-a-row", Number(work.mean_runs, 1), **most),
        _row("colours-a-row", Number(work.mean_colours, 1), most=Number(work.most_colours)),
    ]
    yield Table("time", time)
    parts = [
        Line(
            {
                "first": Number(part.first_row),
                "last": Number(part.last_row),
                "knots": Number(part.knots),
                "runs": Number(part.runs_a_row, 1),
                "colours_a_row": Number(part.colours_a_row, 1),
                "colours": Number(part.colours),
                "pace": Number(part.pace, 2),
            }
        )
        for part in work.sections
    ]
    sums = {"knots": Number(sum(part.knots for part in work.sections)), "runs": Number(work.mean_runs, 1)}
    yield Table("sections", parts, (), sums, ("knots",), notes=_slow(work))


def _slow(work: Work) -> dict[str, Value]:
    """Return what the note below the sections says: the rows of those that go slowly, and how many it does not name."""
    begins = {part.first_row for part in work.slow} - {part.last_row + 1 for part in work.slow}
    ends = {part.last_row for part in work.slow} - {part.first_row - 1 for part in work.slow}
    named = list(zip(sorted(begins), sorted(ends), strict=True))[:MOST_SLOW]
    more = sum(part.last_row > named[-1][1] for part in work.slow) if named else 0
    notes: dict[str, Value] = {"n": Number(more)} if more else {}
    if named:
        notes["first"] = Numbers(tuple(Number(first) for first, _ in named))
        notes["last"] = Numbers(tuple(Number(last) for _, last in named))
    return notes


def cost_table(cost: Mapping[str, Any]) -> Table:
    """Return the table of the cost, as the summary has it."""
    rows = []
    for part in cost["parts"]:
        amount = part["amount"]
        if amount is None:
            rows.append(_row("part", AnyWords()))
            continue
        low, best, high = (Number(float(amount[name]), 2, "", 2) for name in ("low", "best", "high"))
        rows.append(_row("part", best, **ends(low, high)))
    for name, key in (("total", "total"), ("per-m2", "per_m2"), ("per-ft2", "per_ft2")):
        low, best, high = (Number(float(cost[key][end]), 2, "", 2) for end in ("low", "best", "high"))
        rows.append(_row(name, best, **ends(low, high)))
    return Table("cost", rows, title={"currency": Text(str(cost["currency"]))} if cost["currency"] else {})


def _said(*cells: tuple[str, Words]) -> dict[str, Value]:
    """Return what the fields of a row of sentences print; a plain text is a field with its column's name."""
    found: dict[str, list[str] | None] = {}
    with speaking(English()):
        for name, words in cells:
            told = words.told if isinstance(words, Sentence) else words
            wordy = _wordy(words) if isinstance(words, Sentence) else set()
            fields = fields_of(told)
            if not fields:
                found[name] = None if isinstance(words, Sentence) else [*(found.get(name) or []), told]
            for start, end, inner in fields:
                if inner in wordy:
                    found[inner] = None
                elif (before := found.setdefault(inner, [])) is not None:
                    before.append(told[start:end])
    found = {name: texts for name, texts in found.items() if texts != [""]}
    return {name: AnyWords() if texts is None else Text("".join(texts)) for name, texts in found.items()}


def _wordy(sentence: Sentence) -> set[str]:
    """Return the fields that hold only words of a language, which are sentences without fields of their own."""
    found: set[str] = set()
    for name, value in sentence.fields:
        if isinstance(value, Sentence):
            found |= _wordy(value) if fields_of(value.told) else {name}
    return found


def finding_table(findings: Sequence[Finding], bundles: Iterable[Line] = (), last: Sequence[Finding] = ()) -> Table:
    """Return the table of the findings by their numbers; those on bundles, reckoned anew, stand before the `last`."""
    first, rest = (
        [Line(_said(("where", each.about), ("what", each.said))) for each in part] for part in (findings, last)
    )
    return Table("findings", [*first, *bundles, *rest])


def basis_tables(figures: Figures, cost: object) -> Iterator[Table]:
    """Yield the tables of what was assumed and of how the figures were reached."""
    places = [(("place", each.place), ("taken", each.taken), ("why", each.reason)) for each in figures.assumptions]
    yield Table("assumed", [Line(_said(*cells)) for cells in places])
    reached = (*figures.reached, *(() if cost is None else (COST_REACHED,)))
    yield Table("reached", [Line(_said(("figure", each.figure), ("how", each.reckoned))) for each in reached])
