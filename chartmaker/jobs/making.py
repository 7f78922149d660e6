"""The whole job on one page: read, convert, write the set."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO, cast

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import place
from chartmaker.artwork.reading import read_artwork
from chartmaker.checks import check_map
from chartmaker.convert import Conversion, convert
from chartmaker.convert.flat.tiles import prepared
from chartmaker.convert.notes import match_findings
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground import files
from chartmaker.ground.engines import started
from chartmaker.ground.errors import ArtworkError, CardError, RugError, SheetError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.jobs import outputs
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.rugfile import RugFile, from_tables, merge, read_rugfile, to_tables
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.sets import set_summary
from chartmaker.reports.words import yarn_words
from chartmaker.yarns.card import read_card
from chartmaker.yarns.yarn import Yarn

#: From so many knots on it pays to start a second process.
LARGE_KNOTS = 100_000
#: The parts of making a set, with about how long each takes.
PARTS = {"conversion": 40, "writing": 60}

Tables = dict[str, dict[str, Any]]


@dataclass(frozen=True)
class Converted:
    """The order's conversion with all findings so far, those on reading the artwork first."""

    order: RugFile
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
        return read_rugfile(path, over)
    named = over | {"design": over.get("design", {}) | {"artwork": str(path.absolute())}}
    return from_tables(named, where="the command line")


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


def convert_order(order: RugFile, progress: Progress = SILENT) -> Converted:
    """Read the order's artwork with its card, then convert.

    Raises
    ------
    ChartmakerError
        If the artwork, the card or what is asked of them is wrong.
    """
    if order.design.artwork is None:
        raise ArtworkError("no artwork: give [design] artwork in the rug file, or an artwork on the command line")
    with started(large=order.rug.knots > LARGE_KNOTS) as engine:
        engine.warm(prepared)
        card = read_yarns(order)
        progress.doing(say("reading the artwork"))
        artwork, noticed = read_artwork(order.folder / order.design.artwork)
        conversion = convert(artwork, order.rug, card, order.design, order.yarns, progress)
    return Converted(order, conversion, (*noticed, *conversion.findings))


def findings_of(converted: Converted) -> tuple[Finding, ...]:
    """Return what was noticed while reading with converting, then what a master would remark on.

    What both say of how a yarn matches is said once, with its places on the rug.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    conversion = converted.conversion
    matches = set(match_findings(conversion.report, conversion.knot_map.yarns))
    noticed = (finding for finding in converted.findings if finding not in matches)
    return (*noticed, *check_map(conversion.knot_map, converted.order.workshop, conversion))


def inputs_of(path: Path, order: RugFile) -> dict[str, Path]:
    """Return the files that an order is read from, by what they are."""
    named = {"artwork": order.design.artwork, "card": order.yarns.card}
    inputs = {what: order.folder / name for what, name in named.items() if name is not None}
    return inputs | ({"rug file": path} if path.suffix.lower() == ".toml" else {})


def make(order: RugFile, out: Path, *, replace: bool, inputs: dict[str, Path], progress: Progress = SILENT) -> Made:
    """Convert the order's artwork, then write the whole set into the folder `out`, or nothing.

    Raises
    ------
    ChartmakerError
        If anything of it cannot be read, made or written.
    """
    parts = progress.parts(PARTS)
    read = _digests(inputs)
    with started(large=order.rug.knots > LARGE_KNOTS) as engine:
        converted = convert_order(order, parts["conversion"])
        figures = figures_of(converted.conversion.knot_map, order.workshop)
        shown = converted.conversion.placed.shown
        picture = engine.give(outputs.proof_picture_bytes, figures.knot_map, shown)
        findings = (*findings_of(converted), *figures.findings)
        page = partial(outputs.proof_page_bytes, figures.knot_map, shown, findings, yarn_words(figures))
        written: dict[str, str] = {}
        summary = set_summary(figures, converted.conversion, findings, {"read": read, "written": written})
        writers = outputs.writers_of(figures, read_font(order.workshop, order.folder), picture, page, parts["writing"])
        watched = {name: _hashing(name, writer, written) for name, writer in writers.items()}
        watched["summary.json"] = lambda stream: outputs.write_json(stream, summary)
        files.write_set(out, watched, replace=replace)
    return Made(converted, figures, findings, summary)


def framed_artwork(path: Path, knot_map: KnotMap, rug: Path | None, over: Tables) -> Artwork:
    """Return the artwork at `path` as the rug shows it; the rug file, or `over`, may say [design] fit and turn.

    Raises
    ------
    ChartmakerError
        If it cannot be read, or its proportions are off and `fit` is not given.
    """
    if rug is None:
        asked = from_tables(merge(to_tables(knot_map.rug, Workshop()), over), where="the command line")
    else:
        asked = read_rugfile(rug, over)
    artwork, _ = read_artwork(path)
    return place(artwork, knot_map.rug, asked.design).shown


def read_font(workshop: Workshop, folder: Path) -> bytes | None:
    """Return the font file that [chart] font names, if it names one.

    Raises
    ------
    SheetError
        If it cannot be read.
    """
    if workshop.chart.font is None:
        return None
    path = folder / workshop.chart.font
    try:
        return path.read_bytes()
    except OSError as error:
        raise SheetError(f"cannot read the font of [chart] font: {error.strerror}", where=inert(path)) from error


def _digests(inputs: dict[str, Path]) -> dict[str, str]:
    """Return the SHA-256 of each input that is a file."""
    faults = {"artwork": ArtworkError, "card": CardError}
    read = {}
    for what, path in inputs.items():
        try:
            if path.is_file():
                read[what] = _sha256(path)
        except OSError as error:
            raise faults.get(what, RugError)(f"cannot be read: {error.strerror}", where=inert(path)) from error
    return read


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


class _Hashing:
    """A stream that passes everything on, with its SHA-256 kept."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self.digest = hashlib.sha256()

    def write(self, data: bytes) -> int:
        self.digest.update(data)
        return self._stream.write(data)

    def flush(self) -> None:
        self._stream.flush()


def _hashing(name: str, writer: files.Writer, written: dict[str, str]) -> files.Writer:
    """Return `writer`, with the SHA-256 of what it writes put down under `name`."""

    def write(stream: BinaryIO) -> None:
        hashing = _Hashing(stream)
        writer(cast(BinaryIO, hashing))
        written[name] = hashing.digest.hexdigest()

    return write
