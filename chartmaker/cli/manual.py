"""`chartmaker manual`: the whole manual, to read or as a manual page."""

from __future__ import annotations

import click

from chartmaker.cli.options import with_options


@click.command(name="manual", epilog="Example: chartmaker manual --man > chartmaker.1")
@with_options(click.option("--man", is_flag=True, help="As a manual page (roff), for man to show."))
@click.pass_context
def command(context: click.Context, man: bool) -> None:
    """Print the manual: every command with its options, the files, exit codes, environment, examples.

    As a manual page it can be kept where man looks: ~/.local/share/man/man1/chartmaker.1
    """
    from chartmaker.cli import handbook, pagewriting

    group = context.find_root().command
    assert isinstance(group, click.Group)
    write = pagewriting.roff if man else pagewriting.plain
    click.echo(write(handbook.blocks(group)), nl=False)
