"""The whole job on one page: read, convert, write the set."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from chartmaker import files
from chartmaker.artwork import read_artwork
from chartmaker.convert import Conversion, convert
from chartmaker.convert.framing import framed
from chartmaker.errors import ArtworkError, CardError
from chartmaker.figures.gather import Figures, figures_of
from chartmaker.findings import Finding
from chartmaker.knotmap import KnotMap
from chartmaker.knotpng import write_knotpng
from chartmaker.picture import Artwork
from chartmaker.rowscript import csv_lines, runs
from chartmaker.rugfile import RugFile, from_tables, read_rugfile
from chartmaker.strips import strips_of
from chartmaker.summary import set_summary
from chartmaker.yarn import Yarn
from chartmaker.yarncard import read_card

Progress = Callable[[str, float], None]
Tables = dict[str, dict[str, Any]]

#: What `make` writes, in this order; the summary comes last because it holds the others' SHA-256.
SET_NAMES = ("knots.png", "chart.pdf", "rows.pdf", "rows.csv", "yarns.csv", "proof.png", "proof.html", "summary.json")


@dataclass(frozen=True)
class Converted:
    """A conversion with the artwork that it was made from, and all findings so far."""

    artwork: Artwork
    conversion: Conversion
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Made:
    """A set as it was written."""

    converted: Converted
    figures: Figures
    findings: tuple[Finding, ...]
    summary: dict[str, Any]


def read_order(path: Path, over: Tables) -> RugFile:
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


def _from_here(over: Tables) -> Tables:
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


def inputs_of(path: Path, order: RugFile) -> dict[str, Path]:
    """Return the files that an order is read from, by what they are."""
    named = {"artwork": order.design.artwork, "card": order.yarns.card}
    inputs = {what: order.folder / name for what, name in named.items() if name is not None}
    return inputs | ({"rug file": path} if path.suffix.lower() == ".toml" else {})


def make(
    order: RugFile, out: Path, *, replace: bool, inputs: dict[str, Path], progress: Progress | None = None
) -> Made:
    """Convert the order's artwork, then write the whole set into the folder `out`, or nothing.

    Raises
    ------
    ChartmakerError
        If anything of it cannot be read, made or written.
    """
    tell = progress or (lambda _what, _share: None)
    read = {what: _sha256(path) for what, path in inputs.items() if path.is_file()}
    converted = convert_order(order, lambda what, share: tell(what, share * 0.4))
    figures = figures_of(converted.conversion.knot_map)
    findings = (*converted.findings, *figures.findings)
    written: dict[str, str] = {}
    summary = set_summary(figures, converted.conversion, findings, {"read": read, "written": written})
    writers = _writers(order, converted, figures, findings, tell)
    watched = {name: _hashing(name, writer, written) for name, writer in writers.items()}
    watched["summary.json"] = lambda stream: stream.write(_json(summary))
    files.write_set(out, watched, replace=replace)
    return Made(converted, figures, findings, summary)
