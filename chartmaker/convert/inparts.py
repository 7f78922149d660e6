"""The knots of an artwork whose parts go several ways: each part is converted by itself, with one choice of yarns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import Window, cells_of
from chartmaker.artwork.outline import outline_of
from chartmaker.colours.labelling import OUTSIDE, Labels
from chartmaker.colours.matching import nearest_yarns
from chartmaker.colours.palette import Palette
from chartmaker.colours.yarnset import number_to_choose
from chartmaker.convert import notes
from chartmaker.convert.axislines import with_axis_lines
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.likeness import HALO
from chartmaker.convert.flat.tiles import flat_knots, labels_under
from chartmaker.convert.parts import Way, only, window_of
from chartmaker.convert.report import Tally
from chartmaker.convert.shaded.sampling import coverage_shares
from chartmaker.convert.shaded.shaded import CellColours, gathered_colours, shaded_knots
from chartmaker.convert.weaving import Task, Woven, flat_tally, labelled, motifs_equalled, none_inside, yarns_for
from chartmaker.ground.colour import FloatArray, ciede2000, lab_from_srgb8
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.yarns.yarn import Yarn, lab_of

#: Rows of cells that are looked at together for what is tied.
_BAND_ROWS = 256


@dataclass(frozen=True, eq=False)
class _Share:
    """The knots that go one way: which they are, the window round them, and the colours of shaded cells in it."""

    way: Way
    own: NDArray[np.bool_]
    window: Window
    cells: CellColours


def in_parts(task: Task) -> Woven:
    """Return the knots of an artwork whose parts go several ways.

    Every part is converted as if the others were transparent, so that no part colours a knot of another and no line
    runs on from one into the other. All parts choose their yarns together. Only a drawn line at the edge of a painted
    part may take knots there, so that it stays as wide as elsewhere, however little of a knot it covers.
    """
    parts = task.seen.parts
    assert parts is not None
    flat = [way for way in parts.ways if way.style == "flat"]
    palette, labels = task.seen.palette, None
    if flat:
        labels, task, _ = labelled(task, only(task.placed.artwork, parts.where(*flat)), palette)
    assert task.owners is not None
    of_way = parts.way_of_patch[task.owners]
    tied = _tied(task, np.array([way.style == "flat" for way in parts.ways])[of_way])
    if not tied.any():
        none_inside()
    shares = [
        _share(task, way, own) for number, way in enumerate(parts.ways) if (own := tied & (of_way == number)).any()
    ]
    yarns, choosing = yarns_for(task, *_colours(task, shares, palette, labels), None)
    task.parts["knots"].doing(say("placing the knots"))
    knots, tally = np.full(tied.shape, NO_KNOT, dtype=np.uint16), Tally(len(yarns))
    drawn, painted = _Drawn(), tied & np.array([way.style == "shaded" for way in parts.ways])[of_way]
    for number, share in enumerate(sorted(shares, key=lambda share: share.way.style == "shaded"), start=1):
        if share.way.style == "shaded":
            tally.join(_shade(task, share, yarns, knots))
        elif labels is not None:
            drawn += _draw(task, share, painted, yarns, palette.srgb, labels, knots, tally)
        task.parts["knots"].done(number, of=len(shares))
    findings = [*notes.hairline_findings(drawn.faint)]
    if len(palette.srgb) and labels is not None:
        findings += notes.merged_findings(palette.srgb, _yarn_of(palette.srgb, yarns), yarns)
    return Woven(knots, yarns, task, tally, choosing, drawn.tidied, drawn.lines_kept, tuple(findings))


def _share(task: Task, way: Way, own: NDArray[np.bool_]) -> _Share:
    """Return the share of the cells `own`; a shaded part is seen with the rest of the artwork transparent."""
    parts, window = task.seen.parts, window_of(own, HALO)
    assert parts is not None
    artwork = task.placed.artwork if way.style == "flat" else only(task.placed.artwork, parts.where(way))
    return _Share(way, own, window, CellColours(artwork, task.placed.placement.raster_part(*window), way.detail))


@dataclass(frozen=True)
class _Drawn:
    """How many knots were tidied, how many are there for the sake of lines, and how many would have hairlines."""

    tidied: int = 0
    lines_kept: int = 0
    faint: int = 0

    def __add__(self, other: _Drawn) -> _Drawn:
        return _Drawn(self.tidied + other.tidied, self.lines_kept + other.lines_kept, self.faint + other.faint)


def _tied(task: Task, flat: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which cells are tied, each judged as its style judges it, whatever part of the artwork lies in it.

    `flat`, shape (rows, columns), says which are flat. There a pixel is in or out; elsewhere it may be partly in.
    """
    artwork, placement = task.placed.artwork, task.placed.placement
    tied, outline = np.ones(flat.shape, dtype=bool), outline_of(task.rug)
    shares = coverage_shares(artwork, placement)
    if artwork.coverage is not None and shares is not None:
        out = np.where(artwork.coverage >= 128, 0, OUTSIDE).astype(np.uint8)
        labels, cells = Labels(out, out, np.broadcast_to(np.uint8(0), out.shape)), cells_of(placement)
        for first in range(0, len(flat), _BAND_ROWS):
            band = slice(first, min(first + _BAND_ROWS, len(flat)))
            seen = cells.part((band, slice(0, flat.shape[1])))
            outside = coverages(labels_under(labels, seen), seen, 1)[1]
            tied[band] = np.where(flat[band], 2 * outside <= cell_areas(seen), shares[band] >= 0.5)
    return tied if outline is None else tied & outline


def _colours(
    task: Task, shares: list[_Share], palette: Palette, labels: Labels | None
) -> tuple[FloatArray, FloatArray]:
    """Return CIELAB of the colours that yarns are chosen for, shape (n, 3), and how many knots each stands for."""
    colours: list[FloatArray] = [np.empty((0, 3))]
    weights: list[FloatArray] = [np.empty(0)]
    placement = task.placed.placement
    if number_to_choose(task.allowed, task.choice, None) is None:
        return colours[0], weights[0]
    task.parts["colours"].doing(say("averaging the artwork"))
    if labels is not None:
        colours.append(lab_from_srgb8(palette.srgb))
        weights.append(labels.areas(len(palette.srgb)) / (placement.knot_width * placement.knot_height))
    for share in shares:
        if share.way.style == "shaded":
            lab, knots = gathered_colours(share.cells, share.own[share.window])
            colours.append(lab)
            weights.append(knots)
    return np.concatenate(colours), np.concatenate(weights)


def _yarn_of(srgb: ByteArray, yarns: tuple[Yarn, ...]) -> NDArray[np.intp]:
    return nearest_yarns(lab_from_srgb8(srgb), lab_of(yarns)).astype(np.intp)


def _draw(
    task: Task,
    share: _Share,
    painted: NDArray[np.bool_],
    yarns: tuple[Yarn, ...],
    srgb: ByteArray,
    labels: Labels,
    knots: NDArray[np.uint16],
    tally: Tally,
) -> _Drawn:
    """Put the knots of a flat part in place and count them; `srgb` are the real colours.

    Lines take as many of the `painted` knots beside the part as they need.
    """
    from scipy.ndimage import binary_dilation

    own, yarn_of = share.own[share.window], _yarn_of(srgb, yarns)
    beside = binary_dilation(own, np.ones((3, 3))) & painted[share.window]
    part = flat_knots(
        task.placed.placement.raster_part(*share.window),
        labels,
        srgb,
        yarn_of,
        own | beside,
        lines=task.design.lines,
        tidy=share.way.tidy,
        tied=True,
    )
    part = motifs_equalled(task, part, labels, srgb, yarn_of, share.window)
    if task.design.lines:
        part = with_axis_lines(part, labels, yarn_of, task.placed.placement, share.window, task.mirrors.halved)
    taken = own | (beside & part.held)
    mine = np.where(taken, part.knots, NO_KNOT).astype(np.uint16)
    knots[share.window][taken] = mine[taken]
    de00 = ciede2000(lab_from_srgb8(srgb)[:, None], lab_of(yarns)[None])
    times = task.times.part(share.window)
    tally.join(flat_tally(times, mine, part.colours, de00))
    return _Drawn(times.woven(part.tidied & taken), part.lines_kept, part.faint)


def _shade(task: Task, share: _Share, yarns: tuple[Yarn, ...], knots: NDArray[np.uint16]) -> Tally:
    """Put the knots of a shaded part in place, except those that lines have taken, and return how well they match."""
    own = share.own[share.window] & (knots[share.window] == NO_KNOT)
    part, tally = shaded_knots(
        share.cells,
        yarns,
        own,
        task.times.part(share.window),
        task.design.stipple,
        task.knot_mm,
    )
    knots[share.window][own] = part[own]
    return tally
