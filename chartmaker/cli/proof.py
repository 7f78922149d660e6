"""`chartmaker proof`: how a knot map will look woven."""

from __future__ import annotations

from pathlib import Path
from typing import Any, BinaryIO

import click

from chartmaker.cli import report
from chartmaker.cli.options import PROOF_OPTIONS, RUG_OPTION, FilePath, common, out_option, tables_of, with_options
from chartmaker.ground import files
from chartmaker.ground.language import say


@click.command(name="proof", epilog="Example: chartmaker proof knots.png --artwork rug.png --out proof.html")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The proof's file: .html for the page, .png for the picture.")
@click.option("--artwork", type=FilePath, help="The artwork, to be shown beside the rug.")
@with_options(RUG_OPTION, *PROOF_OPTIONS)
@common
def command(
    knots: Path,
    out: Path,
    replace: bool,
    rug: Path | None,
    artwork: Path | None,
    as_json: bool,
    quiet: bool,
    **values: Any,
) -> None:
    """Show the knot map KNOTS.png as it will look woven: a page to look through, or a picture."""
    from chartmaker.jobs import making as job
    from chartmaker.jobs import outputs
    from chartmaker.jobs.reading import read_map

    proof = outputs.PROOFS.get(out.suffix.lower())
    if proof is None:
        raise click.UsageError(say("--out {name!r}: the name must end in .html or .png", name=str(out)))
    files.check_file(out, replace=replace)
    found = read_map(knots, rug)
    shown = None if artwork is None else job.framed_artwork(artwork, found.knot_map, rug, tables_of(values))

    def write(stream: BinaryIO) -> None:
        stream.write(proof(found.knot_map, shown))

    files.write_file(out, write, replace=replace, inputs=(*found.inputs, *filter(None, (artwork,))))
    report.say_file(out, found, as_json=as_json, quiet=quiet)
