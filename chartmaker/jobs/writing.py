"""The files made from a knot map, one at a time: the map itself, chart, row script, proof, and sheets of figures."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import BinaryIO, Literal, TypeVar

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import place
from chartmaker.artwork.raster import write_rgb
from chartmaker.artwork.reading import read_artwork
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground import files, targets
from chartmaker.ground.errors import DifferenceError, OutputError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.measures import Units
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.jobs import outputs
from chartmaker.jobs.reading import read_font
from chartmaker.jobs.revising import Compared
from chartmaker.knots.changes import changes_between, places_csv
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.knotpng import write_knotpng
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.strips import strips_of
from chartmaker.order.rugfile import Tables, from_tables, merge, read_rugfile, to_tables
from chartmaker.order.workshop import Workshop
from chartmaker.pages.changepicture import picture_of_changes
from chartmaker.pages.loom.parts import part_names
from chartmaker.techniques.crafts import craft_of, spoken_of

Maker = TypeVar("Maker")
#: The share of a drawing that a rug keeps, at least, when it is changed; with less it counts as another rug.
LEAST_KEPT = 0.5
#: The sheets of figures, by name.
Sheet = Literal["figures", "dye", "issue"]


def write_map(found: MapFile, out: Path | str, *, replace: bool = False) -> None:
    """Write a knot map with its settings as a PNG in which one pixel is one knot.

    Parameters
    ----------
    found : MapFile
        As `read_map` or `swap_yarns` gives it.
    out : Path or str
    replace : bool
        Whether an existing file may be replaced.

    Raises
    ------
    OutputError
        If the file cannot be written.

    Examples
    --------
    >>> write_map(read_map("knots.png"), "copy.png", replace=True)
    >>> read_map("copy.png").knot_map.map_code == read_map("knots.png").knot_map.map_code
    True
    """
    write = partial(write_knotpng, knot_map=found.knot_map, workshop=found.workshop)
    files.write_file(Path(out), write, replace=replace, inputs=found.inputs)


def write_chart(
    found: MapFile,
    out: Path | str,
    *,
    since: MapFile | None = None,
    redrawn: bool = False,
    replace: bool = False,
    progress: Progress = SILENT,
) -> int:
    """Write the printable charts of a knot map as a PDF.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    out : Path or str
    since : MapFile, optional
        An older map of the rug; only the sheets that replace some of its chart are printed.
    redrawn : bool
        Whether little of the older map's drawing may be left; otherwise it counts as another rug's.
    replace : bool
        Whether an existing file may be replaced.
    progress : Progress
        Told how far the job has come.

    Returns
    -------
    int
        The number of sheets, the cover included.

    Raises
    ------
    ChartmakerError
        If the sheets cannot be laid out as asked, a yarn is too thick for the density, or `out` cannot be written.

    Examples
    --------
    >>> write_chart(read_map("knots.png"), "chart.pdf", replace=True)
    2
    """
    out, inputs = Path(out), (*found.inputs, *(since.inputs if since is not None else ()))
    targets.check_file(out, replace=replace, inputs=inputs)
    if since is not None:
        _same_rug(found, since, redrawn=redrawn)
    figures, font = figures_of(found.knot_map, found.workshop), read_font(found.workshop, found.folder)
    sheets: list[int] = []

    def write(stream: BinaryIO) -> None:
        sheets.append(outputs.put_chart(stream, figures, font, progress, revises=since))

    with spoken_of(found.knot_map.rug):
        files.write_file(out, write, replace=replace, inputs=inputs)
    return sheets[0]


def _same_rug(found: MapFile, since: MapFile, *, redrawn: bool) -> None:
    """Refuse an older map of another rug, because this rug's sheets would replace those of the other.

    A rug keeps its name, its size and its density, and most of what is drawn in it, in whatever yarns, unless it is
    said that it was `redrawn`.
    """
    now, before = found.knot_map.rug, since.knot_map.rug
    if now.name != before.name:
        message = "the older map is that of another rug, {before!r}; this one is {name!r}"
        raise DifferenceError(say(message, before=before.name, name=now.name))
    changes = changes_between(since.knot_map, found.knot_map)
    if not redrawn and changes.kept < LEAST_KEPT:
        message = (
            "only {share:.0f} % of the older map's drawing is left, so it is that of another rug of this name, or this "
            "one's chart is to be made anew, without --since; if the rug was redrawn and this is meant, say --redrawn"
        )
        raise DifferenceError(say(message, share=100 * changes.kept))


def write_rows(
    found: MapFile,
    out: Path | str,
    *,
    since: MapFile | None = None,
    redrawn: bool = False,
    replace: bool = False,
    progress: Progress = SILENT,
) -> None:
    """Write the row script of a knot map, for printing (.pdf), as a table (.csv) or as plain lines (.txt).

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    out : Path or str
        The ending of the name decides which.
    since : MapFile, optional
        An older map of the rug: only the rows that differ from it are told.
    redrawn : bool
        Whether little of the older map's drawing may be left; otherwise it counts as another rug's.
    replace : bool
        Whether an existing file may be replaced.
    progress : Progress
        Told how far the job has come.

    Raises
    ------
    ChartmakerError
        If the name has another ending, the sheets cannot be laid out as asked, nothing differs from the older map, or
        `out` cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> write_rows(read_map("knots.png"), "rows.csv", replace=True)
    >>> Path("rows.csv").read_text().splitlines()[:2]
    ['row,strip,start,knots,code', '1,1,1,24,B1']
    """
    out = Path(out)
    writer = _by_ending(outputs.ROW_WRITERS, out)
    inputs = (*found.inputs, *(since.inputs if since is not None else ()))
    targets.check_file(out, replace=replace, inputs=inputs)
    if since is not None:
        _same_rug(found, since, redrawn=redrawn)
    font = read_font(found.workshop, found.folder)
    made_of = partial(writer, knot_map=found.knot_map, workshop=found.workshop, font=font)
    write = partial(made_of, progress=progress, revises=since)
    with spoken_of(found.knot_map.rug):
        files.write_file(out, write, replace=replace, inputs=inputs)


def write_loom(found: MapFile, out: Path | str, *, replace: bool = False) -> tuple[str, ...]:
    """Write the loom page of a knot map: one file, or a folder of pages for a rug that is too large for one.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    out : Path or str
        A file whose name ends in .html, or else a folder, which is made if it does not exist.
    replace : bool
        Whether existing output may be replaced.

    Returns
    -------
    tuple of str
        The names of the files.

    Raises
    ------
    ChartmakerError
        If the rug is not tied row by row, needs a folder, has a yarn too thick for the density, or `out` cannot be
        written.

    Examples
    --------
    >>> write_loom(read_map("knots.png"), "loom.html", replace=True)
    ('loom.html',)
    """
    out = Path(out)
    rug, strips = found.knot_map.rug, strips_of(found.knot_map.rug, found.workshop)
    if not craft_of(rug).by_rows:
        raise OutputError(say("this rug is not tied row by row, so it has no loom page"), where=inert(out))
    names = part_names(rug.rows, strips)
    if out.suffix.lower() != ".html":
        may = targets.Replacing(replace, inputs=found.inputs)
        targets.check_folder(out, names, may)
        files.write_set(out, outputs.loom_page_writers(figures_of(found.knot_map, found.workshop)), may)
        return names
    if len(names) > 1:
        one, many = "the rug takes {n} page", "the rug takes {n} pages, which need a folder: give --out {folder}"
        raise OutputError(say_n(one, many, len(names), folder=inert(out.stem)), where=inert(out))
    targets.check_file(out, replace=replace, inputs=found.inputs)
    (writer,) = outputs.loom_page_writers(figures_of(found.knot_map, found.workshop)).values()
    files.write_file(out, writer, replace=replace, inputs=found.inputs)
    return (out.name,)


def write_proof(
    found: MapFile,
    out: Path | str,
    *,
    artwork: Path | str | None = None,
    rug: Path | str | None = None,
    over: Tables | None = None,
    replace: bool = False,
) -> None:
    """Write a knot map as it will look woven: a page to look through (.html) or a picture (.png).

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    out : Path or str
        The ending of the name decides which.
    artwork : Path or str, optional
        The artwork, to be shown beside the rug.
    rug : Path or str, optional
        The rug file (.toml), which says how the artwork was fitted and turned.
    over : dict of dict, optional
        Tables of a rug file whose keys override those of the file.
    replace : bool
        Whether an existing file may be replaced.

    Raises
    ------
    ChartmakerError
        If the artwork cannot be read, its proportions are off and nothing says how it is to be fitted, or `out` has
        another ending or cannot be written.

    Examples
    --------
    >>> write_proof(read_map("knots.png"), "proof.png", artwork="art.png", replace=True)
    """
    out, inputs = Path(out), (*found.inputs, *([Path(artwork)] if artwork is not None else ()))
    proof = _by_ending(outputs.PROOFS, out)
    targets.check_file(out, replace=replace, inputs=inputs)
    shown = None if artwork is None else _framed(Path(artwork), found.knot_map, rug, over or {})
    with spoken_of(found.knot_map.rug):
        files.write_file(
            out,
            lambda stream: stream.write(proof(found.knot_map, found.workshop, shown)),
            replace=replace,
            inputs=inputs,
        )


def write_sheets(
    found: MapFile,
    out: Path | str,
    sheet: Sheet = "figures",
    units: Units = "metric",
    *,
    replace: bool = False,
) -> int:
    """Write the figures of a knot map, its dye order or its bundles of yarn as the sheets of a PDF.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.
    out : Path or str
    sheet : {"figures", "dye", "issue"}
        Which sheets are written.
    units : {"metric", "imperial"}
        The units of the figures.
    replace : bool
        Whether an existing file may be replaced.

    Returns
    -------
    int
        The number of sheets.

    Raises
    ------
    ChartmakerError
        If a yarn is too thick for the density, the paper is unknown, a letter is in no font, or `out` cannot be
        written.

    Examples
    --------
    >>> write_sheets(read_map("knots.png"), "dye.pdf", "dye", replace=True)
    1
    """
    from chartmaker.sheets.tables import dyesheets, figuresheets, issuesheets

    write = {
        "figures": figuresheets.write_figures_pdf,
        "dye": dyesheets.write_dye_pdf,
        "issue": issuesheets.write_issue_pdf,
    }[sheet]
    figures, font = figures_of(found.knot_map, found.workshop), read_font(found.workshop, found.folder)
    sheets: list[int] = []
    with spoken_of(found.knot_map.rug):
        files.write_file(
            Path(out),
            lambda stream: sheets.append(write(stream, figures, units, font_bytes=font)),
            replace=replace,
            inputs=found.inputs,
        )
    return sheets[0]


def write_changes(
    compared: Compared, *, picture: Path | str | None = None, places: Path | str | None = None, replace: bool = False
) -> None:
    """Write the changes between two knot maps: a picture of the rug with the changes marked, a table of them, or both.

    Parameters
    ----------
    compared : Compared
        As `compare_maps` gives it.
    picture : Path or str, optional
        A PNG.
    places : Path or str, optional
        A CSV with the columns row, start, knots, before, after, and one line for each run of changed knots.
    replace : bool
        Whether existing files may be replaced.

    Raises
    ------
    OutputError
        If one of them cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> write_changes(compare_maps("knots.png", "edited.png"), places="changes.csv", replace=True)
    >>> Path("changes.csv").read_text().splitlines()
    ['row,start,knots,before,after', '1,1,2,B1,R1']
    """
    inputs = [path for each in compared.files for path in each.inputs]
    changes = compared.changes
    writers = {
        picture: lambda stream: write_rgb(stream, picture_of_changes(changes)),
        places: lambda stream: _put_lines(stream, places_csv(changes)),
    }
    asked = {Path(path): writer for path, writer in writers.items() if path is not None}
    for path in asked:
        targets.check_file(path, replace=replace, inputs=inputs)
    for path, writer in asked.items():
        files.write_file(path, writer, replace=replace, inputs=inputs)


def _put_lines(stream: BinaryIO, lines: Iterable[str]) -> None:
    for line in lines:
        stream.write(line.encode("utf-8"))


def _by_ending(makers: dict[str, Maker], out: Path) -> Maker:
    """Return the maker of files whose names end like `out`."""
    maker = makers.get(out.suffix.lower())
    if maker is None:
        endings = ", ".join(makers)
        raise OutputError(say("the name must end in one of these: {endings}", endings=endings), where=inert(out))
    return maker


def _framed(path: Path, knot_map: KnotMap, rug: Path | str | None, over: Tables) -> Artwork:
    """Return the artwork at `path` as the rug shows it; the rug file or `over` may give [design] fit and turn."""
    if rug is None:
        asked = from_tables(merge(to_tables(knot_map.rug, Workshop()), over), where=say("the command line"))
    else:
        asked = read_rugfile(Path(rug), over)
    artwork, _ = read_artwork(path)
    return place(artwork, knot_map.rug, asked.design).shown
