"""`chartmaker verify`: read every output of a set back and compare it with the map."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chartmaker.cli import report
from chartmaker.cli.options import FilePath, common
from chartmaker.ground.errors import DifferenceError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from chartmaker.jobs import Verdict


@click.command(name="verify", epilog="Example: chartmaker verify rug-charts")
@click.argument("folder", metavar="DIR", type=FilePath)
@click.option(
    "--seal", metavar="HASH", default="", help="The seal of the set that was kept elsewhere, to compare with."
)
@click.option(
    "--sheets",
    metavar="FILE.pdf",
    type=FilePath,
    multiple=True,
    help="Sheets of figures, of a dye order, of bundles, of a revision, of a carver's guide, or a picture for a "
    "projector; may be repeated.",
)
@click.option(
    "--since", metavar="KNOTS.png", type=FilePath, help="The older map whose sheets or rows a revision replaces."
)
@click.option(
    "--rug",
    metavar="RUG.toml",
    type=FilePath,
    help="The rug file of a rug with a pattern or bands: they are held against the artwork too, not only the map.",
)
@common
def command(
    folder: Path,
    seal: str,
    sheets: tuple[Path, ...],
    since: Path | None,
    rug: Path | None,
    as_json: bool,
    quiet: bool,
) -> None:
    """Read every file of the set in DIR back, as another program sees it, and compare it with the knot map there.

    Ends with exit code 9 if anything differs.
    """
    from chartmaker.jobs import read_order, shown_artwork, verify_folder
    from chartmaker.reports.records.maps import map_dict

    with report.progress(quiet) as progress:
        shown = None if rug is None else shown_artwork(read_order(rug))
        verdict = verify_folder(folder, progress, seal, sheets=sheets, since=since, shown=shown)
    differences = verdict.differences
    if as_json:
        listed = [{"file": each.file, "what": each.what} for each in differences]
        told = {"map": map_dict(verdict.knot_map, verdict.workshop), "read": list(verdict.files)}
        report.say_json({**told, "seal": verdict.seal, "differences": listed})
    elif not quiet:
        _show(verdict)
    if differences:
        files = len({each.file for each in differences})
        one = "{n} of the set's files does not agree with the map"
        many = "{n} of the set's files do not agree with the map"
        raise DifferenceError(say_n(one, many, files), where=inert(folder))


def _show(verdict: Verdict) -> None:
    """Print what was read, the seal, and each difference."""
    from chartmaker.reports.words import map_words

    map_line, read = (say("Map"), map_words(verdict.knot_map)), (say("Read"), ", ".join(verdict.files))
    report.lines([map_line, read, (say("Seal"), verdict.seal)])
    for each in verdict.differences:
        click.echo(f"{each.file}: {inert(each.what, longest=500)}")
    if not verdict.differences:
        click.echo(say("Every file agrees with the map."))
