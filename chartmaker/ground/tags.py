"""What the tagged spans on printed sheets mean: the contract between the code that prints and the code that reads back.

A span of a sheet's content that says something about the rug is marked content with a name from this list (ISO 32000-1,
14.6), so that a program reads numbers by their meaning, in whatever language the words around them are. A tag
says what a span means, and seldom what it holds: what counts is the print within it. Where a tag does carry values,
such as the box that the cells of a sheet lie in, the reader checks the print against them.

These are the blocks, which hold texts, fields and drawings, with the values that they carry:

cells
    The cells of a grid sheet. ``Rows``, ``Columns``: first and last, from 1. ``Box``: left, bottom, width, height, mm.
join
    Rows shown again below the cells, or above them on a mirrored rug, and columns of the neighbours beside them.
    ``Rows``, ``Columns``, ``Box``.
row, turned-row, column, turned-column
    Numbers of rows and columns, each beside its row or column of the cells. Those called ``turned`` hold when the sheet
    is turned for the mirrored half.
length, turned-length
    Lengths on the loom, at the upper edge of a row.
count
    The number of knots that a counted run has on the sheet, printed in its middle or beside both ends, with a plus on
    the side where the run goes on beyond the sheet or the weaver.
legend
    For each yarn its swatch, then ``code``, ``name``, ``knots`` and, on the cover, ``share`` and ``grams``; where there
    is room, ``shade``, a plain word for the colour (``Word``: its place in the list of them, that of what is added to
    tell it from another yarn's, and its number among several), and ``height``, that of the pile where yarns differ.
place
    Where the sheet lies on the rug, a filled box. ``Rug``: left, bottom, width, height of the whole rug in mm.
sheet-map, strip-name, weaver-name
    On the cover: a box for each grid sheet where it lies on the rug, with its number (``Rug``); strips and weavers by
    name.
pattern, field-number, field-higher, field-lower, field-loop
    The drawing of a full-size pattern: ``Window``, the part that the sheet shows, and ``Box``, where it lies on the
    sheet, both left, bottom, width, height in mm. Numbers of fields: ``At``, a point of the field in the drawing, and
    marks at them where a field is tufted higher or lower than the rest, or in loops.
field-height, carve-height, carve-groove, carve-ticks, carve-ring
    In the carver's guide: the finished height of a field (``At`` as above); a yarn with its ``code``, ``loop-pile`` or
    ``cut-pile``, the heights as it is tied (``cut``), shorn (``shorn``, or ``unshorn``) and finished (``height``), and
    how much is carved ``off``; a groove with its name (``groove``) and its ``metres``; ticks on the lowered side of
    lines, each from its line outward; a ring on loops beside a line.
band, band-repeat, band-turn
    In a table of bands: a band with its ``number``, its swatch, ``code``, ``name``, ``shade``, how many ``lines`` it
    has, its ``first`` and ``last`` line, and how far it reaches (``cm``); the head of a repeat with how many of the
    next ``bands`` it holds, how many ``times`` they come in all, its ``last`` line and how far that reaches; behind
    its bands each ``turn`` of it with its ``first`` and ``last`` line and how far that reaches.
pattern-plan, pattern-map, top, guide-line
    The plan of a pattern's sheets; the code of the map on a sheet in full size; the arrow at its top; a yarn in the
    colour guide with its ``number``, ``code``, ``share`` and ``grams``, its ``tufted-height`` (``cut_mm``) and its
    ``finished-height`` (``pile_mm``).
script-row
    Rows of the row script that are knotted alike: ``row`` (the numbers of the first), then every ``run`` (``knots``,
    ``call``, ``code``), ``jump``, ``times`` (a bracket that opens) and ``close``, or ``as-row`` (``like``, a row
    further up); ``column-reached`` for each line (``reached``, ``twin_reached``), ``total``, then
    ``row`` for the other rows.

figures-sheet, dye-sheet, issue-sheet
    The head of a sheet of figures, of a dye order, of bundles. ``Imperial``: 1 if its units are, else 0.
table-...
    A table, or a part of it, called by its key: ``title``, ``head`` (``unit``), its rows, ``sum``, ``note``. A row is
    called by what it tells, where each tells another thing, else ``line``; what stands in it is found by the names of
    its columns. A field that breaks over lines stands in several spans of its name.
revision
    A line of what to take out of an old chart, and what to put in.
rows-revision
    A line of which rows of an old script to strike out: for each ``strip`` its ``rows``, or their ``count``.

words
    A line of words that is shown whole. Its values are its fields, each with the letters where it begins and ends. A
    line whose letters are shaped or reordered is cut into its fields, each a span of its own.

Spans of words, which hold fields: ``identity``, ``rug-name``, ``strip``, ``extent``, ``reading``, ``beside``,
``turning``, ``uses``, ``measure``, ``outside``, ``counted``, ``grey``, ``warned``, ``settle``, ``replaces``, ``fact``.
A field is a number or a name within the words, under the name that it has in the sentence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

#: The beginning of every name of ours, so that it cannot be taken for another program's.
PREFIX = "kn-"

#: A value of a tag: numbers only, so that no tag can claim a text that is not printed.
Values = Mapping[str, Sequence[float]]


def opening(tag: str, values: Values | None = None) -> str:
    """Return the PDF operator that begins a span with this `tag`."""
    if not values:
        return f"/{PREFIX}{tag} BMC"
    listed = " ".join(f"/{key} [{' '.join(f'{value:.7g}' for value in each)}]" for key, each in values.items())
    return f"/{PREFIX}{tag} <<{listed}>> BDC"


#: The PDF operator that ends a span.
CLOSING = "EMC"
