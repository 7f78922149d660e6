"""Whatever stands on a chart or a row script is read: if one mark of it is moved, hidden or gone, that is found."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import pytest
from support.repacking import contents_of, packed
from test_every_number import a_map, an_oval, chart, script

from chartmaker.readback.pdffile import UnreadableError
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.scripts import script_differences

Change = Callable[[str], str]
#: How a mark is altered. What is shown becomes blank; marks go nine millimetres, or half a cell, aside, and up; words
#: become white, and far too small; fields and spans lose their names, by which they are found; a drawing vanishes.
CHANGES: dict[str, Change] = {
    "blank": lambda line: re.sub(r"<[0-9a-f]{4,}>", "<0003>", line),
    "aside": lambda line: re.sub(r"(-?[\d.]+) (-?[\d.]+ (?:Td|cm|m)\b)", lambda m: f"{float(m[1]) + 9:g} {m[2]}", line),
    "half": lambda line: re.sub(r"(-?[\d.]+) (-?[\d.]+ (?:Td|cm)\b)", lambda m: f"{float(m[1]) + 3.2:g} {m[2]}", line),
    "up": lambda line: re.sub(r"(-?[\d.]+) (Td|cm|m)\b", lambda m: f"{float(m[1]) + 9:g} {m[2]}", line),
    "white": lambda line: re.sub(r"[\d.]+ g\b", "1 g", line),
    "small": lambda line: re.sub(r"([\d.]+) Tf", lambda m: f"{float(m[1]) / 9:g} Tf", line),
    "unnamed": lambda line: re.sub(r"<</(\w+) \[", r"<</X\1 [", line),
    "untagged": lambda line: re.sub(r"/kn-(?!words)([a-z]+)", r"/kn-x\1", line),
    "gone": lambda line: re.sub(r"/\w+ Do", "", line),
}

#: What may be altered, by how and where it stands: words may move on the sheet as long as they meet nothing, what says
#: nothing of this rug may be anything, and of lines only those are read by which rows and columns are counted.
FREE = re.compile(
    r"(aside|half|up) page : /kn#(fact|heading|identity|strip|extent|beside|turning|uses|measure) |"
    r"(aside|half|up) page : /kn#(strip|weaver)#name |"
    r"(aside|half|up) page kn-(picture|sheet-map|legend|row|turned-|column|length|script-row)|"
    r"\w+ page : (BT|# # Td) |(aside|half|up) page : q .*/(Across|Upward)#|\w+ page : q .*/Foot#|"
    r"(blank|untagged) page : /kn#(fact|extent) BMC BT # g # # Td /[TB] # Tf # Tj ET EMC|"
    r"(aside|half|up) (page|form) : # w (# [GJ] )?# # m|(aside|half|up) page : # # # # # # cm$|"
    r"unnamed page kn-legend: /kn#height|(aside|half|up) page : /kn#(outside|counted)|blank page kn-script-row: BT|"
    r"(aside|half|up) page : q # # # # # # cm # g|(aside|half) page : q # # # # # # cm /kn#row BMC|"
    r"half page kn-count: |half page : q # # # # # # cm$|"
    r"white (page|form) : # g (# w # G )?# # (# # re)"
)


def kinds_of(contents: dict[int, str]) -> Iterator[tuple[str, int, int]]:
    """Yield each kind of line, by the tags about it and its operators, with the object and the line of the last one."""
    last: dict[str, tuple[int, int]] = {}
    for number, text in contents.items():
        tags: list[str] = []
        for place, line in enumerate(text.split("\n")):
            opened = re.findall(r"/(kn-[a-z-]+|Span)[^B]*(?:BMC|BDC)|\bEMC\b", line)
            shape = re.sub(r"<[0-9a-f]*>|[-\d.]+|\[[^\]]*\]", "#", line)
            kind = f"{'page' if tags or 'kn-' in text else 'form'} {' '.join(tags)}: {shape[:70]}"
            if not line.endswith(("BMC", "BT 0 g")) or "Tj" in text.split("\n")[place + 1 + line.endswith("BMC")]:
                last[kind] = (number, place)
            for tag in opened:
                tags = [*tags, tag] if tag else tags[:-1]
    yield from ((kind, *place) for kind, place in last.items())


def missed(data: bytes, read: Callable[[bytes], Iterator[str]], seen: set[str]) -> list[tuple[str, str]]:
    """Return which alterations of marks, of kinds that are not `seen` before, are not found."""
    contents, found = contents_of(data), []
    for kind, number, place in kinds_of(contents):
        if kind in seen:
            continue
        seen.add(kind)
        lines = contents[number].split("\n")
        for name, change in CHANGES.items():
            if (other := change(lines[place])) == lines[place] or FREE.match(f"{name} {kind}"):
                continue
            altered = "\n".join([*lines[:place], other, *lines[place + 1 :]])
            with contextlib.suppress(UnreadableError):
                if next(iter(read(packed(data, {number: altered}))), None) is None:
                    found.append((name, kind))
    return found


@pytest.mark.parametrize(("write", "read"), [(chart, chart_differences), (script, script_differences)])
def test_a_mark_that_is_altered_is_found(write: Callable[[Any], bytes], read: Any) -> None:
    seen: set[str] = set()
    for knot_map in (a_map(), an_oval()):
        expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
        data = write(knot_map)
        assert list(read(packed(data, {}), expected)) == []
        assert missed(data, partial(read, expected=expected), seen) == []
