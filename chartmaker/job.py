"""The whole job on one page: read, convert, write the set."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from chartmaker.artwork import read_artwork
from chartmaker.changepicture import picture_of_changes
from chartmaker.changes import Changes, changes_between, places_csv
from chartmaker.convert import Conversion, convert
from chartmaker.errors import ArtworkError, CardError
from chartmaker.figures.pile import pile_figures
from chartmaker.findings import Finding
from chartmaker.knotmap import KnotMap
from chartmaker.knotpng import describe_order, read_description, read_touched, write_knotpng
from chartmaker.picture import Artwork
from chartmaker.raster import write_rgb
from chartmaker.rugfile import RugFile, from_tables, read_rugfile
from chartmaker.swaps import By, Swap, exchanged_or_merged, onto_card, recoloured, swaps_between
from chartmaker.touchup import Snapped
from chartmaker.yarn import Yarn
from chartmaker.yarncard import read_card

Pairs = tuple[tuple[str, str], ...]
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Converted:
    """A conversion with the artwork that it was made from, and all findings so far."""

    artwork: Artwork
    conversion: Conversion
    findings: tuple[Finding, ...]


def read_order(path: Path, over: dict[str, dict[str, Any]]) -> RugFile:
    """Return what is ordered: a rug file with command-line values over it, or an artwork with those alone.

    Raises
    ------
    RugError
        If a value is wrong or missing.
    """
    if path.suffix.lower() == ".toml":
        return read_rugfile(path, _from_here(over))
    named = over | {"design": over.get("design", {}) | {"artwork": str(path.absolute())}}
    return from_tables(_from_here(named), where="the command line")


def _from_here(over: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return `over` with the card's path taken from the working folder, not from the rug file's."""
    card = over.get("yarns", {}).get("card")
    if not isinstance(card, str):
        return over
    return over | {"yarns": over["yarns"] | {"card": str(Path(card).absolute())}}


def read_yarns(order: RugFile) -> tuple[Yarn, ...]:
    """Return the yarns of the order's card; none where shades are to be dyed.

    Raises
    ------
    CardError
        If there is neither a card nor a number of shades.
    """
    if order.yarns.card is not None:
        return read_card(order.folder / order.yarns.card)
    if order.yarns.colours is None:
        raise CardError(
            "no yarn card: give [yarns] card (or --card CARD.csv), or [yarns] colours (--colours N) for the best N "
            "shades to dye"
        )
    return ()


def convert_order(order: RugFile, progress: Progress | None = None) -> Converted:
    """Read the order's artwork with its card, then convert.

    Raises
    ------
    ChartmakerError
        If the artwork, the card or what is asked of them is wrong.
    """
    if order.design.artwork is None:
        raise ArtworkError("no artwork: give [design] artwork in the rug file, or an artwork on the command line")
    card = read_yarns(order)
    if progress is not None:
        progress("reading the artwork", 0.0)
    artwork, noticed = read_artwork(order.folder / order.design.artwork)
    conversion = convert(artwork, order.rug, card, order.design, order.yarns, order.workshop, progress)
    return Converted(artwork, conversion, (*noticed, *conversion.findings))


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


__all__ = [
    "Converted",
    "compare_maps",
    "convert_order",
    "pile_masses_g",
    "read_map",
    "read_order",
    "read_yarns",
    "swap_yarns",
    "write_change_picture",
    "write_change_places",
    "write_knotpng",
]
