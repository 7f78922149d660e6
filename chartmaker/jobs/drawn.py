"""The tufter's papers of one rug: the drawing, the remarks on it, and the writers of its files."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from chartmaker.convert.conversion import Conversion
from chartmaker.figures.heights import assumed_of, base_heights, heights_of, is_loop
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.durable import Writer
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say, told
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.sentence import later, later_n
from chartmaker.jobs import outputs
from chartmaker.jobs.yarnareas import Labels, inlaid_areas, yarn_areas
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rugfile import RugFile
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.tracing import trace
from chartmaker.reports.bandlist import band_plan
from chartmaker.reports.settled import settle_words
from chartmaker.sheets.pattern.drawing import Drawing, turned_over
from chartmaker.techniques.craft import INLAY_PAPERS
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.inlays import as_tufted, inlay_of

#: How far a smooth edge may depart from the artwork's unless a tolerance is given, in millimetres.
MOST_TOLERANCE_MM = 1.5
#: The papers that are made from the drawing.
PAPERS = frozenset(INLAY_PAPERS)


def drawing_of(knot_map: KnotMap, workshop: Workshop, labels: Labels, inlaid_in: KnotMap | None = None) -> Drawing:
    """Return the drawing of `labels`, the yarn of each pixel, as the pattern shows it, in its size on the cloth.

    If the map is an inlay, `inlaid_in` is that of the whole rug.
    """
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
    code, inlaid = (inlaid_in or knot_map).map_code, inlaid_in is not None
    return Drawing(rug.name, code, knot_map.yarns, shown, asked.side, tolerance, min(tuft_mm), inlaid)


def drawing_of_conversion(conversion: Conversion, order: RugFile) -> Drawing:
    """Return the drawing of a conversion, traced from its artwork: of all of it, or of what is tufted into it."""
    whole, labels = conversion.knot_map, yarn_areas(conversion, order.design, order.regions)
    inlay = inlay_of(whole, order.workshop)
    if inlay is None:
        return drawing_of(whole, order.workshop, labels)
    areas = inlaid_areas(labels, conversion.placed.placement, whole, inlay)
    return drawing_of(inlay, order.workshop, areas, inlaid_in=whole)


def drawing_of_map(found: MapFile) -> Drawing:
    """Return the drawing of a knot map, or of what is tufted into it; nothing there is finer than a knot."""
    inlay = inlay_of(found.knot_map, found.workshop)
    drawn = found.knot_map if inlay is None else inlay
    knots = drawn.knots[::-1].astype("int32")
    labels = knots.astype("int16")
    labels[knots == NO_KNOT] = -1
    return drawing_of(drawn, found.workshop, labels, inlaid_in=None if inlay is None else found.knot_map)


def pattern_figures(knot_map: KnotMap, workshop: Workshop, figures: Figures | None = None) -> Figures:
    """Return the figures that the colour guide of a map tells: those of all of it, or of what is tufted into it."""
    inlay = inlay_of(knot_map, workshop)
    if inlay is not None:
        return figures_of(as_tufted(inlay), workshop)
    return figures_of(knot_map, workshop) if figures is None else figures


def pattern_findings(drawing: Drawing, workshop: Workshop) -> tuple[Finding, ...]:
    """Return the remarks on a drawing: what was left out of it, and why it takes several pieces of a roll."""
    from chartmaker.sheets.pattern.tiling import LEFT_MM, ROLL_RIGHT_MM

    outlines, roll_mm = drawing.outlines, workshop.pattern.roll_mm
    margins_mm = LEFT_MM + ROLL_RIGHT_MM
    found = []
    if roll_mm is not None and float(roll_mm) - margins_mm < drawing.width_mm <= float(roll_mm):
        what = later(
            "The pattern is {width} wide and the roll {roll}, of which rulers and marks at the sides take {margins}. "
            "So it comes in two pieces side by side; on a roll of {enough} or more it comes in one.",
            width=cm_words(drawing.width_mm),
            roll=cm_words(roll_mm),
            margins=cm_words(margins_mm),
            enough=cm_words(drawing.width_mm + margins_mm),
        )
        found.append(Finding(what, "[pattern] roll", "note"))
    if not outlines.merged_fields:
        return tuple(found)
    what = later_n(
        "{n} field of {area:.2f} cm2 is too small to be tufted and was merged into the field around it.",
        "{n:,} fields are too small to be tufted and were merged into the fields around them: {area:.2f} cm2 in all, "
        "the largest {largest:.2f} cm2.",
        outlines.merged_fields,
        area=outlines.merged_mm2 / 100,
        largest=outlines.largest_merged_mm2 / 100,
    )
    return (*found, Finding(what, "[pattern] smallest", "note"))


def drawn_findings(drawing: Drawing, figures: Figures) -> tuple[Finding, ...]:
    """Return the remark on yarns of which the fields take more than the figures say, which count the map's tufts."""
    from chartmaker.sheets.pattern.drawnareas import drawn_more

    more = drawn_more(drawing, figures)
    if not more:
        return ()
    what = later(
        "The figures count the map's tufts. The fields as they are drawn follow finer edges and take more of number "
        "{yarns}: keep that at hand, or raise [dye] allowance and [loom] issue_margin.",
        yarns="; ".join(each.words for each in more),
    )
    short = any(each.pile.mass_g.best + each.more_g > each.pile.mass_g.high for each in more)
    codes = ", ".join(each.pile.yarn.code for each in more)
    about = later_n("yarn {codes}", "yarns {codes}", len(more), codes=codes)
    return (Finding(what, about, "warning" if short else "note"),)


def covered_findings(figures: Figures) -> tuple[Finding, ...]:
    """Return the remark on the yarn that is woven under what is tufted in, because the figures count what is seen."""
    knot_map = figures.knot_map
    inlay = inlay_of(knot_map, figures.workshop)
    if inlay is None:
        return ()
    plan = band_plan(figures)
    hidden = dict.fromkeys((yarn.code for yarn in knot_map.yarns), 0)
    for band in plan.banded.bands:
        hidden[knot_map.yarns[band.yarn].code] += int(plan.banded.free[band.first : band.end].sum())
    parts = [
        told("{code} {grams:,.0f} g", code=pile.yarn.code, grams=hidden[pile.yarn.code] / pile.knots * pile.mass_g.best)
        for pile in figures.pile.yarns
        if hidden[pile.yarn.code]
    ]
    what = later(
        "The yarn figures count what is seen. The bands go on under the pattern that is tufted in, where they take so "
        "much more: {yarns}. The pattern itself takes what the colour guide says.",
        yarns=", ".join(parts),
    )
    return (Finding(what, "guide.pdf", "note"),)


def tufter_settles(figures: Figures, remarks: Sequence[Finding]) -> tuple[str, ...]:
    """Return what is to be settled before tufting: of the `remarks`, of what is weighed, and of yarn in two lots."""
    return settle_words((*remarks, *figures.weighing, *figures.issue.findings))


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
    drawing: Drawing,
    figures: Figures,
    font: bytes | None,
    settle: Sequence[str] = (),
    progress: Progress = SILENT,
) -> dict[str, Writer]:
    """Return the writers of the tufter's files, by their names in a set; the guide says what is to be `settle`d."""

    def pattern(stream: BinaryIO) -> None:
        from chartmaker.sheets.pattern.patternsheets import ToolHeights, write_pattern_pdf

        progress.doing(say("drawing the pattern"))
        rug, workshop = figures.knot_map.rug, figures.workshop
        tool = ToolHeights(
            base_heights(rug, workshop).cut_mm,
            tuple(heights_of(yarn.code, rug, workshop).cut_mm for yarn in drawing.yarns),
            tuple(is_loop(yarn.code, rug, workshop) for yarn in drawing.yarns),
            assumed_of("", rug, workshop).cut,
        )
        write_pattern_pdf(stream, drawing, workshop, tool=tool, font_bytes=font, progress=progress)

    def guide(stream: BinaryIO) -> None:
        from chartmaker.sheets.pattern.guide import write_guide_pdf

        write_guide_pdf(stream, drawing, figures, settle, font_bytes=font)

    def svg(stream: BinaryIO) -> None:
        from chartmaker.sheets.pattern.svg import pattern_svg

        outputs.put_text(stream, pattern_svg(drawing))

    return {"pattern.pdf": pattern, "guide.pdf": guide, "pattern.svg": svg}


@dataclass(frozen=True)
class DrawnPapers:
    """The drawn papers of a set, empty if none is wanted: the findings, the record in the summary and the writers."""

    drawing: Drawing | None

    def findings(self, figures: Figures) -> tuple[Finding, ...]:
        if self.drawing is None:
            return ()
        tufted = pattern_figures(figures.knot_map, figures.workshop, figures)
        drawn = (*pattern_findings(self.drawing, figures.workshop), *drawn_findings(self.drawing, tufted))
        return (*drawn, *covered_findings(figures))

    @property
    def record(self) -> dict[str, Any]:
        return {} if self.drawing is None else {"pattern": pattern_record(self.drawing)}

    def writers(self, figures: Figures, font: bytes | None, remarks: Sequence[Finding]) -> dict[str, Writer]:
        if self.drawing is None:
            return {}
        tufted = pattern_figures(figures.knot_map, figures.workshop, figures)
        return pattern_writers(self.drawing, tufted, font, tufter_settles(figures, remarks))


def drawn_papers(conversion: Conversion, order: RugFile, wanted: Collection[str]) -> DrawnPapers:
    """Return the drawn papers of a conversion; the artwork is traced only if one of them is wanted."""
    return DrawnPapers(drawing_of_conversion(conversion, order) if PAPERS & set(wanted) else None)
