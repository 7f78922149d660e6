"""The findings of a conversion, which are what the designer should know about it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.colours.yarnset import Choosing
from chartmaker.convert.repeats.saying import Said
from chartmaker.convert.repeats.steady import SteadySide
from chartmaker.convert.report import MatchReport, RepeatReport, YarnMatch
from chartmaker.ground.colour import ciede2000, hex_of, lab_from_srgb8
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.sentence import Sentence, later, later_n, listed
from chartmaker.order.design import YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.yarns.yarn import Yarn

#: If two colours of flat artwork that became one yarn are further apart than this, the designer is told.
MERGED_DE00 = 2.0
#: What whole repeats cost at the rims is told from this many knots on.
LEAST_TOLD = 0.05
_WHOLE = phrase("The drawing repeats every {wide} x {high} knots; each repeat is woven as the same {columns} x {rows}.")
_WHOLE_IN_FIELD = phrase(
    "The field repeats every {wide} x {high} knots; each repeat is woven as the same {columns} x {rows}."
)
_LEFT = phrase(
    "The drawing repeats every {wide} x {high} knots. Whole repeats would be scaled or cut too much, or would lose "
    "what the knots show of it, so each is left as it lies."
)
_LEFT_IN_FIELD = phrase(
    "The field repeats every {wide} x {high} knots. Whole repeats would be scaled too much, or would lose what the "
    "knots show of it, so each is left as it lies."
)
_CUT = phrase(
    "So that repeats are whole, {across:.1f} knots of the drawing are cut off at left and at right, {along:.1f} at top "
    "and at foot."
)
_NARROWED = phrase(
    "So that repeats are whole, the outermost knots show less of the artwork each: there are {across:.1f} knots more "
    "at left and at right, {along:.1f} at top and at foot."
)
_WIDENED = phrase(
    "So that repeats are whole, the outermost knots show more of the artwork each: there are {across:.1f} knots fewer "
    "at left and at right, {along:.1f} at top and at foot."
)
_BORDER = phrase(
    "The border repeats every {drawn} knots {where}; its repeats are woven alike and begin {steps} knots apart."
)
_BORDER_OF_SEVERAL = phrase(
    "Border {border} from the rim repeats every {drawn} knots {where}; its repeats are woven alike and begin {steps} "
    "knots apart."
)
_WHERE = {"all round": phrase("all round"), "across": phrase("at top and foot"), "along": phrase("at the sides")}
_WHOLE_SIZES = phrase("A repeat is whole as it is drawn with {columns} columns and {rows} rows.")
_WHOLE_SIZES_OF_FIELD = phrase("A repeat of the field is whole as it is drawn with {columns} columns and {rows} rows.")


def size_findings(placement: Placement) -> Iterator[Finding]:
    """Yield a warning if the artwork has fewer pixels than the rug has knots in either direction."""
    if min(placement.knot_width, placement.knot_height) < 1 - 1e-9:
        yield Finding(
            later(
                "The artwork has fewer pixels than the rug has knots ({width:.0f} x {height:.0f} pixels for {columns} "
                "x {rows} knots), so blocks of knots share one pixel; use a larger artwork.",
                width=placement.width,
                height=placement.height,
                columns=placement.columns,
                rows=placement.rows,
            ),
            later("artwork"),
            "warning",
        )


def outline_findings(artwork: Artwork, rug: Rug) -> Iterator[Finding]:
    """Yield a warning if the artwork's transparency should give the outline, but nothing in it is transparent."""
    if rug.shape == "artwork" and (artwork.coverage is None or bool((artwork.coverage == 255).all())):
        yield Finding(
            later(
                "The rug's shape is to follow the artwork's transparency, but the artwork has none, so the rug is a "
                "rectangle."
            ),
            "[rug] shape",
            "warning",
        )


def repeat_findings(repeat: RepeatReport | None, rug: Rug) -> Iterator[Finding]:
    """Yield notes on what repeats all over the drawing, or in its field: what became of it, and the whole sizes."""
    if repeat is None:
        return
    high, wide = repeat.drawn
    drawn = {"wide": f"{wide:g}", "high": f"{high:g}"}
    if repeat.knots is None:
        yield Finding(
            later(_LEFT_IN_FIELD if repeat.field else _LEFT, **drawn),
            later("artwork"),
            "note",
        )
    else:
        rows, columns = repeat.knots
        yield Finding(
            later(_WHOLE_IN_FIELD if repeat.field else _WHOLE, columns=columns, rows=rows, **drawn),
            later("artwork"),
            "note",
        )
        for knots, template in ((repeat.cut, _CUT), (repeat.missing, _NARROWED), (repeat.widened, _WIDENED)):
            if knots is not None and max(knots) >= LEAST_TOLD:
                yield Finding(later(template, across=knots[1], along=knots[0]), later("artwork"), "note")
    if (repeat.rows, repeat.columns) != ((rug.rows,), (rug.columns,)):
        yield Finding(
            later(
                _WHOLE_SIZES_OF_FIELD if repeat.field else _WHOLE_SIZES,
                columns=either(repeat.columns),
                rows=either(repeat.rows),
            ),
            "[rug] size",
            "note",
        )


def border_findings(sides: tuple[SteadySide, ...]) -> Iterator[Finding]:
    """Yield a note for each border, by its sides, on how its repeats come to be drawn alike."""
    alike = dict[tuple[int, float, tuple[int, ...]], set[bool]]()
    for side in sides:
        near = round(side.drawn, 1)
        own = side.band, side.drawn if near.is_integer() else near, tuple(sorted(set(side.steps)))
        alike.setdefault(own, set()).add(side.side in ("top", "bottom"))
    several = len({side.band for side in sides}) > 1
    for (band, drawn, steps), ways in alike.items():
        where = _WHERE["all round" if len(ways) == 2 else "across" if True in ways else "along"]
        yield Finding(
            later(
                _BORDER_OF_SEVERAL if several else _BORDER,
                border=band + 1,
                drawn=f"{drawn:g}",
                where=later(where),
                steps=either(steps),
            ),
            later("artwork"),
            "note",
        )


def unrepeated_findings(unused: Iterable[Said]) -> Iterator[Finding]:
    """Yield a warning for each box of the order, with its number, by which nothing repeats where it lies."""
    for said in unused:
        what = (
            "The border does not repeat by {wide:.0f} x {high:.0f} pixels where this box lies, so the box counts for "
            "nothing; measure it anew, from one place of the pattern to the same place further on."
            if said.part is not None
            else "Neither the drawing nor its field repeats by {wide:.0f} x {high:.0f} pixels, so this box counts for "
            "nothing; measure it anew, from one place of the pattern to the same place further on."
        )
        yield Finding(
            later(what, wide=said.box.width, high=said.box.height),
            later("[[repeat]] {number}, box", number=said.number),
            "warning",
        )


def either(numbers: tuple[int, ...]) -> Sentence:
    """Return one number, or two to choose from, or from which to which more of them go."""
    if len(numbers) == 1:
        return later("{first:,}", first=numbers[0])
    if len(numbers) == 2:
        return later("{first:,} or {second:,}", first=numbers[0], second=numbers[1])
    return later("{first:,} to {last:,}", first=numbers[0], last=numbers[-1])


def match_findings(
    report: MatchReport, yarns: tuple[Yarn, ...], choosing: Choosing | None = None, *, dyed: bool = False
) -> Iterator[Finding]:
    """Yield one warning about all yarns that stand in for colours that the yarns in use miss.

    If yarns were chosen from the card, it names the yarn that is nearer but is not among them.
    """
    names = {yarn.code: yarn.name for yarn in yarns}
    nearer = {} if choosing is None else dict(choosing.nearer)
    told = [_stand_in_words(match, names[match.code], nearer.get(match.code)) for match in report.stand_ins]
    if not told:
        return
    if dyed:
        advice = later("Ask for more shades.")
    elif nearer:
        advice = later("More colours, or another yarn in [yarns] keep, would come nearer.")
    else:
        advice = later("No yarn that may be used is nearer: add one, or accept it.")
    yield Finding(
        later_n(
            "{n} yarn stands in for colours that it misses, away by CIEDE2000 on average: {yarns}. {advice}",
            "{n} yarns stand in for colours that they miss, away by CIEDE2000 on average: {yarns}. {advice}",
            len(told),
            yarns=listed(told),
            advice=advice,
        ),
        later("yarns {codes}", codes=", ".join(match.code for match in report.stand_ins)),
        "warning",
    )


def _stand_in_words(match: YarnMatch, name: str, nearer: str | None) -> Sentence:
    """Return a yarn with how far off it is, and with a nearer yarn if there is one."""
    if nearer is None:
        return later_n(
            "{code} {name} {mean_de00:.1f} ({n} knot)",
            "{code} {name} {mean_de00:.1f} ({n:,} knots)",
            match.knots,
            code=match.code,
            name=name,
            mean_de00=match.mean_de00,
        )
    return later_n(
        "{code} {name} {mean_de00:.1f} ({n} knot; {nearer} is nearer to some, but not among the chosen)",
        "{code} {name} {mean_de00:.1f} ({n:,} knots; {nearer} is nearer to some, but not among the chosen)",
        match.knots,
        code=match.code,
        name=name,
        mean_de00=match.mean_de00,
        nearer=nearer,
    )


def choice_findings(choice: YarnChoice, choosing: Choosing | None, tied: Collection[str]) -> Iterator[Finding]:
    """Yield what became of the yarns that were asked for.

    Parameters
    ----------
    choice : YarnChoice
        What was asked for.
    choosing : Choosing or None
        What was chosen, or None if the whole card was allowed.
    tied : collection of str
        The codes of the yarns that are tied.
    """
    idle = [code for code in choice.keep if code not in tied]
    if idle:
        yield Finding(
            later_n(
                "{codes} was to be kept, but every knot has a nearer yarn, so it is not tied; no other yarn was left "
                "out for it.",
                "{codes} were to be kept, but every knot has a nearer yarn, so they are not tied; no other yarn was "
                "left out for them.",
                len(idle),
                codes=", ".join(idle),
            ),
            "[yarns] keep",
            "warning",
        )
    if choosing is not None and choosing.left_out and choosing.free_de00 is not None:
        yield Finding(
            later(
                "Because of the yarns to be kept these are left out: {codes}. With them the mean difference would be "
                "{free:.2f} by CIEDE2000; it is {mean:.2f}.",
                codes=", ".join(choosing.left_out),
                free=choosing.free_de00,
                mean=choosing.mean_de00,
            ),
            "[yarns] keep",
            "note",
        )
    if choice.colours is not None and len(tied) < choice.colours:
        yield Finding(
            later_n(
                "{asked} yarns were asked for, and {n} is tied: the artwork needs no more of these yarns.",
                "{asked} yarns were asked for, and {n} are tied: the artwork needs no more of these yarns.",
                len(tied),
                asked=choice.colours,
            ),
            "[yarns] colours",
            "note",
        )


def hairline_findings(knots: int) -> Iterator[Finding]:
    """Yield a note if lines that run over so many `knots` are too thin to be woven."""
    if knots:
        yield Finding(
            later_n(
                "Lines thinner than a quarter of a knot are left out: they run over {n} knot. Draw them thicker, or "
                "weave the rug with more knots.",
                "Lines thinner than a quarter of a knot are left out: they run over {n:,} knots. Draw them thicker, or "
                "weave the rug with more knots.",
                knots,
            ),
            later("artwork"),
            "note",
        )


def merged_findings(real: ByteArray, yarn_of: NDArray[np.intp], yarns: tuple[Yarn, ...]) -> Iterator[Finding]:
    """Yield one warning about all yarns that stand for plainly different colours of flat artwork.

    Parameters
    ----------
    real : ndarray of uint8, shape (colours, 3)
        The artwork's real colours.
    yarn_of : ndarray, shape (colours,)
        The yarn of each.
    """
    lab = lab_from_srgb8(real)
    told: list[Sentence] = []
    codes: list[str] = []
    for yarn in np.unique(yarn_of):
        own = np.flatnonzero(yarn_of == yarn)
        if len(own) < 2 or ciede2000(lab[own][:, None], lab[own][None]).max() <= MERGED_DE00:
            continue
        colours = ", ".join(hex_of((int(r), int(g), int(b))) for r, g, b in real[own])
        code, name = yarns[yarn].code, yarns[yarn].name
        told.append(later("{colours} all become {code} {name}", colours=colours, code=code, name=name))
        codes.append(code)
    if told:
        yield Finding(
            later(
                "Plainly different colours of the artwork become one yarn; where they touch, the edge between them is "
                "lost: {colours}.",
                colours=listed(told),
            ),
            later("yarns {codes}", codes=", ".join(codes)),
            "warning",
        )
