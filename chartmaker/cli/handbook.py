"""The manual's text: what `--help` says of every command, with all that belongs to no single command."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import click

from chartmaker.cli.faults import TRACEBACK_VARIABLE, exit_codes

#: What `make` writes; held to the list of names that the writers follow.
FILES = {
    "knots.png": "The knot map: one pixel is one knot, each palette entry a yarn, the last woven row on top.",
    "chart.pdf": "The charts: a cover, then sheet after sheet up each weaver's strip.",
    "rows.pdf": "The row script, every row as so many knots of each yarn, with sums to count by.",
    "rows.csv": "The row script for programs: row,strip,start,knots,code; row 1 is woven first, start 1 is leftmost.",
    "yarns.csv": "Knots, metres, grams of every yarn.",
    "proof.png": "The rug as it will look woven, beside the artwork.",
    "proof.html": "The same as a page that goes down to the single knot; it asks nothing of any network.",
    "summary.json": "Every figure, with the SHA-256 of what was read and of what was written.",
}
ENVIRONMENT = {
    "NO_COLOR": "Set to anything, tables on a terminal have no colour.",
    TRACEBACK_VARIABLE: "Set to anything, a fault of chartmaker itself shows where it arose.",
    "_CHARTMAKER_COMPLETE": "bash_source, zsh_source or fish_source: print what makes that shell complete commands, "
    "options, files, words, yarn codes.",
}
EXAMPLES = {
    "chartmaker plan --size 5x8ft --density '9/60 indian'": "What grid does a size give, before there is any artwork?",
    "chartmaker card wool.csv": "Is the yarn card right?",
    "chartmaker make rug.toml --out rug-charts": "Everything that the loom needs.",
    "chartmaker verify rug-charts": "Does every file of the set say the same map?",
    "chartmaker rows rug-charts/knots.png --reading 'right to left' --out rows.pdf": "The row script again, "
    "for weavers who read from the right.",
    "chartmaker figures rug-charts/knots.png --finished-row 200 --json": "What is left to weave, for a program.",
}
_MAKES = (
    "chartmaker takes an artwork, the size of a rug, its knot density as the trade writes it, a card of the workshop's "
    "yarns. It gives the knot map, printable charts, a row script, yarn with foundation, dye order, time, cost, each "
    "figure with what it rests on. Rows are counted from the first woven, columns from the left as seen from the pile "
    "side; densities are across x along.",
    "Every command has --help with an example. What exists is not overwritten without --replace; an output is whole, "
    "the new one or the old one, never a half. With --json, one JSON object is all that goes to standard output. "
    "Faults go to standard error, in one message that says what to do.",
)
_RUG_FILE = (
    "A TOML file. [rug] width with length, or size, and density must be there; make, knot and check need [design] "
    "artwork too. Lengths and masses carry their unit, '12 mm', '1.5 kg'; shares are '15%' or 0.15; paths start from "
    "the rug file's folder. On the command line, --set TABLE.KEY=VALUE says any key, and wins over the file."
)
_CARD = (
    "A table in CSV, UTF-8, with a header line. code (1 to 6 of A-Z, 0-9, -) and colour must be there; name, fibre, "
    "count, stock_g, price_per_kg may be. A colour is #rrggbb, or Lab L a b, LCh L C h, xyY x y Y, each with its "
    "illuminant and observer behind it if they are not D65/2; or the card has one column a wavelength, 400nm to 700nm "
    "every 10 nm, with reflectances from 0 to 1."
)
_CARE = (
    "The figures are arithmetic; a sample, weighed, comes before a large order. {cautions} The dye maker's safety "
    "data sheets, local codes, trained people come before anything that chartmaker prints. Shears and tufting tools: "
    "guards on, eyes covered, people trained on them. At the loom: seats, light, breaks; hours, age and pay follow "
    "local labour law."
)


@dataclass(frozen=True)
class Heading:
    """A title; `level` 1 opens a section, 2 a part of one."""

    text: str
    level: int = 1


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True)
class Line:
    """A line to type, never broken."""

    text: str


@dataclass(frozen=True)
class Terms:
    """Words, each with what it means."""

    pairs: tuple[tuple[str, str], ...]


Block = Heading | Paragraph | Line | Terms


def blocks(group: click.Group) -> Iterator[Block]:
    """Yield the whole manual, in the order of a manual page."""
    context = click.Context(group, info_name="chartmaker", **group.context_settings)
    yield Heading("Name")
    yield Paragraph(f"chartmaker - {(group.help or '')[:1].lower()}{(group.help or '')[1:].rstrip('.')}")
    yield Heading("Synopsis")
    yield Line("chartmaker COMMAND [OPTIONS] ...")
    yield Heading("Description")
    yield from map(Paragraph, _MAKES)
    yield Heading("Commands")
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield from _command_blocks(command, context)
    yield from _file_blocks()
    yield from _process_blocks()


def _plain(text: str) -> str:
    return " ".join(text.split())


def _command_blocks(command: click.Command, parent: click.Context) -> Iterator[Block]:
    """Yield what ``--help`` says."""
    context = click.Context(command, info_name=command.name, parent=parent)
    yield Heading(str(command.name), 2)
    yield Line(f"{context.command_path} {' '.join(command.collect_usage_pieces(context))}")
    yield from (Paragraph(_plain(part)) for part in (command.help or "").split("\n\n"))
    options = (parameter for parameter in command.get_params(context) if isinstance(parameter, click.Option))
    records = (option.get_help_record(context) for option in options)
    yield Terms(tuple((term, _plain(said)) for term, said in filter(None, records)))
    if command.epilog:
        yield Line(command.epilog)


def _file_blocks() -> Iterator[Block]:
    from chartmaker.order.rugfile import keys, words_of

    yield Heading("The rug file")
    yield Paragraph(_RUG_FILE)
    for table, names in keys().items():
        words = ((key, words_of(table, key)) for key in names)
        said = (f"{key} ({', '.join(choices)})" if choices else key for key, choices in words)
        yield Terms(((f"[{table}]", ", ".join(said)),))
    yield Heading("The yarn card")
    yield Paragraph(_CARD)
    yield Heading("Files")
    yield Paragraph("chartmaker make writes into the folder that --out names:")
    yield Terms(tuple(FILES.items()))


def _process_blocks() -> Iterator[Block]:
    from chartmaker.figures.dyeing import CAUTIONS

    yield Heading("Exit status")
    yield Terms(tuple((str(code), f"{meaning}.") for code, meaning in exit_codes().items()))
    yield Heading("Environment")
    yield Terms(tuple(ENVIRONMENT.items()))
    yield Heading("Examples")
    for line, said in EXAMPLES.items():
        yield Paragraph(said)
        yield Line(line)
    yield Heading("Taking care")
    yield Paragraph(_CARE.format(cautions=" ".join(CAUTIONS)))
