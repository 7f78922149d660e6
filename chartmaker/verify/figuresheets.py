"""The sheets of figures, of the dye order and of the bundles, with every number compared with a second reckoning.

What is printed is found by its tags, whatever words stand around it. Each table is compared with the one that verify
reckons: it must have the same rows, numbers and swatches, neither more nor fewer, the right units in its heads, and
columns that add up to its row of sums.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.readback.printed import Block, Fill, Text, flat
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.difference import once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import feet, head_faults, near, said_in
from chartmaker.verify.figuretables import (
    basis_tables,
    cost_table,
    finding_table,
    ground_table,
    pile_table,
    rug_table,
    work_tables,
)
from chartmaker.verify.legends import SYMBOL_FONT, is_colour, is_seen
from chartmaker.verify.ordertables import bundle_lines, bundle_tables, order_tables, step_and_margin
from chartmaker.verify.overlaps import overlap_differences
from chartmaker.verify.recount.amounts import amounts_code
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.sheets import Paper, Sheet
from chartmaker.verify.tabletypes import IMPERIAL, METRIC, Line, Table, Units, in_all
from chartmaker.verify.values import Number, Numbers, Value
from chartmaker.verify.values import Text as Words

#: The tags by which the sheets are found.
KINDS = ("figures-sheet", "dye-sheet", "issue-sheet")
_TABLE = "table-"
#: The tags of the row of units, of the row of sums, and of what stands round the rows.
_AROUND = ("head", "sum", "title", "note")


@dataclass(slots=True)
class _Printed:
    """A table as it is printed, with its portions put together."""

    key: str
    title: dict[str, list[str]]
    heads: list[dict[str, list[str]]] = field(default_factory=list)
    rows: list[Block] = field(default_factory=list)
    sums: list[Block] = field(default_factory=list)
    notes: dict[str, list[str]] = field(default_factory=dict)


def kind_of(sheet: Sheet) -> str:
    """Return which kind of sheet it is, or an empty text if it is none of them."""
    return next((kind for kind in KINDS if any(sheet.root.find(kind))), "")


def figure_differences(
    data: bytes, expected: Expected, again: Recount, figures: Figures, cost: Mapping[str, Any] | None
) -> Iterator[str]:
    """Yield how a PDF of figures, of the dye order or of the bundles differs from what is reckoned from the map.

    Parameters
    ----------
    data : bytes
    expected : Expected
    again : Recount
        The figures reckoned anew, with the stock that the set's summary gives.
    figures : Figures
        The figures whose sentences and lots are printed.
    cost : mapping, optional
        The cost as the summary of the set has it.

    Raises
    ------
    ValueError
        If it is not a PDF of the kind in which these sheets are written.
    """
    paper = Paper(data, expected.knots.size)
    sheets = list(paper.sheets())
    kind = kind_of(sheets[0]) if sheets else ""
    if not kind:
        yield say("it is not a sheet of figures, of a dye order or of bundles")
        return
    heads = [block.values.get("Imperial") for sheet in sheets for block in sheet.root.find(kind)]
    if len(heads) != len(sheets) or len(set(heads)) != 1 or heads[0] not in ((0.0,), (1.0,)):
        yield say("its sheets are not all of one kind, in one system of units")
        return
    units = IMPERIAL if heads[0] == (1.0,) else METRIC
    priced = amounts_code(again, figures.dye, cost)
    due = (priced,) if kind == "figures-sheet" else (priced, amounts_code(again, figures.dye, None))
    amounts = said_in(sheets[0].root.find("identity")).get("amounts", [""])[0]
    amounts = amounts if amounts in due else priced
    yield from once((sheet.number, _head(sheet, len(sheets), expected, amounts)) for sheet in sheets)
    boxed = said_in(each for sheet in sheets for each in sheet.root.find("boxed"))
    yield from _fields(boxed, Line(step_and_margin(again, units) if kind == "issue-sheet" else {}), say("box"))
    printed = _tables_of(sheets)
    wanted = list(_wanted(kind, again, figures, cost, units))
    found = [table.key for table in printed]
    if found != [table.key for table in wanted]:
        shown = ", ".join(found[:12]) or say("none")
        yield say("it has the tables {found}, not {wanted}", found=shown, wanted=", ".join(each.key for each in wanted))
        return
    glyphs: dict[int, int] = {}
    for table, own in zip(wanted, printed, strict=True):
        yield from _table(table, own, expected, glyphs)
    if len(set(glyphs.values())) != len(glyphs):
        yield say("two yarns bear the same symbol")
    yield from _same_need(printed)


def _same_need(printed: Sequence[_Printed]) -> Iterator[str]:
    """Yield which yarns are ordered for another upper end than the table of the pile prints, to the last figure."""
    high, need = (
        {
            "".join(said.get("code", [])): "".join(said.get(name, []))
            for table in printed
            if table.key in keys
            for said in (row.fields() for row in table.rows)
        }
        for keys, name in ((("pile",), "mass_high"), (("order", "bought"), "need"))
    )
    for code in sorted(high.keys() & need.keys()):
        if high[code] != need[code]:
            words = "{code}: it takes {high} at most by the table of the pile, and {need} by the order"
            yield say(words, code=code, high=high[code], need=need[code])


def _wanted(
    kind: str, again: Recount, figures: Figures, cost: Mapping[str, Any] | None, units: Units
) -> Iterator[Table]:
    bundles = list(bundle_lines(again, units))
    if kind == "issue-sheet":
        yield from in_all((finding_table(figures.weighing, bundles),))
        yield from bundle_tables(again, units)
        return
    orders = order_tables(again, figures, units)
    if kind == "dye-sheet":
        found = finding_table(figures.weighing, bundles, figures.dye.findings)
        first = (orders["lots"], orders["base"])
        front = (found, *first) if figures.weighing or bundles else (*first, found)
        yield from in_all((*front, orders["reckoned-order"], orders["bought"]))
        return
    yield from (pile_table(again, units), ground_table(again, units), rug_table(again, units))
    yield from in_all((orders["order"], orders["bought"], *work_tables(again)))
    if cost is not None:
        yield cost_table(cost)
    own = figures.findings[: len(figures.findings) - len(figures.issue.findings)]
    remarked = (*check_map(figures.knot_map, figures.workshop), *own)
    yield from in_all((finding_table(remarked, bundles), *basis_tables(figures, cost)))


def _head(sheet: Sheet, sheets: int, expected: Expected, amounts: str) -> Iterator[str]:
    """Yield how the head of a sheet differs from the rug, and what on the sheet cannot be read."""
    root = sheet.root
    codes = {"map": expected.code, "amounts": amounts}
    yield from head_faults(root, expected.rug.name, **codes, sheet=sheet.number, sheets=sheets)
    facts = said_in(root.find("fact"))
    rug = expected.rug
    for name, mm in (("width", rug.woven_width_mm), ("length", rug.woven_length_mm)):
        if not near("".join(facts.pop(f"{name}_cm", [])), float(mm) / 10, 0.0501):
            yield say("it gives the rug another {name}", name=name)
        if facts.pop(f"{name}_feet", []) != [feet(mm)]:
            yield say("it gives the rug another {name} in feet", name=name)
    texts = {
        "density": rug.density.notation,
        "columns": f"{expected.columns:,}",
        "rows": f"{expected.rows:,}",
        "knots": f"{expected.tied:,}",
    }
    for name, text in texts.items():
        if facts.pop(name, []) != [text]:
            yield say("it gives the rug another number for {name} than {text}", name=name, text=text)
    yield from overlap_differences(sheet)


def _tables_of(sheets: Sequence[Sheet]) -> list[_Printed]:
    """Return the tables in order; portions that follow each other under the same title are one table."""
    found: list[_Printed] = []
    for block in (each for sheet in sheets for each in sheet.root.blocks() if each.tag.startswith(_TABLE)):
        title: dict[str, list[str]] = {}
        for span in block.blocks("title"):
            title |= span.fields()
        title.pop("title", None)  # it holds only words
        key = block.tag.removeprefix(_TABLE)
        if not found or (found[-1].key, found[-1].title) != (key, title) or found[-1].sums or found[-1].notes:
            found.append(_Printed(key, title))
        table = found[-1]
        table.heads += [span.fields() for span in block.blocks("head")]
        table.sums += block.blocks("sum")
        table.rows += [each for each in block.blocks() if each.tag not in _AROUND]
        for span in block.blocks("note"):
            for name, words in span.fields().items():
                table.notes.setdefault(name, []).extend(words)
    return found


def _table(wanted: Table, printed: _Printed, expected: Expected, glyphs: dict[int, int]) -> Iterator[str]:
    """Yield how a table differs from the one that is `wanted`, and keep the symbols of its swatches."""
    key = wanted.key
    yield from _fields(printed.title, Line(wanted.title, say("title")), key)
    yield from _fields(printed.notes, Line(wanted.notes, say("note")), key)
    head: dict[str, Value] = {"unit": Words("".join(wanted.units))} if wanted.units else {}
    if wanted.weavers:
        head["number"] = Numbers(tuple(Number(weaver + 1) for weaver in wanted.weavers))
    for printed_head in printed.heads:
        yield from _fields(printed_head, Line(head, say("head")), key)
    if [row.tag for row in printed.rows] != [line.name for line in wanted.lines]:
        said = {"found": len(printed.rows), "wanted": len(wanted.lines)}
        yield say("{key}: it has {found} rows, not the {wanted} that it should have", key=key, **said)
        return
    for row, line in zip(printed.rows, wanted.lines, strict=True):
        yield from _fields(row.fields(), line, key)
        yield from _swatch(row, line, wanted, expected, glyphs)
    if len(printed.sums) != (wanted.sums is not None):
        yield say("{key}: it does not have one row of sums", key=key)
    elif wanted.sums is not None:
        sums = printed.sums[0].fields()
        yield from _fields(sums, Line(wanted.sums, say("sums")), key)
        yield from _adding(printed, wanted, sums)


def _fields(found: Mapping[str, list[str]], line: Line, key: str) -> Iterator[str]:
    """Yield which fields of a row are wrong, which are missing, and which should not be there."""
    code = "".join(found.get("code", found.get("first", []))) or line.name
    for name, value in line.fields.items():
        pieces = found.get(name, [])
        if not value.accepts(pieces):
            said = {"key": key, "row": code, "name": name, "found": " ".join(pieces) or say("nothing"), "wanted": value}
            yield say("{key}, {row}: for {name} it prints {found}, not {wanted}", **said)
    for name in found:
        if name not in line.fields:
            yield say("{key}, {row}: it prints a {name} that should not be there", key=key, row=code, name=name)


def _swatch(row: Block, line: Line, table: Table, expected: Expected, glyphs: dict[int, int]) -> Iterator[str]:
    """Yield a fault if the swatch of a row does not have its yarn's colour, or has another symbol than before."""
    if line.yarn is None:
        return
    items = list(flat(row))
    boxes = [item for item, _, _ in items if isinstance(item, Fill) and item.colour is not None]
    symbols = [item for item, _, _ in items if isinstance(item, Text) and item.font == SYMBOL_FONT]
    yarn, marks = expected.yarns[line.yarn], expected.chart.marks
    plain = table.patches or not craft_of(expected.rug).by_rows  # a rug without charts has no symbols
    coloured = plain or marks != "symbol"
    if len(boxes) != 1 or (coloured and not is_colour(boxes[0].colour or (), yarn.srgb)):
        yield say("{key}: the swatch of {code} has another colour", key=table.key, code=yarn.code)
    marked = not plain and marks != "colour"
    if len(symbols) != marked:
        yield say("{key}: the swatch of {code} does not bear one symbol", key=table.key, code=yarn.code)
    elif marked:
        glyph = int.from_bytes(symbols[0].glyphs, "big")
        if glyphs.setdefault(line.yarn, glyph) != glyph or not all(is_seen(symbols[0], box) for box in boxes):
            yield say("{key}: the swatch of {code} bears another symbol", key=table.key, code=yarn.code)


def _adding(printed: _Printed, wanted: Table, sums: Mapping[str, list[str]]) -> Iterator[str]:
    """Yield which columns do not add up, figure by figure, to the row of sums."""
    for name in wanted.columns:
        if name == "share" and sums.get(name) == ["0.00"]:
            continue
        try:
            parts = [_decimal(words) for row in printed.rows if (words := row.fields().get(name))]
            total = _decimal(sums.get(name, []))
        except InvalidOperation:
            continue  # that the field is not a number is said elsewhere
        if sum(parts) != total:
            yield say("{key}: the column {name} does not add up to its sum", key=wanted.key, name=name)


def _decimal(pieces: Sequence[str]) -> Decimal:
    return Decimal("".join(pieces).replace(",", ""))
