"""`chartmaker pattern`: the tufter's full-size pattern."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import PATTERN_OPTIONS, FilePath, common, out_option, tables_of, with_options
from chartmaker.ground.language import say


@click.command(name="pattern", epilog="Example: chartmaker pattern rug.toml --roll '60 in' --out pattern.pdf")
@click.argument("subject", metavar="RUG.toml|ARTWORK|KNOTS.png", type=FilePath)
@out_option(
    "The pattern's file: a PDF, with guide.pdf and pattern.svg beside it, or a PNG for a projector.",
    endings=(".pdf", ".png"),
)
@with_options(*PATTERN_OPTIONS)
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
    """Draw the full-size pattern from which a tufter works, mirrored for the back of the cloth.

    The artwork is traced at its own resolution, as outlines with the number of their yarn and as the middle lines of
    thin strokes. The pattern comes on a roll of any width or on sheets to be joined, with the colour guide and an SVG
    beside it; or as a picture of bright lines on black, to be thrown on the cloth.
    """
    from chartmaker.jobs import write_pattern

    with report.progress(quiet) as progress:
        done = write_pattern(subject, out, tables_of(values, assignments), rug=rug, replace=replace, progress=progress)
    report.show_remarks(done.found, done.findings, as_json=as_json, quiet=quiet)
    report.say_file(out, done.found, sheets=done.pages or None, as_json=as_json, quiet=quiet)
    if done.files[1:] and not (as_json or quiet):
        click.echo(say("Beside it, for this pattern alone: {files}", files=", ".join(done.files[1:])))
