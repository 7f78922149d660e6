"""The knots of an artwork, all of which is converted in one way, either as flat or as shaded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.cells import Window, cells_of
from chartmaker.artwork.outline import outline_of
from chartmaker.artwork.placing import Placed, Placement
from chartmaker.colours.labelling import Labels, label_pixels
from chartmaker.colours.matching import nearest_yarns
from chartmaker.colours.palette import Palette
from chartmaker.colours.yarnset import Choosing, chosen_yarns, number_to_choose
from chartmaker.convert import notes
from chartmaker.convert.axislines import with_axis_lines
from chartmaker.convert.flat.knotting import yarns_in_order
from chartmaker.convert.flat.likeness import HALO
from chartmaker.convert.flat.tiles import FlatKnots, flat_knots, labels_under
from chartmaker.convert.flat.trueness import trueness
from chartmaker.convert.laying.grid import Laid, laid
from chartmaker.convert.laying.straightening import straightened
from chartmaker.convert.motifs.equal import with_equal_motifs, with_own_images
from chartmaker.convert.reflections import Reflections, reflections_of
from chartmaker.convert.repeats.copying import with_whole_repeats
from chartmaker.convert.repeats.finding import BorderRepeat
from chartmaker.convert.repeats.frames import Box
from chartmaker.convert.repeats.steady import SteadySide, with_steady_sides
from chartmaker.convert.repeats.strips import Drawing
from chartmaker.convert.repeats.wholes import WholeLattice
from chartmaker.convert.report import RepeatReport, Tally, repeat_report
from chartmaker.convert.seeing import Seen
from chartmaker.convert.shaded.sampling import coverage_shares
from chartmaker.convert.shaded.shaded import MOST_COLOURS, CellColours, gathered_colours, shaded_knots
from chartmaker.ground.colour import FloatArray, ciede2000, lab_from_srgb8
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import Progress
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.symmetry import master_window
from chartmaker.knots.times import Times
from chartmaker.order.design import Design, Region, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.yarns.yarn import Yarn, lab_of

#: Repeats are made whole if the knots then show this share of the ink that covers most of each, or no less than this
#: share below what they would otherwise; and if no more than this share of them is invented, or no more than otherwise.
LEAST_TRUE, MOST_LOST, MOST_INVENTED = 0.9855, 0.001, 0.001


@dataclass(frozen=True, eq=False)
class Task:
    """The artwork as it lies on the grid, with what is asked of the conversion and what the artwork is `seen` as.

    `owners` has the patch of the seen parts that each knot belongs to, or is None if there are no parts.
    `whole` is the repeat of whole knots that the grid is laid for, if there is one, `within` a window unless it is for
    the whole grid, and `boxes` are in pixels what the order says that repeats.
    """

    placed: Placed
    rug: Rug
    design: Design
    regions: tuple[Region, ...]
    choice: YarnChoice
    allowed: tuple[Yarn, ...]
    seen: Seen
    owners: ByteArray | None
    mirrors: Reflections
    times: Times
    parts: Mapping[str, Progress]
    whole: WholeLattice | None = None
    within: Window | None = None
    sides: tuple[BorderRepeat, ...] = ()
    boxes: tuple[Box, ...] = ()

    @property
    def knot_mm(self) -> tuple[float, float]:
        """The width and the length of a knot."""
        return float(self.rug.woven_width_mm) / self.rug.columns, float(self.rug.woven_length_mm) / self.rug.rows

    def laid(self, placement: Placement) -> Task:
        """Return the task with the grid laid as `placement` says."""
        owners, region_of, parts = None, None, self.seen.parts
        if parts is not None:
            owners = parts.owners(placement)
            region_of = parts.region_of_patch[owners]
        mirrors = reflections_of(self.design.mirror, self.regions, region_of)
        times = mirrors.times(self.rug.rows, self.rug.columns)
        placed = replace(self.placed, placement=placement)
        return replace(self, placed=placed, owners=owners, mirrors=mirrors, times=times)


@dataclass(frozen=True, eq=False)
class Inks:
    """Flat artwork in its real colours: the colour of each pixel, or OUTSIDE, and all colours, shape (colours, 3)."""

    of_pixel: ByteArray
    srgb: ByteArray


@dataclass(frozen=True, eq=False)
class Woven:
    """Knots in raster order, as indices into `yarns`, with what is known of them and the grid as it was laid.

    `inks` are those of the artwork where all of it is flat. Along the `sides` of borders repeats are drawn alike.
    """

    knots: NDArray[np.uint16]
    yarns: tuple[Yarn, ...]
    task: Task
    tally: Tally
    choosing: Choosing | None
    tidied: int = 0
    lines_kept: int = 0
    findings: tuple[Finding, ...] = ()
    inks: Inks | None = None
    repeat: RepeatReport | None = None
    sides: tuple[SteadySide, ...] = ()


def labelled(task: Task, artwork: Artwork, palette: Palette, *, repeats: bool = False) -> tuple[Labels, Task, Laid]:
    """Return the colour of each pixel of flat artwork, the task with the grid that follows the drawing, and all grids.

    What repeats is looked for only where the order wants that and `repeats` says so.
    """
    if not len(palette.srgb):
        raise ArtworkError(
            say("style = 'flat' needs even areas of colour and the artwork has none; use style = 'shaded'")
        )
    task.parts["colours"].doing(say("telling the colours apart"))
    labels = label_pixels(artwork, palette.srgb)
    if not task.design.fitted:
        return labels, task, Laid(task.placed.placement)
    task.parts["colours"].doing(say("laying the grid"))
    repeats = repeats and task.design.repeats
    grid = laid(labels, task.placed.placement, task.mirrors.halved, task.boxes, repeats=repeats)
    return straightened(labels, task.placed.placement), task.laid(grid.placement), grid


def flat_woven(task: Task, palette: Palette) -> Woven:
    """Return the knots of flat artwork with these real colours."""
    even = task.placed.placement
    labels, task, grid = labelled(task, task.placed.artwork, palette, repeats=True)
    real = lab_from_srgb8(palette.srgb)
    yarns, choosing = yarns_for(task, real, labels.areas(len(real)), len(real))
    yarn_of = nearest_yarns(real, lab_of(yarns)).astype(np.intp)
    flat, task, sides = _drawn(task, grid, labels, palette.srgb, yarn_of)
    some_inside(flat.knots)
    tally = flat_tally(task.times, flat.knots, flat.colours, ciede2000(real[:, None], lab_of(yarns)[None]))
    findings = (*notes.merged_findings(palette.srgb, yarn_of, yarns), *notes.hairline_findings(flat.faint))
    findings = (*findings, *notes.unrepeated_findings(grid.found.unused))
    tidied = task.times.woven(flat.tidied)
    inks = Inks(labels.first, palette.srgb)
    repeat = repeat_report(grid, task.whole, even)
    return Woven(flat.knots, yarns, task, tally, choosing, tidied, flat.lines_kept, findings, inks, repeat, sides)


def _drawn(
    task: Task, grid: Laid, labels: Labels, palette: ByteArray, yarn_of: NDArray[np.intp]
) -> tuple[FlatKnots, Task, tuple[SteadySide, ...]]:
    """Return the flat knots, the task with its grid, and the sides of borders whose repeats are drawn alike.

    All repeats are whole if the drawing does not lose by that.
    """
    task = replace(task, sides=grid.found.sides)
    if grid.periodic is None:
        flat, sides = _mirrored_flat(task, labels, palette, yarn_of)
        return flat, task, sides
    within = None if grid.field is None else grid.field.window
    own = replace(task.laid(grid.periodic), whole=grid.whole, within=within)
    flat, sides = _mirrored_flat(own, labels, palette, yarn_of)
    true, invented = trueness(flat, labels, palette, yarn_of, own.placed.placement)
    if true >= LEAST_TRUE and invented <= MOST_INVENTED:
        return flat, own, sides
    plain, plain_sides = _mirrored_flat(task, labels, palette, yarn_of)
    plain_true, plain_invented = trueness(plain, labels, palette, yarn_of, task.placed.placement)
    if true >= min(LEAST_TRUE, plain_true - MOST_LOST) and invented <= max(MOST_INVENTED, plain_invented):
        return flat, own, sides
    return plain, task, plain_sides


def _mirrored_flat(
    task: Task, labels: Labels, palette: NDArray[np.uint8], yarn_of: NDArray[np.intp]
) -> tuple[FlatKnots, tuple[SteadySide, ...]]:
    """Return the flat knots of the part that is not a mirror image, and leave the rest empty.

    The sides of borders whose repeats are drawn alike come with them.
    """
    rows, columns = task.rug.rows, task.rug.columns
    window = master_window(rows, columns, task.mirrors.halved, HALO)
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
    part = motifs_equalled(task, part, labels, palette, yarn_of, window)
    if task.whole is not None:
        part = _repeats_equalled(task, task.whole, part, labels, palette, yarn_of, window)
    sides: tuple[SteadySide, ...] = ()
    if task.sides:
        part, sides = with_steady_sides(part, task.sides, _drawing_of(task, labels, palette, yarn_of), window)
    if task.design.lines:
        part = with_axis_lines(part, labels, yarn_of, task.placed.placement, window, task.mirrors.halved)
    if part.knots.shape == (rows, columns):
        return part, sides
    knots = np.full((rows, columns), NO_KNOT, dtype=np.uint16)
    colours = np.zeros((rows, columns), dtype=np.uint8)
    tidied, held = np.zeros((rows, columns), dtype=bool), np.zeros((rows, columns), dtype=bool)
    knots[window], colours[window] = part.knots, part.colours
    tidied[window], held[window] = part.tidied, part.held
    return FlatKnots(knots, colours, tidied, held, part.lines_kept, part.faint), sides


def _drawing_of(task: Task, labels: Labels, palette: ByteArray, yarn_of: NDArray[np.intp]) -> Drawing:
    """Return flat artwork with the grid laid over it."""
    yarns, cells = yarns_in_order(palette, yarn_of), cells_of(task.placed.placement)
    plane = yarns.inks_of_pixels(labels.first)
    return Drawing(labels, plane, cells, yarns, task.design.lines, task.design.tidy)


def motifs_equalled(
    task: Task, part: FlatKnots, labels: Labels, palette: ByteArray, yarn_of: NDArray[np.intp], window: Window
) -> FlatKnots:
    """Return the flat knots of a window, with equal motifs drawn equal if that is asked for.

    Mirror images of other knots are left out, so that they have no say in how a motif is drawn.
    """
    if not task.design.motifs:
        return part
    task.parts["knots"].doing(say("drawing equal motifs equal"))
    seen = _shared(window, master_window(task.rug.rows, task.rug.columns, task.mirrors.halved, HALO))
    placement = task.placed.placement.raster_part(*seen)
    return _in_window(part, window, seen, lambda own: with_equal_motifs(own, labels, palette, yarn_of, placement))


def _repeats_equalled(
    task: Task,
    whole: WholeLattice,
    part: FlatKnots,
    labels: Labels,
    palette: ByteArray,
    yarn_of: NDArray[np.intp],
    window: Window,
) -> FlatKnots:
    """Return the flat knots of a window, with all repeats drawn alike where the grid is laid for them."""
    seen = window if task.within is None else _shared(window, task.within)
    placement = task.placed.placement.raster_part(*seen)

    def evened(knots: NDArray[np.int16], middle: Window) -> NDArray[np.int16]:
        cells = cells_of(placement).part(middle)
        under = labels_under(labels, cells)
        plane = yarns_in_order(palette, yarn_of).inks_of_pixels(under.first)
        return with_own_images(knots, plane, cells.from_pixel(under.top, under.left))

    own = evened if task.design.motifs else None
    return _in_window(
        part, window, seen, lambda part: with_whole_repeats(part, labels, palette, yarn_of, placement, whole, own)
    )


def _shared(window: Window, other: Window) -> Window:
    """Return the rows and the columns that two windows have in common."""
    (down, across), (other_down, other_across) = window, other
    return (
        slice(max(down.start, other_down.start), min(down.stop, other_down.stop)),
        slice(max(across.start, other_across.start), min(across.stop, other_across.stop)),
    )


def _in_window(part: FlatKnots, window: Window, seen: Window, changed: Callable[[FlatKnots], FlatKnots]) -> FlatKnots:
    """Return the flat knots of a window, of which those that are `seen` are changed."""
    if seen == window:
        return changed(part)
    rows, columns = (
        slice(side.start - own.start, side.stop - own.start) for side, own in zip(seen, window, strict=True)
    )
    if rows.start >= rows.stop or columns.start >= columns.stop:
        return part
    planes = ("knots", "colours", "tidied", "held")
    cut = replace(part, **{name: getattr(part, name)[rows, columns] for name in planes})
    new = changed(cut)
    if new is cut:
        return part
    whole = {name: getattr(part, name).copy() for name in planes}
    for name in planes:
        whole[name][rows, columns] = getattr(new, name)
    return replace(part, **whole)


def flat_tally(times_woven: Times, knots: NDArray[np.uint16], colours: NDArray[np.uint8], de00: FloatArray) -> Tally:
    """Return the tally of differences between each knot's colour and its yarn; `de00` has shape (colours, yarns)."""
    tally = Tally(de00.shape[1])
    times = np.zeros(de00.size)
    for row in range(len(knots)):
        tied = knots[row] != NO_KNOT
        pair = colours[row][tied].astype(np.int64) * de00.shape[1] + knots[row][tied]
        times += np.bincount(pair, times_woven.band(row, row + 1)[0][tied], minlength=de00.size)
    met = np.flatnonzero(times)
    tally.add(met % de00.shape[1], de00.ravel()[met], times[met])
    return tally


def shaded_woven(task: Task) -> Woven:
    """Return the knots of shaded artwork."""
    shares, inside = coverage_shares(task.placed.artwork, task.placed.placement), outline_of(task.rug)
    if inside is None:
        inside = np.ones((task.rug.rows, task.rug.columns), dtype=bool)
    if shares is not None:
        inside &= shares >= 0.5
    if not inside.any():
        none_inside()
    cells = CellColours(task.placed.artwork, task.placed.placement, task.design.detail)
    colours: FloatArray = np.empty((0, 3))
    weights: FloatArray = np.empty(0)
    if number_to_choose(task.allowed, task.choice, None) is not None:
        task.parts["colours"].doing(say("averaging the artwork"))
        colours, weights = gathered_colours(cells, inside)
    yarns, choosing = yarns_for(task, colours, weights, None)
    task.parts["knots"].doing(say("matching yarns"))
    knots, tally = shaded_knots(
        cells,
        yarns,
        inside,
        task.times,
        task.design.stipple,
        task.knot_mm,
        task.parts["knots"],
    )
    return Woven(knots, yarns, task, tally, choosing)


def yarns_for(
    task: Task, colours: FloatArray, weights: FloatArray, real_colours: int | None
) -> tuple[tuple[Yarn, ...], Choosing | None]:
    number = number_to_choose(task.allowed, task.choice, real_colours)
    if number is None:
        return task.allowed, None
    task.parts["yarns"].doing(say("choosing yarns"))
    exact = real_colours is not None or (len(weights) <= MOST_COLOURS and bool((weights == 1).all()))
    met = weights > 0
    return chosen_yarns(task.allowed, task.choice.keep, number, colours[met], weights[met], exact)


def some_inside(knots: NDArray[np.uint16]) -> None:
    """Refuse a rug that has no knot at all."""
    if not (knots != NO_KNOT).any():
        none_inside()


def none_inside() -> NoReturn:
    """Refuse artwork that leaves no knot to tie."""
    words = "no part of the artwork lies inside the rug, or inside the part that is mirrored: it is transparent there"
    raise ArtworkError(say(words))
