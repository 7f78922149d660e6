"""What the shell offers for the word that is being typed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.shell_completion import CompletionItem

if TYPE_CHECKING:
    from chartmaker.yarns.yarn import Yarn

Complete = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def _offered(words: Iterable[str], start: str) -> list[CompletionItem]:
    """Return the words that begin with `start`; one with a space would fall apart in the shell."""
    return [CompletionItem(word) for word in words if word.lower().startswith(start.lower()) and " " not in word]


def words_of(table: str, key: str) -> Complete:
    """Return a completer for a key of the rug file that takes one of some words."""

    def complete(_context: click.Context, _parameter: click.Parameter, start: str) -> list[CompletionItem]:
        from chartmaker.order.rugfile import words_of as words_in_file

        return _offered(words_in_file(table, key), start)

    return complete


def papers(_context: click.Context, _parameter: click.Parameter, start: str) -> list[CompletionItem]:
    """Offer the papers by name."""
    from chartmaker.paper.papers import SHEETS_MM

    return _offered(SHEETS_MM, start)


def _card_of(context: click.Context) -> tuple[Yarn, ...]:
    """Return the yarns of the card that the command line has named so far, directly or through its rug file."""
    from chartmaker.jobs import read_card, read_order

    card = context.params.get("yarns__card")
    if card:
        return read_card(card)
    # An option that still lacks its value leaves the arguments before it unassigned, in `args`.
    named = (Path(str(word)) for word in (context.params.get("order"), *context.args) if word)
    order = next((path for path in named if path.suffix.lower() == ".toml"), None)
    card = None if order is None else read_order(order).card
    return () if card is None else read_card(card)


def yarn_codes(context: click.Context, _parameter: click.Parameter, start: str) -> list[CompletionItem]:
    """Offer the codes of the card, with the yarns' names."""
    from chartmaker.ground.errors import ChartmakerError
    from chartmaker.ground.textsafe import inert

    try:
        yarns = _card_of(context)
    except ChartmakerError:
        return []  # the command itself will say what is wrong
    return [CompletionItem(yarn.code, help=inert(yarn.name)) for yarn in yarns if yarn.code.startswith(start.upper())]
