"""`chartmaker carving`: the carver's guide."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import CARVING_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(name="carving", epilog="Example: chartmaker carving knots.png --rug rug.toml --out carving.pdf")
@click.argument("subject", metavar="KNOTS.png|RUG.toml", type=FilePath)
@out_option("The guide's file, a PDF.", endings=(".pdf",))
@with_options(*CARVING_OPTIONS)
@common
def command(
    subject: Path,
    out: Path,
    replace: bool,
    rug: Path | None,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Draw the carver's guide: grooves and heights in full size, as the pile is seen.

    The first sheet says what is cut, how deep, in which order, and what must not be cut. Depth and width of a groove
    have no default: cut a test square first. Of a knot map the lines follow the knots; of the rug file of a tufted rug
    they are those of its pattern.
    """
    from chartmaker.jobs import drawn_order, read_map, read_order, write_carving

    over, pattern = tables_of(values, assignments), None
    with report.progress(quiet) as progress:
        if subject.suffix.lower() == ".toml":
            found, pattern = drawn_order(read_order(subject, over, rug=rug), progress)
        else:
            found = read_map(subject, rug, over)
        findings = write_carving(found, out, pattern=pattern, replace=replace, progress=progress)
    if findings:
        report.show_remarks(found, findings, as_json=as_json, quiet=quiet)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
