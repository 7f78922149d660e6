"""The head that commands share which make a file of a knot map: their arguments, read and put together."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import FilePath, common, out_option, tables_of, with_options

if TYPE_CHECKING:
    from chartmaker.knots.mapfile import MapFile


@dataclass(frozen=True, eq=False)
class Asked:
    """What such a command was asked for: the map, an older one to compare it with, and the file to write.

    `redrawn` says that little of the older one's drawing may be left.
    """

    found: MapFile
    since: MapFile | None
    out: Path
    replace: bool
    as_json: bool
    quiet: bool
    redrawn: bool = False

    def say_file(self, **more: Any) -> None:
        """Tell that the file is written."""
        report.say_file(self.out, self.found, as_json=self.as_json, quiet=self.quiet, **more)


def since_option(what: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return --since, which names an older map, with --redrawn, by which that may be of quite another drawing."""
    redrawn = click.option(
        "--redrawn", is_flag=True, help="With --since: also where little of the older map's drawing is left."
    )
    since = click.option("--since", type=FilePath, metavar="OLD.png", help=what)
    return lambda command: since(redrawn(command))


def map_command(
    example: str, out: str, *options: Callable[..., Any], endings: tuple[str, ...] = ()
) -> Callable[[Callable[[Asked], None]], click.Command]:
    """Return a decorator that makes a command of a function which writes a file of a knot map.

    Parameters
    ----------
    example : str
        An example of the command, whose second word is its name.
    out : str
        What --out says of the file, which must end in one of the `endings` if there are any.
    options : decorators
        The options of the command, which stand for keys of the rug file; --since may be among them.
    """

    def made(work: Callable[[Asked], None]) -> click.Command:
        @functools.wraps(work)
        def run(
            knots: Path,
            out: Path,
            replace: bool,
            rug: Path | None,
            as_json: bool,
            quiet: bool,
            assignments: tuple[str, ...],
            since: Path | None = None,
            redrawn: bool = False,
            **values: Any,
        ) -> None:
            from chartmaker.jobs import read_map

            over = tables_of(values, assignments)
            old = None if since is None else read_map(since, rug, over)
            work(Asked(read_map(knots, rug, over), old, out, replace, as_json, quiet, redrawn))

        head = click.argument("knots", metavar="KNOTS.png", type=FilePath)
        full = with_options(head, out_option(out, endings=endings), *options, common)(run)
        return click.command(name=example.split()[1], epilog=f"Example: {example}")(full)

    return made
