"""`chartmaker collection`: a whole season of sets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import FilePath, common
from chartmaker.ground.errors import CollectionError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from chartmaker.collection.told import Told
    from chartmaker.ground.engines import Engine

#: The most sets that are named one by one.
_MOST_NAMED = 20


def _bytes(_context: click.Context, _parameter: click.Parameter, text: str | None) -> int | None:
    """Return how many bytes ``6 GB`` or ``800 MB`` are."""
    if text is None:
        return None
    number, unit = text.strip().upper()[:-2].strip(), text.strip().upper()[-2:]
    try:
        return max(int(float(number) * {"MB": 1e6, "GB": 1e9}[unit]), 1)
    except (KeyError, ValueError, OverflowError):
        raise click.UsageError(say("--memory {text!r} cannot be read; write it like '6 GB'", text=text)) from None


@click.command(name="collection", epilog="Example: chartmaker collection season.toml --out season")
@click.argument("file", metavar="FILE.toml", type=FilePath)
@click.option("--out", required=True, type=FilePath, help="The folder for all sets; made if it does not exist.")
@click.option("--dry-run", is_flag=True, help="Only say which sets would be made.")
@click.option("--replace-changed", is_flag=True, help="Also replace files that were changed since.")
@click.option(
    "--order", "orders", multiple=True, metavar="NAME", help="Work out yarn and looms for this order alone. Repeatable."
)
@click.option(
    "--memory", callback=_bytes, metavar="SIZE", help="The memory that all processes may take together: '6 GB'."
)
@click.option("--cluster", metavar="ADDRESS", help="Let the workers of a Dask scheduler make the sets.")
@click.option("--send", is_flag=True, help="With --cluster: send the files, if there is no shared folder.")
@common
def command(
    file: Path,
    out: Path,
    dry_run: bool,
    replace_changed: bool,
    orders: tuple[str, ...],
    memory: int | None,
    cluster: str | None,
    send: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Make a set for each design, size, colourway and quality that the file asks for; keep those made already.

    A set that cannot be made does not stop the others: its error is in the report, and the exit code is 10.
    """
    from chartmaker.collection.running import make_collection, read_collection

    more: dict[str, Any] = {"replace_changed": replace_changed, "orders": orders, "send": send}
    with report.progress(quiet) as progress:
        season, more["engine"] = read_collection(file), _engine(cluster)
        told = make_collection(season, out, memory_bytes=memory, dry_run=dry_run, progress=progress, **more)
    say_told(told, out, file, as_json=as_json, quiet=quiet)


def say_told(told: Told, out: Path, file: Path, *, as_json: bool, quiet: bool) -> None:
    """Say what became of all sets.

    Raises
    ------
    CollectionError
        If some could not be made.
    """
    if as_json:
        report.say_json(_json(told))
    elif not quiet:
        _show(told, out)
    if told.failed:
        one, many = "{n} set could not be made", "{n:,} sets could not be made"
        raise CollectionError(say_n(one, many, len(told.failed)), where=inert(file))


def _engine(cluster: str | None) -> Engine | None:
    """Return the engine that was asked for, or None for the processes of this machine."""
    if cluster is None:
        return None
    from chartmaker.collection.cluster import Cluster

    return Cluster(cluster)


def _json(told: Told) -> dict[str, Any]:
    """Return what became of each set; collection.json says more about them."""
    return {
        "sets": [
            {"name": each.wanted.name, "state": each.state, "error": each.error or None, "exit_code": each.exit_code}
            for each in told.sets
        ],
        "left": list(told.left),
    }


def _show(told: Told, out: Path) -> None:
    """Print how many sets there are in each state, and what was wrong with those that could not be made."""
    sentences = {
        "kept": ("{n} set is already there.", "{n:,} sets are already there."),
        "made": ("{n} set was made.", "{n:,} sets were made."),
        "to make": ("{n} set would be made:", "{n:,} sets would be made:"),
        "failed": ("{n} set could not be made:", "{n:,} sets could not be made:"),
    }
    for state, (one, many) in sentences.items():
        those = [each for each in told.sets if each.state == state]
        if those:
            click.echo(say_n(one, many, len(those)))
        if state in ("to make", "failed"):
            for each in those[:_MOST_NAMED]:
                click.echo(
                    f"  {inert(each.wanted.name)}" + (f": {inert(each.error, longest=500)}" if each.error else "")
                )
            if len(those) > _MOST_NAMED:
                click.echo(say("  and {more:,} more", more=len(those) - _MOST_NAMED))
    if told.left:
        names = ", ".join(told.left[:_MOST_NAMED])
        click.echo(say("No longer asked for, and left as they are: {names}", names=inert(names, longest=1000)))
    if not told.count("to make"):
        click.echo(say("The whole collection: {page}", page=inert(out / "collection.html")))
