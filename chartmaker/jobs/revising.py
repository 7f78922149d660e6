"""The work on a knot map after its conversion: read back, compare, recolour."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

from chartmaker.artwork.raster import write_rgb
from chartmaker.figures.pile import pile_figures
from chartmaker.ground.errors import KnotFileError
from chartmaker.knots.changes import Changes, changes_between, places_csv
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import Description, read_description, read_touched
from chartmaker.knots.swaps import By, Swap, exchanged_or_merged, onto_card, recoloured, swaps_between
from chartmaker.knots.touchup import Snapped
from chartmaker.order.rugfile import RugFile, read_rugfile
from chartmaker.pages.changepicture import picture_of_changes
from chartmaker.yarns.card import read_card

Pairs = tuple[tuple[str, str], ...]


def describe_order(order: RugFile) -> Description:
    """Return what a rug file, with its card, says of a knot map.

    Raises
    ------
    KnotFileError
        If it names no card, so that the yarns are not known.
    CardError
        If the card cannot be read.
    """
    if order.yarns.card is None:
        raise KnotFileError(
            "the rug file names no yarn card, so it does not say the yarns of a knot map; name the knot map as it was "
            "before the edit instead (--rug KNOTS.png)"
        )
    return Description(order.rug, order.workshop, read_card(order.folder / order.yarns.card))


def read_map(path: Path, rest: Path | None = None, *, snap: bool = False) -> tuple[KnotMap, tuple[Snapped, ...]]:
    """Return the knot map at `path`, perhaps edited since it was written, with the colours that were snapped.

    Parameters
    ----------
    path : Path
    rest : Path, optional
        The rug file, or an older knot map of the rug: says what an editor dropped.
    snap : bool
        Whether colours that are no yarn take the nearest yarn.

    Raises
    ------
    ChartmakerError
        If any of the files cannot be read, or the map does not fit its rug.
    """
    if rest is None:
        return read_touched(path, snap=snap)
    described = describe_order(read_rugfile(rest)) if rest.suffix.lower() == ".toml" else read_description(rest)
    return read_touched(path, described, snap=snap)


def compare_maps(
    before: Path, after: Path, rest: Path | None = None, *, snap: bool = False
) -> tuple[Changes, tuple[Snapped, ...]]:
    """Return the changes from one knot map to another; the one before says what an editor dropped from the other.

    Raises
    ------
    ChartmakerError
        If a map cannot be read, or they are of two rugs.
    """
    old, _ = read_map(before, rest)
    new, snapped = read_map(after, rest or before, snap=snap)
    return changes_between(old, new), snapped


def write_change_picture(stream: BinaryIO, changes: Changes) -> None:
    """Write the picture of changes as a PNG."""
    write_rgb(stream, picture_of_changes(changes))


def write_change_places(stream: BinaryIO, changes: Changes) -> None:
    """Write the list of changed places as CSV."""
    for line in places_csv(changes):
        stream.write(line.encode("utf-8"))


def pile_masses_g(knot_map: KnotMap) -> dict[str, float]:
    """Return the best estimate of each yarn's grams, waste included, by code.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    pile = pile_figures(knot_map.yarns, knot_map.counts, knot_map.rug, knot_map.workshop)
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
