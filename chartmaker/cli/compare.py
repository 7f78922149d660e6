"""`chartmaker compare`: the differences between two knot maps."""

from __future__ import annotations

from pathlib import Path

import click

from chartmaker.cli import edits, report
from chartmaker.cli.options import EDIT_OPTIONS, FilePath, common, with_options
from chartmaker.ground.errors import DifferenceError
from chartmaker.ground.language import say, say_n


@click.command(name="compare", epilog="Example: chartmaker compare knots.png edited.png --picture changes.png")
@click.argument("before", metavar="BEFORE.png", type=FilePath)
@click.argument("after", metavar="AFTER.png", type=FilePath)
@click.option("--picture", type=FilePath, help="A PNG of the rug with the changes marked.")
@click.option("--places", type=FilePath, help="A CSV of all changed places, with row,start,knots,before,after.")
@click.option("--replace", is_flag=True, help="Overwrite existing files.")
@click.option("--strict", is_flag=True, help="End with exit code 9 if anything differs.")
@with_options(*EDIT_OPTIONS)
@common
def command(
    before: Path,
    after: Path,
    picture: Path | None,
    places: Path | None,
    replace: bool,
    strict: bool,
    rug: Path | None,
    snap: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Show which knots changed from BEFORE.png to AFTER.png: by yarn, by place, in a picture, in grams."""
    from chartmaker.jobs import compare_maps, write_changes
    from chartmaker.reports.records.edits import changes_dict, snapped_dicts

    compared = compare_maps(before, after, rug, snap=snap)
    write_changes(compared, picture=picture, places=places, replace=replace)
    changes, snapped = compared.changes, compared.files[1].snapped
    if as_json:
        report.say_json(
            changes_dict(changes, compared.masses_g, *(each.workshop for each in compared.files))
            | {"snapped": snapped_dicts(snapped)}
        )
    elif not quiet:
        edits.show_snapped(snapped)
        edits.show_changes(changes, compared.masses_g)
    if strict and changes.any:
        differ = say_n("{n:,} knot differs", "{n:,} knots differ", changes.knots)
        raise DifferenceError(differ if changes.knots else say("the maps differ, though no knot does"))
