"""The hand loom's table of bands, as PDF and as CSV, is read back and compared with the knots."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Fill, flat
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.difference import first_few, once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import head_faults, near, said_in, same_name, whole
from chartmaker.verify.legends import is_colour, shade_differences, shade_of
from chartmaker.verify.overlaps import overlap_differences
from chartmaker.verify.recount.pile import ungiven
from chartmaker.verify.recount.weighing import new_lots
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.sheets import Paper, Sheet
from chartmaker.verify.values import AnyWords, Feet, Number, Text, Value

#: No rug has more bands.
_MOST_BANDS = 200_000
#: The columns of the table as CSV.
BAND_COLUMNS = {"band", "code", "lines", "first", "last", "from_cm", "to_cm"}
#: What rounding a length to the millimetre may shift it, in centimetres.
_CM_OFF = 0.0501

#: What stands in the table: bands, heads of repeats, turns of repeats.
_TAGS = ("band", "band-repeat", "band-turn")

#: A yarn's code and how many lines it goes on for.
Run = tuple[str, int]


@dataclass(frozen=True)
class ExpectedBands:
    """The bands that a map has, the width of a line on the loom in millimetres, and what the head of the table says."""

    runs: tuple[Run, ...]
    line_mm: float
    facts: Mapping[str, tuple[Value, ...]]


def expected_bands(knot_map: KnotMap, again: Recount) -> ExpectedBands:
    """Return the bands of a map, counted anew."""
    across = craft_of(knot_map.rug).one_yarn_along(again.workshop.loom) == "column"
    lines = knot_map.knots.T if across else knot_map.knots
    runs: list[Run] = []
    for line in lines:
        yarns, counts = np.unique(line[line != NO_KNOT], return_counts=True)
        most = [knot_map.yarns[yarn].code for yarn in yarns[counts == counts.max(initial=0)]]
        most = most or [knot_map.yarns[0].code]  # a line without any knot
        if runs and runs[-1][0] in most:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        else:
            runs.append((most[0], 1))
    ground = again.ground
    size_mm = ground.loom_width_mm if across else ground.loom_length_mm
    return ExpectedBands(tuple(runs), size_mm / len(lines), _facts(knot_map, again))


def inlay_expected(knot_map: KnotMap, workshop: Workshop) -> KnotMap | None:
    """Return the cells that have another yarn than their band as a map of their own, or None if there are none."""
    along = craft_of(knot_map.rug).one_yarn_along(workshop.loom)
    if along is None:
        return None
    lines = (knot_map.knots.T if along == "column" else knot_map.knots).copy()
    band = -1
    for line in lines:
        yarns, counts = np.unique(line[line != NO_KNOT], return_counts=True)
        best = yarns[counts == counts.max(initial=0)]
        band = band if band in best or not len(best) else int(best[0])
        line[line == band] = NO_KNOT
    cells = lines.T if along == "column" else lines
    left = np.unique(cells[cells != NO_KNOT])
    if not len(left):
        return None
    number = np.full(NO_KNOT + 1, NO_KNOT, dtype=np.uint16)
    number[left] = np.arange(len(left))
    return KnotMap(number[cells], tuple(knot_map.yarns[yarn] for yarn in left.tolist()), knot_map.rug)


def _facts(knot_map: KnotMap, again: Recount) -> dict[str, tuple[Value, ...]]:
    """Return what stands above the table: the size finished and on the loom, ends, reed, rods and pile yarn."""
    rug, ground = knot_map.rug, again.ground
    widths = float(rug.woven_width_mm), ground.loom_width_mm
    lengths = float(rug.woven_length_mm), ground.loom_length_mm
    heights, finished = (sorted({getattr(line, name) for line in again.lines}) for name in ("cut_mm", "pile_mm"))
    codes: dict[str, list[str]] = {}
    for line in again.lines:
        codes.setdefault(line.count.notation, []).append(line.yarn.code)
    marks = ungiven("", rug, again.workshop)[::2]
    counts = [count if len(codes) == 1 else f"{count} ({', '.join(each)})" for count, each in codes.items()]
    lots = {
        name: tuple(Text(each[name]) for each in new_lots(again)) for name in ("lot_row", "lot_section", "lot_code")
    }
    return {
        "width_cm": tuple(map(_Centimetres, widths)),
        "length_cm": tuple(map(_Centimetres, lengths)),
        "width_feet": tuple(map(Feet, widths)),
        "length_feet": tuple(map(Feet, lengths)),
        "ends": (Number(ground.warp_ends),),
        "selvedge": (Number(again.workshop.loom.selvedge_ends),),
        "reed": (Text(f"{ground.reed:g}"),),
        "rods": (Number(knot_map.rows),),
        "height": (Text(", ".join(f"{mm:.4g}" for mm in heights)),),
        "per_dm": (Number(knot_map.rows * 100 / ground.loom_length_mm, 1),),
        "n": (Number(again.workshop.pile.strands),),
        "counts": (Text(", ".join(counts)),),
        "finished": (Text(", ".join(f"{mm:.4g}" for mm in finished)),),
        "picks": (Number(again.workshop.loom.picks),),
        **{name: (AnyWords(),) for name, unsaid in zip(("assumed_cut", "assumed_pile"), marks, strict=True) if unsaid},
        **lots,
    }


@dataclass(frozen=True)
class _Centimetres:
    """A length in millimetres that is printed in centimetres."""

    mm: float

    def accepts(self, pieces: Sequence[str]) -> bool:
        return near("".join(pieces), self.mm / 10, _CM_OFF)

    def __str__(self) -> str:
        return f"{self.mm / 10:.1f}"


@dataclass(slots=True)
class _Table:
    """What the table has told so far, and the repeat that it is in: bands left of it, its bands, times and end.

    `turns` are the first and the last line of each turn of a repeat that are still to be printed, with its number.
    """

    bands: ExpectedBands
    expected: Expected
    runs: list[Run] = field(default_factory=list)
    lines: int = 0
    number: int = 0
    left: int = 0
    part: list[Run] = field(default_factory=list)
    times: int = 1
    end: dict[str, list[str]] = field(default_factory=dict)
    turns: list[tuple[int, int, int]] = field(default_factory=list)

    def add(self, block: Block) -> Iterator[str]:
        """Take in a band or the head of a repeat; yield what it says otherwise than where it comes."""
        if len(self.runs) > _MOST_BANDS:
            return
        said = block.fields()
        if block.tag == "band-turn":
            yield from self._turn(said)
            return
        yield from self.unturned()
        if block.tag == "band-repeat":
            if self.left:
                yield say("a repeat begins within a repeat")
            self.left, self.times, self.part = _whole(said, "bands"), _whole(said, "times"), []
            self.end = {name: said.get(name, []) for name in ("last", "cm")}
            if self.left < 1 or not 2 <= self.times <= _MOST_BANDS:
                yield say("a repeat does not say how many bands it has and how often they come")
                self.left = 0
            return
        self.number += 1
        run = ("".join(said.get("code", [])), max(_whole(said, "lines"), 0))
        before = self.lines + sum(lines for _, lines in self.part)
        yield from self._band(block, said, run, before)
        self.part.append(run)
        self.left -= 1
        if self.left <= 0:
            yield from self._ended()

    def _turn(self, said: Mapping[str, list[str]]) -> Iterator[str]:
        """Yield how a turn of a repeat is not the next, or has other lines."""
        turn, first, last = self.turns.pop(0) if self.turns else (0, 0, 0)
        found = tuple(_whole(said, name) for name in ("turn", "first", "last"))
        if found != (turn, first, last) or not self._reaches(said, last):
            shown = " ".join("".join(said.get(name, [])) for name in ("turn", "first", "last", "cm"))
            yield say(
                "a turn of the repeat before band {number} is printed as {shown!r}", number=self.number + 1, shown=shown
            )

    def unturned(self) -> Iterator[str]:
        """Yield a fault if turns of the last repeat are not printed."""
        if self.turns:
            yield say("turns of the repeat before band {number} are missing", number=self.number + 1)
        self.turns = []

    def _band(self, block: Block, said: Mapping[str, list[str]], run: Run, before: int) -> Iterator[str]:
        """Yield what a band says otherwise than its number, its yarn and its lines."""
        wanted = {"number": self.number, "first": before + 1, "last": before + run[1]}
        for name, number in wanted.items():
            if _whole(said, name) != number:
                shown = "".join(said.get(name, []))
                yield say("band {number}: its {name} is {shown!r}", number=self.number, name=name, shown=shown)
        if not self._reaches(said, before + run[1]):
            yield say("band {number} does not reach {cm}", number=self.number, cm="".join(said.get("cm", [])))
        yarn = next((each for each in self.expected.yarns if each.code == run[0]), None)
        if yarn is None:
            yield say("band {number} is of {code!r}, which is no yarn of the map", number=self.number, code=run[0])
            return
        if not same_name("".join(said.get("name", [])), yarn.name):
            yield say("band {number} does not bear the name of {code}", number=self.number, code=run[0])
        index = self.expected.yarns.index(yarn)
        yield from shade_differences(shade_of(block), index, self.expected)
        fills = [item.colour for item, _, _ in flat(block) if isinstance(item, Fill)]
        if len(fills) != 1 or not is_colour(fills[0] or (), yarn.srgb):
            yield say("band {number} does not have the colour of {code}", number=self.number, code=run[0])

    def _reaches(self, said: Mapping[str, list[str]], lines: int) -> bool:
        return near("".join(said.get("cm", [])), lines * self.bands.line_mm / 10, _CM_OFF)

    def _ended(self) -> Iterator[str]:
        """Tell the repeat out, and yield a fault if it does not end where its head says."""
        self.runs += self.part * self.times
        lines = sum(lines for _, lines in self.part)
        if self.end:
            starts = range(self.lines, self.lines + self.times * lines, max(lines, 1))
            self.turns = [(turn, start + 1, start + lines) for turn, start in enumerate(starts, start=1)]
        self.lines += self.times * lines
        if self.end and not (_whole(self.end, "last") == self.lines and self._reaches(self.end, self.lines)):
            yield say("the repeat before band {number} does not end where its head says", number=self.number + 1)
        self.part, self.left, self.times, self.end = [], 0, 1, {}


def _whole(said: Mapping[str, list[str]], name: str) -> int:
    return whole("".join(said.get(name, [])))


def bands_pdf_differences(data: bytes, bands: ExpectedBands, expected: Expected) -> Iterator[str]:
    """Yield how the printed bands differ from the map's.

    Raises
    ------
    ValueError
        If it is no PDF as chartmaker writes it.
    """
    sheets = list(Paper(data, expected.knots.size).sheets())
    yield from once((sheet.number, _head(sheet, len(sheets), bands, expected)) for sheet in sheets)
    table = _Table(bands, expected)
    blocks = (block for sheet in sheets for block in sheet.root.blocks() if block.tag in _TAGS)
    yield from first_few(words for block in blocks for words in table.add(block))
    yield from table.unturned()
    if table.left > 0:
        yield say("its last repeat does not end")
    yield from _unlike(table.runs, bands)


def _head(sheet: Sheet, sheets: int, bands: ExpectedBands, expected: Expected) -> Iterator[str]:
    """Yield how the head of a sheet is not the rug's, and what of the sheet cannot be read."""
    yield from head_faults(sheet.root, expected.rug.name, map=expected.code, sheet=sheet.number, sheets=sheets)
    found = said_in(sheet.root.find("fact"))
    for name, values in bands.facts.items() if sheet.number == 1 else ():
        pieces = found.get(name, [])
        if len(pieces) != len(values) or not all(
            value.accepts([piece]) for value, piece in zip(values, pieces, strict=True)
        ):
            said = {"name": name, "found": ", ".join(pieces) or say("nothing"), "wanted": ", ".join(map(str, values))}
            yield say("for {name} it prints {found}, not {wanted}", **said)
    yield from overlap_differences(sheet)


def bands_csv_differences(data: bytes, expected: ExpectedBands) -> Iterator[str]:
    """Yield how the bands of the CSV differ from the map's, their lines and lengths included."""
    reader = csv.DictReader(io.StringIO(data.decode("utf-8")), strict=True)
    rows = list(reader)
    if set(reader.fieldnames or ()) != BAND_COLUMNS or any(None in (*row, *row.values()) for row in rows):
        yield say("does not have the columns of a table of bands")
        return
    yield from _unlike([(row["code"], int(row["lines"])) for row in rows], expected)
    line = 0
    for number, row in enumerate(rows, start=1):
        first, line = line, line + int(row["lines"])
        due = (number, first + 1, line)
        if (int(row["band"]), int(row["first"]), int(row["last"])) != due:
            yield say("band {number} is not from line {first} to {last}", number=number, first=first + 1, last=line)
        for key, lines in (("from_cm", first), ("to_cm", line)):
            if abs(float(row[key]) - lines * expected.line_mm / 10) > 0.0501:
                yield say("band {number}: {key} is {value}", number=number, key=key, value=inert(row[key]))


def _unlike(runs: list[Run], expected: ExpectedBands) -> Iterator[str]:
    for number, (one, due) in enumerate(zip(runs, expected.runs, strict=False), start=1):
        if one != due:
            yield say(
                "band {number} is {lines} of {code}, not {due_lines} of {due_code}",
                number=number,
                lines=one[1],
                code=inert(one[0]),
                due_lines=due[1],
                due_code=due[0],
            )
            return
    if len(runs) != len(expected.runs):
        yield say("it has {found} bands, the map {due}", found=len(runs), due=len(expected.runs))
