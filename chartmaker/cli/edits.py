"""What was changed in a knot map by hand, shown to people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from chartmaker.cli import report
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from chartmaker.knots.changes import ChangedRun, Changes
    from chartmaker.knots.swaps import Swap
    from chartmaker.knots.touchup import Snapped
    from chartmaker.reports.records.edits import Masses

#: The most places or colours, and the most changes from yarn to yarn, that are shown; the rest is counted.
MOST_LINES, MOST_MOVES = 40, 12


def show_snapped(snapped: Sequence[Snapped]) -> None:
    """Say which colours were given a yarn, in how many knots, and how far off the yarns are."""
    if not snapped:
        return
    knots = sum(each.stranger.knots for each in snapped)
    colours = say_n("{n:,} colour", "{n:,} colours", len(snapped))
    click.echo(
        say_n(
            "{n:,} knot in {colours} that no yarn has was given the nearest yarn:",
            "{n:,} knots in {colours} that no yarn has were given the nearest yarn:",
            knots,
            colours=colours,
        )
    )
    for each in snapped[:MOST_LINES]:
        click.echo(
            say(
                "  {colour} -> {code}, {de00:.1f} away by CIEDE2000",
                colour=each.stranger.words,
                code=each.code,
                de00=each.de00,
            )
        )
    if len(snapped) > MOST_LINES:
        click.echo(say_n("  and {n:,} more colour", "  and {n:,} more colours", len(snapped) - MOST_LINES))


def show_swaps(swaps: Sequence[Swap]) -> None:
    """Print which yarn became which, and warn of yarns that became one."""
    rows = [(s.before.code, s.before.name, s.after.code, s.after.name, f"{s.knots:,}", f"{s.de00:.1f}") for s in swaps]
    header = (say("before"), "", say("after"), "", say("knots"), "CIEDE2000")
    report.table(say("Swaps"), header, rows, right=(4, 5))
    for code in dict.fromkeys(swap.after.code for swap in swaps):
        became = [swap.before.code for swap in swaps if swap.after.code == code]
        if len(became) > 1:
            click.echo(
                say(
                    "{first} and {last} have all become {code}, so what was drawn between them is lost.",
                    first=", ".join(became[:-1]),
                    last=became[-1],
                    code=code,
                )
            )


def show_changes(changes: Changes, masses_g: Masses) -> None:
    """Print the changes: in sum, by yarn, then by place."""
    from chartmaker.ground.colour import hex_of
    from chartmaker.reports.words import map_words

    report.lines([(say("Before"), map_words(changes.before)), (say("After"), map_words(changes.after))])
    for setting in changes.settings:
        click.echo(inert(setting, longest=2000))
    for yarn in changes.yarns:
        if yarn.redyed and yarn.before is not None and yarn.after is not None:
            click.echo(
                say(
                    "{code} has a different colour: {before} before, {after} after.",
                    code=yarn.code,
                    before=hex_of(yarn.before.srgb),
                    after=hex_of(yarn.after.srgb),
                )
            )
    if not changes.knots:
        click.echo(say("No knot has changed."))
        return
    click.echo(
        say_n(
            "{n:,} knot has changed, {percent:.2g} % of the map, in {rows}.",
            "{n:,} knots have changed, {percent:.2g} % of the map, in {rows}.",
            changes.knots,
            percent=100 * changes.knots / changes.changed.size,
            rows=_rows_words(changes),
        )
    )
    _show_yarns(changes, masses_g)
    _show_places(changes)


def _rows_words(changes: Changes) -> str:
    rows = changes.rows
    first, last = int(rows[0]) + 1, int(rows[-1]) + 1
    return say_n(
        "row {first:,}", "{n:,} rows between row {first:,} and row {last:,}", len(rows), first=first, last=last
    )


def _more_words(grams: float) -> str:
    """Return a change in grams to the tenth; a smaller one with its first figure, so that none is shown as +0.0."""
    if abs(grams) >= 0.05:
        return f"{grams:+,.1f}"
    return f"{grams:+.1g}" if abs(grams) >= 1e-6 else "0"


def _show_yarns(changes: Changes, masses_g: Masses) -> None:
    before_g, after_g = masses_g
    table = []
    for yarn in changes.yarns:
        if yarn.knots_before != yarn.knots_after:
            grams = before_g.get(yarn.code, 0.0), after_g.get(yarn.code, 0.0)
            table.append(
                (
                    yarn.code,
                    yarn.name,
                    f"{yarn.knots_before:,}",
                    f"{yarn.knots_after:,}",
                    f"{yarn.knots_after - yarn.knots_before:+,}",
                    f"{grams[0]:,.1f}",
                    f"{grams[1]:,.1f}",
                    _more_words(grams[1] - grams[0]),
                )
            )
    if table:
        after, change = say("after"), say("change")
        header = (say("yarn"), say("name"), say("knots before"), after, change, say("grams before"), after, change)
        report.table(say("Yarns"), header, table, right=range(2, 8))
    moves = [
        say("{before} to {after} {knots:,}", before=move.before, after=move.after, knots=move.knots)
        for move in changes.moves
    ]
    listed = ", ".join(moves[:MOST_MOVES])
    if len(moves) > MOST_MOVES:
        listed = say_n("{listed} and {n:,} more", "{listed} and {n:,} more", len(moves) - MOST_MOVES, listed=listed)
    click.echo(say("From yarn to yarn: {listed}", listed=listed))


def _show_places(changes: Changes) -> None:
    click.echo(say("Places, from the first woven row:"))
    shown = left_out = 0
    for run in changes.runs():
        if shown == MOST_LINES:
            left_out += 1
            continue
        shown += 1
        click.echo("  " + _place_words(run))
    if left_out:
        click.echo(
            say_n(
                "  and {n:,} more; --places FILE.csv lists it too, and --picture FILE.png shows it",
                "  and {n:,} more; --places FILE.csv lists them all, and --picture FILE.png shows them",
                left_out,
            )
        )


def _place_words(run: ChangedRun) -> str:
    return say_n(
        "row {row}, column {first}: {before} to {after}",
        "row {row}, columns {first} to {last}: {before} to {after}",
        run.knots,
        row=run.row + 1,
        first=run.column + 1,
        last=run.column + run.knots,
        before=run.before,
        after=run.after,
    )
