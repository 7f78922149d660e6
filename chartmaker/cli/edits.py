"""What happened to a knot map by hand, shown to people or programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from chartmaker.cli import report
from chartmaker.ground.language import counted
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from chartmaker.knots.changes import Changes
    from chartmaker.knots.knotmap import KnotMap
    from chartmaker.knots.touchup import Snapped

#: At most so many places are listed on the screen or in the JSON; the rest is counted, and the CSV has them all.
MOST_LINES, MOST_JSON_PLACES = 40, 10_000


def map_words(knot_map: KnotMap) -> str:
    return (
        f"{knot_map.columns} columns x {knot_map.rows} rows, {counted(knot_map.tied, 'knot')}, "
        f"{counted(len(knot_map.yarns), 'yarn')}, "
        f"{knot_map.map_code}"
    )


def snapped_json(snapped: Sequence[Snapped]) -> list[dict[str, Any]]:
    from chartmaker.ground.colour import hex_of

    return [
        {
            "srgb": hex_of(each.stranger.srgb),
            "knots": each.stranger.knots,
            "row": each.stranger.row + 1,
            "column": each.stranger.column + 1,
            "code": each.code,
            "de00": round(each.de00, 2),
        }
        for each in snapped
    ]


def show_snapped(snapped: Sequence[Snapped]) -> None:
    """Say which colours were given a yarn, how many knots that is, how far off they were."""
    if not snapped:
        return
    knots, colours = sum(each.stranger.knots for each in snapped), counted(len(snapped), "colour")
    click.echo(f"Knots in colours that are no yarn, given the nearest: {knots:,}, in {colours}.")
    for each in snapped[:MOST_LINES]:
        click.echo(f"  {each.stranger.words} -> {each.code}, {each.de00:.1f} off (CIEDE2000)")
    if len(snapped) > MOST_LINES:
        click.echo(f"  and {counted(len(snapped) - MOST_LINES, 'colour')} more")


def changes_json(changes: Changes, masses_g: tuple[dict[str, float], dict[str, float]]) -> dict[str, Any]:
    """Return the changes; rows, starts count from 1; `places` is cut at `MOST_JSON_PLACES`."""
    from chartmaker.ground.colour import hex_of
    from chartmaker.reports.summary import map_dict

    places: list[dict[str, Any]] = []
    left_out = 0
    for run in changes.runs():
        if len(places) < MOST_JSON_PLACES:
            places.append(
                {
                    "row": run.row + 1,
                    "start": run.column + 1,
                    "knots": run.knots,
                    "before": run.before,
                    "after": run.after,
                }
            )
        else:
            left_out += 1
    old, new = masses_g
    return {
        "before": map_dict(changes.before),
        "after": map_dict(changes.after),
        "changed": changes.knots,
        "moves": [{"before": m.before, "after": m.after, "knots": m.knots} for m in changes.moves],
        "yarns": [
            {
                "code": yarn.code,
                "name": yarn.name,
                "knots_before": yarn.knots_before,
                "knots_after": yarn.knots_after,
                "mass_g_before": round(old.get(yarn.code, 0.0), 1),
                "mass_g_after": round(new.get(yarn.code, 0.0), 1),
                "srgb_before": None if yarn.before is None else hex_of(yarn.before.srgb),
                "srgb_after": None if yarn.after is None else hex_of(yarn.after.srgb),
            }
            for yarn in changes.yarns
        ],
        "settings": list(changes.settings),
        "places": places,
        "places_left_out": left_out,
    }


def show_changes(changes: Changes, masses_g: tuple[dict[str, float], dict[str, float]]) -> None:
    """Print the changes: in sum, by yarn, then by place."""
    from chartmaker.ground.colour import hex_of

    report.lines([("Before", map_words(changes.before)), ("After", map_words(changes.after))])
    for setting in changes.settings:
        click.echo(inert(setting, longest=2000))
    for yarn in changes.yarns:
        if yarn.redyed and yarn.before is not None and yarn.after is not None:
            click.echo(
                f"{yarn.code} is another colour: {hex_of(yarn.before.srgb)} before, {hex_of(yarn.after.srgb)} after"
            )
    if not changes.knots:
        click.echo("No knot is changed.")
        return
    rows = changes.rows
    changed = counted(changes.knots, "knot is", "knots are")
    place = f"row {rows[0] + 1}" if len(rows) == 1 else f"{len(rows):,} rows from {rows[0] + 1} to {rows[-1] + 1}"
    click.echo(f"{changed} changed, {100 * changes.knots / changes.changed.size:.2g} %, in {place}.")
    _show_yarns(changes, masses_g)
    _show_places(changes)


def _show_yarns(changes: Changes, masses_g: tuple[dict[str, float], dict[str, float]]) -> None:
    old, new = masses_g
    table = []
    for yarn in changes.yarns:
        if yarn.knots_before != yarn.knots_after:
            grams = old.get(yarn.code, 0.0), new.get(yarn.code, 0.0)
            table.append(
                (
                    yarn.code,
                    yarn.name,
                    f"{yarn.knots_before:,}",
                    f"{yarn.knots_after:,}",
                    f"{yarn.knots_after - yarn.knots_before:+,}",
                    f"{grams[0]:,.1f}",
                    f"{grams[1]:,.1f}",
                    f"{grams[1] - grams[0]:+z,.1f}",
                )
            )
    if table:
        header = ("yarn", "name", "knots before", "after", "change", "grams before", "after", "change")
        report.table("Yarns", header, table, right=range(2, 8))
    moves = [f"{move.before} to {move.after} {move.knots:,}" for move in changes.moves]
    more = f" and {len(moves) - 12} more" if len(moves) > 12 else ""
    click.echo("From yarn to yarn: " + ", ".join(moves[:12]) + more)


def _show_places(changes: Changes) -> None:
    click.echo("Places, from the first woven row:")
    shown = left_out = 0
    for run in changes.runs():
        if shown == MOST_LINES:
            left_out += 1
            continue
        shown += 1
        last = f" to {run.column + run.knots}" if run.knots > 1 else ""
        columns = "columns" if last else "column"
        click.echo(f"  row {run.row + 1}, {columns} {run.column + 1}{last}: {run.before} to {run.after}")
    if left_out:
        places = counted(left_out, "place")
        click.echo(f"  and {places} more; --places FILE.csv lists all, --picture FILE.png shows them")
