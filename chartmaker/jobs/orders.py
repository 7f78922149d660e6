"""An order as it is given, by a rug file, an artwork or options, and what is unusual in its quantities.

Nothing here needs the libraries that convert an artwork, so that a plan does not wait for them.
"""

from __future__ import annotations

from pathlib import Path

from chartmaker.ground.errors import CallError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import both_sizes, cm_words
from chartmaker.ground.sentence import later
from chartmaker.ground.textsafe import inert
from chartmaker.order.bounds import odd_values
from chartmaker.order.rugfile import RugFile, Tables, from_tables, read_rugfile

#: Where a fault is said to be if the value does not come from a file.
_COMMAND_LINE = phrase("the command line")
#: A side shorter than this, in millimetres, is remarked on in a plan (estimate: samples are mostly a foot square).
SMALLEST_RUG_MM = 200


def read_order(
    path: Path | str | None, over: Tables | None = None, *, rug: Path | str | None = None, snap: bool = False
) -> RugFile:
    """Return an order read from a rug file, from an artwork or from neither, with the values of `over` laid over it.

    Parameters
    ----------
    path : Path or str, optional
        A rug file (.toml) or an artwork; left out, everything comes from `over`.
    over : dict of dict, optional
        Tables of a rug file whose keys override those of the file.
    rug, snap
        What `read_map` takes beside a knot map. An order cannot use it, and is refused rather than read without it.

    Returns
    -------
    RugFile
        The rug with its grid, the design, the choice of yarns and the workshop, all checked.

    Raises
    ------
    CallError
        If `rug` or `snap` is given.
    RugError
        If a value is wrong or missing, or the rug file cannot be read.

    Examples
    --------
    >>> order = read_order(None, {"rug": {"size": "5x8ft", "density": "9/60 indian"}})
    >>> order.rug.columns, order.rug.rows
    (600, 1280)
    >>> read_order("rug.toml", {"rug": {"name": "Trial"}}).rug.name
    'Trial'
    """
    over = over or {}
    if rug is not None or snap:
        message = say("--rug and --snap go with a knot map, not with a rug file or an artwork")
        raise CallError(message, where=None if path is None else inert(path))
    if path is None:
        return from_tables(over, where=say(_COMMAND_LINE))
    path = Path(path)
    if path.suffix.lower() == ".toml":
        return read_rugfile(path, over)
    named = over | {"design": over.get("design", {}) | {"artwork": str(path.absolute())}}
    return from_tables(named, where=say(_COMMAND_LINE))


def plan_remarks(order: RugFile) -> tuple[Finding, ...]:
    """Return a warning for each quantity of an order that is unusual for a rug, its size among them.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.

    Returns
    -------
    tuple of Finding

    Raises
    ------
    RugError
        Never of an order as `read_order` gives it, whose quantities are checked there.

    Examples
    --------
    >>> [finding.where for finding in plan_remarks(read_order("rug.toml"))]  # a rug of 12 x 16 cm
    ['[rug] size']
    """
    rug = order.rug
    odd = odd_values({"rug": rug, **dict(order.workshop)})
    if min(rug.width_mm, rug.length_mm) >= SMALLEST_RUG_MM:
        return odd
    what = later(
        "{size} is less than rugs and even their samples measure, from about {least} each way (an estimate). Is it a "
        "slip, of millimetres for centimetres?",
        size=both_sizes(rug.width_mm, rug.length_mm),
        least=cm_words(SMALLEST_RUG_MM),
    )
    return (Finding(what, "[rug] size", "warning"), *odd)
