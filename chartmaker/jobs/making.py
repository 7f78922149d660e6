"""The main job: read an order, convert its artwork and write the set."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from chartmaker.checks import check_map
from chartmaker.checks.bordersizes import sizes_of_borders
from chartmaker.colours.yarnset import check_on_card
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.convert.flat.tiles import prepared
from chartmaker.convert.notes import match_findings
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground import files, targets
from chartmaker.ground.engines import engine, started
from chartmaker.ground.errors import CardError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.jobs import outputs
from chartmaker.jobs.carved import carved_of_map, carving_findings, carving_record, carving_writer
from chartmaker.jobs.designs import artwork_of_order, relaid_order
from chartmaker.jobs.drawn import drawn_papers
from chartmaker.jobs.hashing import hashing
from chartmaker.jobs.reading import read_font
from chartmaker.jobs.sealing import sealed_files
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.order.carve import codes_in
from chartmaker.order.rugfile import RugFile
from chartmaker.paper.symbols.assigning import with_symbols
from chartmaker.relay.relaid import Relaid
from chartmaker.reports.records.relaid import relaid_record
from chartmaker.reports.records.sets import set_summary
from chartmaker.reports.words import yarn_words
from chartmaker.techniques.crafts import spoken_of
from chartmaker.yarns.card import card_bytes, card_of
from chartmaker.yarns.yarn import Yarn

#: From this many knots on it pays to start a second process.
LARGE_KNOTS = 100_000
#: The parts of making a set, with the rough share of time that each takes.
PARTS = {"conversion": 40, "writing": 60}


@dataclass(frozen=True)
class Converted:
    """The conversion of an order with all findings so far, beginning with those on reading the artwork.

    `read` holds the SHA-256 of the files that it was made from, by their role; `relaid` is the design laid anew, where
    the order asked for that, and then `order` is for the size that results.
    """

    order: RugFile
    conversion: Conversion
    findings: tuple[Finding, ...]
    read: dict[str, str]
    relaid: Relaid | None = None


@dataclass(frozen=True)
class Made:
    """A set as it was written."""

    converted: Converted
    figures: Figures
    findings: tuple[Finding, ...]
    summary: dict[str, Any]


def _card_of(order: RugFile, read: dict[str, str]) -> tuple[Yarn, ...]:
    """Return the yarns of the order's card; none if shades are to be dyed."""
    if order.card is not None:
        data = card_bytes(order.card)
        read["card"] = _sha256(data)
        return with_symbols(card_of(data, order.card))
    if order.yarns.colours is None:
        raise CardError(
            say(
                "no yarn card: give [yarns] card (or --card CARD.csv), or [yarns] colours (--colours N) for the best N "
                "shades to dye"
            )
        )
    return ()


def _check_heights(order: RugFile, card: tuple[Yarn, ...]) -> None:
    """Refuse heights, loops and grooves of a yarn that the card does not have, because they would change nothing."""
    order.workshop.carve.check()
    pile, grooves = order.workshop.pile, codes_in(order.workshop.carve.grooves)
    named = {"[pile] heights": pile.heights_mm, "[pile] carved": pile.carved_mm, "[carve] grooves": grooves}
    named["[pattern] loops"] = order.workshop.pattern.loops
    for key, codes in named.items():
        if card:
            check_on_card(codes, card, key)


def convert_order(order: RugFile, progress: Progress = SILENT) -> Converted:
    """Read the order's artwork and its card, and convert the artwork; nothing is written.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    Converted
        The conversion with its knot map, and the findings so far.

    Raises
    ------
    ChartmakerError
        If the artwork or the card is wrong, or cannot give what is asked.

    Examples
    --------
    >>> converted = convert_order(read_order("rug.toml"))
    >>> converted.conversion.knot_map.knots.shape
    (80, 48)
    >>> [yarn.code for yarn in converted.conversion.knot_map.yarns]
    ['R1', 'B1', 'W1']
    """
    read: dict[str, str] = {}
    if order.artwork is None:
        artwork_of_order(order, read)  # complains before a second process is started
    with spoken_of(order.rug), started(large=order.rug.knots > LARGE_KNOTS) as there:
        there.warm(prepared)
        card = _card_of(order, read)
        _check_heights(order, card)
        progress.doing(say("reading the artwork"))
        artwork, noticed = artwork_of_order(order, read, len(card))
        anew = relaid_order(artwork, order)
        if anew is not None:
            design = order.design.model_copy(update=anew.design)
            artwork, order = anew.placed.artwork, dataclasses.replace(order, rug=anew.rug, design=design)
            noticed = (*noticed, *anew.findings)
        conversion = _marked(
            convert(artwork, order.rug, card, order.design, order.yarns, progress, order.regions, order.repeats)
        )
        if anew is not None:
            conversion = dataclasses.replace(
                conversion, placed=dataclasses.replace(conversion.placed, fit=anew.placed.fit)
            )
    if order.sha256:
        read["rug file"] = order.sha256
    findings = (*noticed, *conversion.findings, *sizes_of_borders(conversion.borders))
    return Converted(order, conversion, findings, dict(sorted(read.items())), anew)


def _marked(conversion: Conversion) -> Conversion:
    """Return the conversion with a symbol for every yarn; shades to be dyed have none yet."""
    knot_map = conversion.knot_map
    yarns = with_symbols(knot_map.yarns)
    if yarns == knot_map.yarns:
        return conversion
    return dataclasses.replace(conversion, knot_map=KnotMap(knot_map.knots, yarns, knot_map.rug))


def findings_of(converted: Converted) -> tuple[Finding, ...]:
    """Return what was noticed while reading and converting, and then what a master weaver would remark on.

    Where both remark on how a yarn matches, one remark is kept, with its places on the rug.

    Parameters
    ----------
    converted : Converted
        As `convert_order` gives it.

    Returns
    -------
    tuple of Finding
        Each says what was found, where, and how severe it is.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.

    Examples
    --------
    >>> found = findings_of(convert_order(read_order("rug.toml")))
    >>> {finding.severity for finding in found} <= {"note", "warning", "error"}
    True
    """
    conversion = converted.conversion
    matches = set(
        match_findings(conversion.report, conversion.knot_map.yarns, conversion.choosing, dyed=conversion.dyed)
    )
    noticed = (finding for finding in converted.findings if finding not in matches)
    return (
        *noticed,
        *check_map(conversion.knot_map, converted.order.workshop, conversion, laid_anew=converted.relaid is not None),
    )


def make_map(order: RugFile, out: Path | str, *, replace: bool = False, progress: Progress = SILENT) -> Converted:
    """Convert the order's artwork and write only the knot map.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.
    out : Path or str
        The knot map's file, a PNG.
    replace : bool
        Whether an existing file may be replaced.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    Converted
        As `convert_order` gives it.

    Raises
    ------
    ChartmakerError
        If anything cannot be read, converted or written.

    Examples
    --------
    >>> converted = make_map(read_order("rug.toml"), "trial.png", replace=True)
    >>> converted.conversion.knot_map.tied
    3840
    """
    out = Path(out)
    targets.check_file(out, replace=replace, inputs=order.inputs)
    converted = convert_order(order, progress)
    write = partial(write_knotpng, knot_map=converted.conversion.knot_map, workshop=order.workshop)
    files.write_file(out, write, replace=replace, inputs=order.inputs)
    return converted


def make(
    order: RugFile,
    out: Path | str,
    *,
    replace: bool = False,
    replace_changed: bool = False,
    progress: Progress = SILENT,
) -> Made:
    """Convert the order's artwork and write the whole set into the folder `out`, or nothing at all.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.
    out : Path or str
        The folder for the set; it is made if it does not exist.
    replace : bool
        Whether an existing set may be replaced.
    replace_changed : bool
        Whether files of that set that were changed since it was made may be replaced, too.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    Made
        The conversion, the figures, the findings and what summary.json says.

    Raises
    ------
    ChartmakerError
        If anything cannot be read, made or written.

    Examples
    --------
    >>> made = make(read_order("rug.toml"), "trial-charts", replace=True)
    >>> made.figures.pile.mass_g.best > 0
    True
    >>> sorted(made.summary["files"]["written"])[:3]
    ['chart.pdf', 'knots.png', 'loom.html']
    """
    out = Path(out)
    may = targets.Replacing(replace, replace_changed, sealed_files, order.inputs)
    targets.check_folder(out, outputs.set_names(order.rug, order.workshop), may)
    parts = progress.parts(PARTS)
    with started(large=order.rug.knots > LARGE_KNOTS):
        converted = convert_order(order, parts["conversion"])
        return write_converted(converted, out, may, progress=parts["writing"])


@dataclass(frozen=True)
class Asked:
    """What is to be written of a set that is made from a conversion.

    Attributes
    ----------
    names : collection of str, optional
        The files that are wanted; left out, those of the rug's craft. The summary is always written.
    compared : bool
        Whether the proofs show the artwork beside the rug.
    findings : callable
        Gives the remarks, except the findings of the figures themselves.
    more : mapping
        Further keys of the summary.
    """

    names: Collection[str] | None = None
    compared: bool = True
    findings: Callable[[Converted], tuple[Finding, ...]] = findings_of
    more: Mapping[str, Any] = field(default_factory=dict)


def write_converted(
    converted: Converted, out: Path, may: targets.Replacing, asked: Asked | None = None, progress: Progress = SILENT
) -> Made:
    """Write the set of a conversion into the folder `out`, or nothing at all.

    Raises
    ------
    ChartmakerError
        If anything cannot be made or written.
    """
    with spoken_of(converted.order.rug):
        return _written(converted, out, may, asked or Asked(), progress)


def _written(converted: Converted, out: Path, may: targets.Replacing, asked: Asked, progress: Progress) -> Made:
    """Write the set, speaking as the rug's craft does."""
    order, conversion = converted.order, converted.conversion
    figures = figures_of(conversion.knot_map, order.workshop)
    shown = conversion.placed.shown if asked.compared else None
    wanted = outputs.set_names(order.rug, order.workshop, figures.knot_map) if asked.names is None else asked.names
    picture: Callable[[], bytes] = bytes
    if "proof.png" in wanted:
        picture = engine().give(outputs.proof_picture_bytes, figures.knot_map, order.workshop, shown)
    drawn = drawn_papers(conversion, order, wanted)
    carved = carved_of_map(figures.knot_map, order.workshop, drawn.drawing) if outputs.CARVING in wanted else None
    found = () if carved is None else carving_findings(carved)
    noticed, remarks = asked.findings(converted), (*drawn.findings(figures), *found)
    findings = (*noticed, *figures.findings, *remarks)
    page = partial(outputs.proof_page_bytes, figures.knot_map, order.workshop, shown, findings, yarn_words(figures))
    written: dict[str, str] = {}
    summary = set_summary(figures, conversion, findings, {"read": converted.read, "written": written})
    carving = {} if carved is None else {"carving": carving_record(carved)}
    summary |= {**drawn.record, **carving, **relaid_record(converted.relaid), **asked.more}
    font = read_font(order.workshop, order.folder)
    remarked = (*noticed, *remarks)
    writers = outputs.writers_of(figures, font, picture, page, progress, remarked)
    writers |= drawn.writers(figures, font, remarked)
    if carved is not None:
        writers[outputs.CARVING] = carving_writer(carved, order.workshop, font)
    watched = {name: hashing(name, writer, written) for name, writer in writers.items() if name in wanted}
    watched["summary.json"] = lambda stream: outputs.put_summary(stream, summary)
    files.write_set(out, watched, may)
    return Made(converted, figures, findings, summary)


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
