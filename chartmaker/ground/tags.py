"""What the tagged spans on printed sheets mean: the one contract between those who print and those who read back.

A span of a sheet's content that says something of the rug is marked content with a name of this list (ISO 32000-1,
14.6), so that a program reads numbers by their meaning, in whatever language the words around them are. A tag says
what a span means, seldom what it holds: what counts is what is printed within it. Where a tag does carry values, such
as the box that the cells of a sheet lie in, a reader holds what is printed against them.

Blocks, which hold texts, fields and drawings, with the values that they carry:

cells
    The cells of a grid sheet. ``Rows``, ``Columns``: first and last, from 1. ``Box``: left, bottom, width, height, mm.
join
    Rows that are shown again below the cells, or above them on a mirrored rug. ``Rows``, ``Columns``, ``Box``.
row, turned-row, column, turned-column
    Numbers of rows and columns, each beside its row or column of the cells; ``turned`` are those that hold when the
    sheet is turned for the mirrored half.
length, turned-length
    Lengths on the loom, at the upper edge of a row.
count
    The knots of a counted run, in its middle.
legend
    Yarns: the swatch of each, then ``code``, ``name``, ``knots`` and, on the cover, ``share`` and ``grams``.
place
    Where the sheet lies on the rug, a filled box. ``Rug``: left, bottom, width, height of the whole rug in mm.
sheet-map, strip-name
    On the cover: a box for each grid sheet where it lies on the rug, with its number (``Rug``); strips by name.
pattern, field-number
    The drawing of a full-size pattern: ``Window``, the part that the sheet shows, and ``Box``, where it lies on the
    sheet, both left, bottom, width, height in mm. Numbers of fields: ``At``, a point of the field in the drawing.
pattern-plan, guide-line
    The plan of a pattern's sheets; a yarn in the colour guide with its ``number`` and its ``code``.
script-row
    Rows of the row script that are tied alike: ``row`` (the numbers of the first), then every ``run`` (``knots``,
    ``call``, ``code``), ``skip``, ``times`` (a bracket that opens) and ``close``, or ``as-row`` (``like``, a row
    further up); ``column-reached`` for each line (``reached``, ``twin_reached``), ``total``, then
    ``row`` for the other rows.

words
    A line of words that is shown whole. Its values are its fields, each where it begins and ends, counted in letters. A
    line whose letters are shaped, or turned about, is cut into its fields, each a span of its own.

Spans of words, which hold fields: ``identity``, ``rug-name``, ``strip``, ``extent``, ``reading``, ``beside``,
``turning``, ``measure``, ``replaces``, ``fact``. A field is a number or a name within the words, called as the
sentence calls it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

#: What every name of ours begins with, so that nobody takes it for another's.
PREFIX = "kn-"

#: A value of a tag: numbers only, so that no text is printed in one place and claimed in another.
Values = Mapping[str, Sequence[float]]


def opening(tag: str, values: Values | None = None) -> str:
    """Return the PDF operator that begins a span with this `tag`."""
    if not values:
        return f"/{PREFIX}{tag} BMC"
    listed = " ".join(f"/{key} [{' '.join(f'{value:.7g}' for value in each)}]" for key, each in values.items())
    return f"/{PREFIX}{tag} <<{listed}>> BDC"


#: The PDF operator that ends a span.
CLOSING = "EMC"
