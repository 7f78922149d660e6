"""`chartmaker carving`: the carver's guide."""

from __future__ import annotations

from chartmaker.cli import report
from chartmaker.cli.mapcommands import Asked, map_command
from chartmaker.cli.options import CARVING_OPTIONS


@map_command(
    "chartmaker carving knots.png --rug rug.toml --out carving.pdf",
    "The guide's file, a PDF.",
    *CARVING_OPTIONS,
    endings=(".pdf",),
)
def command(asked: Asked) -> None:
    """Draw the carver's guide of the knot map KNOTS.png: grooves and heights in full size, as the pile is seen.

    The first sheet says what is cut, how deep, in which order, and what must not be cut. Depth and width of a groove
    have no default: cut a test square first.
    """
    from chartmaker.jobs import write_carving
    from chartmaker.techniques.crafts import spoken_of

    with report.progress(asked.quiet) as progress:
        findings = write_carving(asked.found, asked.out, replace=asked.replace, progress=progress)
    if findings and not asked.as_json and not asked.quiet:
        with spoken_of(asked.found.knot_map.rug):
            report.show_findings(findings)
    asked.say_file()
