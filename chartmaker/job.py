"""The whole job on one page: read, convert, write the set."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chartmaker.artwork import read_artwork
from chartmaker.convert import Conversion, convert
from chartmaker.errors import ArtworkError, CardError
from chartmaker.findings import Finding
from chartmaker.knotpng import write_knotpng
from chartmaker.picture import Artwork
from chartmaker.rugfile import RugFile, from_tables, read_rugfile
from chartmaker.yarn import Yarn
from chartmaker.yarncard import read_card

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


__all__ = ["Converted", "convert_order", "read_order", "read_yarns", "write_knotpng"]
