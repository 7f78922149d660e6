"""The tufter's papers of one rug: the drawing, the remarks on it, and the writers of its files."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, BinaryIO

from chartmaker.convert import Conversion
from chartmaker.convert.yarnareas import Labels, yarn_areas
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.durable import Writer
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.sentence import later_n
from chartmaker.jobs import outputs
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rugfile import RugFile
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.tracing import trace
from chartmaker.sheets.pattern.drawing import Drawing, turned_over
from chartmaker.techniques.crafts import craft_of

#: How far a smooth edge may depart from the artwork's unless a tolerance is given, in millimetres.
MOST_TOLERANCE_MM = 1.5
#: The papers that are made from the drawing.
PAPERS = {"pattern.pdf", "guide.pdf", "pattern.svg"}


def drawing_of(knot_map: KnotMap, workshop: Workshop, labels: Labels) -> Drawing:
    """Return the drawing of `labels`, the yarn of each pixel, as the pattern shows it, in its size on the cloth."""
    rug, asked = knot_map.rug, workshop.pattern
    ground = craft_of(rug).ground(rug, workshop)
    size_mm = ground.loom_width_mm, ground.loom_length_mm
    tuft_mm = size_mm[0] / rug.columns, size_mm[1] / rug.rows
    tolerance_mm = asked.tolerance_mm
    tolerance = min(min(tuft_mm) / 2, MOST_TOLERANCE_MM) if tolerance_mm is None else float(tolerance_mm)
    outlines = trace(
        labels,
        size_mm,
        names=tuple(str(number) for number in range(1, len(knot_map.yarns) + 1)),
        tolerance_mm=tolerance,
        tuft_mm=tuft_mm,
        smallest_tufts=asked.smallest_tufts,
    )
    shown = turned_over(outlines) if asked.side == "back" else outlines
    return Drawing(rug.name, knot_map.map_code, knot_map.yarns, shown, asked.side, tolerance, min(tuft_mm))


def drawing_of_conversion(conversion: Conversion, order: RugFile) -> Drawing:
    """Return the drawing of a conversion, traced from its artwork."""
    return drawing_of(conversion.knot_map, order.workshop, yarn_areas(conversion, order.design, order.regions))


def drawing_of_map(found: MapFile) -> Drawing:
    """Return the drawing of a knot map, in which there is nothing finer than a knot to trace."""
    knots = found.knot_map.knots[::-1].astype("int32")
    labels = knots.astype("int16")
    labels[knots == NO_KNOT] = -1
    return drawing_of(found.knot_map, found.workshop, labels)


def pattern_findings(drawing: Drawing) -> tuple[Finding, ...]:
    """Return the remarks on what was left out of the drawing."""
    outlines = drawing.outlines
    if not outlines.merged_fields:
        return ()
    what = later_n(
        "{n} field of {area:.2f} cm2 is too small to be tufted and was merged into the field around it.",
        "{n:,} fields are too small to be tufted and were merged into the fields around them: {area:.2f} cm2 in all, "
        "the largest {largest:.2f} cm2.",
        outlines.merged_fields,
        area=outlines.merged_mm2 / 100,
        largest=outlines.largest_merged_mm2 / 100,
    )
    return (Finding(what, "[pattern] smallest", "note"),)


def pattern_record(drawing: Drawing) -> dict[str, Any]:
    """Return what summary.json says about a pattern."""
    outlines = drawing.outlines
    return {
        "side": drawing.side,
        "width_mm": round(drawing.width_mm, 3),
        "height_mm": round(drawing.height_mm, 3),
        "tolerance_mm": round(drawing.tolerance_mm, 3),
        "fields": len(outlines.rings),
        "thin_lines": len(outlines.lines),
        "merged_fields": outlines.merged_fields,
        "merged_cm2": round(outlines.merged_mm2 / 100, 2),
        "numbers": {drawing.number(label): yarn.code for label, yarn in enumerate(drawing.yarns)},
        "area_m2": {
            yarn.code: round(float(area) / 1e6, 5) for yarn, area in zip(drawing.yarns, outlines.areas_mm2, strict=True)
        },
    }


def pattern_writers(
    drawing: Drawing, figures: Figures, font: bytes | None, progress: Progress = SILENT
) -> dict[str, Writer]:
    """Return the writers of the tufter's files, by their names in a set."""

    def pattern(stream: BinaryIO) -> None:
        from chartmaker.sheets.pattern.patternsheets import write_pattern_pdf

        progress.doing(say("drawing the pattern"))
        write_pattern_pdf(stream, drawing, figures.workshop, font_bytes=font, progress=progress)

    def guide(stream: BinaryIO) -> None:
        from chartmaker.sheets.pattern.guide import write_guide_pdf

        write_guide_pdf(stream, drawing, figures, font_bytes=font)

    def svg(stream: BinaryIO) -> None:
        from chartmaker.sheets.pattern.svg import pattern_svg

        outputs.put_text(stream, pattern_svg(drawing))

    return {"pattern.pdf": pattern, "guide.pdf": guide, "pattern.svg": svg}


@dataclass(frozen=True)
class DrawnPapers:
    """The drawn papers of a set, empty if none is wanted: the findings, the record in the summary and the writers."""

    drawing: Drawing | None

    @property
    def findings(self) -> tuple[Finding, ...]:
        return () if self.drawing is None else pattern_findings(self.drawing)

    @property
    def record(self) -> dict[str, Any]:
        return {} if self.drawing is None else {"pattern": pattern_record(self.drawing)}

    def writers(self, figures: Figures, font: bytes | None) -> dict[str, Writer]:
        return {} if self.drawing is None else pattern_writers(self.drawing, figures, font)


def drawn_papers(conversion: Conversion, order: RugFile, wanted: Collection[str]) -> DrawnPapers:
    """Return the drawn papers of a conversion; the artwork is traced only if one of them is wanted."""
    return DrawnPapers(drawing_of_conversion(conversion, order) if PAPERS & set(wanted) else None)
