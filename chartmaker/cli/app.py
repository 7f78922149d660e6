"""The group of commands, each imported only when it is called."""

from __future__ import annotations

import importlib
import os
import sys
from typing import TYPE_CHECKING, ClassVar

import click

from chartmaker import __version__
from chartmaker.ground.language import say

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

#: The greatest and the least width of help, in letters.
_WIDEST, _NARROWEST = 100, 50


def spoken(command: click.Command) -> click.Command:
    """Return the command with its help, and that of its options, said in the language in force."""
    import copy  # which the help of the whole command line does without

    told = copy.copy(command)
    told.help = say(command.help or "")
    told.epilog = say(command.epilog or "")
    told.params = [copy.copy(parameter) for parameter in command.params]
    for parameter in told.params:
        if isinstance(parameter, click.Option) and parameter.help:
            parameter.help = say(parameter.help)
    return told


class LazyGroup(click.Group):
    """A group that knows its commands by name and the first line of their help, not by import."""

    summaries: ClassVar[dict[str, str]] = {
        "make": "Everything the loom needs, from a rug file or an artwork.",
        "plan": "The knot grid for a size and a density, before there is any artwork.",
        "knot": "Only the knot map, from a rug file or an artwork.",
        "chart": "The printable charts of a knot map.",
        "rows": "The row script of a knot map.",
        "pattern": "The full-size pattern from which a tufter works.",
        "carving": "The carver's guide: grooves and heights, and what must not be cut.",
        "figures": "The knots, yarn, foundation, dye order and time of a knot map.",
        "layout": "What a design is made of, from which it is laid anew in other sizes.",
        "sizes": "One design in every size: borders keep their width, repeats stay whole.",
        "collection": "A whole season: designs x sizes x colourways x qualities.",
        "calibrate": "The length of yarn in a knot, from what a finished rug used.",
        "proof": "How a knot map will look woven.",
        "loom": "The page that calls the rows at the loom and keeps the place.",
        "touchup": "Take a knot map back in after it was edited by hand.",
        "compare": "The differences between two knot maps.",
        "swap": "Merge, exchange or recolour yarns without converting again.",
        "check": "What a master weaver would remark on before the rug is woven.",
        "verify": "Read every output of a set back and compare it with the map.",
        "card": "Check a yarn card and show it.",
        "manual": "The whole manual, to read or as a manual page.",
    }

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.summaries)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.summaries:
            return None
        command: click.Command = importlib.import_module(f"chartmaker.cli.{cmd_name}").command
        return spoken(command)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        named = [
            CompletionItem(name, help=say(told)) for name, told in self.summaries.items() if name.startswith(incomplete)
        ]
        return [*named, *click.Command.shell_complete(self, ctx, incomplete)]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, say(told)) for name, told in self.summaries.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in self.summaries and not args[0].startswith("-"):
            raise click.UsageError(_no_command_words(args[0], list(self.summaries)), ctx)
        return super().resolve_command(ctx, args)


def _no_command_words(word: str, commands: list[str]) -> str:
    from chartmaker.ground.textsafe import guess, inert

    near, word = guess(word, commands), inert(word)
    if near:
        return say("there is no command {word!r}; did you mean {near}?", word=word, near=near)
    return say("there is no command {word!r}; see chartmaker --help", word=word)


def help_width() -> int:
    """Return the width of help, in letters; found here because click's own way takes long to import."""
    columns = os.environ.get("COLUMNS", "")
    if columns.isdecimal() and int(columns):
        width = int(columns)
    else:
        try:
            width = os.get_terminal_size(sys.__stdout__.fileno()).columns if sys.__stdout__ else 0
        except (OSError, ValueError):
            width = 0
    return max(min(width or 80, _WIDEST) - 2, _NARROWEST)


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": _WIDEST},
    epilog="Example: chartmaker make rug.toml --out rug-charts",
)
@click.version_option(__version__, prog_name="chartmaker", message="%(prog)s %(version)s")
def app() -> None:
    """From artwork to the loom: knot charts, row scripts and yarn figures for hand-made rugs."""
