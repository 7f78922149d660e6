"""The conversion of an artwork into a knot map."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from chartmaker.colour import ciede2000, lab_from_linear
from chartmaker.convert import fitting, sampling
from chartmaker.convert.matching import nearest_yarns
from chartmaker.convert.report import MatchReport, Tally
from chartmaker.design import Design, YarnChoice
from chartmaker.errors import ArtworkError, CardError, RugError
from chartmaker.findings import Finding
from chartmaker.knotmap import NO_KNOT, KnotMap, without_unused
from chartmaker.picture import Artwork
from chartmaker.rug import Rug
from chartmaker.workshop import Workshop
from chartmaker.yarn import Yarn, lab_of

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class StyleChoice:
    """`flat` or `shaded`, with the reason in one sentence."""

    style: str
    reason: str


@dataclass(frozen=True)
class Choosing:
    """Which yarns were chosen, with how far that is from the best conceivable choice.

    `mean_de00` is the knot-weighted mean CIEDE2000 of the choice, `bound_de00` a proven lower bound of what any
    choice of as many yarns can reach.
    """

    codes: tuple[str, ...]
    mean_de00: float
    bound_de00: float

    @property
    def gap(self) -> float:
        """How far the choice is above the bound, as a share of the bound."""
        return self.mean_de00 / self.bound_de00 - 1 if self.bound_de00 > 0 else 0.0


@dataclass(frozen=True)
class Conversion:
    """A knot map with all there is to say about how it came about.

    `symmetry` and `fit` are sentences for the designer (`symmetry` is empty when there is nothing to say);
    `choosing` is None when the whole card was allowed; `dyed` says that the yarns are shades to be dyed.
    """

    knot_map: KnotMap
    report: MatchReport
    style: StyleChoice
    tidied: int
    lines_kept: int
    symmetry: str
    fit: str
    choosing: Choosing | None
    dyed: bool
    findings: tuple[Finding, ...]


def convert(
    artwork: Artwork,
    rug: Rug,
    card: tuple[Yarn, ...],
    design: Design,
    choice: YarnChoice,
    workshop: Workshop,
    progress: Progress | None = None,
) -> Conversion:
    """Convert an artwork into the knot map of a rug.

    Parameters
    ----------
    artwork : Artwork
    rug : Rug
        Its grid has `rug.rows` x `rug.columns` knots.
    card : tuple of Yarn
        The yarns to choose from. Empty: `choice.colours` shades to be dyed are worked out.
    design, choice, workshop
        The settings; `workshop` only follows the map about.
    progress : callable, optional
        Called with what is being done and the share (0..1) of the whole that is done.

    Raises
    ------
    ArtworkError
        If the artwork's proportions are off and `design.fit` does not say what to do.
    RugError
        If `choice` names a code that is not on the card.
    CardError
        If no yarn is left to choose from.
    """
    tell = progress or (lambda _what, _share: None)
    tell("fitting the artwork", 0.0)
    upright = fitting.turned(artwork, design.turn)
    frame, fit = fitting.frame_of(upright, rug, design.fit)
    allowed = allowed_yarns(card, choice)
    knots = np.empty((rug.rows, rug.columns), dtype=np.uint16)
    tally = Tally(len(allowed))
    yarns_lab = lab_of(allowed)
    shares = sampling.coverage_shares(upright, frame)
    for first, end in sampling.row_bands(upright, frame):
        lab = lab_from_linear(sampling.linear_averages(upright, frame, first, end)).reshape(-1, 3)
        nearest = nearest_yarns(lab, yarns_lab)
        inside = np.ones(len(lab), dtype=bool) if shares is None else shares[first:end].ravel() >= 0.5
        tally.add(nearest[inside], ciede2000(lab[inside], yarns_lab[nearest[inside]]))
        knots[first:end] = np.where(inside, nearest, NO_KNOT).reshape(end - first, -1)
        tell("matching yarns", end / rug.rows)
    knot_map = without_unused(KnotMap(knots[::-1], allowed, rug, workshop))
    if not knot_map.tied:
        raise ArtworkError("nothing of the artwork lies inside the rug: it is transparent all over")
    return Conversion(
        knot_map,
        tally.report(allowed),
        StyleChoice("shaded", "every knot takes the average colour of its cell"),
        0,
        0,
        "",
        fit,
        None,
        False,
        tuple(_size_findings(upright, frame)),
    )


def allowed_yarns(card: tuple[Yarn, ...], choice: YarnChoice) -> tuple[Yarn, ...]:
    """Return the card without the yarns to skip, in the card's order."""
    _check_codes(card, choice)
    allowed = tuple(yarn for yarn in card if yarn.code not in choice.skip)
    if not allowed:
        raise CardError("no yarn is left to choose from; leave some out of skip")
    return allowed


def _check_codes(card: tuple[Yarn, ...], choice: YarnChoice) -> None:
    codes = [yarn.code for yarn in card]
    for key, wanted in (("keep", choice.keep), ("skip", choice.skip)):
        for code in wanted:
            if code in codes:
                continue
            near = difflib.get_close_matches(code.upper(), codes, n=1)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise RugError(f"[yarns] {key} names {code!r}, which is not on the card{hint}")
    both = sorted(set(choice.keep) & set(choice.skip))
    if both:
        raise RugError(f"[yarns] keep and skip both name {both[0]!r}; leave it in one of them")


def _size_findings(artwork: Artwork, frame: fitting.Frame) -> list[Finding]:
    across, down = frame.width / frame.columns, frame.height / frame.rows
    if min(across, down) >= 1:
        return []
    return [
        Finding(
            f"The artwork has fewer pixels than the rug has knots: {frame.width:.0f} x {frame.height:.0f} pixels for "
            f"{frame.columns} x {frame.rows} knots, so blocks of knots share one pixel; use a larger artwork.",
            "artwork",
            "warning",
        )
    ]
