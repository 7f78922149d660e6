"""The options that several commands share, gathered into tables of the rug file."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from chartmaker.cli.completion import papers, words_of, yarn_codes
from chartmaker.ground.language import say
from chartmaker.order.origin import OptionKey

if TYPE_CHECKING:
    from chartmaker.order.rugfile import Tables

Command = TypeVar("Command", bound=Callable[..., Any])
#: Options that name a file.
PATHS = ("yarns__card", "chart__font")

FilePath = click.Path(path_type=Path, readable=False)  # our readers say what is wrong with a file
#: A file that a key of the rug file names.
FILE_NAME = click.Path(readable=False)


class _Figure(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A number if it reads as one, or else the word itself, which the check of the rug file judges."""

    name = "integer"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        try:
            return int(value)
        except ValueError:
            return value


FIGURE = _Figure()
#: The table and the key that an option stands for, by the name that click gives its value.
OPTIONS: dict[str, str] = {}


def _key(option: str, table: str, key: str, **attributes: Any) -> Callable[[Command], Command]:
    """Return an option that stands for `key` of `table`."""
    OPTIONS[f"{table}__{key}"] = option.partition("/")[0]
    return click.option(option, f"{table}__{key}", **attributes)


def _word(option: str, table: str, key: str, **attributes: Any) -> Callable[[Command], Command]:
    """Return an option for a `key` that takes one of some words, which the check of the rug file judges."""
    return _key(option, table, key, shell_complete=words_of(table, key), **attributes)


def _remembering(context: click.Context, _parameter: click.Parameter, off: bool) -> None:
    """Let results be kept between runs while the command lasts, unless that is `off`."""
    if not off and not context.resilient_parsing:
        from chartmaker.ground.cachefolder import lasting
        from chartmaker.ground.memory import remembering

        context.with_resource(remembering(lasting()))


RUG_OPTIONS = (
    _key("--name", "rug", "name", help="The rug's name."),
    _key("--size", "rug", "size", metavar="SIZE", help="Width x length: 5x8ft, 170x240 cm."),
    _key("--density", "rug", "density", metavar="DENSITY", help="Knots: '9/60 indian', '100 kpsi', '40x45 per dm'."),
    _word("--knot", "rug", "knot", metavar="KNOT", help="asymmetric, 'asymmetric, open left', symmetric..."),
    _key("--pile", "rug", "pile", metavar="LENGTH", help="Pile height: '10 mm'."),
    _word("--shape", "rug", "shape", metavar="SHAPE", help="rectangle, ellipse, octagon or artwork."),
    _key("--weavers", "loom", "weavers", type=FIGURE, help="Weavers side by side."),
)
DESIGN_OPTIONS = (
    _word("--style", "design", "style", metavar="STYLE", help="auto, flat or shaded."),
    _word(
        "--fit", "design", "fit", metavar="FIT", help="stretch, crop, pad, or relay: lay the design anew for the size."
    ),
    _word("--mirror", "design", "mirror", metavar="MIRROR", help="none, across, along or both."),
    _word("--turn", "design", "turn", type=FIGURE, help="Turn the artwork clockwise: 90, 180 or 270."),
    _key("--tidy", "design", "tidy", type=FIGURE, help="Clear away islands of up to this many knots."),
    _key("--lines/--no-lines", "design", "lines", default=None, help="Keep thin lines whole, or not."),
    _key("--motifs/--no-motifs", "design", "motifs", default=None, help="Draw equal motifs equal, or not."),
    _key("--fitted/--no-fitted", "design", "fitted", default=None, help="Let the grid follow straight edges, or not."),
    _key("--repeats/--no-repeats", "design", "repeats", default=None, help="Make repeats whole and equal, or not."),
    _key(
        "--detail",
        "design",
        "detail",
        type=FIGURE,
        metavar="0..1",
        help="How strongly small things are kept in shaded artwork, from 0 to 1.",
    ),
    _key("--ground", "design", "ground", metavar="CODE", help="The yarn for transparent places of the artwork."),
    _key("--card", "yarns", "card", type=FILE_NAME, metavar="CARD.csv", help="The yarn card."),
    _key("--colours", "yarns", "colours", type=FIGURE, metavar="N", help="Use the best N yarns of the card."),
    _key(
        "--keep",
        "yarns",
        "keep",
        multiple=True,
        shell_complete=yarn_codes,
        metavar="CODE",
        help="A yarn that must be used. Repeatable.",
    ),
    _key(
        "--skip",
        "yarns",
        "skip",
        multiple=True,
        shell_complete=yarn_codes,
        metavar="CODE",
        help="A yarn that must not be used. Repeatable.",
    ),
    click.option(
        "--no-cache",
        is_flag=True,
        expose_value=False,
        callback=_remembering,
        help="Work everything out anew; keep nothing for the next run.",
    ),
)
CHART_OPTIONS = (
    _key("--paper", "chart", "paper", shell_complete=papers, metavar="PAPER", help="A4, A3, Letter, ..."),
    _word("--orientation", "chart", "orientation", metavar="WAY", help="auto, portrait or landscape."),
    _key("--cell", "chart", "cell", metavar="LENGTH", help="Width of a knot's cell: '3 mm'."),
    _key(
        "--strips",
        "chart",
        "strips",
        type=FIGURE,
        metavar="N",
        help="Strips side by side; by default one for each weaver.",
    ),
    _word("--marks", "chart", "marks", metavar="MARKS", help="colour, symbol or both."),
    _word("--reading", "chart", "reading", metavar="WAY", help="'left to right' or 'right to left'."),
    _key(
        "--font",
        "chart",
        "font",
        type=FILE_NAME,
        metavar="FONT.ttf",
        help="A font with the letters of the names on the sheets.",
    ),
    _key("--bold-every", "chart", "bold_every", type=FIGURE, metavar="N", help="Heavier lines every N knots."),
)
RUG_OPTION = click.option(
    "--rug",
    type=FilePath,
    metavar="RUG.toml",
    help="The map's rug file, for its settings, its font, and the prices and stock of its card.",
)
CARD_OPTION = _key(
    "--card", "yarns", "card", type=FILE_NAME, metavar="CARD.csv", help="A yarn card with prices and stock."
)
EDIT_OPTIONS = (
    click.option(
        "--rug",
        type=FilePath,
        metavar="RUG.toml|KNOTS.png",
        help="The map's rug file, or an older copy of the map, to supply what an editor dropped.",
    ),
    click.option("--snap", is_flag=True, help="Let colours that no yarn has take the nearest yarn (CIEDE2000)."),
)
SET_OPTION = click.option(
    "--set",
    "assignments",
    multiple=True,
    metavar="TABLE.KEY=VALUE",
    help="Any other key of the rug file: --set loom.picks=3. Repeatable.",
)

#: How an artwork is placed under a knot map.
PROOF_OPTIONS = tuple(
    _word(option, "design", option[2:], **attributes)
    for option, attributes in (
        ("--fit", {"metavar": "FIT", "help": "As in the conversion: stretch, crop or pad."}),
        ("--turn", {"type": int, "help": "As in the conversion: 90, 180 or 270."}),
    )
)
#: The settings for a knot map that is to be printed.
MAP_OPTIONS = (RUG_OPTION, *CHART_OPTIONS, SET_OPTION)
#: How a full-size pattern is drawn.
PATTERN_OPTIONS = (
    _key("--roll", "pattern", "roll", metavar="WIDTH", help="The width of the roll to print on: '36 in'."),
    _key("--pattern-paper", "pattern", "paper", shell_complete=papers, metavar="PAPER", help="Sheets: A3, A1, ..."),
    _word("--side", "pattern", "side", metavar="SIDE", help="back (mirrored) or front."),
    _key(
        "--tolerance",
        "pattern",
        "tolerance",
        metavar="LENGTH",
        help="How far smooth edges may depart from the artwork's.",
    ),
    _key(
        "--resolution",
        "pattern",
        "resolution",
        metavar="PIXELS",
        help="Pixels of the projector that --out NAME.png is for: 1920x1080.",
    ),
    RUG_OPTION,
    *RUG_OPTIONS,
    *DESIGN_OPTIONS,
    SET_OPTION,
)
#: What is carved, and how the guide is drawn.
CARVING_OPTIONS = (
    _key(
        "--groove",
        "carve",
        "grooves",
        multiple=True,
        metavar="WHERE",
        help="'I-31 | W-07': between two yarns; 'round M-14'. Repeatable.",
    ),
    _key("--depth", "carve", "depth", metavar="LENGTH", help="Depth of a groove: '4 mm'."),
    _key("--width", "carve", "width", metavar="LENGTH", help="Width of a groove at the surface: '3 mm'."),
    _word("--profile", "carve", "profile", metavar="PROFILE", help="vee or bevel."),
    _word("--when", "carve", "when", metavar="WHEN", help="'before washing' or 'after washing'."),
    *PATTERN_OPTIONS[:2],
    RUG_OPTION,
    SET_OPTION,
)
#: Everything that can be said of an order on the command line.
ORDER_OPTIONS = (*RUG_OPTIONS, *DESIGN_OPTIONS, *CHART_OPTIONS, SET_OPTION)


def with_options(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """Return a decorator that adds `options`, the first one shown first."""

    def add(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return add


def common(command: Command) -> Command:
    """Add --json and --quiet."""
    return with_options(
        click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout."),
        click.option("--quiet", is_flag=True, help="Print nothing but errors."),
    )(command)


def out_option(what: str, *, required: bool = True, endings: tuple[str, ...] = ()) -> Callable[[Command], Command]:
    """Return --out, whose name must have one of the endings if any are given, and --replace."""

    def checked(_context: click.Context, _parameter: click.Parameter, path: Path | None) -> Path | None:
        if path is not None and endings and path.suffix.lower() not in endings:
            raise click.UsageError(_ending_words(path, endings))
        return path

    return with_options(
        click.option("--out", required=required, type=FilePath, callback=checked, help=what),
        click.option("--replace", is_flag=True, help="Overwrite existing files."),
    )


def _ending_words(path: Path, endings: tuple[str, ...]) -> str:
    *before, last = endings
    if not before:
        return say("--out {name!r}: the name must end in {last}", name=str(path), last=last)
    return say(
        "--out {name!r}: the name must end in {before} or {last}", name=str(path), before=", ".join(before), last=last
    )


def _assignment(text: str) -> tuple[str, str, Any]:
    """Return (table, key, value) of ``table.key=value``; a value that is not TOML is taken as text."""
    name, equals, value = text.partition("=")
    table, dot, key = name.strip().partition(".")
    if not (equals and dot and table and key):
        raise click.UsageError(say("--set {text!r} cannot be read; write it like loom.picks=3", text=text))
    try:
        return table, key, tomllib.loads(f"value = {value}")["value"]
    except (ValueError, RecursionError):  # not TOML, too many digits, or nested too deeply
        return table, key, value.strip()


def tables_of(values: dict[str, Any], assignments: tuple[str, ...] = ()) -> Tables:
    """Return the tables of the rug file that the given options stand for; options not given are left out."""
    tables: Tables = {}
    for name, value in values.items():
        table, _, key = name.partition("__")
        key = OptionKey(key, OPTIONS[name])
        if name in PATHS and value is not None:
            value = str(Path(value).absolute())  # relative to the working folder, not to the rug file's
        if value is not None and value != ():
            tables.setdefault(table, {})[key] = list(value) if isinstance(value, tuple) else value
    for text in assignments:
        table, key, value = _assignment(text)
        tables.setdefault(table, {})[OptionKey(key, f"--set {table}.{key}")] = value
    return tables
