"""All files of a set are read back and compared with its knot map."""

from __future__ import annotations

import hashlib
import itertools
import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path
from typing import Any

import numpy as np

from chartmaker.artwork.raster import open_raster
from chartmaker.figures.cost import REACHED as COST_REACHED
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground import targets
from chartmaker.ground.errors import KnotFileError, OutputError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import read_knotpng
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.craft import INLAY_PAPERS
from chartmaker.techniques.crafts import craft_of, spoken_of
from chartmaker.verify.artworks import Shown, judged_artwork
from chartmaker.verify.bandtables import (
    ExpectedBands,
    bands_csv_differences,
    bands_pdf_differences,
    expected_bands,
    inlay_expected,
)
from chartmaker.verify.carvings import carving_differences, expected_carving
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.difference import MOST_NAMED, Difference, first_few
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.guides import guide_differences
from chartmaker.verify.looms import FILE as LOOM_FILE
from chartmaker.verify.looms import loom_differences
from chartmaker.verify.ownpages import own_page_differences
from chartmaker.verify.papers import Known, paper_differences
from chartmaker.verify.patterns import ExpectedPattern, expected_pattern, pattern_differences
from chartmaker.verify.proofs import page_differences, picture_differences
from chartmaker.verify.records import reached_record, records_of
from chartmaker.verify.recount.amounts import amounts_code
from chartmaker.verify.recount.orders import lot_faults
from chartmaker.verify.recount.whole import Recount, recount_of
from chartmaker.verify.remarked import map_settles, serious, to_settle
from chartmaker.verify.remarks import record_of
from chartmaker.verify.scripts import script_differences
from chartmaker.verify.svgpatterns import svg_differences
from chartmaker.verify.tables import rows_differences, summary_differences, summary_read, yarns_differences
from chartmaker.yarns.yarn import number_fault_of

#: The files of a set in the order in which they are read. The craft says which of them a set has.
SET_NAMES: tuple[str, ...] = (
    *("knots.png", "summary.json", "rows.csv", "yarns.csv", "proof.html", "proof.png", "chart.pdf", "rows.pdf"),
    *("pattern.svg", "pattern.pdf", "guide.pdf"),
    *("bands.csv", "bands.pdf"),
)
#: The file that the set of a carved rug has as well.
CARVING = "carving.pdf"
#: The files of a set that a collection makes when it is asked for figures alone.
FIGURES_ONLY = ("knots.png", "summary.json", "yarns.csv")
#: The page that the set of a rug tied row by row has as well; a large rug's page has further parts with names of their
#: own.
LOOM_PAGE = "loom.html"
#: What a reader may stumble over in a file that is damaged.
DAMAGED = (LookupError, TypeError, AttributeError, ArithmeticError, RecursionError, MemoryError)
#: How many bytes a file may hold besides its cells, and for each cell.
FILE_BYTES, CELL_BYTES = 64_000_000, 400


@dataclass(frozen=True, eq=False)
class Verdict:
    """The set's map with its settings, the files that were read, the seal of the set, and what differs."""

    knot_map: KnotMap
    workshop: Workshop
    files: tuple[str, ...]
    seal: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True, eq=False)
class _Known:
    """What the files of a set are compared with: its map, what is reckoned from it anew, and what its summary says."""

    found: MapFile
    said: dict[str, Any]
    most_bytes: int
    knot_map: KnotMap
    figures: Figures
    again: Recount
    expected: Expected
    shown: Shown | None

    @cached_property
    def inlay(self) -> KnotMap | None:
        """What is tufted into the rug, as a map of its own."""
        return inlay_expected(self.found.knot_map, self.found.workshop)

    @cached_property
    def pattern(self) -> ExpectedPattern:
        """What the tufter's papers must show."""
        found, shown = self.found, self.shown
        artwork = None if shown is None else judged_artwork(shown, found.knot_map, self.said, self.inlay)
        drawn = found.knot_map if self.inlay is None else self.inlay
        return expected_pattern(drawn, found.workshop, artwork, found.knot_map)

    @property
    def records(self) -> dict[str, Any]:
        """What the summary must say because it follows from the map and its settings."""
        records = records_of(self.expected, self.again, self.figures)
        if self.said.get("cost") is not None:  # reckoned with prices that the map does not hold
            records["reached"].append(reached_record(COST_REACHED))
        return records

    @property
    def amounts_code(self) -> str:
        """The code of the amounts, with the cost that the summary has."""
        return amounts_code(self.again, self.figures.dye, self.said.get("cost"))

    def of(self, before: MapFile | None) -> Known:
        """Return what the sheets beside the set are compared with."""
        cost = self.said.get("cost")
        told = cost if isinstance(cost, dict) else None
        expected = replace(self.expected, settle=map_settles(self.figures))
        return Known(expected, self.again, self.figures, told, lambda: self.pattern, before)


def _known(folder: Path, shown: Shown | None) -> _Known:
    if (folder / "collection.json").is_file() and not (folder / "knots.png").exists():
        message = say("this is the folder of a collection: verify each set in it by itself")
        raise KnotFileError(message, where=inert(folder))
    found = read_knotpng(folder / "knots.png")
    most = FILE_BYTES + CELL_BYTES * found.knot_map.knots.size
    said = _summary(folder, most)
    knot_map, workshop = _stocked(found.knot_map, said), found.workshop
    figures, again = figures_of(knot_map, workshop), recount_of(knot_map, workshop)
    return _Known(found, said, most, knot_map, figures, again, expected_of(knot_map, workshop, again), shown)


def verify_folder(
    folder: Path | str,
    progress: Progress = SILENT,
    seal: str = "",
    *,
    sheets: Sequence[Path | str] = (),
    since: Path | str | None = None,
    shown: Shown | None = None,
) -> Verdict:
    """Read every file of the set in `folder` back and compare it with the knot map there.

    Parameters
    ----------
    folder : Path or str
    progress : Progress
        It is told how far the check has come.
    seal : str
        The seal of the set, as it was kept elsewhere. If it is left out, the set is compared with its own seal.
    sheets : sequence of Path or str
        Printed sheets that belong to the set's map: figures, the dye order, bundles, a revision, a carver's guide; or a
        pattern's picture for a projector.
    since : Path or str, optional
        The old knot map, if a revision is among the sheets.
    shown : Shown, optional
        The artwork as `shown_artwork` gives it, to hold a tufter's pattern against it too and not only against the map.

    Returns
    -------
    Verdict
        The map, the files that were read, the seal, and the differences, of which a whole set has none.

    Raises
    ------
    KnotFileError
        If there is no knot map to compare with.
    OutputError
        If `folder` is not a folder, or there is an artwork but neither a pattern nor bands.

    Examples
    --------
    >>> verdict = verify_folder("rug-charts")
    >>> verdict.knot_map.tied, verdict.differences
    (3840, ())
    """
    folder = Path(folder)
    if not targets.is_folder(folder):
        raise OutputError(say("is not the folder of a set made by chartmaker"), where=inert(folder))
    known = _known(folder, shown)
    if shown is not None and not {"pattern.pdf", "bands.pdf"}.intersection(_every_name(known)):
        message = "holds no pattern and no bands, and nothing else is held against an artwork"
        raise OutputError(say(message), where=inert(folder))
    with spoken_of(known.knot_map.rug):
        return _verdict(folder, known, progress, seal, sheets, since)


def _verdict(
    folder: Path, known: _Known, progress: Progress, seal: str, sheets: Sequence[Path | str], since: Path | str | None
) -> Verdict:
    """Read back every file of the set and the sheets beside it, in the words of the rug's craft."""
    before = None if since is None else read_knotpng(Path(since))
    printed = {path: inert(path) for path in map(Path, sheets)}
    own = _own_names(known)
    beside = {path.name for path in printed if path.resolve().parent == folder.resolve()}
    parts = progress.parts(dict.fromkeys((*own, *printed.values()), 1))
    found = [Difference(name, say("is not a file of the set")) for name in _foreign(folder, (*own, *beside))]
    found += [Difference("summary.json", words) for words in _artwork_differences(known)]
    read, more = _read_set(folder, known, own, parts)
    found += more
    for path, name in printed.items():
        parts[name].doing(say("reading {name}", name=name))
        try:
            data = read_whole(path, known.most_bytes, KnotFileError, name)
        except KnotFileError as error:
            found.append(Difference(name, error.message))
            continue
        read.append(name)
        found += [Difference(name, words) for words in _few(partial(paper_differences, known=known.of(before)), data)]
    sealed = seal_of(known.said)
    found += [Difference("summary.json", words) for words in _seal_differences(known.said, sealed, seal)]
    return Verdict(known.knot_map, known.found.workshop, tuple(read), sealed, tuple(found))


def _every_name(known: _Known) -> tuple[str, ...]:
    """Return the files of a set with sheets and proof."""
    craft = craft_of(known.knot_map.rug)
    looms = _loom_names(_written(known.said)) if craft.by_rows else ()
    carved = (CARVING,) if known.found.workshop.carve.asked else ()
    papers = {*craft.papers, *(INLAY_PAPERS if known.inlay is not None else ())}
    return (*(name for name in SET_NAMES if name in papers), *carved, *looms)


def _own_names(known: _Known) -> tuple[str, ...]:
    """Return the files that must stand there, in the order in which they are read."""
    return FIGURES_ONLY if _figures_alone(known.said) else _every_name(known)


def _read_set(
    folder: Path, known: _Known, names: Sequence[str], parts: Mapping[str, Progress]
) -> tuple[list[str], list[Difference]]:
    """Return the names of the files that could be read, and how they differ."""
    readers, written = _readers(folder, known), _written(known.said)
    read: list[str] = []
    pages: dict[str, bytes] = {}
    found: list[Difference] = []
    for name in names:
        parts[name].doing(say("reading {name}", name=name))
        try:
            data = read_whole(folder / name, known.most_bytes, KnotFileError, name)
        except KnotFileError as error:
            found.append(Difference(name, error.message))
            continue
        found += [Difference(name, words) for words in _sealed(name, data, written)]
        read.append(name)
        if LOOM_FILE.fullmatch(name):
            pages[name] = data
            made_by = known.said.get("chartmaker")
            found += [Difference(name, words) for words in own_page_differences(data, "loom", made_by)]
        if name == "bands.pdf" and known.shown is not None and known.inlay is None:
            judged = judged_artwork(known.shown, known.found.knot_map, known.said)
            found += [Difference(name, words) for words in itertools.islice(judged.band_differences(), MOST_NAMED)]
        if name in readers:
            found += [Difference(name, words) for words in _few(readers[name], data)]
    found += itertools.islice(loom_differences(pages, known.expected), 2 * MOST_NAMED)
    lots = lot_faults(known.figures.dye, known.again.orders, known.again.workshop.dye)
    return read, [*found, *(Difference("summary.json", words) for words in lots)]


def _readers(folder: Path, known: _Known) -> dict[str, Callable[[bytes], Iterable[str]]]:
    """Return the reader of each file by the file's name; the loom page is left out, because it is read as a whole."""
    expected, records, found = known.expected, known.records, known.found
    noticed = to_settle(known.said.get("findings"), known.figures)
    weighed = (record_of(each) for each in (*known.figures.weighing, *known.figures.issue.findings))
    tufter_settles = (*noticed, *serious(weighed))

    def bands() -> ExpectedBands:
        return expected_bands(known.knot_map, known.again)

    return {
        "summary.json": lambda data: summary_differences(
            data, {**records, "amounts_code": known.amounts_code}, known.figures
        ),
        "rows.csv": lambda data: rows_differences(data, expected),
        "yarns.csv": lambda data: yarns_differences(data, records["yarns"]),
        "proof.html": lambda data: (
            *page_differences(data, expected, known.said.get("findings")),
            *own_page_differences(data, "proof", known.said.get("chartmaker")),
        ),
        "proof.png": lambda _data: picture_differences(*_picture(folder / "proof.png"), expected),
        "chart.pdf": lambda data: chart_differences(data, replace(expected, settle=noticed)),
        "rows.pdf": lambda data: script_differences(data, expected),
        "pattern.pdf": lambda data: pattern_differences(data, known.pattern),
        "pattern.svg": lambda data: svg_differences(data, known.pattern),
        "guide.pdf": lambda data: guide_differences(data, replace(known.pattern, settle=tufter_settles)),
        "bands.pdf": lambda data: bands_pdf_differences(data, bands(), expected),
        "bands.csv": lambda data: bands_csv_differences(data, bands()),
        CARVING: lambda data: carving_differences(data, expected_carving(found.knot_map, found.workshop)),
    }


def seal_of(said: dict[str, Any]) -> str:
    """Return the seal of a set, which is the SHA-256 of its summary without the seal itself.

    The summary holds the SHA-256 of all other files, so its own hash seals the whole set.
    """
    rest = {key: value for key, value in said.items() if key != "set"}
    return hashlib.sha256(json.dumps(rest, ensure_ascii=True, indent=2).encode("ascii")).hexdigest()


def _seal_differences(said: dict[str, Any], own: str, kept: str) -> Iterator[str]:
    inside = said.get("set")
    if not isinstance(inside, dict) or inside.get("sha256") != own:
        yield say("does not bear its own seal: it is not the summary that was written")
    if kept and kept.lower() != own:
        yield say("its seal is {own}, not {kept}: this is not the set that was sealed", own=own, kept=inert(kept))


def _artwork_differences(known: _Known) -> Iterator[str]:
    """Yield whether the artwork at hand is another than that of the set."""
    files_said = known.said.get("files")
    read = files_said.get("read") if isinstance(files_said, dict) else None
    if known.shown is not None and (not isinstance(read, dict) or read.get("artwork") != known.shown.read["artwork"]):
        yield say("is of a set made from another artwork than this: its SHA-256 is another")


def _loom_names(written: dict[str, Any]) -> tuple[str, ...]:
    """Return the files of the loom page: the first, and the further parts that the summary names."""
    return (LOOM_PAGE, *sorted(name for name in written if name != LOOM_PAGE and LOOM_FILE.fullmatch(name)))


def _foreign(folder: Path, names: tuple[str, ...]) -> list[str]:
    """Return the names of a few files that the folder holds besides the `names` of the set."""
    others = itertools.islice((each.name for each in os.scandir(folder) if each.name not in names), MOST_NAMED)
    return sorted(inert(name) for name in others)


def _few(reader: Callable[[bytes], Iterable[str]], data: bytes) -> list[str]:
    """Return the first few differences, with a count of the rest, or why the file cannot be read."""
    try:
        return list(first_few(reader(data), 2 * MOST_NAMED))
    except (ValueError, KnotFileError) as error:
        return [say("cannot be read: {error}", error=error)]
    except DAMAGED as error:
        return [say("cannot be read: {error}", error=repr(error))]


def _summary(folder: Path, most: int) -> dict[str, Any]:
    """Return what summary.json says, or nothing if it cannot be read."""
    try:
        return summary_read(read_whole(folder / "summary.json", most, KnotFileError, "summary.json"))
    except (KnotFileError, ValueError):
        return {}


def _figures_alone(said: dict[str, Any]) -> bool:
    """Return whether the summary tells of a set without sheets and proof, because only figures were asked for."""
    asked = said.get("collection")
    return isinstance(asked, dict) and asked.get("set") == "figures" and set(_written(said)) < set(FIGURES_ONLY)


def _written(said: dict[str, Any]) -> dict[str, Any]:
    """Return the SHA-256 of each file as the summary gives it, or nothing where it gives none."""
    files_said = said.get("files")
    written = files_said.get("written") if isinstance(files_said, dict) else None
    return written if isinstance(written, dict) else {}


def _stocked(knot_map: KnotMap, said: dict[str, Any]) -> KnotMap:
    """Return the map with each yarn's stock from the summary, because the dye order needs it and the map lacks it."""
    try:
        stock = {
            shade["code"]: shade["stock_g"] if shade.get("stock_known", True) else None
            for shade in said["dye"]["shades"]
        }
        usable = {code: grams for code, grams in stock.items() if number_fault_of((0, 0, 0), grams, None) is None}
    except (AttributeError, KeyError, TypeError):
        return knot_map
    yarns = tuple(replace(yarn, stock_g=usable.get(yarn.code, yarn.stock_g)) for yarn in knot_map.yarns)
    return KnotMap(knot_map.knots, yarns, knot_map.rug)


def _sealed(name: str, data: bytes, written: dict[str, Any]) -> Iterable[str]:
    if name == "summary.json":
        return
    if name not in written:
        yield say("summary.json does not give its SHA-256")
    elif hashlib.sha256(data).hexdigest() != written[name]:
        yield say("is not the file that was written with summary.json: its SHA-256 is another")


def _picture(path: Path) -> tuple[Any, str]:
    """Return the pixels of the proof picture, and the place where it says the rug lies."""
    picture = open_raster(path, ("PNG",), KnotFileError, say("proof"))
    pixels = picture if picture.mode == "RGB" else picture.convert("RGB")
    return np.asarray(pixels), str(picture.info.get("rug", ""))
