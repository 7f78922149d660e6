"""The carver's guide of a knot map: its drawing, what is said of it, and what puts it into a stream."""

from __future__ import annotations

from pathlib import Path
from typing import Any, BinaryIO

from chartmaker.figures.carving import carving_of
from chartmaker.ground import files, targets
from chartmaker.ground.durable import Writer
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.sentence import later, later_n
from chartmaker.jobs.reading import read_font
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.reducing import reduced
from chartmaker.outlines.tracing import trace
from chartmaker.reports.pileheights import origin_words
from chartmaker.sheets.carving.carvedlines import CarvedDrawing, field_words
from chartmaker.sheets.pattern.drawing import Drawing, turned_over
from chartmaker.techniques.crafts import craft_of, spoken_of

#: No smooth edge leaves those of the knots by more than this, in knots: what is carved are the knots.
_TOLERANCE_KNOTS = 0.5


def carved_of_map(knot_map: KnotMap, workshop: Workshop, pattern: Drawing | None = None) -> CarvedDrawing:
    """Return the fields of a map from the pile side with what is carved, in the size that the rug then has.

    Before washing that is its size off the loom or the frame, after washing its finished size. Where a `pattern` is at
    hand, by which the rug was tufted, the fields are those of the pattern. Otherwise what is carved are the knots.

    Raises
    ------
    RugError
        If a height or a groove is impossible.
    """
    rug = knot_map.rug
    carving = carving_of(knot_map.yarns, rug, workshop)
    size_mm = float(rug.woven_width_mm), float(rug.woven_length_mm)
    if carving.when == "before washing":
        ground = craft_of(rug).ground(rug, workshop)
        size_mm = ground.loom_width_mm, ground.loom_length_mm
    knot_mm = size_mm[0] / rug.columns, size_mm[1] / rug.rows
    # Where the pile is of one height there is nothing to print in its fields.
    words = tuple(field_words(carving, yarn) if carving.uneven else "" for yarn in range(len(knot_map.yarns)))
    if pattern is not None:
        seen = pattern.outlines if pattern.side == "front" else turned_over(pattern.outlines)
        scale = size_mm[0] / seen.width_mm, size_mm[1] / seen.height_mm
        outlines = reduced(seen, scale, words.__getitem__)
    else:
        labels = knot_map.knots[::-1].astype("int32").astype("int16")
        labels[knot_map.knots[::-1] == NO_KNOT] = -1
        outlines = trace(
            labels,
            size_mm,
            names=words,
            tolerance_mm=min(knot_mm) * _TOLERANCE_KNOTS,
            tuft_mm=knot_mm,
            smallest_tufts=workshop.pattern.smallest_tufts,
        )
    drawing = Drawing(rug.name, knot_map.map_code, knot_map.yarns, outlines, "front", 0.0, min(knot_mm))
    return CarvedDrawing(drawing, carving, origin_words([yarn.code for yarn in knot_map.yarns], rug, workshop))


def carving_findings(carved: CarvedDrawing) -> tuple[Finding, ...]:
    """Return what there is to remark on: grooves that run nowhere, fields left out."""
    found = list(carved.carving.findings)
    for groove, metres in zip(carved.carving.grooves, carved.groove_m, strict=True):
        if not metres:
            what = later("The groove {groove} runs nowhere: its yarns do not meet.", groove=groove.name)
            found.append(Finding(what, "[carve] grooves", "warning"))
    for number, groove in enumerate(carved.carving.grooves):
        loops = ", ".join(carved.drawing.yarns[yarn].code for yarn in carved.groove_loops(number))
        if loops:
            what = later(
                "The groove {groove} runs beside loops ({codes}): there only the cut pile slopes, and the loops stand.",
                groove=groove.name,
                codes=loops,
            )
            found.append(Finding(what, "[carve] grooves", "note"))
    merged = carved.drawing.outlines.merged_fields
    if merged:
        what = later_n(
            "{n} field is too small to be carved round and is left out of the carver's guide.",
            "{n:,} fields are too small to be carved round and are left out of the carver's guide.",
            merged,
        )
        found.append(Finding(what, "[pattern] smallest", "note"))
    return tuple(found)


def carving_record(carved: CarvedDrawing) -> dict[str, Any]:
    """Return what summary.json says of the carving."""
    carving, yarns = carved.carving, carved.drawing.yarns
    return {
        "when": carving.when,
        "width_mm": round(carved.drawing.width_mm, 3),
        "height_mm": round(carved.drawing.height_mm, 3),
        "cut_mm": {yarn.code: round(carving.cut_mm[number], 4) for number, yarn in enumerate(yarns)},
        "shorn_mm": {yarn.code: round(carving.shorn_mm[number], 4) for number, yarn in enumerate(yarns)},
        "finished_mm": {yarn.code: carving.finished_mm[number] for number, yarn in enumerate(yarns)},
        "loops": [yarn.code for number, yarn in enumerate(yarns) if carving.loops[number]],
        "step_m": round(carved.step_m, 2),
        "groove_depth_mm": carving.depth_mm or None,
        "groove_width_mm": carving.width_mm or None,
        "groove_profile": carving.profile,
        "grooves": [
            {"groove": groove.name, "length_m": round(metres, 2)}
            for groove, metres in zip(carving.grooves, carved.groove_m, strict=True)
        ],
    }


def carving_writer(
    carved: CarvedDrawing, workshop: Workshop, font: bytes | None, progress: Progress = SILENT
) -> Writer:
    """Return what writes the carver's guide."""

    def write(stream: BinaryIO) -> None:
        from chartmaker.sheets.carving.carvingsheets import write_carving_pdf

        progress.doing(say("drawing the carver's guide"))
        write_carving_pdf(stream, carved, workshop, font_bytes=font, progress=progress)

    return write


def write_carving(
    found: MapFile,
    out: Path | str,
    *,
    pattern: Drawing | None = None,
    replace: bool = False,
    progress: Progress = SILENT,
) -> tuple[Finding, ...]:
    """Write the carver's guide of a knot map as a PDF.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it; [carve] and [pile] carved say what is cut.
    out : Path or str
    pattern : Drawing, optional
        The pattern by which the rug was tufted, as `drawn_order` gives it; left out, the knots themselves are traced.
    replace : bool
        Whether a file that is there may be replaced.
    progress : Progress
        Told how far it is.

    Returns
    -------
    tuple of Finding
        What there is to remark on.

    Raises
    ------
    ChartmakerError
        If nothing is carved, something of it is impossible, or `out` cannot be written.

    Examples
    --------
    >>> over = {"carve": {"grooves": ["R1 | B1"], "depth": "3 mm", "width": "2 mm"}}
    >>> write_carving(read_map("knots.png", over=over), "carving.pdf", replace=True)
    ()
    """
    out = Path(out)
    targets.check_file(out, replace=replace, inputs=found.inputs)
    carved = carved_of_map(found.knot_map, found.workshop, pattern)
    if not carved.carving.shows:
        message = say(
            'nothing is carved: give grooves, as ["I-31 | W-07"] with depth and width, or heights in [pile] carved'
        )
        raise RugError(message, where="[carve]")
    write = carving_writer(carved, found.workshop, read_font(found.workshop, found.folder), progress)
    with spoken_of(found.knot_map.rug):
        files.write_file(out, write, replace=replace, inputs=found.inputs)
    return carving_findings(carved)
