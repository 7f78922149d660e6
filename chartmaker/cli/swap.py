"""`chartmaker swap`: recolour a knot map without converting again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from chartmaker.cli import edits, report
from chartmaker.cli.options import EDIT_OPTIONS, Command, FilePath, common, out_option, with_options
from chartmaker.ground.language import say

Pairs = tuple[tuple[str, str], ...]


def _pairs(_context: click.Context, parameter: click.Parameter, values: tuple[str, ...]) -> Pairs:
    """Return the two codes of each ``A:B``."""
    pairs = []
    for text in values:
        first, colon, second = (part.strip() for part in text.partition(":"))
        if not (colon and first and second) or ":" in second:
            raise click.UsageError(
                say("{option} {text!r}: write two yarn codes like A:B", option=parameter.opts[0], text=text)
            )
        pairs.append((first, second))
    return tuple(pairs)


def _pair_option(option: str, help_text: str) -> Callable[[Command], Command]:
    return click.option(option, multiple=True, metavar="A:B", callback=_pairs, help=help_text + " Repeatable.")


def _check(wish: dict[str, Any]) -> None:
    """Refuse a command that changes nothing, or a card that nothing uses."""
    if not (wish["merge"] or wish["exchange"] or wish["recolour"] or wish["by"]):
        raise click.UsageError(say("there is nothing to do; give --merge, --exchange, --recolour or --by"))
    if bool(wish["recolour"] or wish["by"]) != (wish["card"] is not None):
        raise click.UsageError(
            say("a card is needed with --recolour and --by, and only there: --card, or --rug with a rug file")
        )


@click.command(name="swap", epilog="Example: chartmaker swap knots.png --merge R2:R1 --out calmer.png")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@_pair_option("--merge", "Tie A's knots in B, another yarn of the map.")
@_pair_option("--exchange", "Tie A's knots in B, and B's in A.")
@_pair_option("--recolour", "Tie A's knots in B, a yarn of the card.")
@click.option(
    "--card",
    type=FilePath,
    metavar="CARD.csv",
    help="The yarn card for --recolour and --by; else that of --rug.",
)
@click.option("--by", type=click.Choice(["code", "nearest", "distinct"]), help="Replace every yarn by one of the card.")
@out_option("The new knot map's file, a PNG.")
@with_options(*EDIT_OPTIONS)
@common
def command(knots: Path, out: Path, replace: bool, as_json: bool, quiet: bool, **wish: Any) -> None:
    """Recolour a knot map without converting again; the counts and the figures follow.

    Merges and exchanges come first, all at once; then --recolour; then --by, which replaces every yarn of the map by
    the yarn of CARD.csv with the same code (code), by the nearest yarn by CIEDE2000 (nearest), or by the nearest in
    such a way that no two yarns become one (distinct).
    """
    from chartmaker.jobs import read_map, read_order, swap_yarns, write_map
    from chartmaker.reports.records.edits import snapped_dicts, swap_dicts
    from chartmaker.reports.records.maps import map_dict
    from chartmaker.reports.words import map_words

    rug = wish["rug"]
    if (wish["recolour"] or wish["by"]) and wish["card"] is None and rug is not None and rug.suffix.lower() == ".toml":
        wish["card"] = read_order(rug).card
    _check(wish)
    before = read_map(knots, wish.pop("rug"), snap=wish.pop("snap"))
    after, swaps = swap_yarns(before, **wish)
    write_map(after, out, replace=replace)
    if as_json:
        said = {"map": map_dict(after.knot_map, after.workshop), "swaps": swap_dicts(swaps)}
        report.say_json(said | {"snapped": snapped_dicts(before.snapped)})
    elif not quiet:
        edits.show_snapped(before.snapped)
        edits.show_swaps(swaps)
        report.lines([(say("Map"), map_words(after.knot_map))])
