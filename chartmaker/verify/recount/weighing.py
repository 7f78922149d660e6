"""The warnings that change what is weighed out, reckoned anew: odd quantities, fill, loss; and where lots change."""

from __future__ import annotations

import math
from collections.abc import Iterator

from chartmaker.ground.language import fields_of
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.rounding import ceil_of, floor_of, half_up
from chartmaker.ground.sentence import told_words
from chartmaker.order.bounds import odd_values
from chartmaker.verify.recount.pile import Line, thick_mm
from chartmaker.verify.recount.whole import Recount

#: The two legs of a tuft fill this share of their knot's place; between the least and the most is usual (estimate).
USUAL, LEAST, MOST = 0.25, 0.15, 0.40
#: Where shearing and waste together take more than this, something is counted twice (common practice: 10 to 20 %).
MOST_LOST = 0.25


def weight_warnings(again: Recount) -> list[dict[str, str]]:
    """Return each warning that changes a weight, by what its fields print."""
    rug, workshop = again.knot_map.rug, again.workshop
    found: list[dict[str, str]] = []
    for finding in odd_values({"rug": rug, "pile": workshop.pile, "loom": workshop.loom}):
        fields = {"where": str(finding.about)}
        words = told_words(finding.said)
        for start, end, name in fields_of(words):
            fields[name] = fields.get(name, "") + words[start:end]
        found.append(fields)
    return [*found, *_lost(again), *_fills(again)]


def new_lots(again: Recount) -> Iterator[dict[str, str]]:
    """Yield where a new lot of a yarn begins, by what the fields of a weaver's paper print of it."""
    for line, order in zip(again.lines, again.orders, strict=True):
        if order.change is not None:
            row = f"{again.bundles.sections[order.change].start + 1:,}"
            yield {"lot_row": row, "lot_section": str(order.change + 1), "lot_code": line.yarn.code}


def _lost(again: Recount) -> Iterator[dict[str, str]]:
    pile = again.workshop.pile
    plain = [line for line in again.lines if line.yarn.code not in pile.carved_mm and line.mass_g.best]
    lost = [1 - line.sheared_mass_g.best / line.mass_g.best for line in plain]
    if lost and min(lost) > MOST_LOST:
        first = next(line for line in again.lines if line.yarn.code not in pile.carved_mm)
        heights = {"length": f"{_figure(first.cut_mm)}{_figure(first.pile_mm)}"}  # both print their figure alone
        shares = {"waste": f"{pile.waste * 100:g}", "lost": f"{min(lost) * 100:.0f}"}
        yield {"where": "[pile] waste", **heights, **shares}


def _figure(mm: float) -> str:
    """Return what the field of a length in millimetres prints."""
    words = mm_words(mm)
    return "".join(words[start:end] for start, end, _ in fields_of(words))


def _fills(again: Recount) -> Iterator[dict[str, str]]:
    density = again.knot_map.rug.density
    place_mm2 = float(density.knot_width_mm * density.knot_height_mm)
    groups: dict[tuple[str, str, int], list[Line]] = {}
    for line in again.lines:
        groups.setdefault((line.yarn.fibre or "", line.count.notation, line.strands), []).append(line)
    for (fibre, notation, strands), group in groups.items():
        tex = float(group[0].count.tex)
        fill = _fill(tex * strands, fibre, place_mm2)
        if LEAST <= fill <= MOST:
            continue
        usual_tex = tex * USUAL / _fill(tex, fibre, place_mm2)
        number = max(half_up(usual_tex / tex), 1)
        helps = number != strands and LEAST <= _fill(tex * number, fibre, place_mm2) <= MOST
        advice = {"n": str(number)} if helps else {"tex": f"{usual_tex:.0f}", "nm": f"{1000 / usual_tex:.2g}"}
        codes = {} if len(group) == len(again.lines) else {"codes": ", ".join(line.yarn.code for line in group)}
        away = floor_of if fill < LEAST else ceil_of
        told = {"count": notation, "strands": str(strands), "density": density.notation}
        told["fill"] = f"{away(fill * 1000) / 10:.1f}"
        band = {"least": f"{LEAST * 100:g}", "most": f"{MOST * 100:g}"}
        yield {"where": "[pile] yarn", **codes, **told, **band, **advice}


def _fill(tex: float, fibre: str, place_mm2: float) -> float:
    """Return the share of a knot's place that two round legs of the yarn fill."""
    return 2 * math.pi * (thick_mm(tex, fibre) / 2) ** 2 / place_mm2
