"""The work on a knot map after its conversion: compared, recoloured."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from chartmaker.artwork.raster import write_rgb
from chartmaker.figures.pile import pile_figures
from chartmaker.jobs.reading import read_map
from chartmaker.knots.changes import Changes, changes_between, places_csv, setting_changes
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.swaps import By, Swap, exchanged_or_merged, onto_card, recoloured, swaps_between
from chartmaker.pages.changepicture import picture_of_changes
from chartmaker.yarns.card import read_card

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Compared:
    """The changes from one map to another, the grams of each yarn in both by code, what the two files say."""

    changes: Changes
    masses_g: tuple[dict[str, float], dict[str, float]]
    files: tuple[MapFile, MapFile]


def compare_maps(before: Path, after: Path, rug: Path | None = None, *, snap: bool = False) -> Compared:
    """Return the changes from one knot map to another; the one before says what an editor dropped from the other.

    Raises
    ------
    ChartmakerError
        If a map cannot be read, they are of two rugs, or a yarn is too thick for the density.
    """
    old = read_map(before, rug)
    new = read_map(after, rug or before, snap=snap)
    changes = changes_between(old.knot_map, new.knot_map, setting_changes(old, new))
    return Compared(changes, (pile_masses_g(old), pile_masses_g(new)), (old, new))


def write_change_picture(stream: BinaryIO, changes: Changes) -> None:
    """Write the picture of changes as a PNG."""
    write_rgb(stream, picture_of_changes(changes))


def write_change_places(stream: BinaryIO, changes: Changes) -> None:
    """Write the list of changed places as CSV."""
    for line in places_csv(changes):
        stream.write(line.encode("utf-8"))


def pile_masses_g(found: MapFile) -> dict[str, float]:
    """Return the best estimate of each yarn's grams, waste included, by code.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    knot_map = found.knot_map
    pile = pile_figures(knot_map.yarns, knot_map.counts, knot_map.rug, found.workshop)
    return {line.yarn.code: line.mass_g.best for line in pile.yarns}


def swap_yarns(
    knot_map: KnotMap, *, merge: Pairs, exchange: Pairs, recolour: Pairs, card: Path | None, by: By | None
) -> tuple[KnotMap, tuple[Swap, ...]]:
    """Return the map after merges with exchanges, then recolouring by pairs, then that of the whole map.

    Raises
    ------
    CardError
        If a code is not there, or the order of the swaps would matter.
    """
    after = exchanged_or_merged(knot_map, merge, exchange)
    yarns = () if card is None else read_card(card)
    after = recoloured(after, recolour, yarns)
    if by is not None:
        after = onto_card(after, yarns, by)
    return after, swaps_between(knot_map, after)
