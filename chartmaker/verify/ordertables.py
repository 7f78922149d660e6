"""The tables of what is dyed, bought and handed out, as they must be printed by what is reckoned anew."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from chartmaker.figures.dyeing import Shade
from chartmaker.figures.reckoning import Figures
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.records import COLUMN_OFF
from chartmaker.verify.recount.pile import Line as Pile
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.tabletypes import POUND_G, Line, Table, Units
from chartmaker.verify.values import AnyWords, Name, Number, Numbers, Text, Value

#: This many weavers stand side by side in one table.
MOST_WEAVERS = 8


def order_tables(again: Recount, figures: Figures, units: Units) -> dict[str, Table]:
    """Return the tables of the dye order by key: shades with and without lots, what is bought, and base yarns."""
    every = list(zip(again.lines, again.orders, figures.dye.shades, strict=True))
    both: dict[bool, list[Line]] = {False: [], True: []}
    with_lots: list[Line] = []
    lots: list[Line] = []
    bases: dict[str, list[float]] = {}
    for index, (line, order, shade) in enumerate(every):
        pieces = _pieces(again, units) * max(len(shade.lots), 1)
        printed: dict[str, Value] = {
            "code": Text(line.yarn.code),
            "name": Name(line.yarn.name),
            **_base(line),
            "need": units.yarn.number(order.need_g, COLUMN_OFF),
            "wanted": units.yarn.number(order.wanted_g),
            "stock": Text("–") if line.yarn.stock_g is None else units.yarn.number(order.stock_g),
            "order": units.yarn.number(order.order_g, pieces + 0.5),
            "hanks": Number(order.hanks),
        }
        both[order.undyed].append(Line(printed, yarn=index))
        if not order.undyed:
            with_lots.append(Line(printed | _lots(shade, units), yarn=index))
            lots += [Line(_lot(line, shade, number, units), yarn=index) for number in range(len(shade.lots))]
            if order.hanks:
                base = bases.setdefault(f"{line.yarn.fibre}, {line.count.notation}", [0.0, 0.0, 0.0, 0.0])
                for place, more in enumerate((order.order_g, order.hanks, 1, pieces)):
                    base[place] += more
    sums = {undyed: _ordered(again, figures, undyed, units) for undyed in both}
    heads = (units.yarn.name,) * 4
    added = ("order", "hanks")
    dye = again.workshop.dye
    notes = {"allowance": _general(100 * dye.allowance), "hank": _general(float(dye.hank_g))}
    parted = [(line, order) for line, order, _ in every if order.change is not None and not order.undyed]
    if parted:
        notes["lot_code"] = Text("".join(line.yarn.code for line, _ in parted))
        notes["lot_mass"] = Numbers(tuple(units.yarn.text(order.later_g) for _, order in parted))
        notes["lot_section"] = Numbers(tuple(Number((order.change or 0) + 1) for _, order in parted))
    return {
        "order": Table("order", with_lots, heads, sums[False], added),
        "reckoned-order": Table("reckoned-order", both[False], heads, sums[False], added, notes=notes),
        "bought": Table("bought", both[True], heads, sums[True], added),
        "lots": Table(
            *("lots", lots, (units.yarn.name, units.liquor.name)),
            {"mass": sums[False]["order"], "hanks": sums[False]["hanks"]},
            ("mass", "hanks"),
            patches=True,
        ),
        "base": Table("base", [_base_line(name, base, units) for name, base in bases.items()], (units.yarn.name,)),
    }


def _pieces(again: Recount, units: Units) -> int:
    """Return by how many last figures a lot may be off, so that columns add up: none where a hank is a whole number."""
    hank = float(again.workshop.dye.hank_g) / units.yarn.size * 10**units.yarn.decimals
    return 0 if math.isclose(hank, round(hank)) else 1


def _general(value: float) -> Value:
    return Text(f"{value:g}")


def _base(line: Pile) -> dict[str, Value]:
    fibre: Value = Text(line.yarn.fibre) if line.yarn.fibre else AnyWords()
    return {"fibre": fibre, "count": Text(line.count.notation)}


def _base_line(name: str, sums: Sequence[float], units: Units) -> Line:
    grams, hanks, shades, pieces = sums
    fibre, _, count = name.rpartition(", ")
    return Line(
        {
            "fibre": AnyWords() if fibre == "None" else Text(fibre),
            "count": Text(count),
            "mass": units.yarn.number(grams, pieces + 0.5),
            "hanks": Number(hanks),
            "shades": Number(shades),
        }
    )


def _ordered(again: Recount, figures: Figures, undyed: bool, units: Units) -> dict[str, Number]:
    own = [order for order in again.orders if order.undyed == undyed]
    lots = sum(max(len(shade.lots), 1) for shade in figures.dye.shades if shade.undyed == undyed)
    pieces = _pieces(again, units) * lots
    return {
        "order": units.yarn.number(sum(order.order_g for order in own), pieces + 0.5),
        "hanks": Number(sum(order.hanks for order in own)),
    }


def _vessel(names: Sequence[str | None]) -> Value:
    return AnyWords() if None in names else Text("".join(name or "" for name in names))


def _lots(shade: Shade, units: Units) -> dict[str, Value]:
    if not shade.lots:
        return {}
    return {
        "mass": Numbers(tuple(units.yarn.number(lot.mass_g, COLUMN_OFF) for lot in shade.lots)),
        "unit": Text(units.yarn.name * len(shade.lots)),
        "vessel": _vessel([None if lot.vessel is None else lot.vessel.name for lot in shade.lots]),
        "liquor": Numbers(tuple(units.liquor.text(lot.liquor_l) for lot in shade.lots)),
    }


def _lot(line: Pile, shade: Shade, number: int, units: Units) -> dict[str, Value]:
    lot = shade.lots[number]
    return {
        "code": Text(line.yarn.code),
        "name": Name(line.yarn.name),
        **_base(line),
        **{name: Number(value, 1) for name, value in zip(("lightness", "a", "b"), line.yarn.lab, strict=True)},
        "number": Number(number + 1),
        "lots": Number(len(shade.lots)),
        "mass": units.yarn.number(lot.mass_g, COLUMN_OFF),
        "hanks": Number(lot.hanks),
        "vessel": _vessel([None if lot.vessel is None else lot.vessel.name]),
        "liquor": units.liquor.number(lot.liquor_l),
    }


def step_and_margin(again: Recount, units: Units) -> dict[str, Value]:
    """Return what is said above the bundles: the step in which they are weighed, and what they hold more, per cent."""
    return {
        "step": Text(f"{_step_g(again, units) / units.bundle.size:g} {units.bundle.name}"),
        "margin": _general(100 * again.workshop.loom.issue_margin),
    }


def _step_g(again: Recount, units: Units) -> float:
    """Return the step in which bundles are weighed: as asked for, else a quarter of an ounce where that is the unit."""
    loom = again.workshop.loom
    return POUND_G / 64 if units.imperial and "weigh_g" not in loom.model_fields_set else float(loom.weigh_g)


def bundle_lines(again: Recount, units: Units) -> Iterator[Line]:
    """Yield what is to be looked at of the bundles as they are printed: too many of a yarn, or where a lot ends."""
    all_g = again.bundles.weighed(_step_g(again, units), again.orders).sum(axis=(0, 1))
    named = [{"code": Text(line.yarn.code)} for line in again.lines]
    for name, order, issued_g in zip(named, again.orders, all_g, strict=True):
        there_g = order.order_g + order.stock_g
        if issued_g > there_g + 1e-6:
            yield Line({**name, "issued": units.yarn.text(issued_g), "there": units.yarn.text(there_g)})
    for name, order, issued_g in zip(named, again.orders, all_g, strict=True):
        if order.hanks and order.stock_g > 0:
            ends: dict[str, Value] = {}
            if order.change is not None:
                ends = {"lasts": Number(order.change), "begins": Number(order.change + 1)}
                ends["row"] = Number(again.bundles.sections[order.change].start + 1)
            elif issued_g > order.stock_g + 1e-6:
                ends["percent"] = Number(math.floor(100 * order.stock_g / issued_g))
            yield Line({**name, "stock": units.yarn.text(order.stock_g), "new": units.yarn.text(order.order_g), **ends})


def bundle_tables(again: Recount, units: Units) -> Iterator[Table]:
    """Yield the bundles of all sections together, then those of each section, if any; many weavers take several."""
    bundles_g = again.bundles.weighed(_step_g(again, units), again.orders)
    sections = again.bundles.sections
    every = range(len(sections))
    yield from _bundles(again, every, bundles_g.sum(axis=0), again.bundles.need_g.sum(axis=0) > 0, {}, units)
    if craft_of(again.knot_map.rug).by_colour:
        return  # one table, which is handed out as a whole
    for number, rows in enumerate(sections):
        title: dict[str, Value] = {"number": Number(number + 1), "sections": Number(len(sections))}
        title |= {"first": Number(rows.start + 1), "last": Number(rows.stop)}
        yield from _bundles(
            again, every[number : number + 1], bundles_g[number], again.bundles.need_g[number] > 0, title, units
        )


def _bundles(
    again: Recount, sections: range, grams: Any, needed: Any, title: Mapping[str, Value], units: Units
) -> Iterator[Table]:
    """Yield the bundles of some sections, arrays of shape (weavers, yarns), with MOST_WEAVERS side by side."""
    weavers, mass = len(grams), units.bundle
    own = [index for index in range(len(again.lines)) if needed[:, index].any()]
    tex = [float(line.count.tex) for line in again.lines]
    lengths = [math.floor(float(grams[:, i].sum()) / tex[i] * 1000 / units.length.size + 0.5) for i in own]
    long = not title  # only those of the whole rug, which has no number, tell lengths
    for first in range(0, weavers, MOST_WEAVERS):
        stop = min(first + MOST_WEAVERS, weavers)
        rows = []
        for index, length in zip(own, lengths, strict=True):
            yarn = again.lines[index].yarn
            printed: dict[str, Value] = {"code": Text(yarn.code), "name": Name(yarn.name)}
            if (change := again.orders[index].change) is not None:
                printed |= {"lot_stock": AnyWords()} if sections.start < change else {}
                printed |= {"lot_new": AnyWords()} if sections.stop > change else {}
            for weaver in range(first, stop):
                if needed[weaver, index]:
                    printed[f"bundle{weaver + 1}"] = mass.number(float(grams[weaver, index]))
            if stop == weavers:
                printed |= {"mass": mass.number(float(grams[:, index].sum()))}
                printed |= {"length": Number(length)} if long else {}
            rows.append(Line(printed, yarn=index))
        sums = {f"bundle{weaver + 1}": mass.number(float(grams[weaver, own].sum())) for weaver in range(first, stop)}
        heads = (mass.name,) * (stop - first)
        if stop == weavers:
            sums |= {"mass": mass.number(float(grams[:, own].sum()))}
            sums |= {"length": Number(sum(lengths))} if long else {}
            heads += (mass.name, *((units.length.name,) if long else ()))
        parts: dict[str, Value] = {}
        if weavers > MOST_WEAVERS:
            parts = {"first": Numbers((*_listed(title, "first"), Number(first + 1)))}
            parts |= {"last": Numbers((*_listed(title, "last"), Number(stop)))}
        added = ("length",) if long and stop == weavers else ()
        begun = [index for index in own if sections == range(again.orders[index].change or 0, sections.start + 1)]
        back = ", ".join(again.lines[index].yarn.code for index in begun if again.orders[index].change)
        notes: dict[str, Value] = {"back": Text(back)} if back else {}
        yield Table("bundles", rows, heads, sums, added, {**title, **parts}, notes, weavers=range(first, stop))


def _listed(title: Mapping[str, Value], name: str) -> tuple[Number, ...]:
    value = title.get(name)
    return (value,) if isinstance(value, Number) else ()
