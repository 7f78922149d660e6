"""`chartmaker card`: check a yarn card and show it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chartmaker.cli import report
from chartmaker.cli.options import FilePath, common, out_option
from chartmaker.ground.language import say

if TYPE_CHECKING:
    from chartmaker.yarns.yarn import Yarn


def _header() -> tuple[str, ...]:
    return (
        *(say("code"), say("name"), "sRGB", "L*", "a*", "b*", say("fibre"), say("count")),
        *(say("stock g"), say("price/kg")),
    )


@click.command(name="card", epilog="Example: chartmaker card wool.csv")
@click.argument("card", metavar="CARD.csv", type=FilePath)
@out_option(
    "Print it into this PDF as well, each yarn with its symbol, and all symbols.", required=False, endings=(".pdf",)
)
@common
def command(card: Path, out: Path | None, replace: bool, as_json: bool, quiet: bool) -> None:
    """Check the yarn card CARD.csv and show its yarns with their colours."""
    from chartmaker.ground.colour import hex_of
    from chartmaker.jobs import read_whole_card, with_symbols, write_card
    from chartmaker.reports.records.cards import card_yarn_dict
    from chartmaker.reports.words import yarns_words

    found = read_whole_card(card)
    yarns = with_symbols(found.yarns)
    if out is not None:
        write_card(card, out, replace=replace)
    if as_json:
        told = {"yarns": [card_yarn_dict(yarn) for yarn in yarns], "other_columns": list(found.others)}
        report.say_json(told)
    elif not quiet:
        rows = [_row(yarn) for yarn in yarns]
        swatches = [hex_of(yarn.srgb) for yarn in yarns]
        report.table(yarns_words(len(yarns)), _header(), rows, right=(3, 4, 5, 8, 9), swatches=swatches)
        if found.others:
            click.echo(say("Columns that are left alone: {columns}.", columns=", ".join(found.others)))


def _row(yarn: Yarn) -> tuple[str, ...]:
    from chartmaker.ground.colour import hex_of

    def amount(value: float | None) -> str:
        return "" if value is None else f"{value:,.6g}"

    colour = (hex_of(yarn.srgb), *(f"{value:.1f}" for value in yarn.lab))
    count = yarn.count.notation if yarn.count else ""
    return (yarn.code, yarn.name, *colour, yarn.fibre or "", count, amount(yarn.stock_g), amount(yarn.price_per_kg))
