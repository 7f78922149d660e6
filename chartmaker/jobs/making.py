"""The whole job on one page: read, convert, write the set."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO, cast

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import place
from chartmaker.artwork.reading import artwork_bytes, artwork_of, read_artwork
from chartmaker.checks import check_map
from chartmaker.convert import Conversion, convert
from chartmaker.convert.flat.tiles import prepared
from chartmaker.convert.notes import match_findings
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground import files
from chartmaker.ground.durable import Writer
from chartmaker.ground.engines import started
from chartmaker.ground.errors import ArtworkError, CardError, SheetError
from chartmaker.ground.findings import Finding
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.jobs import outputs
from chartmaker.jobs.sealing import sealed_files
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.rugfile import RugFile, from_tables, merge, read_rugfile, to_tables
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.sets import set_summary
from chartmaker.reports.words import yarn_words
from chartmaker.yarns.card import card_bytes, card_of
from chartmaker.yarns.yarn import Yarn

#: From so many knots on it pays to start a second process.
LARGE_KNOTS = 100_000
#: The largest fonts, of Chinese characters, are of 20 to 40 MB.
MOST_FONT_BYTES = 100_000_000
#: The parts of making a set, with about how long each takes.
PARTS = {"conversion": 40, "writing": 60}

Tables = dict[str, dict[str, Any]]


@dataclass(frozen=True)
class Converted:
    """The order's conversion with all findings so far, those on reading the artwork first.

    `read` holds the SHA-256 of the files that it was made from, by what they are.
    """

    order: RugFile
    conversion: Conversion
    findings: tuple[Finding, ...]
    read: dict[str, str]


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


def read_yarns(order: RugFile, read: dict[str, str] | None = None) -> tuple[Yarn, ...]:
    """Return the yarns of the order's card, its SHA-256 put down in `read`; none where shades are to be dyed.

    Raises
    ------
    CardError
        If there is neither a card nor a number of shades, or the card cannot be read.
    """
    if order.yarns.card is not None:
        path = order.folder / order.yarns.card
        data = card_bytes(path)
        if read is not None:
            read["card"] = _sha256(data)
        return card_of(data, path)
    if order.yarns.colours is None:
        raise CardError(
            say(
                "no yarn card: give [yarns] card (or --card CARD.csv), or [yarns] colours (--colours N) for the best N "
                "shades to dye"
            )
        )
    return ()


def _artwork_of(order: RugFile, read: dict[str, str]) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the order's artwork with what was noticed; the bytes that are hashed are those that are converted."""
    if order.design.artwork is None:
        raise ArtworkError(say("no artwork: give [design] artwork in the rug file, or an artwork on the command line"))
    path = order.folder / order.design.artwork
    data = artwork_bytes(path)
    read["artwork"] = _sha256(data)
    return artwork_of(data, path)


def convert_order(order: RugFile, progress: Progress = SILENT) -> Converted:
    """Read the order's artwork with its card, then convert.

    Raises
    ------
    ChartmakerError
        If the artwork, the card or what is asked of them is wrong.
    """
    read: dict[str, str] = {}
    if order.design.artwork is None:
        _artwork_of(order, read)  # says so before a second process is started
    with started(large=order.rug.knots > LARGE_KNOTS) as engine:
        engine.warm(prepared)
        card = read_yarns(order, read)
        progress.doing(say("reading the artwork"))
        artwork, noticed = _artwork_of(order, read)
        conversion = convert(artwork, order.rug, card, order.design, order.yarns, progress)
    if order.sha256:
        read["rug file"] = order.sha256
    return Converted(order, conversion, (*noticed, *conversion.findings), dict(sorted(read.items())))


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


def make(
    order: RugFile, out: Path, *, replace: bool = False, replace_changed: bool = False, progress: Progress = SILENT
) -> Made:
    """Convert the order's artwork, then write the whole set into the folder `out`, or nothing.

    Raises
    ------
    ChartmakerError
        If anything of it cannot be read, made or written.
    """
    may = files.Replacing(replace, replace_changed, sealed_files, order.inputs)
    files.check_folder(out, outputs.SET_NAMES, may)
    parts = progress.parts(PARTS)
    with started(large=order.rug.knots > LARGE_KNOTS) as engine:
        converted = convert_order(order, parts["conversion"])
        figures = figures_of(converted.conversion.knot_map, order.workshop)
        shown = converted.conversion.placed.shown
        picture = engine.give(outputs.proof_picture_bytes, figures.knot_map, shown)
        findings = (*findings_of(converted), *figures.findings)
        page = partial(outputs.proof_page_bytes, figures.knot_map, shown, findings, yarn_words(figures))
        written: dict[str, str] = {}
        summary = set_summary(figures, converted.conversion, findings, {"read": converted.read, "written": written})
        writers = outputs.writers_of(figures, read_font(order.workshop, order.folder), picture, page, parts["writing"])
        watched = {name: _hashing(name, writer, written) for name, writer in writers.items()}
        watched["summary.json"] = lambda stream: outputs.write_summary(stream, summary)
        files.write_set(out, watched, may)
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
    return read_whole(folder / workshop.chart.font, MOST_FONT_BYTES, SheetError, say("font of [chart] font"))


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


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


def _hashing(name: str, writer: Writer, written: dict[str, str]) -> Writer:
    """Return `writer`, with the SHA-256 of what it writes put down under `name`."""

    def write(stream: BinaryIO) -> None:
        hashing = _Hashing(stream)
        writer(cast(BinaryIO, hashing))
        written[name] = hashing.digest.hexdigest()

    return write
