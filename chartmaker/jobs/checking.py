"""The check of a knot map, or of an order with its artwork, for what a master weaver would remark on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from chartmaker.checks import check_map
from chartmaker.convert.conversion import Conversion
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import KnotFileError, RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say_n
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.designs import drawn_remarks
from chartmaker.jobs.making import convert_order, findings_of
from chartmaker.jobs.orders import read_order
from chartmaker.jobs.reading import is_order, read_map
from chartmaker.knots.knotpng import read_description
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rugfile import Tables


@dataclass(frozen=True)
class Checked:
    """A knot map with its settings, and the remarks on it; with its conversion, if it was converted for the check."""

    file: MapFile
    findings: tuple[Finding, ...]
    conversion: Conversion | None = None

    @property
    def serious(self) -> int:
        """How many of the findings are warnings or worse."""
        return sum(finding.severity != "note" for finding in self.findings)


def _is_map(subject: Path, over: Tables) -> bool:
    """Return whether a picture is checked as the knot map that it is, rather than converted as an artwork.

    Raises
    ------
    RugError
        If it is a knot map of ours and the options would convert it, but ask for no size to convert it to.
    """
    if not is_order(subject, over):
        return True
    if over.get("rug", {}).keys() & {"size", "width", "length", "density"}:
        return False
    try:
        read_description(subject)
    except KnotFileError:
        return False
    keys = [f"[{table}] {key}" for table in ("design", "yarns") for key in over.get(table, {}) if key != "card"]
    if keys:
        message = say_n(
            "this is a knot map, and {keys} serves to convert an artwork: name the rug file or the artwork instead",
            "this is a knot map, and {keys} serve to convert an artwork: name the rug file or the artwork instead",
            len(keys),
            keys=", ".join(keys),
        )
        raise RugError(message, where=inert(subject))
    return True


def check(
    subject: Path | str,
    rug: Path | str | None = None,
    over: Tables | None = None,
    *,
    snap: bool = False,
    progress: Progress = SILENT,
) -> Checked:
    """Check a knot map, or an order with its artwork, for what would be regretted on the loom.

    Parameters
    ----------
    subject : Path or str
        A knot map (.png), or a rug file (.toml) or an artwork, which is converted first so that the yarns and the
        drawing can be compared with the artwork as well. A picture is taken for an artwork if `over` says anything
        about the rug, the design or the choice of yarns; a knot map only if that gives a size or a density.
    rug, snap
        As `read_map` takes them; only with a knot map.
    over : dict of dict, optional
        Tables of a rug file whose keys override the others, as `make` takes them.
    progress : Progress
        Told how far the conversion has come.

    Returns
    -------
    Checked
        The map and the findings.

    Raises
    ------
    ChartmakerError
        If anything cannot be read or converted.

    Examples
    --------
    >>> checked = check("knots.png")
    >>> checked.file.knot_map.tied, checked.serious <= len(checked.findings)
    (3840, True)
    """
    subject, over = Path(subject), over or {}
    if subject.suffix.lower() != ".toml" and _is_map(subject, over):
        found = read_map(subject, rug, over, snap=snap)
        figures = figures_of(found.knot_map, found.workshop)
        return Checked(found, (*check_map(found.knot_map, found.workshop), *figures.findings))
    order = read_order(subject, over, rug=rug, snap=snap)
    converted = convert_order(order, progress)
    conversion = converted.conversion
    figures = figures_of(conversion.knot_map, order.workshop)
    remarks = drawn_remarks(order, conversion.placed.artwork)
    found = MapFile(conversion.knot_map, order.workshop)
    return Checked(found, (*findings_of(converted), *remarks, *figures.findings), conversion)


def map_remarks(found: MapFile) -> tuple[Finding, ...]:
    """Return what a master weaver would remark on a knot map, without its artwork and besides its figures.

    Parameters
    ----------
    found : MapFile
        As `read_map` gives it.

    Returns
    -------
    tuple of Finding
        The most severe first.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.

    Examples
    --------
    >>> set(map_remarks(read_map("knots.png"))) <= set(check("knots.png").findings)
    True
    """
    return check_map(found.knot_map, found.workshop)
