"""Work on a knot map after its conversion: comparing, recolouring, and learning from the finished rug."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from chartmaker.figures.calibration import Calibration, calibrate_by_yarn, calibrate_in_all
from chartmaker.figures.reckoning import figures_of
from chartmaker.jobs.reading import read_map
from chartmaker.knots.changes import Changes, changes_between, setting_changes
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.swaps import By, Swap, exchanged_or_merged, onto_card, recoloured, swaps_between
from chartmaker.paper.symbols.assigning import with_symbols
from chartmaker.yarns.card import read_card

#: Pairs of yarn codes.
Pairs = Iterable[tuple[str, str]]


@dataclass(frozen=True)
class Compared:
    """The changes from one map to another, the grams of each yarn in both by code, and the two files."""

    changes: Changes
    masses_g: tuple[dict[str, float], dict[str, float]]
    files: tuple[MapFile, MapFile]


def compare_maps(
    before: Path | str, after: Path | str, rug: Path | str | None = None, *, snap: bool = False
) -> Compared:
    """Return the changes from one knot map to another; the older one supplies what an editor dropped from the newer.

    Parameters
    ----------
    before, after : Path or str
        The two knot maps, PNG files.
    rug, snap
        As `read_map` takes them.

    Returns
    -------
    Compared
        The changes by knot, by yarn and in the settings.

    Raises
    ------
    ChartmakerError
        If a map cannot be read, the two belong to different rugs, or a yarn is too thick for the density.

    Examples
    --------
    >>> compared = compare_maps("knots.png", "edited.png")
    >>> compared.changes.knots
    2
    """
    old = read_map(before, rug)
    new = read_map(after, rug or before, snap=snap)
    changes = changes_between(old.knot_map, new.knot_map, setting_changes(old, new))
    return Compared(changes, (pile_masses_g(old), pile_masses_g(new)), (old, new))


def pile_masses_g(found: MapFile) -> dict[str, float]:
    """Return the best estimate of each yarn's grams by code, with waste and what binds the sides.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    pile = figures_of(found.knot_map, found.workshop).pile
    return {line.yarn.code: line.mass_g.best for line in pile.yarns}


def swap_yarns(
    found: MapFile,
    *,
    merge: Pairs = (),
    exchange: Pairs = (),
    recolour: Pairs = (),
    card: Path | str | None = None,
    by: By | None = None,
) -> tuple[MapFile, tuple[Swap, ...]]:
    """Recolour a knot map without converting again.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    merge, exchange : pairs of str
        Codes of the map's yarns: the knots of the first are tied in the second, or the two change places. All of these
        are done at once.
    recolour : pairs of str
        A code of the map and a code of the card; these are done next.
    card : Path or str, optional
        The yarn card for `recolour` and `by`.
    by : {"code", "nearest", "distinct"}, optional
        Takes every yarn of the map to the card, last of all: to the yarn of the same code, to the nearest by
        CIEDE2000, or to the nearest in such a way that no two yarns become one.

    Returns
    -------
    MapFile, tuple of Swap
        The map afterwards, and which yarn became which.

    Raises
    ------
    CardError
        If there is no such code, or the result would depend on the order of the swaps.

    Examples
    --------
    >>> calmer, swaps = swap_yarns(read_map("knots.png"), merge=[("W1", "R1")])
    >>> [(swap.before.code, swap.after.code) for swap in swaps]
    [('W1', 'R1')]
    """
    before = found.knot_map
    after = exchanged_or_merged(before, merge, exchange)
    yarns = () if card is None else with_symbols(read_card(card))
    after = recoloured(after, tuple(recolour), yarns)
    if by is not None:
        after = onto_card(after, yarns, by)
    return replace(found, knot_map=after), swaps_between(before, after)


def calibrate(found: MapFile, used_g: Mapping[str, float] | float) -> Calibration:
    """Work out the length of yarn in a knot from what the finished rug used.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    used_g : dict of float, or float
        The grams used of single yarns, by code, or of all pile yarn together, waste included.

    Returns
    -------
    Calibration
        The length per knot in millimetres, how far it may be off, and the lines for the next rug's [pile].

    Raises
    ------
    RugError
        If a code is not in the rug, or a mass is not above zero.

    Examples
    --------
    >>> calibrate(read_map("knots.png"), 60.0).rug_file_lines[0].startswith("length_per_knot = ")
    True
    """
    if isinstance(used_g, Mapping):
        return calibrate_by_yarn(found.knot_map, found.workshop, used_g)
    return calibrate_in_all(found.knot_map, found.workshop, used_g)
