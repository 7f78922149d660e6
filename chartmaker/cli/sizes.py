"""`chartmaker sizes`: one design in every size that is asked for."""

from __future__ import annotations

from pathlib import Path

import click

from chartmaker.cli import report
from chartmaker.cli.collection import say_told
from chartmaker.cli.options import FilePath, common


@click.command(name="sizes", epilog="Example: chartmaker sizes rug.toml --out sizes")
@click.argument("rug", metavar="RUG.toml", type=FilePath)
@click.option("--out", required=True, type=FilePath, help="The folder for a set of each size; made if it is not there.")
@click.option("--dry-run", is_flag=True, help="Only say what would be made.")
@click.option("--replace-changed", is_flag=True, help="Also replace files that were changed since.")
@common
def command(rug: Path, out: Path, dry_run: bool, replace_changed: bool, as_json: bool, quiet: bool) -> None:
    """Lay one design anew in each of the rug file's [sizes], and show all of them to one scale on one page.

    Borders keep their width, repeats stay whole, and the field grows. A size that cannot come out whole leaves the
    others alone: the nearest that does is in the report, and the exit code is 10.
    """
    from chartmaker.collection.running import make_collection
    from chartmaker.collection.sizing import sizes_of

    with report.progress(quiet) as progress:
        season = sizes_of(rug)
        told = make_collection(season, out, dry_run=dry_run, replace_changed=replace_changed, progress=progress)
    say_told(told, out, rug, as_json=as_json, quiet=quiet)
