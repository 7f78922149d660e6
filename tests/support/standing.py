"""The sheets of a few small rugs, together of every kind and with every setting that changes how sheets look.

    PYTHONPATH=.:tests python tests/support/standing.py [FOLDER]

writes the accounts of these sheets again, and the sheets themselves into FOLDER. Look at each
sheet that changed before its account is kept.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.jobs.carved import carved_of_map
from chartmaker.jobs.drawn import drawing_of_map, pattern_writers
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.reports.lotwords import NewLot
from chartmaker.sheets.bands.bandsheets import write_bands_pdf
from chartmaker.sheets.card.cardsheets import write_card_pdf
from chartmaker.sheets.carving.carvingsheets import write_carving_pdf
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.pattern.guide import write_guide_pdf
from chartmaker.sheets.pattern.patternsheets import write_pattern_pdf
from chartmaker.sheets.pattern.svg import pattern_svg
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.sheets.tables.dyesheets import write_dye_pdf
from chartmaker.sheets.tables.figuresheets import write_figures_pdf
from chartmaker.sheets.tables.issuesheets import write_issue_pdf
from chartmaker.techniques.crafts import spoken_of
from chartmaker.yarns.yarn import Yarn
from support.making import SettledMap, as_file, make_map, make_rug, settled

ACCOUNTS = Path(__file__).parent.parent / "sheets" / "standing"
#: The mode, the lines of a run and the mirror of each small rug follow from this seed alone.
_SEED = 11


def _workshop(**tables: dict[str, Any]) -> Workshop:
    return Workshop.model_validate(tables)


def _blocks(rows: int, columns: int, yarns: int, block: int = 2) -> np.ndarray[Any, Any]:
    coarse = np.random.default_rng(_SEED).integers(0, yarns, (-(-rows // block), -(-columns // block)))
    return np.kron(coarse, np.ones((block, block), dtype=int))[:rows, :columns].astype(np.uint16)


@cache
def quarter() -> SettledMap:
    """A rug that mirrors both ways about a knot, for three weavers, carved, on several small sheets."""
    half = _blocks(13, 11, 5)
    whole = np.vstack([half, half[:-1][::-1]])
    whole = np.hstack([whole, whole[:, :-1][:, ::-1]])
    workshop = _workshop(
        chart={"paper": "A5", "cell": "6 mm", "strips": 3},
        loom={"weavers": 3, "section": "3 cm", "thin_weft": "Ne 20 x2", "shrinkage_along": 0.05},
        pile={"heights": {"Y001": "8 mm"}, "strands": 2},
        dye={"hank": "10 g", "vessels": [{"name": "copper pot", "holds": "30 g"}], "undyed": ["Y002"]},
    )
    made = make_map(whole, make_rug(21, 25, name="Quarter", pile="10 mm"), workshop)
    yarns = tuple(replace(yarn, fibre="wool", stock_g=2.0 * place) for place, yarn in enumerate(made.yarns))
    return SettledMap(made.knots, yarns, made.rug, made.workshop)


@cache
def octagon() -> SettledMap:
    """A rug with places outside its outline, read from the right, in symbols and counts, with names to call."""
    knots = _blocks(16, 30, 4)
    knots[:, :9] = 2
    knots[10:12] = knots[4:6]  # written by reference to the row further down
    rows, columns = np.mgrid[:16, :30]
    knots[(columns + rows < 6) | (columns - rows > 25) | (rows - columns > 11)] = NO_KNOT
    knots[8, 20] = NO_KNOT
    chart = {"paper": "A4", "marks": "symbol", "counts": True, "reading": "right to left", "whole": True}
    workshop = _workshop(chart={**chart, "strips": 1, "bold_every": 5, "cell": "8 mm"})
    made = make_map(knots, make_rug(30, 16, name="Octagon", shape="octagon"), workshop)
    calls = ("Rose", None, "Ox blood", "Sky")
    yarns = tuple(replace(yarn, call=call) for yarn, call in zip(made.yarns, calls, strict=True))
    return SettledMap(made.knots, yarns, made.rug, made.workshop)


@cache
def wide(strip: int) -> SettledMap:
    """A rug that mirrors across, for two weavers with strips of so many columns, restless, one corner cut off."""
    half = np.random.default_rng(_SEED).permuted(np.arange(strip) % 4)
    knots = np.tile(np.concatenate([half, half[::-1]]), (5, 1)).astype(np.uint16)
    knots[4, :3] = knots[4, -3:] = knots[4, 40] = knots[4, -41] = NO_KNOT
    workshop = _workshop(chart={"paper": "A5", "cell": "5 mm", "strips": 2, "bold_every": 4}, loom={"weavers": 2})
    return make_map(knots, make_rug(2 * strip, 5, name="Wide"), workshop)


@cache
def many() -> SettledMap:
    """A rug of so many yarns that the legend has its own sheet; in colours alone, in square cells, on wide paper."""
    knots = np.arange(6 * 10).reshape(6, 10) % 54
    chart = {"paper": "A5", "orientation": "landscape", "marks": "colour", "square": True, "cell": "4 mm"}
    return make_map(knots, make_rug(10, 6, name="Many yarns"), _workshop(chart=chart, loom={"weavers": 1}))


@cache
def tufted() -> SettledMap:
    """A tufted rug, with its figures in feet and pounds."""
    workshop = _workshop(dye={"hank": "500 g"}, cost={"currency": "EUR", "pile_per_kg": 20}, pattern={"paper": "A4"})
    knots = np.kron(_blocks(3, 2, 3, 1), np.ones((30, 40), dtype=int))
    return make_map(knots, make_rug(80, 90, "20x20 per dm", name="Tufts", technique="tufted"), workshop)


@cache
def loomed(pile_yarn: str) -> SettledMap:
    """A rug woven over rods, whose bands have repeats."""
    lines = np.array([0, 0, 1, 2, 2, 2, 1] * 5 + [3, 3, 0, 1, 1, 0, 3] + [2, 1] * 9)
    knots = lines[:, None].repeat(8, axis=1)
    knots = knots if pile_yarn == "weft" else knots.T
    rug = make_rug(knots.shape[1], knots.shape[0], name="Bands", technique="hand-loomed")
    return make_map(knots, rug, _workshop(loom={"pile_yarn": pile_yarn}))


@cache
def inlaid() -> SettledMap:
    """A rug woven over rods, with a free pattern on a few of its lines."""
    plain = loomed("weft")
    knots = plain.knots.copy()
    knots[10:14, 2:5] = 3
    return SettledMap(knots, plain.yarns, plain.rug, plain.workshop)


@cache
def carved() -> SettledMap:
    """A rug with grooves and heights, on a roll."""
    workshop = _workshop(
        pile={"carved": {"Y001": "6 mm"}},
        carve={"grooves": ["round Y000", "Y001 | Y002"], "depth": "4 mm", "width": "3 mm"},
        pattern={"roll": "24 in"},
    )
    knots = np.kron(np.array([[2, 2, 2, 2], [2, 0, 1, 2], [2, 2, 1, 2]]), np.ones((12, 12), dtype=int))
    return make_map(knots, make_rug(48, 36, "20x20 per dm", name="Carved", pile="12 mm"), workshop)


@cache
def looped(grooved: bool) -> SettledMap:
    """A tufted rug of loops, of pile too low for the shears and of two lowered yarns."""
    grooves = {"grooves": ["round Y001", "Y000 | Y002", "Y000 | Y003"], "depth": "2.5 mm", "width": "4 mm"}
    workshop = _workshop(
        pile={"cut": "14 mm", "heights": {"Y003": "9 mm"}, "carved": {"Y002": "7 mm", "Y004": "5 mm"}},
        carve={"when": "after washing", **(grooves | {"profile": "bevel"} if grooved else {})},
        pattern={"loops": ["Y001"], **({"paper": "A4"} if grooved else {"roll": "24 in"})},
    )
    blocks = np.array([[0, 1, 0, 2], [0, 4, 3, 2], [4, 4, 3, 0], [1, 0, 0, 0]])
    knots = np.kron(blocks, np.ones((11, 10), dtype=int))
    rug = make_rug(40, 44, "20x20 per dm", name="Looped", technique="tufted", pile="12 mm")
    return make_map(knots, rug, workshop)


@cache
def lined() -> SettledMap:
    """A tufted rug with lines of one row of tufts and of three, of several heights, for two, as the pile is seen."""
    workshop = _workshop(
        pile={"cut": "14 mm", "heights": {"Y001": "16 mm", "Y002": "9 mm"}},
        pattern={"loops": ["Y002"], "roll": "24 in", "side": "front", "ground": "first"},
        loom={"weavers": 2},
    )
    knots = np.zeros((40, 44), dtype=int)
    knots[6:34, 6], knots[6:34, 12], knots[6:34, 20:23], knots[6, 12:38] = 1, 1, 2, 1
    knots[14:30, 28:40] = 2
    knots[18:26, 32:36] = 3
    made = make_rug(44, 40, "20x20 per dm", name="Lined", technique="tufted", pile="12 mm")
    return make_map(knots, made, workshop)


@cache
def many_hands() -> SettledMap:
    """A rug for nine weavers, whose bundles stand in two tables."""
    workshop = _workshop(loom={"weavers": 9, "section": "10 cm"}, chart={"strips": 1, "paper": "A5"})
    knots = _blocks(10, 36, 3)
    knots[6:8] = knots[:2]  # told by the row further down
    return make_map(knots, make_rug(36, 10, "10x10 per dm", name="Nine hands"), workshop)


@cache
def restless() -> SettledMap:
    """A rug whose script takes several sheets in front and two parts, because names, codes and rows are long."""
    rows = np.random.default_rng(_SEED).permuted(np.tile(np.arange(48) % 16, (2, 1)), axis=1)
    workshop = _workshop(chart={"paper": "A5", "strips": 1, "bold_every": 2}, loom={"weavers": 1})
    name = "Restless, with a name that is longer than any sheet of it is wide, so that it is narrowed and shortened"
    made = make_map(rows[[0, 1, 0]].astype(np.uint16), make_rug(48, 3, "10x10 per dm", name=name), workshop)
    yarns = tuple(replace(yarn, code=f"Winter red {place:02}") for place, yarn in enumerate(made.yarns))
    return SettledMap(made.knots, yarns, made.rug, made.workshop)


#: Where new lots of its yarns begin: in one row few enough to be named, in the other only counted.
LOTS = (NewLot("Winter red 03", 1, 1), *(NewLot(f"Winter red {number:02}", 2, 2) for number in range(4, 13)))


@cache
def long_strips() -> SettledMap:
    """A rug of two strips, whose changed rows take several sheets; with a very long name."""
    workshop = _workshop(chart={"paper": "A5", "strips": 2, "bold_every": 10}, loom={"weavers": 2})
    name = "Long strips, with a name that is longer than a sheet is wide, so that it is narrowed and then shortened"
    return make_map(_blocks(44, 12, 4, 3), make_rug(12, 44, "10x10 per dm", name=name), workshop)


def _card(number: int, symbols: tuple[int | None, ...]) -> tuple[Yarn, ...]:
    """Return the yarns of a card of which some have symbols, by turns."""
    yarns = quarter().yarns
    return tuple(
        replace(yarns[place % len(yarns)], code=f"K{place}", name=f"Yarn {place}", symbol=symbols[place % len(symbols)])
        for place in range(number)
    )


def _painted(knot_map: SettledMap, *places: tuple[int, int]) -> SettledMap:
    knots = knot_map.knots.copy()
    for row, column in places:
        knots[row, column] = (knots[row, column] + 1) % 2
    return SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop)


def _figures(knot_map: SettledMap) -> Figures:
    return figures_of(*settled(knot_map))


def _chart(knot_map: SettledMap, before: SettledMap | None = None) -> Callable[[io.BytesIO], object]:
    old = None if before is None else as_file(before)
    facts = cover_facts(_figures(knot_map))
    return lambda stream: write_chart(stream, knot_map, knot_map.workshop, facts, revises=old)


def _rows(
    knot_map: SettledMap, before: SettledMap | None = None, lots: tuple[NewLot, ...] = ()
) -> Callable[[io.BytesIO], object]:
    old = None if before is None else as_file(before)
    return lambda stream: write_rows_pdf(stream, knot_map, knot_map.workshop, revises=old, lots=lots)


def _carving(knot_map: SettledMap) -> Callable[[io.BytesIO], object]:
    return lambda stream: write_carving_pdf(stream, carved_of_map(knot_map, knot_map.workshop), knot_map.workshop)


def _tufted(name: str) -> Callable[[SettledMap], Callable[[io.BytesIO], object]]:
    """Return what writes a paper of the tufter, with the heights at which the tool is set."""
    return lambda rug: pattern_writers(drawing_of_map(as_file(rug)), _figures(rug), None)[name]


def _svg(knot_map: SettledMap) -> bytes:
    return "".join(pattern_svg(drawing_of_map(as_file(knot_map)))).encode()


#: What writes each paper.
_WRITERS: dict[str, tuple[Callable[[], SettledMap], Callable[[SettledMap], Callable[[io.BytesIO], object]]]] = {
    "chart_quarter": (quarter, _chart),
    "chart_octagon": (octagon, _chart),
    "chart_many": (many, _chart),
    "chart_wide": (lambda: wide(48), _chart),
    "chart_tufted": (tufted, _chart),
    "chart_revised": (octagon, lambda rug: _chart(_painted(rug, (14, 22)), rug)),
    "rows_quarter": (quarter, _rows),
    "rows_octagon": (octagon, _rows),
    "rows_wide": (lambda: wide(260), _rows),  # there are so many runs that each strip is written in parts
    "rows_hands": (many_hands, _rows),
    "rows_revised": (octagon, lambda rug: _rows(_painted(rug, (14, 22), (3, 15)), rug)),
    "rows_lots": (restless, lambda rug: _rows(rug, lots=LOTS)),
    "rows_revised_long": (
        long_strips,
        lambda rug: _rows(_painted(rug, (5, 2), *((row, 8) for row in range(7, 43))), rug),
    ),
    "figures": (quarter, lambda rug: lambda stream: write_figures_pdf(stream, _figures(rug))),
    "figures_tufted": (tufted, lambda rug: lambda stream: write_figures_pdf(stream, _figures(rug), "imperial")),
    "dye": (quarter, lambda rug: lambda stream: write_dye_pdf(stream, _figures(rug))),
    "issue": (many_hands, lambda rug: lambda stream: write_issue_pdf(stream, _figures(rug))),
    "card": (quarter, lambda rug: lambda stream: write_card_pdf(stream, rug.yarns, "Small card")),
    "card_of_symbols": (
        quarter,
        lambda _rug: lambda stream: write_card_pdf(stream, _card(5, (3, 17, None, 200, 41)), "Symbols"),
    ),
    "card_of_sheets": (
        quarter,
        lambda _rug: lambda stream: write_card_pdf(stream, _card(61, (3, 17, None)), "Large card"),
    ),
    "bands": (lambda: loomed("weft"), lambda rug: lambda stream: write_bands_pdf(stream, _figures(rug))),
    "bands_of_ends": (lambda: loomed("warp"), lambda rug: lambda stream: write_bands_pdf(stream, _figures(rug))),
    "bands_inlaid": (inlaid, lambda rug: lambda stream: write_bands_pdf(stream, _figures(rug))),
    "pattern": (
        tufted,
        lambda rug: lambda stream: write_pattern_pdf(stream, drawing_of_map(as_file(rug)), rug.workshop),
    ),
    "pattern_lined": (lined, _tufted("pattern.pdf")),
    "guide_lined": (lined, _tufted("guide.pdf")),
    "guide": (tufted, lambda rug: lambda stream: write_guide_pdf(stream, drawing_of_map(as_file(rug)), _figures(rug))),
    "carving": (carved, _carving),
    "carving_loops": (lambda: looped(True), _carving),
    "carving_level": (lambda: looped(False), _carving),
}
NAMES = (*_WRITERS, "svg")


def rug_of(name: str) -> SettledMap:
    """Return the rug whose sheets have that name."""
    return _WRITERS[name][0]()


def paper(name: str) -> bytes:
    """Return the sheets of that name."""
    if name == "svg":
        return _svg(tufted())
    rug, writer = _WRITERS[name]
    stream = io.BytesIO()
    with spoken_of(rug().rug):
        writer(rug())(stream)
    return stream.getvalue()


def told(name: str) -> list[str]:
    """Return the account of the sheets of that name."""
    from support.accounts import account_of

    data = paper(name)
    return data.decode().splitlines() if name == "svg" else account_of(data)


if __name__ == "__main__":
    ACCOUNTS.mkdir(exist_ok=True)
    for each in NAMES:
        (ACCOUNTS / f"{each}.txt").write_text("\n".join(told(each)) + "\n", encoding="utf-8")
        for folder in sys.argv[1:]:
            (Path(folder) / f"{each}.{'svg' if each == 'svg' else 'pdf'}").write_bytes(paper(each))
