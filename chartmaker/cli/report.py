"""The output of a command: tables for people, one JSON object for programs, progress on a terminal."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chartmaker.ground.language import say, say_n
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from rich.console import Console

    from chartmaker.jobs import Finding, MapFile

_WORST_FIRST = {"error": 0, "warning": 1, "note": 2}


def say_json(value: dict[str, Any]) -> None:
    """Print one JSON object on stdout."""
    from chartmaker.ground.plaintext import json_text

    click.echo(json_text(value))


def console(*, err: bool = False) -> Console:
    """Return a console that never wraps what goes into a file or a pipe."""
    from rich.console import Console

    stream = sys.stderr if err else sys.stdout
    width = None if stream.isatty() else 160
    return Console(file=stream, highlight=False, markup=False, emoji=False, width=width, soft_wrap=True)


def table(
    title: str,
    header: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    right: Sequence[int] = (),
    swatches: Sequence[str] | None = None,
) -> None:
    """Print a table on stdout; columns named in `right` are set flush right.

    `swatches` gives a ``#rrggbb`` for each row, shown as a block of colour before it on a terminal.
    """
    from rich.table import Table
    from rich.text import Text

    out = console()
    show = swatches is not None and out.is_terminal and out.color_system is not None
    grid = Table(title=inert(title) or None, title_justify="left", box=None, pad_edge=False, title_style="bold")
    if show:
        grid.add_column("")
    for index, name in enumerate(header):
        grid.add_column(Text(name), justify="right" if index in right else "left", header_style="bold")
    for index, row in enumerate(rows):
        cells = [Text(inert(cell)) for cell in row]
        if show and swatches is not None:
            cells.insert(0, Text("  ", style=f"on {swatches[index]}"))
        grid.add_row(*cells)
    out.print(grid)


def lines(pairs: Sequence[tuple[str, str]]) -> None:
    """Print labels with their values, one pair on each line, the values aligned."""
    widest = max((len(label) for label, _ in pairs), default=0)
    for label, value in pairs:
        click.echo(f"{label:<{widest}}  {inert(value, longest=2000)}")


def say_file(out: Path, told: MapFile, *, sheets: int | None = None, as_json: bool, quiet: bool) -> None:
    """Say what was written of a map, with the number of `sheets` if any: the essentials in words, or all as JSON."""
    if as_json:
        from chartmaker.reports.records.maps import map_dict

        more = {} if sheets is None else {"sheets": sheets}
        say_json({"file": str(out), "map": map_dict(told.knot_map, told.workshop), **more})
    elif not quiet:
        file, code = inert(out), told.knot_map.map_code
        if sheets is None:
            click.echo(say("{file}: map {code}", file=file, code=code))
        else:
            click.echo(
                say_n("{file}: map {code}, {n} sheet", "{file}: map {code}, {n} sheets", sheets, file=file, code=code)
            )


#: From this many findings of one kind on, they are shown together.
MANY_ALIKE = 3


def show_findings(findings: Sequence[Finding], *, of_map: bool = False) -> None:
    """Print the findings, the most severe first, a paragraph each; many of one kind are put together, a line each.

    `of_map` says that only the map was looked at, and not how the borders of its drawing are made.
    """
    if not findings and of_map:
        click.echo(
            say("There is nothing to remark on in the map; chartmaker check also looks at how borders are drawn.")
        )
    elif not findings:
        click.echo(say("There is nothing to remark on."))
    kinds: dict[tuple[str, str], list[Finding]] = {}
    for finding in sorted(findings, key=lambda finding: _WORST_FIRST[finding.severity]):
        kind = finding.said if isinstance(finding.said, str) else finding.said.template
        kinds.setdefault((finding.severity, kind), []).append(finding)
    for (severity, _), alike in kinds.items():
        if len(alike) >= MANY_ALIKE:
            click.echo(say("{severity}, {n} of one kind:", severity=say(severity), n=len(alike)))
            for finding in alike:
                what, where = inert(finding.what, longest=2000), inert(finding.where, longest=500)
                click.echo(say("  {where}: {what}", where=where, what=what))
            continue
        for finding in alike:
            what = inert(finding.what, longest=2000)
            click.echo(say("{severity}: {what}", severity=say(severity), what=what))
            click.echo(say("  where: {where}", where=inert(finding.where, longest=500)))


def show_remarks(found: MapFile, findings: Sequence[Finding], *, as_json: bool, quiet: bool) -> None:
    """Print the findings in the words of the rug's craft, unless nobody reads them."""
    from chartmaker.techniques.crafts import spoken_of

    if not as_json and not quiet:
        with spoken_of(found.knot_map.rug):
            show_findings(findings)


@contextlib.contextmanager
def progress(quiet: bool) -> Iterator[Progress]:
    """Give the progress of a job: a bar on a terminal, and silence elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield SILENT
        return
    from rich import progress as rich

    bar = rich.Progress(
        rich.TextColumn("{task.description}", markup=False),
        rich.BarColumn(),
        rich.TimeElapsedColumn(),
        console=console(err=True),
        transient=True,
    )
    with bar:
        task = bar.add_task(say("starting"), total=1.0)
        yield Progress(lambda what, share: bar.update(task, description=inert(what), completed=share))
