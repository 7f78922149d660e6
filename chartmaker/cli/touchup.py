"""`chartmaker touchup`: take a knot map back in after it was edited by hand."""

from __future__ import annotations

from pathlib import Path

import click

from chartmaker.cli import edits, report
from chartmaker.cli.options import EDIT_OPTIONS, FilePath, common, out_option, with_options
from chartmaker.ground.language import say


@click.command(name="touchup", epilog="Example: chartmaker touchup edited.png --rug rug.toml --out knots2.png")
@click.argument("edited", metavar="EDITED.png", type=FilePath)
@out_option("The knot map's file, a PNG.")
@with_options(*EDIT_OPTIONS)
@common
def command(edited: Path, out: Path, replace: bool, rug: Path | None, snap: bool, as_json: bool, quiet: bool) -> None:
    """Take a knot map back in after it was edited in any raster editor.

    The editor may have dropped the text in the file (if so, name the rug with --rug), reordered the palette, or saved
    RGB or RGBA. Colours that no yarn has are refused with their places, or snapped on request.
    """
    from chartmaker.jobs import read_edited, write_map
    from chartmaker.reports.records.edits import snapped_dicts
    from chartmaker.reports.records.maps import map_dict
    from chartmaker.reports.words import map_words

    found = read_edited(edited, rug, snap=snap)
    write_map(found, out, replace=replace)
    if as_json:
        report.say_json({"map": map_dict(found.knot_map, found.workshop), "snapped": snapped_dicts(found.snapped)})
    elif not quiet:
        report.lines([(say("Map"), map_words(found.knot_map))])
        edits.show_snapped(found.snapped)
