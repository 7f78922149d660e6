"""The parts of a design in words: its bands with their repeats, its field, measured in centimetres."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.ground.language import say, say_n
from chartmaker.relay.parts import BandSide, Parts


def parts_lines(parts: Parts, mm_per_px: tuple[float, float]) -> Iterator[str]:
    """Yield what a design is made of, a line each; `mm_per_px` are millimetres of a pixel down and across."""
    down, across = mm_per_px
    for number, band in enumerate(parts.bands, start=1):
        yield say("Band {number}  {width:.1f} cm wide", number=number, width=band.width("left") * across / 10)
        yield "  " + _side_words(say("across"), band.sides["bottom"], across)
        yield "  " + _side_words(say("along"), band.sides["left"], down)
    field = parts.field
    size = say("{width:.1f} x {length:.1f} cm", width=field.width * across / 10, length=field.height * down / 10)
    pieces = () if parts.pieces is None else parts.pieces.pieces
    if parts.lattice is not None and pieces:
        lattice = parts.lattice.lattice
        yield say_n(
            "Field   {size}, repeats every {width:.1f} x {length:.1f} cm under {n} piece",
            "Field   {size}, repeats every {width:.1f} x {length:.1f} cm under {n} pieces",
            len(pieces),
            size=size,
            width=lattice.width * across / 10,
            length=lattice.height * down / 10,
        )
    elif parts.tile is not None:
        yield say_n(
            "Field   {size}, {n} piece on a pattern that does not repeat; {width:.1f} x {length:.1f} cm of it go on",
            "Field   {size}, {n} pieces on a pattern that does not repeat; {width:.1f} x {length:.1f} cm of it go on",
            len(pieces),
            size=size,
            width=parts.tile.width / 2 * across / 10,
            length=parts.tile.height / 2 * down / 10,
        )
    elif parts.lattice is not None:
        lattice = parts.lattice.lattice
        yield say(
            "Field   {size}, repeats every {width:.1f} x {length:.1f} cm",
            size=size,
            width=lattice.width * across / 10,
            length=lattice.height * down / 10,
        )
    elif parts.pieces is not None:
        one, many = "Field   {size}, plain, with {n} piece", "Field   {size}, plain, with {n} pieces"
        yield say_n(one, many, len(pieces), size=size)
    else:
        yield say("Field   {size}, drawn as a whole: in another size it is pulled", size=size)


def _side_words(way: str, side: BandSide, mm_per_px: float) -> str:
    """Return how a side of a band repeats."""
    own = side.repeating
    if side.plain:
        return say("{way}: plain", way=way)
    if own is None:
        return say("{way}: no repeat found", way=way)
    return say(
        "{way}: {times} repeats of {length:.1f} cm, ends of {end:.1f} cm",
        way=way,
        times=own.times,
        length=own.period * mm_per_px / 10,
        end=own.end * mm_per_px / 10,
    )
