"""A yarn card on paper, to hang where the yarn is kept."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

from chartmaker.ground import files, targets
from chartmaker.ground.textsafe import inert
from chartmaker.paper.symbols.assigning import with_symbols
from chartmaker.yarns.card import read_card


def write_card(card: Path | str, out: Path | str, *, replace: bool = False) -> int:
    """Write a yarn card as a PDF: every yarn with its symbol and the place to tie a tuft, then all symbols by number.

    Parameters
    ----------
    card : Path or str
        The card, a table in CSV.
    out : Path or str
        The PDF.
    replace : bool
        Whether a file that is there may be replaced.

    Returns
    -------
    int
        The number of sheets.

    Raises
    ------
    ChartmakerError
        If the card cannot be read, a name has a letter that the font lacks, or `out` cannot be written.

    Examples
    --------
    >>> write_card("wool.csv", "card.pdf", replace=True)
    2
    """
    from chartmaker.sheets.card.cardsheets import write_card_pdf

    card, out = Path(card), Path(out)
    targets.check_file(out, replace=replace, inputs=(card,))
    yarns, sheets = with_symbols(read_card(card)), list[int]()

    def write(stream: BinaryIO) -> None:
        sheets.append(write_card_pdf(stream, yarns, inert(card.stem)))

    files.write_file(out, write, replace=replace, inputs=(card,))
    return sheets[0]
