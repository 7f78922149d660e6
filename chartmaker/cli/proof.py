"""`chartmaker proof`: how a knot map will look woven."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import PROOF_OPTIONS, RUG_OPTION, FilePath, common, out_option, tables_of, with_options


@click.command(name="proof", epilog="Example: chartmaker proof knots.png --artwork rug.png --out proof.html")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The proof's file: .html for the page, .png for the picture.", endings=(".html", ".png"))
@click.option("--artwork", type=FilePath, help="The artwork, shown beside the rug.")
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
    from chartmaker.jobs import read_map, write_proof

    found = read_map(knots, rug)
    write_proof(found, out, artwork=artwork, rug=rug, over=tables_of(values), replace=replace)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
