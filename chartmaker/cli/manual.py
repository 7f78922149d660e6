"""`chartmaker manual`: the whole manual, to read or as a manual page."""

from __future__ import annotations

from collections.abc import Iterable

import click

from chartmaker.cli import handbook
from chartmaker.cli.handbook import SECTIONS
from chartmaker.cli.options import with_options


@click.command(name="manual", epilog="Example: chartmaker manual rug-file")
@click.argument("section", required=False, metavar="[SECTION]", type=click.Choice(list(SECTIONS)))
@with_options(click.option("--man", is_flag=True, help="Print a manual page (roff), for man to show."))
@click.pass_context
def command(context: click.Context, section: str | None, man: bool) -> None:
    """Print the manual, or one section of it.

    The sections are commands, rug-file, collection-file, densities, yarn-card, files, exit-codes, environment,
    tab-key and care.

    It explains every command with its options, every key of the rug file with its default, the yarn card, the files,
    the exit codes and the environment, with examples. The manual page can be kept where man looks for it:
    chartmaker manual --man > ~/.local/share/man/man1/chartmaker.1
    """
    from chartmaker.cli import pagewriting

    group = context.find_root().command
    assert isinstance(group, click.Group)
    blocks: Iterable[handbook.Block] = handbook.blocks(group)
    if section is not None:
        blocks = handbook.section(blocks, SECTIONS[section])
    write = pagewriting.roff if man else pagewriting.plain
    click.echo(write(blocks), nl=False)
