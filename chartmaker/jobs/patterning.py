"""The tufter's pattern alone, with its guide and its SVG, from an order, an artwork or a knot map."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground import files, targets
from chartmaker.ground.errors import OutputError
from chartmaker.ground.findings import Finding
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.sentence import later
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.drawn import (
    PAPERS,
    drawing_of_conversion,
    drawing_of_map,
    drawn_findings,
    pattern_figures,
    pattern_findings,
    pattern_writers,
    tufter_settles,
)
from chartmaker.jobs.making import Converted, convert_order, findings_of
from chartmaker.jobs.orders import read_order
from chartmaker.jobs.reading import is_order, read_font, read_map
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rugfile import RugFile, Tables
from chartmaker.sheets.pattern.drawing import Drawing
from chartmaker.techniques.crafts import craft_of, spoken_of

#: The files written beside the pattern, and what one that is ours holds: nobody names them, so they may be another's.
BESIDE = {"guide.pdf": b"/Producer (chartmaker)", "pattern.svg": b' data-map="'}
_MOST_BYTES = 2_000_000_000


@dataclass(frozen=True)
class Patterned:
    """A pattern that was written: its drawing, its pages (0 of a picture), its files, and the remarks on it."""

    found: MapFile
    drawing: Drawing
    pages: int
    files: tuple[str, ...]
    findings: tuple[Finding, ...]


def drawn_order(order: RugFile, progress: Progress = SILENT) -> tuple[MapFile, Drawing | None]:
    """Return the map of an order, and its pattern, or None where the rug's craft does not follow a pattern.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    (MapFile, Drawing or None)

    Raises
    ------
    ChartmakerError
        If anything cannot be read or converted.

    Examples
    --------
    >>> found, pattern = drawn_order(read_order("rug.toml"))
    >>> found.knot_map.tied, pattern
    (3840, None)
    """
    converted, found = _converted(order, progress)
    follows = PAPERS & set(craft_of(found.knot_map.rug).papers)
    return found, drawing_of_conversion(converted.conversion, converted.order) if follows else None


def _converted(order: RugFile, progress: Progress) -> tuple[Converted, MapFile]:
    """Return an order's conversion, and what a file of its map would say."""
    converted = convert_order(order, progress)
    return converted, MapFile(converted.conversion.knot_map, order.workshop, (), order.folder, order.inputs)


def write_pattern(
    subject: Path | str,
    out: Path | str,
    over: Tables | None = None,
    *,
    rug: Path | str | None = None,
    replace: bool = False,
    progress: Progress = SILENT,
) -> Patterned:
    """Write the full-size pattern of a rug, with the colour guide and the SVG beside it: all three, or none.

    If `out` ends in ``.png``, only a picture of the pattern for a projector is written.

    Parameters
    ----------
    subject : Path or str
        A rug file (.toml), an artwork, or a knot map (.png). The artwork of a rug file is traced at its own resolution;
        a knot map offers only its knots.
    out : Path or str
        The pattern. If it is a PDF, ``guide.pdf`` and ``pattern.svg`` are written into the same folder.
    over : dict of dict, optional
        Tables of a rug file whose keys override the others.
    rug : Path or str, optional
        The rug file of a knot map.
    replace : bool
        Whether existing files may be replaced.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    Patterned
        The drawing and the names of the files.

    Raises
    ------
    ChartmakerError
        If anything cannot be read, converted, laid out or written.

    Examples
    --------
    >>> written = write_pattern("rug.toml", "pattern.pdf", replace=True)
    >>> written.files
    ('pattern.pdf', 'guide.pdf', 'pattern.svg')
    """
    subject, out, over = Path(subject), Path(out), over or {}
    if is_order(subject, over):
        converted, found = _converted(read_order(subject, over, rug=rug), progress)
        noticed = findings_of(converted)
        drawing = drawing_of_conversion(converted.conversion, converted.order)
    else:
        found = read_map(subject, rug, over)
        drawing, noticed = drawing_of_map(found), check_map(found.knot_map, found.workshop)
    if out.suffix.lower() == ".png":
        return _thrown(found, drawing, out, replace=replace)
    names = (out, *(out.parent / name for name in BESIDE))
    for path in names:
        targets.check_file(path, replace=replace, inputs=found.inputs)
        if (
            path is not out
            and path.exists()
            and BESIDE[path.name] not in read_whole(path, _MOST_BYTES, OutputError, say("file"))
        ):
            message = say("chartmaker did not write this file, and it would be lost: give --out in another folder")
            raise OutputError(message, where=inert(path))
    font = read_font(found.workshop, found.folder)
    figures = figures_of(found.knot_map, found.workshop)
    tufted = pattern_figures(found.knot_map, found.workshop, figures)
    remarks = (*_remarks(found, drawing), *drawn_findings(drawing, tufted))
    with spoken_of(found.knot_map.rug):
        settle = tufter_settles(figures, (*noticed, *remarks))
        writers = pattern_writers(drawing, tufted, font, settle, progress)
        files.write_files(dict(zip(names, writers.values(), strict=True)), replace=replace, inputs=found.inputs)
    from chartmaker.sheets.pattern.fullsize import tiling_of

    sheets = len(tiling_of(drawing, found.workshop).tiles)
    written = tuple(path.name for path in names)
    return Patterned(found, drawing, sheets + (sheets > 1), written, remarks)


def _remarks(found: MapFile, drawing: Drawing) -> tuple[Finding, ...]:
    """Return the remarks on a pattern; the first if the rug is made in a way in which nobody works by it."""
    rug, remarks = found.knot_map.rug, pattern_findings(drawing, found.workshop)
    if drawing.inlaid or PAPERS & set(craft_of(rug).papers):
        return remarks
    what = later(
        "This rug is {technique}: it is made row by row, and nobody works by a full-size pattern. For a "
        'tufted rug give technique = "tufted", which its yarn figures and heights follow.',
        technique=later(rug.technique),
    )
    return (Finding(what, "[rug] technique", "warning"), *remarks)


def _thrown(found: MapFile, drawing: Drawing, out: Path, *, replace: bool) -> Patterned:
    """Write the picture of a pattern for a projector."""
    from chartmaker.sheets.pattern.projector import projector_picture

    font = read_font(found.workshop, found.folder)

    def write(stream: BinaryIO) -> None:
        stream.write(projector_picture(drawing, found.workshop.pattern.projector_px, font_bytes=font))

    with spoken_of(found.knot_map.rug):
        files.write_file(out, write, replace=replace, inputs=found.inputs)
    return Patterned(found, drawing, 0, (out.name,), _remarks(found, drawing))
