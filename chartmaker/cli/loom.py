"""`chartmaker loom`: the page that calls the rows at the loom and keeps the place."""

from __future__ import annotations

from chartmaker.cli.mapcommands import Asked, map_command
from chartmaker.cli.options import MAP_OPTIONS


@map_command(
    "chartmaker loom knots.png --out loom.html",
    "The page's file, .html; or a folder, which a rug of more than four million knots needs.",
    *MAP_OPTIONS,
)
def command(asked: Asked) -> None:
    """Write the row script of the knot map KNOTS.png as a page for a phone or a tablet at the loom. It shows and reads
    aloud one call after another, keeps the place, and needs no network."""
    from chartmaker.jobs import write_loom

    write_loom(asked.found, asked.out, replace=asked.replace)
    asked.say_file()
