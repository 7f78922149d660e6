"""`chartmaker plan`: the knot grid for a size and a density, and what repeats in the artwork on it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import RUG_OPTIONS, SET_OPTION, FilePath, common, tables_of, with_options


@click.command(name="plan", epilog="Example: chartmaker plan --size 5x8ft --density '9/60 indian'")
@click.argument("rugfile", metavar="[RUG.toml]", required=False, type=FilePath)
@with_options(*RUG_OPTIONS, SET_OPTION)
@common
def command(rugfile: Path | None, as_json: bool, quiet: bool, assignments: tuple[str, ...], **values: Any) -> None:
    """Show the knot grid of a rug: columns, rows, knots, and the size that they give.

    If the artwork is there already, the sizes are named at which what repeats in it is whole.
    """
    from chartmaker import jobs
    from chartmaker.reports.planned import plan_lines
    from chartmaker.reports.records.maps import borders_dict, finding_dicts, plan_figures, repeat_dict
    from chartmaker.techniques.crafts import spoken_of

    order = jobs.read_order(rugfile, tables_of(values, assignments))
    # Without an artwork a plan does not wait for what looks into it.
    repeat, borders, noticed = (None, None, ()) if order.artwork is None else jobs.repeats_of(order)
    findings = (*jobs.plan_remarks(order), *noticed)
    if as_json:
        report.say_json(
            {
                **plan_figures(order.rug, order.workshop),
                "repeat": repeat_dict(repeat),
                "borders": borders_dict(borders),
                "findings": finding_dicts(findings),
            }
        )
    elif not quiet:
        with spoken_of(order.rug):
            report.lines(plan_lines(order.rug, order.workshop))
            if findings:
                report.show_findings(findings)
