"""How high the pile is cut at the loom and how high it stands finished, in the words that all papers have for it."""

from __future__ import annotations

from chartmaker.figures.heights import Heights, base_heights, heights_of
from chartmaker.ground.language import field, joined, say, told
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import Yarn


def heights_words(cut_mm: float, pile_mm: float) -> str:
    """Return both heights of a yarn."""
    return told("cut {cut_mm}, finished {pile_mm} mm", cut_mm=f"{cut_mm:.4g}", pile_mm=f"{pile_mm:.4g}")


def pile_facts(rug: Rug, workshop: Workshop, *, uneven: bool) -> tuple[tuple[str, str], ...]:
    """Return what a cover says of both heights, as (label, value); `uneven` says whether some yarn has its own."""
    cut, pile = _base(rug, workshop)
    facts = ((say("Pile cut"), cut), (say("Pile finished"), pile))
    return (*facts, (say("Other heights"), say("in the legend, cut and finished"))) if uneven else facts


def pile_paragraph(yarns: tuple[Yarn, ...], rug: Rug, workshop: Workshop) -> str:
    """Return both heights of the pile, and those of each yarn that has others, for who ties it."""
    cut, pile = _base(rug, workshop)
    base = base_heights(rug, workshop)
    said: list[str] = [
        told(
            "The pile of each knot is cut {cut} high at the loom; shorn and finished it is {pile}.", cut=cut, pile=pile
        )
    ]
    for yarn in yarns:
        own = heights_of(yarn.code, rug, workshop)
        if own != base:
            said.append(_own(yarn.code, own))
    return joined(" ", said)


def _own(code: str, own: Heights) -> str:
    return told(
        "{own_code} is cut {own_cut_mm}, finished {own_pile_mm} mm.",
        own_code=code,
        own_cut_mm=f"{own.cut_mm:.4g}",
        own_pile_mm=f"{own.pile_mm:.4g}",
    )


def _base(rug: Rug, workshop: Workshop) -> tuple[str, str]:
    """Return both heights of yarns that have none of their own, and whether the rug file gives them or not."""
    base = base_heights(rug, workshop)
    cut = told("{cut_mm} mm", cut_mm=f"{base.cut_mm:.4g}")
    pile = told("{pile_mm} mm", pile_mm=f"{base.pile_mm:.4g}")
    if workshop.pile.cut_mm is None:
        cut = joined(" ", [cut, field("assumed_cut", say("(assumed)"))])
    if rug.pile_mm is None:
        pile = joined(" ", [pile, field("assumed_pile", say("(assumed)"))])
    return cut, pile
