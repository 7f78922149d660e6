"""What a chart of colours alone says of copies without colour: which yarns are one grey on them."""

from __future__ import annotations

import numpy as np

from chartmaker.checks.colouronly import one_grey
from chartmaker.ground.language import Told, field, joined, told
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.order.workshop import Marks


def greys_of(knot_map: KnotMap, marks: Marks, cells: KnotArray | None = None) -> list[str]:
    """Return the yarns that are one grey on a copy, as ``A, B``, among those of the rug or only of some `cells`.

    There are none if the cells have symbols, which a copy keeps.
    """
    if marks != "colour":
        return []
    tied = np.flatnonzero(knot_map.counts) if cells is None else np.unique(cells[cells != NO_KNOT])
    return [", ".join(group) for group in one_grey(knot_map.yarns[index] for index in tied.tolist())]


def cover_words(groups: list[str]) -> Told:
    """Return what the cover says of the groups."""
    words = "Copy this chart in colour only. Without it these yarns are one grey, each with the next: {groups}."
    return told(words, groups=_listed(groups))


def sheet_words(groups: list[str]) -> Told:
    """Return what a sheet says of the groups that it shows."""
    return told("Copy in colour only. One grey without it, each with the next: {groups}.", groups=_listed(groups))


def short_words(groups: list[str]) -> Told:
    """Return the same in a line for sheets that have no room to name the yarns."""
    alike = sum(len(group.split(", ")) for group in groups)
    return told("Copy in colour only: {alike} of these yarns are one grey with others; see the cover.", alike=alike)


def _listed(groups: list[str]) -> Told:
    return joined("; ", [field("one_grey", group) for group in groups])
