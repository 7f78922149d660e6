"""The manual set as plain text, or as a manual page in roff."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable

import click

from chartmaker import __version__
from chartmaker.cli.handbook import Block, Heading, Line, Paragraph, Terms

#: The width of plain text, in columns; click's lists exceed it by their indent.
_WIDTH = 96
#: Characters that roff would set as something other than what was written (groff_char, "Keyboard characters").
_ROFF_LETTERS = str.maketrans(
    {"\\": "\\(rs", "-": "\\-", "'": "\\(aq", "`": "\\(ga", "^": "\\(ha", "~": "\\(ti", '"': "\\(dq"}
)


def plain(blocks: Iterable[Block]) -> str:
    """Return the manual as lines of text."""
    page = click.HelpFormatter(width=_WIDTH)
    for block in blocks:
        match block:
            case Heading(text, level):
                page.write_paragraph()
                page.write(text.upper() + "\n" if level == 1 else f"  {text}\n")
            case Paragraph(text):
                page.write(_filled(text))
                page.write_paragraph()
            case Line(text):
                page.write(f"    {text}\n")
                page.write_paragraph()
            case Terms(pairs):
                _indented(page).write_dl(list(pairs), col_max=28)
                page.write_paragraph()
    return re.sub(r"\n{3,}", "\n\n", page.getvalue()).lstrip("\n").rstrip("\n") + "\n"


def _indented(page: click.HelpFormatter) -> click.HelpFormatter:
    page.current_indent = 4
    return page


def _filled(text: str) -> str:
    """Return a filled paragraph whose lines never break within a hyphenated word, such as the name of an option."""
    four = "    "
    lines = textwrap.wrap(text, _WIDTH, initial_indent=four, subsequent_indent=four, break_on_hyphens=False)
    return "\n".join(lines) + "\n"


def _letters(text: str) -> str:
    """Return `text` with the escapes with which roff sets it letter by letter."""
    words = "".join(c if ord(c) < 128 else f"\\[u{ord(c):04X}]" for c in text.translate(_ROFF_LETTERS))
    return "\\&" + words if words.startswith(".") else words


def _apart(lines: list[str]) -> list[str]:
    """Return what begins a paragraph after `lines`; nothing after a heading, which has begun one already."""
    return [] if lines[-1].startswith((".SH", ".SS")) else [".PP"]


def roff(blocks: Iterable[Block]) -> str:
    """Return the manual as a manual page (the man macros of groff_man)."""
    lines = [f'.TH CHARTMAKER 1 "" "chartmaker {__version__}" "User Commands"', ".nh", ".ad l"]
    for block in blocks:
        match block:
            case Heading(text, level):
                lines.append(f'.SH "{_letters(text.upper())}"' if level == 1 else f'.SS "{_letters(text)}"')
            case Paragraph(text):
                lines += [*_apart(lines), _letters(text)]
            case Line(text):
                lines += [*_apart(lines), ".RS 4", ".nf", f"\\fB{_letters(text)}\\fR", ".fi", ".RE"]
            case Terms(pairs):
                for term, said in pairs:
                    lines += [".TP", f"\\fB{_letters(term)}\\fR", _letters(said)]
    return "\n".join(lines) + "\n"
