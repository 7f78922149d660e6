"""How high the pile is cut at the loom and how high it stands finished, in the words that all papers have for it."""

from __future__ import annotations

from collections.abc import Sequence

from chartmaker.figures.heights import Heights, assumed_of, base_heights, heights_of, is_loop, shorn_heights
from chartmaker.ground.language import field, joined, phrase, say, told
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import Yarn

#: The mark of a height that is reckoned because the rug file does not give it, and what it means.
ASSUMED = phrase("(assumed)")
_MARK = phrase("{mark}: reckoned, because the rug file does not give it.")
#: Which keys give the heights of all yarns, and how single yarns come to others.
_SHORN = phrase("The pile is tied as high as [pile] cut; shorn, it is as high as [rug] pile.")
_UNSHORN = phrase("The pile is as high as [pile] cut or [rug] pile: nothing is shorn.")
_HIGHER = phrase("{codes}: tied higher by [pile] heights, and shorn by {off} mm like the rest.")
_LOWER = phrase("{codes}: tied lower by [pile] heights, where no shears reach.")
_CARVED = phrase("{codes}: carved down to [pile] carved.")
_LOOPED = phrase("{codes}: loops, not shorn, tied to the finished height unless [pile] heights gives another.")


def heights_words(cut_mm: float, pile_mm: float) -> str:
    """Return both heights of a yarn."""
    return told("cut {cut_mm}, finished {pile_mm} mm", cut_mm=f"{cut_mm:.4g}", pile_mm=f"{pile_mm:.4g}")


def marked(words: str, assumed: bool, name: str = "assumed") -> str:
    """Return a height with the mark of one that is reckoned and not given, which readers find by `name`."""
    return joined(" ", [words, field(name, say(ASSUMED))]) if assumed else words


def origin_words(codes: Sequence[str], rug: Rug, workshop: Workshop) -> str:
    """Return by which keys the heights of these yarns came about, in so many sentences as they need."""
    base = base_heights(rug, workshop)
    own = [code for code in codes if code in workshop.pile.heights_mm]
    shorn = [code for code in codes if not is_loop(code, rug, workshop)]
    higher = [code for code in own if code in shorn and workshop.pile.heights_mm[code] > base.cut_mm]
    lower = [code for code in own if code in shorn and shorn_heights(code, rug, workshop).shorn_mm <= 0]
    carved = [code for code in codes if code in workshop.pile.carved_mm]
    loops = [code for code in codes if code not in shorn]
    parts = [say(_SHORN if shorn and base.shorn_mm > 0 else _UNSHORN)]
    for each, sentence in ((higher, _HIGHER), (lower, _LOWER), (carved, _CARVED), (loops, _LOOPED)):
        if each and base.shorn_mm > 0:
            parts.append(say(sentence, codes=", ".join(each), off=f"{base.shorn_mm:.4g}"))
    assumed = [assumed_of(code, rug, workshop) for code in codes]
    if any(each.cut or each.shorn or each.finished for each in assumed):
        parts.append(say(_MARK, mark=say(ASSUMED)))
    return " ".join(parts)


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
    assumed = assumed_of("", rug, workshop)
    return marked(cut, assumed.cut, "assumed_cut"), marked(pile, assumed.finished, "assumed_pile")
