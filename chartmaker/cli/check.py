"""`chartmaker check`: what a master weaver would remark on before the rug is woven."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import EDIT_OPTIONS, ORDER_OPTIONS, FilePath, common, tables_of, with_options
from chartmaker.ground.errors import DifferenceError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert


@click.command(name="check", epilog="Example: chartmaker check knots.png --strict")
@click.argument("subject", metavar="KNOTS.png|RUG.toml|ARTWORK", type=FilePath)
@click.option("--strict", is_flag=True, help="End with exit code 9 if any remark is a warning or worse.")
@with_options(*EDIT_OPTIONS, *ORDER_OPTIONS)
@common
def command(
    subject: Path,
    strict: bool,
    rug: Path | None,
    snap: bool,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Check a knot map, or an order with its artwork, for what would be regretted on the loom.

    A rug file, or an artwork with options, is converted first, so that the yarns and the drawing are compared with the
    artwork as well.
    """
    from chartmaker.jobs import check
    from chartmaker.reports.records.maps import finding_dicts, map_dict, repeats_dict
    from chartmaker.reports.words import map_words
    from chartmaker.techniques.crafts import spoken_of

    with report.progress(quiet) as progress:
        checked = check(subject, rug, tables_of(values, assignments), snap=snap, progress=progress)
    found, findings = checked.file, checked.findings
    with spoken_of(found.knot_map.rug):
        if as_json:
            report.say_json(
                {
                    "map": map_dict(found.knot_map, found.workshop),
                    **({} if checked.conversion is None else repeats_dict(checked.conversion)),
                    "findings": finding_dicts(findings),
                }
            )
        elif not quiet:
            report.lines([(say("Map"), map_words(found.knot_map))])
            report.show_findings(findings)
    if strict and checked.serious:
        raise DifferenceError(_serious_words(checked.serious, len(findings)), where=inert(subject))


def _serious_words(serious: int, remarks: int) -> str:
    one = "{n} of {remarks} remarks is a warning or worse"
    many = "{n} of {remarks} remarks are warnings or worse"
    return say_n(one, many, serious, remarks=remarks)
