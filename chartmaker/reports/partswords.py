"""The parts of a design in words: its bands with their repeats, its field, measured in centimetres."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.convert.repeats.frames import Box
from chartmaker.ground.language import say, say_n
from chartmaker.relay.parts import Parts
from chartmaker.relay.sides import BandSide


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


def layout_table(parts: Parts, mm_per_px: tuple[float, float]) -> Iterator[str]:
    """Yield the table of a rug file that says what was found, so that it can be taken over and put right."""
    across = mm_per_px[1]
    yield "[layout]"
    if parts.bands:
        yield f"borders = [{', '.join(_length(band.width('left') * across) for band in parts.bands)}]"
        yield f"repeats = [{', '.join(_repeat(band.sides['bottom'], across) for band in parts.bands)}]"
    yield f"field_box = {_box_words(parts.field, 0, 0)}"
    if parts.lattice is not None:
        lattice = parts.lattice.lattice
        width, length = lattice.width * across / 10, lattice.height * mm_per_px[0] / 10
        yield f'field_repeat = "{width:.2f}x{length:.2f} cm"'
    pieces = () if parts.pieces is None else parts.pieces.pieces
    if pieces:
        yield "pieces = ["
        for piece in pieces:
            box = Box(piece.top, piece.left, piece.bottom, piece.right)
            yield f"    {_box_words(box, parts.field.left, parts.field.top)},"
        yield "]"


def _length(mm: float) -> str:
    return f'"{mm / 10:.2f} cm"'


def _repeat(side: BandSide, mm_per_px: float) -> str:
    return '"none"' if side.repeating is None else _length(side.repeating.period * mm_per_px)


def _box_words(box: Box, left: float, top: float) -> str:
    """Return a box as the rug file has it: left, top, right and bottom in whole pixels of the artwork."""
    sides = box.left + left, box.top + top, box.right + left, box.bottom + top
    return f"[{', '.join(str(round(side)) for side in sides)}]"


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
