"""What a master would remark on, of a knot map or of an order with its artwork."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from chartmaker.checks import check_map
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.making import convert_order, findings_of, read_order
from chartmaker.jobs.reading import read_map
from chartmaker.knots.mapfile import MapFile


@dataclass(frozen=True)
class Checked:
    """A knot map with its settings, and what there is to remark on."""

    file: MapFile
    findings: tuple[Finding, ...]

    @property
    def serious(self) -> int:
        """How many of the findings are warnings or worse."""
        return sum(finding.severity != "note" for finding in self.findings)


def check(
    subject: Path | str, rug: Path | str | None = None, *, snap: bool = False, progress: Progress = SILENT
) -> Checked:
    """Check a knot map, or an order with its artwork, for what would be regretted on the loom.

    Parameters
    ----------
    subject : Path or str
        A knot map (.png), or a rug file (.toml), which is converted first: then the yarns and the drawing are held
        against the artwork as well.
    rug, snap
        As `read_map` takes them; only with a knot map.
    progress : Progress
        Told how far the conversion is.

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
    subject = Path(subject)
    if subject.suffix.lower() != ".toml":
        found = read_map(subject, rug, snap=snap)
        return Checked(found, tuple(check_map(found.knot_map, found.workshop)))
    if rug is not None or snap:
        raise RugError(say("--rug and --snap go with a knot map, not with a rug file"), where=inert(subject))
    order = read_order(subject)
    converted = convert_order(order, progress)
    return Checked(MapFile(converted.conversion.knot_map, order.workshop), findings_of(converted))
