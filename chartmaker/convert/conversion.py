"""The conversion of an artwork into a knot map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.own_size import at_own_size, back_on
from chartmaker.artwork.placing import Placed, place
from chartmaker.colours.matching import nearest_yarns
from chartmaker.colours.palette import Palette, find_palette
from chartmaker.colours.yarnset import Choosing, allowed_yarns, chosen_yarns, number_to_choose
from chartmaker.convert import notes
from chartmaker.convert.flat.labelling import OUTSIDE, Labels, label_pixels
from chartmaker.convert.flat.tiles import HALO, FlatKnots, flat_knots
from chartmaker.convert.grounding import lay_ground, with_ground
from chartmaker.convert.laying.grid import laid
from chartmaker.convert.outline import outline_of
from chartmaker.convert.report import MatchReport, Tally
from chartmaker.convert.shaded.sampling import coverage_shares
from chartmaker.convert.shaded.shaded import MOST_COLOURS, CellColours, gathered_colours, shaded_knots
from chartmaker.convert.style import StyleChoice, choose_style
from chartmaker.convert.symmetry import master_window, mirrored, multiplicity, symmetry_note
from chartmaker.ground.colour import FloatArray, ciede2000, lab_from_srgb8
from chartmaker.ground.errors import ArtworkError, RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import NO_KNOT, KnotMap, without_unused
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.yarns.yarn import Yarn, lab_of

#: The parts of a conversion, with about how long each takes.
PARTS = {"fitting": 2, "palette": 8, "colours": 10, "yarns": 15, "knots": 65}


@dataclass(frozen=True)
class Conversion:
    """A knot map with all there is to say about how it came about.

    `placed` is the artwork as it lies under the knots; `symmetry` a sentence for the designer, empty when there is
    nothing to say;
    `choosing` is None when the whole card was allowed; `dyed` says that the yarns are shades to be dyed; `tidied`
    counts knots, `lines_kept` knots that are there for the sake of lines.
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


@dataclass(frozen=True, eq=False)
class _Task:
    """The artwork as it lies on the grid, with what is asked of the conversion."""

    placed: Placed
    rug: Rug
    design: Design
    choice: YarnChoice
    allowed: tuple[Yarn, ...]
    weights: tuple[NDArray[np.int64], NDArray[np.int64]]
    parts: Mapping[str, Progress]


@dataclass(frozen=True, eq=False)
class _Woven:
    """Knots in raster order, indices into `yarns`, with what is known of them."""

    knots: NDArray[np.uint16]
    yarns: tuple[Yarn, ...]
    placed: Placed
    tally: Tally
    choosing: Choosing | None
    tidied: int = 0
    lines_kept: int = 0
    findings: tuple[Finding, ...] = ()


def convert(
    artwork: Artwork,
    rug: Rug,
    card: tuple[Yarn, ...],
    design: Design,
    choice: YarnChoice,
    progress: Progress = SILENT,
) -> Conversion:
    """Convert an artwork into the knot map of a rug.

    Parameters
    ----------
    artwork : Artwork
    rug : Rug
        Its grid has `rug.rows` x `rug.columns` knots.
    card : tuple of Yarn
        The yarns to choose from. Empty: `choice.colours` shades to be dyed are worked out.
    design, choice
        What is asked of the conversion.
    progress : Progress, optional
        Told how far the conversion is.

    Raises
    ------
    ArtworkError
        If the artwork's proportions are off and `design.fit` does not say what to do, if it is asked to be flat
        without having an even area, or if all of it is transparent.
    RugError
        If `choice` names a code that is not on the card, or there is nothing to choose from.
    CardError
        If no yarn is left to choose from.
    """
    parts = progress.parts(PARTS)
    parts["fitting"].doing(say("fitting the artwork"))
    choice = with_ground(card, design, choice)
    allowed = allowed_yarns(card, choice)
    if artwork.coverage is not None and not artwork.coverage.any():
        _none_inside()
    placed = place(artwork, rug, design)
    weights = multiplicity(rug.rows, rug.columns, design.mirror)
    task = _Task(placed, rug, design, choice, allowed, weights, parts)
    parts["palette"].doing(say("finding the artwork's colours"))
    palette, style, task = _seen(task)
    if style.style == "flat" and design.stipple is not None:
        raise RugError(
            say(
                "[design] stipple mixes shades of shaded artwork knot by knot, and this artwork is converted as flat: "
                "leave stipple out, or set style = 'shaded'"
            )
        )
    woven = _flat(task, palette) if style.style == "flat" else _shaded(task)
    if design.ground is not None:
        lay_ground(woven.knots, woven.tally, woven.yarns, design.ground, outline_of(rug), weights)
    knots = mirrored(woven.knots, design.mirror)
    knot_map = without_unused(KnotMap(knots[::-1], woven.yarns, rug))
    report = woven.tally.report(woven.yarns)
    return Conversion(
        knot_map,
        report,
        style,
        woven.tidied,
        woven.lines_kept,
        symmetry_note(knots, design.mirror),
        replace(placed, placement=back_on(placed.artwork, woven.placed.artwork, woven.placed.placement)),
        woven.choosing,
        not card,
        (
            *notes.size_findings(placed.placement),
            *notes.outline_findings(placed.artwork, rug),
            *woven.findings,
            *notes.match_findings(report, woven.yarns, woven.choosing, dyed=not card),
            *notes.choice_findings(choice, woven.choosing, {yarn.code for yarn in knot_map.yarns}),
        ),
    )


def _seen(task: _Task) -> tuple[Palette, StyleChoice, _Task]:
    """Return the artwork's palette and style, with the task on the artwork at its own size if that is flat."""
    own = at_own_size(task.placed.artwork, task.placed.placement)
    seen = [replace(task, placed=Placed(*own, task.placed.fit))] if own[0] is not task.placed.artwork else []
    for tried in (*seen, task):
        placement = tried.placed.placement
        palette = find_palette(tried.placed.artwork, placement.height * placement.width / task.rug.knots)
        style = choose_style(task.design.style, palette, pixel_a_knot=placement.is_a_pixel_a_knot)
        if tried is task or choose_style("auto", palette, pixel_a_knot=placement.is_a_pixel_a_knot).style == "flat":
            break
    return palette, style, tried


def _flat(task: _Task, palette: Palette) -> _Woven:
    if not len(palette.srgb):
        raise ArtworkError(say("style = 'flat' needs even areas of colour, the artwork has none; use style = 'shaded'"))
    task.parts["colours"].doing(say("telling the colours apart"))
    labels = label_pixels(task.placed.artwork, palette.srgb)
    if task.design.fitted:
        task.parts["colours"].doing(say("laying the grid"))
        placement = laid(labels, task.placed.placement, task.design.mirror)
        task = replace(task, placed=replace(task.placed, placement=placement))
    real = lab_from_srgb8(palette.srgb)
    areas = np.bincount(labels.first.ravel(), minlength=OUTSIDE + 1)[: len(real)]
    yarns, choosing = _yarns(task, real, areas.astype(np.float64), len(real))
    yarn_of = nearest_yarns(real, lab_of(yarns)).astype(np.intp)
    flat = _mirrored_flat(task, labels, palette.srgb, yarn_of)
    _some_inside(flat.knots)
    tally = _flat_tally(task, flat.knots, flat.colours, ciede2000(real[:, None], lab_of(yarns)[None]))
    findings = (*notes.merged_findings(palette.srgb, yarn_of, yarns), *notes.hairline_findings(flat.faint))
    tidied = int(task.weights[0] @ flat.tidied @ task.weights[1])
    return _Woven(flat.knots, yarns, task.placed, tally, choosing, tidied, flat.lines_kept, findings)


def _mirrored_flat(task: _Task, labels: Labels, palette: NDArray[np.uint8], yarn_of: NDArray[np.intp]) -> FlatKnots:
    """Return the flat knots of the part that is not a mirror image, the rest left at nothing."""
    rows, columns = task.rug.rows, task.rug.columns
    window = master_window(rows, columns, task.design.mirror, HALO)
    outline = outline_of(task.rug)
    task.parts["knots"].doing(say("placing the knots"))
    part = flat_knots(
        task.placed.placement.raster_part(*window),
        labels,
        palette,
        yarn_of,
        None if outline is None else outline[window],
        lines=task.design.lines,
        tidy=task.design.tidy,
        progress=task.parts["knots"],
    )
    knots = np.full((rows, columns), NO_KNOT, dtype=np.uint16)
    colours = np.zeros((rows, columns), dtype=np.uint8)
    tidied = np.zeros((rows, columns), dtype=bool)
    knots[window], colours[window], tidied[window] = part.knots, part.colours, part.tidied
    return FlatKnots(knots, colours, tidied, part.lines_kept, part.faint)


def _flat_tally(task: _Task, knots: NDArray[np.uint16], colours: NDArray[np.uint8], de00: FloatArray) -> Tally:
    """Return the differences between each knot's flat colour and its yarn; `de00` has shape (colours, yarns)."""
    tally = Tally(de00.shape[1])
    times = np.zeros(de00.size)
    for row, weight in enumerate(task.weights[0]):
        tied = knots[row] != NO_KNOT
        pair = colours[row][tied].astype(np.int64) * de00.shape[1] + knots[row][tied]
        times += np.bincount(pair, task.weights[1][tied] * weight, minlength=de00.size)
    met = np.flatnonzero(times)
    tally.add(met % de00.shape[1], de00.ravel()[met], times[met])
    return tally


def _shaded(task: _Task) -> _Woven:
    shares, inside = coverage_shares(task.placed.artwork, task.placed.placement), outline_of(task.rug)
    if inside is None:
        inside = np.ones((task.rug.rows, task.rug.columns), dtype=bool)
    if shares is not None:
        inside &= shares >= 0.5
    if not inside.any():
        _none_inside()
    cells = CellColours(task.placed.artwork, task.placed.placement, task.design.detail)
    colours: FloatArray = np.empty((0, 3))
    weights: FloatArray = np.empty(0)
    if number_to_choose(task.allowed, task.choice, None) is not None:
        task.parts["colours"].doing(say("averaging the artwork"))
        colours, weights = gathered_colours(cells, inside)
    yarns, choosing = _yarns(task, colours, weights, None)
    task.parts["knots"].doing(say("matching yarns"))
    knots, tally = shaded_knots(
        cells,
        yarns,
        inside,
        task.weights,
        task.design.stipple,
        (float(task.rug.woven_width_mm) / task.rug.columns, float(task.rug.woven_length_mm) / task.rug.rows),
        task.parts["knots"],
    )
    return _Woven(knots, yarns, task.placed, tally, choosing)


def _yarns(
    task: _Task, colours: FloatArray, weights: FloatArray, real_colours: int | None
) -> tuple[tuple[Yarn, ...], Choosing | None]:
    number = number_to_choose(task.allowed, task.choice, real_colours)
    if number is None:
        return task.allowed, None
    task.parts["yarns"].doing(say("choosing yarns"))
    exact = real_colours is not None or (len(weights) <= MOST_COLOURS and bool((weights == 1).all()))
    met = weights > 0
    return chosen_yarns(task.allowed, task.choice.keep, number, colours[met], weights[met], exact)


def _some_inside(knots: NDArray[np.uint16]) -> None:
    if not (knots != NO_KNOT).any():
        _none_inside()


def _none_inside() -> None:
    raise ArtworkError(say("nothing of the artwork lies inside the rug: it is transparent all over"))
