"""The front sheets of a chart: what they say about the rug, where each sheet lies, and small pictures of the rug."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import get_args

import numpy as np

from chartmaker.ground.colour import LINEAR_OF_BYTE, ciede2000, lab_from_linear
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.rug import Knot
from chartmaker.readback.printed import Fill, Picture, flat
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.blocks import Cells
from chartmaker.verify.counts import SAID_ON_COVER, counted
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import READINGS, feet, near, said_in, whole, wrong_words
from chartmaker.verify.legends import Entry
from chartmaker.verify.overlaps import LIGHTEST
from chartmaker.verify.plans import plan_differences
from chartmaker.verify.remarked import alike_in_grey, settle_faults
from chartmaker.verify.sheets import Paper, Sheet
from chartmaker.verify.values import Text as Words

#: Shares are printed with two decimals and masses to the gram. They are rounded so that their columns add up, and so
#: they may be off by this much.
SHARE_OFF, GRAMS_OFF = 0.011, 1.01
#: The small picture of the rug may differ this much from its knots, by CIEDE2000.
PICTURE_OFF = 3.0
#: Rounding may shift a place on a small picture of the rug by this much; no place there has a shorter side (mm).
PLACE_OFF_MM, LEAST_PLACE_MM = 0.06, 0.8


def cover_differences(
    front: Sequence[Sheet],
    entries: Sequence[Entry],
    expected: Expected,
    places: Mapping[int, tuple[range, range]],
    sheets: int,
    steps: int,
) -> Iterator[str]:
    """Yield how the front sheets differ from the map and from the sheets that follow, which tell of so many steps."""
    if not front:
        yield say("it has no cover")
        return
    walks = {**_walks(expected, places), "n": steps}
    yield from _facts(front[0], expected, sheets, len(front), walks)
    yield from _warned(front, expected)
    yield from settle_faults(front[0].root.find("settle"), expected.settle)
    yield from _shares(entries, expected)
    yield from plan_differences(front[0], expected, places)


def _walks(expected: Expected, places: Mapping[int, tuple[range, range]]) -> dict[str, int]:
    """Return each strip that has sheets with its twin, its first and its last sheet, by the names of their fields."""
    found: dict[str, int] = {}
    strips = len(expected.strips)
    widths = [len(strip) for strip in expected.strips]
    outer = (len(widths) - 1) // 2  # a middle column makes the inmost of two strips wider
    twins = expected.mirrored[0] and widths[:outer] == widths[::-1][:outer] and abs(widths[outer] - widths[~outer]) < 2
    for strip, columns in enumerate(expected.strips, start=1):
        numbers = [number for number, (_, part) in places.items() if part.start in columns]
        if numbers:
            found |= {f"walk{strip}_first": min(numbers), f"walk{strip}_strip": strip}
            if len(numbers) > 1:
                found[f"walk{strip}_last"] = max(numbers)
            if twins and 2 * strip != strips + 1:
                found[f"walk{strip}_other"] = strips + 1 - strip
    return found


def _facts(cover: Sheet, expected: Expected, sheets: int, front: int, walks: Mapping[str, int]) -> Iterator[str]:
    """Yield which facts on the cover are not those of the rug, the chart or the loom."""
    said = said_in(cover.root.find("fact"))
    found = {name: words[0] for name, words in said.items()}
    for name in (name for name, words in said.items() if len(words) != 1):
        yield say("the cover says {name} twice", name=name)
    rug = expected.rug
    width, length = float(rug.woven_width_mm), float(rug.woven_length_mm)
    numbers = {
        "columns": expected.columns,
        "rows": expected.rows,
        "knots": expected.tied,
        "yarns": len(expected.yarns),
        "sheets": sheets,
        "front": front,
        "strips": len(expected.strips),
        **({"empty": expected.knots.size - expected.tied} if expected.knots.size > expected.tied else {}),
        **(SAID_ON_COVER if counted(expected) else {}),
        **expected.loom_numbers,
        **walks,
    }
    for name, number in numbers.items():
        if whole(found.get(name, "")) != number:
            yield _said(name, found.get(name, ""), f"{number:,}")
    measured = {
        "width_cm": (width / 10, 0.05),
        "length_cm": (length / 10, 0.05),
        "across_per_dm": (float(rug.density.across_per_dm), 0.0),
        "along_per_dm": (float(rug.density.along_per_dm), 0.0),
        "cell_width_mm": (expected.cell_mm[0], 0.0051 * max(expected.cell_mm)),
        "cell_height_mm": (expected.cell_mm[1], 0.0051 * max(expected.cell_mm)),
        **expected.loom_measures,
    }
    if expected.loom_measures and {name for name in found if name.startswith("assumed")} != expected.assumed:
        yield say("the cover does not say which heights of the pile are assumed")
    knotted = craft_of(rug).by_rows
    if bool(found.get("knot_assumed", "").strip()) != (knotted and "knot" not in rug.model_fields_set):
        yield say("the cover does not say that the kind of knot is assumed, or says it of one that is given")
    for name, (value, off) in measured.items():
        if not near(found.get(name, ""), value, off):
            yield _said(name, found.get(name, ""), f"{value:.4g}")
    texts = {
        "width_feet": feet(rug.woven_width_mm),
        "length_feet": feet(rug.woven_length_mm),
        "density": rug.density.notation,
        **expected.loom_texts,
    }
    for name, text in texts.items():
        if found.get(name) != text:
            yield _said(name, found.get(name, ""), text)
    for name, due, ways in (
        ("reading", str(expected.chart.reading), READINGS),
        *([("knot", str(rug.knot), get_args(Knot))] if knotted else []),
    ):
        if not found.get(name, "").strip() or wrong_words(found[name], due, ways):
            yield _said(name, found.get(name, ""), due)


def _warned(front: Sequence[Sheet], expected: Expected) -> Iterator[str]:
    """Yield which warnings, of what changes a weight, of lots or of greys, do not stand on the cover, or not whole."""
    wanted: dict[str, str] = {}
    for warning in (*expected.warnings, *expected.lots):
        for name, words in warning.items():
            wanted[name] = wanted.get(name, "") + words
    if greys := alike_in_grey(expected, expected.counts.tolist()):
        wanted["one_grey"] = "".join(greys)
    found = said_in(front[0].root.find("warned"))
    for name in wanted.keys() | found.keys():
        if not Words(wanted.get(name, "")).accepts(found.get(name, [])):
            yield _said(name, " ".join(found.get(name, [])), wanted.get(name, ""))


def _said(name: str, words: str, wanted: str) -> str:
    return say("the cover says {words!r} for {name}, not {wanted}", words=words, name=name, wanted=wanted)


def _shares(entries: Sequence[Entry], expected: Expected) -> Iterator[str]:
    """Yield which shares and masses of the cover's legend are not those of the yarns, or do not add up."""
    by_code = {yarn.code: index for index, yarn in enumerate(expected.yarns)}
    total, grams = 0.0, 0
    for entry in entries:
        index = by_code.get(entry.code)
        if index is None:
            continue
        share = 100 * int(expected.counts[index]) / max(expected.tied, 1)
        try:
            printed = float((entry.share or "").removesuffix(" %"))
            total += printed
            if abs(printed - share) > SHARE_OFF:
                yield say("the legend gives {code} a share of {printed}", code=entry.code, printed=entry.share or "–")
        except ValueError:
            yield say("the legend gives {code} no share", code=entry.code)
        if not expected.grams:
            continue
        grams += whole(entry.grams or "")
        if abs(whole(entry.grams or "") - expected.grams[index]) > GRAMS_OFF:
            said = {"code": entry.code, "printed": entry.grams or "–", "grams": f"{expected.grams[index]:,.0f}"}
            yield say("the legend gives {code} {printed} grams, not {grams}", **said)
    if entries and abs(total - 100) > 0.006:
        yield say("the shares of the legend do not add up to 100 %")
    if expected.grams and abs(grams - sum(expected.grams)) > 0.51:
        yield say("the grams of the legend do not add up to {grams:,.0f}", grams=sum(expected.grams))


def map_differences(paper: Paper, cover: Sheet | None, expected: Expected) -> Iterator[str]:
    """Yield how the small picture of the rug differs from its knots, area by area."""
    if cover is None:
        return
    places = [item for span in cover.root.find("picture") for item in span.items if isinstance(item, Picture)]
    if len(places) != 1:
        yield say("the cover does not show the rug")
        return
    place = places[0]
    ratio = float(expected.rug.woven_width_mm / expected.rug.woven_length_mm)
    if place.height_mm <= 0 or abs(place.width_mm / place.height_mm / ratio - 1) > 0.02:
        yield say("the picture of the rug on the cover has other proportions than the rug")
    picture = paper.picture(place.name)
    light = np.full((NO_KNOT + 1, 3), 1.0)
    light[: len(expected.yarns)] = LINEAR_OF_BYTE[np.array([yarn.srgb for yarn in expected.yarns], dtype=np.uint8)]
    rows, columns = picture.shape[:2]
    down = np.minimum(np.arange(rows + 1) * -(-expected.rows // rows), expected.rows)
    over = np.minimum(np.arange(columns + 1) * -(-expected.columns // columns), expected.columns)
    blocks = np.diff(down), np.diff(over)
    if down[-1] != expected.rows or over[-1] != expected.columns or any((each < 1).any() for each in blocks):
        yield say("the picture of the rug on the cover does not have as many pixels as it should")
        return
    from_top = expected.knots[::-1]
    means = np.empty((rows, columns, 3))
    for row, (first, last) in enumerate(pairwise(down)):
        band = light[from_top[first:last]].sum(axis=0)
        means[row] = np.add.reduceat(band, over[:-1], axis=0) / ((last - first) * blocks[1])[:, None]
    away = ciede2000(lab_from_linear(means), lab_from_linear(LINEAR_OF_BYTE[picture])).max(axis=1)
    if (away > PICTURE_OFF).any():
        row = expected.rows - int(down[(away > PICTURE_OFF).argmax()])
        yield say("the picture of the rug on the cover has other colours, the first about row {row}", row=row)


def place_differences(sheet: Sheet, cells: Cells, expected: Expected) -> Iterator[str]:
    """Yield a fault if the small picture of the rug marks a place that is not the sheet's."""
    spans = list(sheet.root.find("place"))
    boxes = [(item, dx, dy) for span in spans for item, dx, dy in flat(span) if isinstance(item, Fill)]
    if len(spans) != 1 or len(boxes) < 2 or len(spans[0].values.get("Rug", ())) != 4:
        yield say("it does not show where it lies on the rug")
        return
    x, y, width, height = spans[0].values["Rug"]
    rug, dx, dy = boxes[0]
    mark, mark_x, mark_y = boxes[-1]
    whole_rug = (rug.x_mm + dx, rug.y_mm + dy, rug.width_mm, rug.height_mm)
    column, row = width / expected.columns, height / expected.rows
    wanted = (
        x + cells.columns.start * column,
        y + cells.rows.start * row,
        max(LEAST_PLACE_MM, len(cells.columns) * column),
        max(LEAST_PLACE_MM, len(cells.rows) * row),
    )
    found = (mark.x_mm + mark_x, mark.y_mm + mark_y, mark.width_mm, mark.height_mm)
    off = np.abs(np.array(found) - wanted).max()
    if max(mark.colour or (1.0,)) > LIGHTEST:
        yield say("its place on the rug is marked too pale to be seen")
    if off > PLACE_OFF_MM or np.abs(np.array(whole_rug) - (x, y, width, height)).max() > PLACE_OFF_MM:
        yield say("it marks another place on the rug than its own")
