"""The files of a set by name, and the writers that put each of them into a stream."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.checks import check_map
from chartmaker.figures.carving import carving_of
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.durable import Writer
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.plaintext import json_text
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.rowscript import csv_lines, run_tables, runs_in, text_lines
from chartmaker.knots.strips import strips_of
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.pages.loom.parts import Part, part_names, parts_of
from chartmaker.reports.bandlist import bands_csv_lines
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.reports.lotwords import NewLot, new_lots
from chartmaker.reports.yarnlist import yarns_csv_lines
from chartmaker.techniques.craft import INLAY_PAPERS, KNOT_PAPERS
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.inlays import inlay_of

#: What a rug that is carved has besides.
CARVING = "carving.pdf"
#: The files of a rug that is tied row by row, besides the papers of its craft.
LOOM_PAGE = "loom.html"
#: What `make` writes for a knotted rug, in order; the summary comes last because it holds the SHA-256 of the others.
SET_NAMES = (*KNOT_PAPERS[:-1], LOOM_PAGE, KNOT_PAPERS[-1])
#: The parts of writing a set, with the rough share of time that each takes.
PARTS = {"map": 1, "chart": 48, "rows": 20, "proof picture": 12, "proof page": 16, "loom page": 3}

#: Pieces of text are put together until they have this many letters.
_LETTERS_AT_ONCE = 1 << 18


def set_names(rug: Rug, workshop: Workshop, knot_map: KnotMap | None = None) -> tuple[str, ...]:
    """Return the names of the files in the set of a rug; a large rug has its loom page in parts.

    Before there is a map, they are all that may be written: nobody knows yet if anything is tufted in.
    """
    craft = craft_of(rug)
    pages = part_names(rug.rows, strips_of(rug, workshop)) if craft.by_rows else ()
    *papers, summary = craft.papers
    carving = (CARVING,) if workshop.carve.asked else ()
    may_be = craft.one_yarn_along(workshop.loom) is not None
    inlaid = may_be if knot_map is None else inlay_of(knot_map, workshop) is not None
    return (*papers, *(INLAY_PAPERS if inlaid else ()), *carving, *pages, summary)


def put_text(stream: BinaryIO, pieces: Iterable[str]) -> None:
    """Write pieces of text as UTF-8, short ones together."""
    block, letters = list[str](), 0
    for piece in pieces:
        block.append(piece)
        letters += len(piece)
        if letters >= _LETTERS_AT_ONCE:
            stream.write("".join(block).encode("utf-8"))
            block, letters = [], 0
    stream.write("".join(block).encode("utf-8"))


def seal(summary: dict[str, Any]) -> None:
    """Put the seal of the set into its summary: the SHA-256 of all that it says, the hashes of the files included.

    Kept elsewhere, it proves the whole set later: ``chartmaker verify DIR --seal HASH``.
    """
    summary.pop("set", None)
    summary["set"] = {"sha256": hashlib.sha256(json_text(summary).encode("ascii")).hexdigest()}


def put_json(stream: BinaryIO, value: dict[str, Any]) -> None:
    """Write one JSON object, plain ASCII, its keys in their order."""
    stream.write((json_text(value) + "\n").encode("ascii"))


def put_summary(stream: BinaryIO, summary: dict[str, Any]) -> None:
    """Write summary.json with its seal; it comes last, when it holds the hashes of the other files."""
    seal(summary)
    put_json(stream, summary)


def put_rows_pdf(
    stream: BinaryIO,
    knot_map: KnotMap,
    workshop: Workshop,
    font: bytes | None,
    progress: Progress = SILENT,
    revises: MapFile | None = None,
    lots: tuple[NewLot, ...] = (),
) -> None:
    """Write the row script to be printed, or the rows of it that differ from the script of `revises`."""
    from chartmaker.sheets.rows import rowsheets

    progress.doing(say("setting the row script"))
    rowsheets.write_rows_pdf(stream, knot_map, workshop, font_bytes=font, progress=progress, revises=revises, lots=lots)


def put_rows_csv(
    stream: BinaryIO,
    knot_map: KnotMap,
    workshop: Workshop,
    font: bytes | None,
    progress: Progress = SILENT,
    revises: MapFile | None = None,
) -> None:
    """Write the row script's CSV, or the rows of it that differ from those of `revises`."""
    codes = [yarn.code for yarn in knot_map.yarns]
    put_text(stream, csv_lines(_told_tables(knot_map, workshop, revises), codes))


def put_rows_txt(
    stream: BinaryIO,
    knot_map: KnotMap,
    workshop: Workshop,
    font: bytes | None,
    progress: Progress = SILENT,
    revises: MapFile | None = None,
) -> None:
    """Write the calls of the rows as plain lines to be read aloud, the same as on the loom page."""
    names = [yarn.called for yarn in knot_map.yarns]
    back = workshop.chart.reading == "right to left"
    put_text(stream, text_lines(runs_in(_told_tables(knot_map, workshop, revises)), names, back=back))


def _told_tables(knot_map: KnotMap, workshop: Workshop, revises: MapFile | None) -> Iterator[NDArray[np.int64]]:
    """Yield the runs of all rows as tables, or of those that differ from the rows of an older map."""
    strips = strips_of(knot_map.rug, workshop)
    if revises is None:
        yield from run_tables(knot_map.knots, strips)
        return
    from chartmaker.sheets.rows.revisedrows import revised_rows

    anew = np.zeros((knot_map.rows, len(strips)), dtype=bool)
    for strip, rows in enumerate(revised_rows(revises, MapFile(knot_map, workshop), strips).rows):
        anew[list(rows), strip] = True
    for table in run_tables(knot_map.knots, strips):
        yield table[anew[table[:, 0], table[:, 1]]]


#: The writers of a row script, by the ending of the file's name.
ROW_WRITERS = {".pdf": put_rows_pdf, ".csv": put_rows_csv, ".txt": put_rows_txt}


def proof_picture_bytes(knot_map: KnotMap, workshop: Workshop, artwork: Artwork | None) -> bytes:
    """Return the proof picture as a PNG file."""
    from chartmaker.pages.proof.proof import proof_picture

    return proof_picture(knot_map, artwork, carving_of(knot_map.yarns, knot_map.rug, workshop))


def proof_page_bytes(
    knot_map: KnotMap,
    workshop: Workshop,
    artwork: Artwork | None,
    findings: tuple[Finding, ...] = (),
    yarn_words: dict[str, str] | None = None,
) -> bytes:
    """Return the proof page as an HTML file."""
    from chartmaker.pages.proof.page import proof_page

    stream = io.BytesIO()
    carving = carving_of(knot_map.yarns, knot_map.rug, workshop)
    put_text(stream, proof_page(knot_map, artwork, findings, yarn_words, carving))
    return stream.getvalue()


def loom_page_writers(figures: Figures) -> dict[str, Writer]:
    """Return the writer of each file of the loom page by name: one file, or the parts for a large rug."""
    from chartmaker.pages.loom.page import loom_page

    def writer(part: Part) -> Writer:
        return lambda stream: put_text(stream, loom_page(figures, part))

    strips = strips_of(figures.knot_map.rug, figures.workshop)
    return {part.file: writer(part) for part in parts_of(figures.knot_map, strips)}


#: What makes a proof, by the ending of the file's name.
PROOFS = {".html": proof_page_bytes, ".png": proof_picture_bytes}


def put_chart(
    stream: BinaryIO,
    figures: Figures,
    font: bytes | None,
    progress: Progress = SILENT,
    revises: MapFile | None = None,
    remarks: Sequence[Finding] | None = None,
) -> int:
    """Write the chart, or only the sheets that replace some in the chart of `revises`; return the number of sheets.

    The cover has the `remarks` on the design that are no notes; if there are none to hand, those that the map tells.
    """
    from chartmaker.sheets.chart import chart

    progress.doing(say("drawing the chart"))
    if remarks is None:
        remarks = check_map(figures.knot_map, figures.workshop)
    facts = cover_facts(figures, remarks)
    return chart.write_chart(
        stream, figures.knot_map, figures.workshop, facts, font_bytes=font, progress=progress, revises=revises
    )


def put_bands_pdf(stream: BinaryIO, figures: Figures, font: bytes | None) -> None:
    """Write the table of bands to be printed."""
    from chartmaker.sheets.bands.bandsheets import write_bands_pdf

    write_bands_pdf(stream, figures, font_bytes=font)


def writers_of(
    figures: Figures,
    font: bytes | None,
    picture: Callable[[], bytes],
    page: Callable[[], bytes],
    progress: Progress,
    remarks: Sequence[Finding],
) -> dict[str, Writer]:
    """Return the writer of each file of the set except the summary, in the order of `set_names`.

    `picture` and `page` give the two proofs when they are called; `remarks` are those on the design.
    """
    knot_map, workshop = figures.knot_map, figures.workshop

    parts = progress.parts(PARTS)

    looms = loom_page_writers(figures) if craft_of(knot_map.rug).by_rows else {}

    def proof_png(stream: BinaryIO) -> None:
        parts["proof picture"].doing(say("painting the proof"))
        stream.write(picture())

    def loom_html(stream: BinaryIO, write: Writer) -> None:
        parts["loom page"].doing(say("writing the loom page"))
        write(stream)

    def proof_html(stream: BinaryIO) -> None:
        parts["proof page"].doing(say("writing the proof page"))
        stream.write(page())

    return {
        "knots.png": lambda stream: write_knotpng(stream, knot_map, workshop),
        "chart.pdf": lambda stream: put_chart(stream, figures, font, parts["chart"], remarks=remarks),
        "rows.pdf": lambda stream: put_rows_pdf(
            stream, knot_map, workshop, font, parts["rows"], lots=new_lots(figures)
        ),
        "rows.csv": lambda stream: put_rows_csv(stream, knot_map, workshop, font),
        "bands.pdf": lambda stream: put_bands_pdf(stream, figures, font),
        "bands.csv": lambda stream: put_text(stream, bands_csv_lines(figures)),
        "yarns.csv": lambda stream: put_text(stream, yarns_csv_lines(figures)),
        "proof.png": proof_png,
        "proof.html": proof_html,
        **{name: partial(loom_html, write=write) for name, write in looms.items()},
    }
