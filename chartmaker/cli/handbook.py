"""The manual: what `--help` says about every command, and all that belongs to no single command."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from chartmaker.cli.faults import TRACEBACK_VARIABLE, exit_codes
from chartmaker.ground.cachefolder import VARIABLE as CACHE_VARIABLE
from chartmaker.ground.language import say

if TYPE_CHECKING:
    from chartmaker.order.keyhelp import KeyHelp

#: The files that `make` writes; a test holds this to the list of names that the writers follow.
FILES = {
    "knots.png": "The knot map: one pixel is one knot, each palette entry a yarn, the last woven row on top.",
    "chart.pdf": "The charts: a cover, then sheet after sheet up each weaver's strip.",
    "rows.pdf": "The row script: every row as runs of knots of one yarn, with sums to count by.",
    "rows.csv": "The row script for programs: row,strip,start,knots,code; row 1 is woven first, start 1 is leftmost.",
    "pattern.pdf": "Tufted rugs, and what is tufted into hand-loomed ones: the full-size pattern, mirrored for the "
    "back of the cloth.",
    "guide.pdf": "The same: the colour guide, which gives the yarn for each number of the pattern.",
    "pattern.svg": "The same: the pattern for a projector, a cutter or a drawing program, in millimetres.",
    "bands.pdf": "Hand-loomed rugs: the bands of rods by colour with running lengths, repeats told once.",
    "bands.csv": "The same for programs, every band: band,first,last,lines,code,from_cm,to_cm.",
    "carving.pdf": "Where [carve] asks for it: the carver's guide, in full size from the pile side.",
    "yarns.csv": "The knots, metres and grams of every yarn.",
    "proof.png": "The rug as it will look woven, beside the artwork.",
    "proof.html": "The same as a page that goes down to the single knot; it needs no network.",
    "loom.html": "The row script as a page for a phone or a tablet at the loom: it shows and reads aloud one call "
    "after another and keeps the place. A rug of more than four million knots has further files, such as "
    "loom-2-3.html for strip 2, section 3.",
    "summary.json": "Every figure, with the SHA-256 of what was read and of what was written.",
}
ENVIRONMENT = {
    "NO_COLOR": "If this is set to anything, tables on a terminal have no colour.",
    CACHE_VARIABLE: "If this is set to anything, nothing is kept between runs (the same as --no-cache). Otherwise what "
    "was worked out about an artwork is kept in the user's cache folder, up to 500 MB, so that a trial of another "
    "setting is quick; the folder may be deleted at any time. It holds pictures made from the artwork, which only this "
    "user may read.",
    TRACEBACK_VARIABLE: "If this is set to anything, a fault in chartmaker itself shows where it arose.",
    "_CHARTMAKER_COMPLETE": "bash_source, zsh_source or fish_source prints the script with which that shell completes "
    "commands, options, files, words and yarn codes.",
}
EXAMPLES = {
    "chartmaker plan --size 5x8ft --density '9/60 indian'": "What grid does a size give, before there is any artwork?",
    "chartmaker card wool.csv": "Is the yarn card right?",
    "chartmaker make rug.toml --out rug-charts": "Everything that the loom needs.",
    "chartmaker collection season.toml --out season": "Every design in every size and colourway.",
    "chartmaker verify rug-charts": "Does every file of the set agree with the map?",
    "chartmaker rows rug-charts/knots.png --reading 'right to left' --out rows.pdf": "The row script once more, "
    "for weavers who read from the right.",
    "chartmaker figures rug-charts/knots.png --finished-row 200 --json": "What is left to weave, for a program.",
}
_DENSITY = (
    "Write the knots across first, then those along. A bare 9/60, or a raj without its gereh, can be read two ways: "
    "both readings are shown with their numbers, and you choose one."
)
#: The densities of the trade, each with what it means.
DENSITIES = {
    "9/60 indian": "9 knots in 0.9 inch across and 60 in 4.5 inch along: 10 x 13.33 per inch, 133.33 per square "
    "inch. The trade's quick figure, 9 x 60 / 4 = 135, is 1.25 % too high; plan shows it as the trade figure only.",
    "16/18 pakistani": "knots per inch, across and along.",
    "100 kpsi": "knots per square inch, with as many across as along.",
    "10x12 per inch": "knots counted across x along, the surest way.",
    "40x45 per dm": "the same, counted in ten centimetres.",
    "8x8 per cm": "the same, counted in one centimetre.",
    "120 line": "knots per foot across, with as many along.",
    "50 raj (7 cm)": "knots per gereh; the gereh is 6.5 to 7 cm by province and must be given.",
    "256 pitch 9 wires": "a hand loom's: 256 points on 27 inches across, 9 rods an inch along: 85.3 per square inch.",
    "100 knot tibetan": "a nominal 60, 80 or 100, taken as 56,000, 80,000 or 125,000 per square metre, which is said.",
}
_COUNTS = (
    "Yarn counts are written so that they cannot be misread: the system, the count of each single, and the plies. "
    "Nm 8 x3 is three singles of Nm 8; likewise Ne 10 x12, Worsted 6 x2, tex 300, den 1200. 6/10 is refused, because "
    "some read it as count by ply and others as ply by count."
)
_TAB = (
    "The Tab key completes commands, options, files, the words that an option takes and, once the card or the rug file "
    "is named, the codes of its yarns. One line in the start-up file of the shell turns it on."
)
#: The line that turns completion on, by the shell and its start-up file.
SHELLS = {
    "bash 4.4 or newer, ~/.bashrc": 'eval "$(_CHARTMAKER_COMPLETE=bash_source chartmaker)"',
    "zsh, ~/.zshrc": 'eval "$(_CHARTMAKER_COMPLETE=zsh_source chartmaker)"',
    "fish, ~/.config/fish/completions/chartmaker.fish": "_CHARTMAKER_COMPLETE=fish_source chartmaker | source",
}
_MAKES = (
    "chartmaker takes an artwork, the size of a rug, its knot density as the trade writes it, and a card of the "
    "workshop's yarns. It gives the knot map, printable charts, a row script, and the figures for yarn, foundation, "
    "dye order, time and cost, each with what it rests on. Rows are counted from the first woven, and columns from the "
    "left as seen from the pile side; densities are given across x along.",
    "Every command has --help with an example. Existing files are not overwritten without --replace, and an output is "
    "always whole, either the new one or the old one. With --json, one JSON object is all that goes to standard "
    "output. A fault goes to standard error, in one message that says what to do.",
)
_RUG_FILE = (
    "The rug file is a TOML file. [rug] must have width and length, or size, and density; make, knot and check need "
    "[design] artwork too. Lengths and masses carry their unit, as in '12 mm' and '1.5 kg'; shares are written '15%' "
    "or 0.15; paths are relative to the rug file's folder. On the command line, --set TABLE.KEY=VALUE sets any key and "
    "overrides the file. "
    "[[region]], once for each, gives a part of the artwork keys of its own; a knot belongs to the region that covers "
    "most of it. [[repeat]] says in a box what repeats in a flat drawing, where that is not found by itself: all over, "
    "or along the side of a border in which most of the box lies; once for each of them."
)
_CARD = (
    "The yarn card is a table in CSV, UTF-8, with a header line. It must have the columns code (1 to 6 of A-Z, 0-9, -) "
    "and colour; it may have name, fibre, count, stock_g, price_per_kg, symbol, and call, the short name that is "
    "called aloud at the loom. A card "
    "gives a yarn the same symbol in every rug; symbol, a number from 1 to 255, sets it outright, so that it stays "
    "when yarns join the card. On a card of more than 255 yarns, yarns near in colour have one symbol together; a rug "
    "that has two of them says which of the two has another in its chart. chartmaker card "
    "CARD.csv --out card.pdf prints the yarns with their symbols, and all "
    "symbols by number. "
    "A colour is #rrggbb, or Lab L a b, LCh L C h or xyY x y Y, each followed by its "
    "illuminant and observer if they are not D65/2; or the card has a column for each wavelength, 400nm to 700nm every "
    "10 nm, with reflectances from 0 to 1."
)
_SHADES = (
    "Charts, row scripts and guides also call each colour by a plain word, that of the nearest of a table of typical "
    "colours by CIEDE2000, such as dark blue or ochre. Where two yarns of a rug would have the same word, what sets "
    "them apart most follows it: dark blue, darker, or lighter, brighter, duller, redder, greener, yellower, bluer, "
    "each against the other of the two. Three or more with one word are numbered from the darkest. A yarn may thus "
    "have another word in another rug, so its code comes first."
)
_COLLECTION = (
    "The collection file is a TOML file for chartmaker collection. The key rugs of [collection] names the rug files, "
    "and [sizes] lists the sizes, as of = [...]. Each [colourways.NAME] is a table of yarns that become other yarns of "
    "the card, by code or by name, and may be empty; each [qualities.NAME] holds keys of [rug], or whole tables of the "
    "rug file; [every] holds tables that are laid over every rug file. Without sizes, colourways or qualities each rug "
    "file is taken as it is. A set is made once and kept until its artwork, its card, its settings or the version of "
    "this program change. All pieces of the orders, or one of each set if there are no orders, share one dye order and "
    "one plan of the looms: each rug, in the order of the list, goes to the loom where it would be finished first. "
    "That is arithmetic, not a promise; local labour law comes first. Beside the sets are collection.html, "
    "collection.csv, collection.json, dye-order.csv, purchases.csv and looms.csv."
)
_CLUSTER = (
    "With --cluster the workers of a Dask scheduler make the sets (install chartmaker[cluster] here and on all of "
    "their machines, in the same version). Start the scheduler on one machine and, on each of the others, as many "
    "workers of one thread as it has memory for. They write into the folder of --out under the same path; if no folder "
    "is shared, --send sends the files of each rug and brings the sets back. Anyone who can reach a scheduler can run "
    "anything on its workers, so keep it on a network that you trust."
)
#: The lines that start a cluster, and a collection on it.
CLUSTER_LINES = (
    "dask scheduler --port 8786",
    "dask worker tcp://10.0.0.5:8786 --nworkers 8 --nthreads 1",
    "chartmaker collection season.toml --out /shared/season --cluster tcp://10.0.0.5:8786",
)
_CARE = (
    "The figures are only arithmetic: weigh a sample before a large order. {cautions} The dye maker's safety data "
    "sheets, local codes and trained people come before anything that chartmaker prints. With shears and tufting "
    "tools, keep guards on and eyes covered, and let only trained people use them. At the loom see to seats, light and "
    "breaks; hours, age and pay follow local labour law."
)


@dataclass(frozen=True)
class Heading:
    """A heading; `level` 1 opens a section, and 2 a part of one."""

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
    """Terms, each with its meaning."""

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
    yield from _rug_file_blocks()
    yield from _collection_blocks()
    yield from _file_blocks()
    yield from _process_blocks()


#: The sections that can be asked for alone, by the word that asks for them.
SECTIONS = {
    "commands": "Commands",
    "rug-file": "The rug file",
    "collection-file": "The collection file",
    "densities": "Densities and yarn counts",
    "yarn-card": "The yarn card",
    "files": "Files",
    "exit-codes": "Exit status",
    "environment": "Environment",
    "tab-key": "The Tab key",
    "care": "Taking care",
}


def section(whole: Iterable[Block], title: str) -> Iterator[Block]:
    """Yield the part of the manual under the heading `title`."""
    inside = False
    for block in whole:
        if isinstance(block, Heading) and block.level == 1:
            inside = block.text == title
        if inside:
            yield block


def _plain(text: str) -> str:
    return " ".join(text.split())


def _command_blocks(command: click.Command, parent: click.Context) -> Iterator[Block]:
    """Yield what ``--help`` says about a command."""
    context = click.Context(command, info_name=command.name, parent=parent)
    yield Heading(str(command.name), 2)
    yield Line(f"{context.command_path} {' '.join(command.collect_usage_pieces(context))}")
    yield from (Paragraph(_plain(part)) for part in (command.help or "").split("\n\n"))
    options = (parameter for parameter in command.get_params(context) if isinstance(parameter, click.Option))
    records = (option.get_help_record(context) for option in options)
    yield Terms(tuple((term, _plain(said)) for term, said in filter(None, records)))
    if command.epilog:
        yield Line(command.epilog)


def _key_pair(key: KeyHelp) -> tuple[str, str]:
    """Return a key with its default, and its explanation."""
    term = f"{key.key} = {key.default}" if key.default else key.key
    said = [say(key.meaning)]
    if key.words:
        said.append(say("one of {words}", words=", ".join(key.words)))
    if key.example:
        said.append(say("written {example}", example=key.example))
    if key.needed:
        said.append(say("must be given"))
    return term, "; ".join(said)


def _rug_file_blocks() -> Iterator[Block]:
    from chartmaker.order.keyhelp import tables_explained
    from chartmaker.order.rugfile import LISTED

    yield Heading("The rug file")
    yield Paragraph(_RUG_FILE)
    for table, keys in tables_explained().items():
        yield Heading(f"[[{table}]]" if table in LISTED else f"[{table}]", 2)
        if table == "dye.vessels":
            yield Paragraph(say("Each vessel of [dye] vessels is written in braces, with these keys."))
        yield Terms(tuple(map(_key_pair, keys)))


def _collection_blocks() -> Iterator[Block]:
    from chartmaker.order.collectionfile import tables_of_collection
    from chartmaker.order.keyhelp import keys_of_model

    yield Heading("The collection file")
    yield Paragraph(_COLLECTION)
    yield Paragraph(_CLUSTER)
    yield from map(Line, CLUSTER_LINES)
    for table, model in tables_of_collection().items():
        yield Heading(f"[{table}]", 2)
        yield Terms(tuple(map(_key_pair, keys_of_model(model))))


def _file_blocks() -> Iterator[Block]:
    yield Heading("Densities and yarn counts")
    yield Paragraph(_DENSITY)
    yield Terms(tuple(DENSITIES.items()))
    yield Paragraph(_COUNTS)
    yield Heading("The yarn card")
    yield Paragraph(_CARD)
    yield Paragraph(_SHADES)
    yield Heading("Files")
    yield Paragraph("chartmaker make writes into the folder that --out names:")
    yield Terms(tuple(FILES.items()))


def _process_blocks() -> Iterator[Block]:
    from chartmaker.figures.dyeing import CAUTIONS

    yield Heading("Exit status")
    yield Terms(tuple((str(code), f"{meaning}.") for code, meaning in exit_codes().items()))
    yield Heading("Environment")
    yield Terms(tuple(ENVIRONMENT.items()))
    yield Heading("The Tab key")
    yield Paragraph(_TAB)
    yield Terms(tuple(SHELLS.items()))
    yield Heading("Examples")
    for line, said in EXAMPLES.items():
        yield Paragraph(said)
        yield Line(line)
    yield Heading("Taking care")
    yield Paragraph(_CARE.format(cautions=" ".join(CAUTIONS)))
