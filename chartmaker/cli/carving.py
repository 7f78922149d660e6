"""`chartmaker carving`: the carver's guide."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import CARVING_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(
    name="carving",
    epilog="Example: chartmaker carving knots.png --rug rug.toml --out carving.pdf",
)
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The guide's file, a PDF.", endings=(".pdf",))
@with_options(*CARVING_OPTIONS)
@common
def command(
    knots: Path,
    out: Path,
    replace: bool,
    rug: Path | None,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Draw the carver's guide of the knot map KNOTS.png: grooves and heights in full size, from the pile side.

    The first sheet says what is cut, how deep, in which order, and what must not be cut. Depth and width of a groove
    have no default: cut a test square first.
    """
    from chartmaker.jobs import read_map, write_carving
    from chartmaker.techniques.crafts import spoken_of

    found = read_map(knots, rug, tables_of(values, assignments))
    with report.progress(quiet) as progress:
        findings = write_carving(found, out, replace=replace, progress=progress)
    if findings and not as_json and not quiet:
        with spoken_of(found.knot_map.rug):
            report.show_findings(findings)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
