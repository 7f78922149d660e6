"""An artwork is converted into a knot map, from its colours to the finished knots."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.outline import filled_to_outline, outline_of
from chartmaker.artwork.own_size import at_own_size, back_on
from chartmaker.artwork.placing import Placed, box_on, place, refuse_beyond
from chartmaker.colours.labelling import label_pixels
from chartmaker.colours.style import StyleChoice
from chartmaker.colours.yarnset import Choosing, allowed_yarns
from chartmaker.convert import notes
from chartmaker.convert.grounding import grounds_of, lay_ground, with_ground
from chartmaker.convert.inparts import in_parts
from chartmaker.convert.laying.grid import Laid, with_repeats
from chartmaker.convert.laying.repeating import repeating
from chartmaker.convert.parts import Parts
from chartmaker.convert.reflections import reflections_of
from chartmaker.convert.repeats.finding import BorderRepeat
from chartmaker.convert.repeats.frames import Box
from chartmaker.convert.repeats.steady import SteadySide
from chartmaker.convert.report import MatchReport, RegionReport, RepeatReport, repeat_report
from chartmaker.convert.seeing import Seen, seen_in
from chartmaker.convert.weaving import Inks, Task, Woven, flat_woven, none_inside, shaded_woven, some_inside
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import NO_KNOT, KnotMap, without_unused
from chartmaker.order.design import Design, Region, Repeat, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.order.wholesizes import BorderSizes, border_sizes
from chartmaker.yarns.yarn import Yarn

#: The parts of a conversion, with roughly the share of the time that each takes.
PARTS = {"fitting": 2, "palette": 8, "colours": 10, "yarns": 15, "knots": 65}


@dataclass(frozen=True)
class Conversion:
    """A knot map, with all there is to say about how it came about.

    `placed` is the artwork as it lies under the knots. `symmetry` is a sentence for the designer, or empty if there is
    nothing to say. `choosing` is None if the whole card was allowed, and `dyed` says that the yarns are shades to be
    dyed. `tidied` is how many knots were tidied, and `lines_kept` how many are there for the sake of lines. `regions`
    are those of the order, and `parts` say which pixels were converted in which way, or None if all went the same way.
    `inks` are those of `placed` if all of it is flat and was converted at that size.
    `repeat` is what repeats all over the drawing, or None if nothing was found, and `sides` are those of borders along
    which repeats are drawn alike. `borders` has the sizes of the rug at which they are whole. In another colourway
    `drawn` has the yarns that the artwork was converted into, each with the code of the yarn that it became.
    """

    knot_map: KnotMap
    report: MatchReport
    style: StyleChoice
    tidied: int
    lines_kept: int
    symmetry: str
    placed: Placed
    choosing: Choosing | None
    dyed: bool
    findings: tuple[Finding, ...]
    regions: tuple[RegionReport, ...] = ()
    parts: Parts | None = None
    inks: Inks | None = None
    repeat: RepeatReport | None = None
    sides: tuple[SteadySide, ...] = ()
    borders: BorderSizes | None = None
    drawn: tuple[tuple[Yarn, str], ...] | None = None


def convert(
    artwork: Artwork,
    rug: Rug,
    card: tuple[Yarn, ...],
    design: Design,
    choice: YarnChoice,
    progress: Progress = SILENT,
    regions: tuple[Region, ...] = (),
    repeats: tuple[Repeat, ...] = (),
) -> Conversion:
    """Convert an artwork into the knot map of a rug.

    Parameters
    ----------
    artwork : Artwork
        The artwork; if there are `regions`, it says where they lie.
    rug : Rug
        Its grid has `rug.rows` x `rug.columns` knots.
    card : tuple of Yarn
        The yarns to choose from. If there are none, `choice.colours` shades to be dyed are worked out.
    design, choice
        What is asked of the conversion.
    progress : Progress, optional
        It is told how far the conversion has come.
    regions : tuple of Region, optional
        What is asked of the regions, in the order of their numbers.
    repeats : tuple of Repeat, optional
        One repeat of each part of the drawing of which the order says what repeats.

    Raises
    ------
    ArtworkError
        If the artwork's proportions are off and `design.fit` does not say what to do, if it is asked to be flat
        without having an even area, or if all of it is transparent.
    RugError
        If `choice` names a code that is not on the card, there is nothing to choose from, or two of `repeats` lie in
        one part of the drawing.
    CardError
        If no yarn is left to choose from.
    """
    parts = progress.parts(PARTS)
    parts["fitting"].doing(say("fitting the artwork"))
    choice = with_ground(card, design, choice, regions)
    allowed = allowed_yarns(card, choice)
    if artwork.coverage is not None and not artwork.coverage.any():
        none_inside()
    placed = place(artwork, rug, design)
    parts["palette"].doing(say("finding the artwork's colours"))
    filled = replace(placed, artwork=filled_to_outline(placed.artwork, placed.placement, rug))
    seen, own = _seen(filled, design, regions)
    if seen.style.style == "flat" and design.stipple is not None:
        raise RugError(
            say(
                "[design] stipple mixes shades of shaded artwork knot by knot, and this artwork is converted as flat: "
                "leave stipple out, or set style = 'shaded'"
            )
        )
    mirrors = reflections_of(design.mirror, (), None)
    times = mirrors.times(rug.rows, rug.columns)
    boxes = _boxes_on(own, placed, artwork, repeats, design)
    task = Task(own, rug, design, regions, choice, allowed, seen, None, mirrors, times, parts, boxes=boxes)
    woven = _woven(task.laid(own.placement))
    return _told(woven, placed, dyed=not card)


def repeats_in(
    artwork: Artwork, rug: Rug, design: Design, regions: tuple[Region, ...] = (), repeats: tuple[Repeat, ...] = ()
) -> tuple[RepeatReport | None, BorderSizes | None, tuple[Finding, ...]]:
    """Return what repeats all over a flat artwork, or else along its borders, before it is converted.

    The arguments are those of `convert`. There is a warning for each of the `repeats` by which nothing repeats.

    Raises
    ------
    ArtworkError
        If the artwork's proportions are off and `design.fit` does not say what to do.
    """
    placed = place(artwork, rug, design)
    seen, own = _seen(placed, design, regions)
    if len(seen.ways) > 1 or seen.style.style != "flat" or not len(seen.palette.srgb):
        return None, None, ()
    labels = label_pixels(own.artwork, seen.palette.srgb)
    boxes = _boxes_on(own, placed, artwork, repeats, design)
    mirror = reflections_of(design.mirror, (), None).halved
    found = repeating(labels, own.placement, mirror, boxes)
    warnings = tuple(notes.unrepeated_findings(found.unused))
    grid = with_repeats(Laid(own.placement, found), labels, own.placement, mirror)
    report = repeat_report(grid, grid.whole, own.placement)
    borders = _border_sizes(found.sides, rug, design, own, placed) if design.fitted and design.repeats else None
    return report, borders, warnings


def _boxes_on(
    own: Placed, placed: Placed, artwork: Artwork, repeats: tuple[Repeat, ...], design: Design
) -> tuple[Box, ...]:
    """Return where the boxes of an order, told on the artwork as it came, lie on it as placed at its own size."""
    boxes = [repeat.box for repeat in repeats]
    refuse_beyond(artwork, boxes)
    return tuple(Box(*box_on(own.artwork, placed.artwork, artwork, box, design.turn)) for box in boxes)


def _border_sizes(
    sides: tuple[BorderRepeat, ...], rug: Rug, design: Design, own: Placed, placed: Placed
) -> BorderSizes | None:
    """Return the sizes at which borders are whole; `placed` is the artwork as it was before it was at its own size."""
    shape = own.artwork.height, own.artwork.width
    pitches = [pitch for side in sides if (pitch := side.pitch(shape)) is not None]
    return border_sizes(pitches, rug, design, (placed.artwork.width, placed.artwork.height))


def _told(woven: Woven, placed: Placed, *, dyed: bool) -> Conversion:
    """Return the conversion with its map and all that there is to say; `placed` is the artwork as it was at first."""
    task, rug = woven.task, woven.task.rug
    region_of, grounds = task.mirrors.region_of, grounds_of(task.design, task.regions)
    lay_ground(woven.knots, woven.tally, woven.yarns, grounds, region_of, outline_of(rug), task.times)
    knots = task.mirrors.of(woven.knots)
    some_inside(knots)
    knot_map = without_unused(KnotMap(knots[::-1], woven.yarns, rug))
    report = woven.tally.report(woven.yarns)
    parts = task.seen.parts if len(task.seen.ways) > 1 else None
    return Conversion(
        knot_map,
        report,
        task.seen.style,
        woven.tidied,
        woven.lines_kept,
        task.mirrors.note(knots),
        replace(placed, placement=back_on(placed.artwork, task.placed.artwork, task.placed.placement)),
        woven.choosing,
        dyed,
        (
            *notes.size_findings(placed.placement),
            *notes.outline_findings(placed.artwork, rug),
            *notes.repeat_findings(woven.repeat, rug),
            *notes.border_findings(woven.sides),
            *woven.findings,
            *notes.match_findings(report, woven.yarns, woven.choosing, dyed=dyed),
            *notes.choice_findings(task.choice, woven.choosing, {yarn.code for yarn in knot_map.yarns}),
        ),
        _region_reports(task, knots),
        None if parts is None else parts.enlarged(placed.artwork.height, placed.artwork.width),
        woven.inks if task.placed.artwork is placed.artwork else None,
        woven.repeat,
        woven.sides,
        _border_sizes(task.sides, rug, task.design, task.placed, placed),
    )


def _region_reports(task: Task, knots: NDArray[np.uint16]) -> tuple[RegionReport, ...]:
    """Return what became of each region of the order."""
    region_of = task.mirrors.region_of
    if region_of is None:
        return ()
    tied = np.bincount(region_of[knots != NO_KNOT], minlength=len(task.regions) + 1)
    styles = task.seen.styles
    return tuple(RegionReport(n, styles[n].style, int(tied[n])) for n in range(1, len(task.regions) + 1))


def _seen(placed: Placed, design: Design, regions: tuple[Region, ...]) -> tuple[Seen, Placed]:
    """Return what the artwork is seen as, and the artwork, which is at its own size if some of it looks flat."""
    own = at_own_size(placed.artwork, placed.placement)
    if own[0] is not placed.artwork:
        seen = seen_in(*own, design, regions)
        if seen.looks_flat:
            return seen, Placed(*own, placed.fit)
    return seen_in(placed.artwork, placed.placement, design, regions), placed


def _woven(task: Task) -> Woven:
    """Return the knots, which are made all at once if the whole artwork goes one way."""
    ways = task.seen.ways
    if len(ways) > 1:
        return in_parts(task)
    if ways:  # regions differ only in ground or mirror, or one covers everything
        task = replace(task, design=task.design.model_copy(update=asdict(ways[0])))
    return flat_woven(task, task.seen.palette) if task.seen.style.style == "flat" else shaded_woven(task)
