"""What a knot map says, counted anew from the knots themselves, so that every sheet can be compared with it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import hex_of
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.knots.strips import seats_of, strips_of
from chartmaker.order.carve import Carve
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Chart, Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.recount.pile import yarn_heights
from chartmaker.verify.recount.weighing import new_lots, weight_warnings
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.recount.work import SEAT_MM, begun
from chartmaker.yarns.yarn import Yarn


@dataclass(frozen=True, eq=False)
class Expected:
    """A knot map as `verify` sees it, with all that the sheets must say.

    Attributes
    ----------
    loom_length_factor : float
        The length on the loom over the finished length.
    grams : tuple of float
        The masses of the yarns in the map's order, or nothing where they are not known.
    metres : tuple of float
        The lengths of the yarns, likewise.
    section_rows : int
        How many rows a section has, or 0 where that is not known.
    knots_a_day : float
        How many knots all weavers together tie in a day, or 0 where that is not known.
    bundles_g : tuple of tuple of float
        What all weavers are handed together of each yarn, section by section, or nothing where that is not known.
    heights_mm : tuple of (float, float)
        How high each yarn is cut and how much of that the finished rug has; empty where that is not known.
    finished_mm : tuple of float
        How high each yarn stands in the finished rug; empty where that is not known.
    assumed : frozenset of str
        The names of the heights that nobody gave.
    carve : Carve, optional
        The grooves that are asked for.
    relief : bool
        Whether heights or grooves may throw light and shade on the proof.
    warnings : tuple of dict
        What the cover must warn of before yarn is weighed out, by field.
    settle : tuple of str
        What the cover must say is to be settled before weaving.
    loom_numbers, loom_measures, loom_texts : dict
        What the cover says of the loom, by field: whole numbers, (value, how near it must be printed), and words.
    """

    knots: KnotArray
    yarns: tuple[Yarn, ...]
    rug: Rug
    chart: Chart
    strips: tuple[range, ...]
    seats: tuple[range, ...] = ()
    loom_length_factor: float = 1.0
    grams: tuple[float, ...] = ()
    metres: tuple[float, ...] = ()
    section_rows: int = 0
    knots_a_day: float = 0.0
    bundles_g: tuple[tuple[float, ...], ...] = ()
    heights_mm: tuple[tuple[float, float], ...] = ()
    finished_mm: tuple[float, ...] = ()
    carve: Carve | None = None
    assumed: frozenset[str] = frozenset()
    relief: bool = False
    warnings: tuple[Mapping[str, str], ...] = ()
    lots: tuple[Mapping[str, str], ...] = ()
    settle: tuple[str, ...] = ()
    loom_numbers: Mapping[str, int] = field(default_factory=dict)
    loom_measures: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    loom_texts: Mapping[str, str] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        return int(self.knots.shape[0])

    @property
    def columns(self) -> int:
        return int(self.knots.shape[1])

    @cached_property
    def sha256(self) -> str:
        """The hash that identifies the map by its size, its yarns with their colours, and its cells in 16 bits each."""
        digest = hashlib.sha256(b"%d %d\n" % (self.rows, self.columns))
        for yarn in self.yarns:
            digest.update(f"{yarn.code} {hex_of(yarn.srgb)}\n".encode("ascii"))
        digest.update(np.ascontiguousarray(self.knots, dtype="<u2").tobytes())
        return digest.hexdigest()

    @property
    def code(self) -> str:
        """The map code, which every sheet bears."""
        return self.sha256[:8]

    def tally(self, cells: KnotArray) -> NDArray[np.int64]:
        """Return how many knots of each yarn are among `cells`, shape (yarns,)."""
        counts = np.zeros(NO_KNOT + 1, dtype=np.int64)
        for row in range(0, len(cells), 256):
            counts += np.bincount(cells[row : row + 256].ravel(), minlength=NO_KNOT + 1)
        return counts[: len(self.yarns)]

    @property
    def cell_mm(self) -> tuple[float, float]:
        """The width and height of a printed cell, in the knot's proportion unless squares are asked for."""
        width, density = self.chart.cell_mm, self.rug.density
        height = width if self.chart.square_cells else width * density.knot_height_mm / density.knot_width_mm
        return float(width), float(height)

    @cached_property
    def counts(self) -> NDArray[np.int64]:
        """How many knots of each yarn there are, shape (yarns,)."""
        return self.tally(self.knots)

    @property
    def tied(self) -> int:
        return int(self.counts.sum())

    @cached_property
    def mirrored(self) -> tuple[bool, bool]:
        """Whether one half stands for both halves, (across, along)."""
        if self.chart.whole:
            return False, False
        across = self.columns > 1 and bool((self.knots == self.knots[:, ::-1]).all())
        along = self.rows > 1 and bool((self.knots == self.knots[::-1]).all())
        return across, along


def _assumed(rug: Rug, workshop: Workshop) -> frozenset[str]:
    """Return the names of the heights that nobody gave."""
    asked = (("assumed_cut", workshop.pile.cut_mm), ("assumed_pile", rug.pile_mm))
    return frozenset(name for name, given in asked if given is None)


def expected_of(knot_map: KnotMap, workshop: Workshop, again: Recount | None = None) -> Expected:
    """Return what the sheets of `knot_map` must say; without `again` that leaves out masses and the loom."""
    plain = Expected(
        knot_map.knots,
        knot_map.yarns,
        knot_map.rug,
        workshop.chart,
        strips_of(knot_map.rug, workshop),
        () if craft_of(knot_map.rug).by_colour else seats_of(knot_map.rug, workshop),
        relief=bool(workshop.pile.heights_mm or workshop.pile.carved_mm or workshop.carve.grooves),
    )
    if again is None:
        return plain
    ground, work = again.ground, again.work
    numbers = {"weavers": work.weavers, "days": int(begun(work.days.best))}
    if not ground.warp_ends:  # a cloth in a frame
        measures, texts = {"backing_m2": (ground.backing_cloth_m2, 0.0051)}, {}
    else:
        numbers |= {"warp_ends": ground.warp_ends, "picks": ground.picks}
        numbers |= {"weft_rows": knot_map.rows, "all_picks": knot_map.rows * ground.picks}
        if ground.outside_m.best:
            numbers["outside_picks"] = ground.outside_picks
        measures = {
            "warp_end_m": (ground.warp_end_m, 0.0051),
            "loom_width": (ground.loom_width_mm / 10, 0.0501),
            "loom_length": (ground.loom_length_mm / 10, 0.0501),
        }
        texts = {"warp_count": ground.warp.notation, "weft_count": ground.weft.notation}
    cut_mm, pile_mm, _ = yarn_heights("", knot_map.rug, workshop)
    measures |= {"cut_mm": (cut_mm, 0.0), "pile_mm": (pile_mm, 0.0)}
    seat_mm = float(knot_map.rug.woven_width_mm) / work.weavers
    if work.weavers > 1 and seat_mm < SEAT_MM / 2:
        measures |= {
            "seat_cm": (seat_mm / 10, 0.0501),
            "needed_cm": (SEAT_MM / 10, 0.0),
            "least_cm": (SEAT_MM / 20, 0.0),
        }
    measures["waste"] = (100 * workshop.pile.waste, 0.0)
    for line in again.lines:
        if line.binding_m:
            measures["bound_m"] = (line.binding_m, 0.501)
            texts["bound_code"] = line.yarn.code
    return replace(
        plain,
        loom_length_factor=ground.loom_length_mm / float(knot_map.rug.woven_length_mm),
        grams=tuple(line.mass_g.best for line in again.lines),
        metres=tuple(line.length_m.best for line in again.lines),
        section_rows=len(again.bundles.sections[0]),
        knots_a_day=work.weavers * work.knots_per_weaver_day.best,
        bundles_g=tuple(map(tuple, again.bundles.weighed(float(workshop.loom.weigh_g), again.orders).sum(axis=1))),
        finished_mm=tuple(line.pile_mm for line in again.lines),
        carve=workshop.carve,
        warnings=tuple(weight_warnings(again)),
        lots=tuple(new_lots(again)),
        assumed=_assumed(knot_map.rug, workshop),
        heights_mm=tuple((line.cut_mm, line.pile_mm) for line in again.lines),
        loom_numbers=numbers,
        loom_measures=measures,
        loom_texts=texts,
    )
