"""`chartmaker make`: everything the loom needs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.conversion import show_set
from chartmaker.cli.options import ORDER_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(name="make", epilog="Example: chartmaker make rug.toml --out rug-charts")
@click.argument("order", metavar="RUG.toml|ARTWORK", type=FilePath)
@out_option("The folder for the set; made if it does not exist.")
@click.option("--replace-changed", is_flag=True, help="With --replace: also replace files that were changed since.")
@with_options(*ORDER_OPTIONS)
@common
def command(
    order: Path,
    out: Path,
    replace: bool,
    replace_changed: bool,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Convert the artwork and write the whole set into a folder: the knot map, the charts, the row script, the list of
    yarns, the proof and the figures. Either all of it is written, or nothing."""
    from chartmaker.jobs import make, read_order
    from chartmaker.techniques.crafts import spoken_of

    with report.progress(quiet) as progress:
        asked = read_order(order, tables_of(values, assignments))
        made = make(asked, out, replace=replace, replace_changed=replace_changed, progress=progress)
    if as_json:
        report.say_json(made.summary)
    elif not quiet:
        with spoken_of(asked.rug):
            show_set(made, out)
