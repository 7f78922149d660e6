"""How much memory a rug will take, foreseen before any work begins."""

from __future__ import annotations

from chartmaker.ground.errors import RoomError
from chartmaker.ground.language import say
from chartmaker.ground.room import free_bytes

#: The bytes that any run takes, then those for each knot, each pixel of the artwork, each yarn of a card. Measured
#: were 0.2 to 0.4 GB for small rugs, 1.73 GB for 57 million knots on 112 million pixels, and 0.6 to 0.9 GB where some
#: yarns were chosen from 20,000.
BASE_BYTES, KNOT_BYTES, PIXEL_BYTES, YARN_BYTES = 300_000_000, 9, 10, 30_000


def check_room(knots: int, pixels: int, yarns: int, free: int | None = None) -> None:
    """Refuse work that would not fit into the memory that is free; the message names what takes the most.

    Parameters
    ----------
    knots, pixels, yarns : int
        The knots of the rug, the pixels of its artwork, the yarns of its card.
    free : int, optional
        Bytes; what the system says if it is left out. Nothing is refused where it does not say.

    Raises
    ------
    RoomError
        If it would not fit.
    """
    free = free_bytes() if free is None else free
    parts = {"knots": KNOT_BYTES * knots, "pixels": PIXEL_BYTES * pixels, "yarns": YARN_BYTES * yarns}
    need = BASE_BYTES + sum(parts.values())
    if free is None or need <= free:
        return
    most = max(parts, key=lambda part: parts[part])
    if need - parts[most] > free:
        advice = say("close other programs, or use a machine with more memory")
    elif most == "knots":
        advice = say(
            "the rug's {n:,} knots take the most: make it in parts, or use a machine with more memory", n=knots
        )
    elif most == "pixels":
        advice = say(
            "the artwork's {n:,} pixels take the most: three or four to a knot are enough, so make it smaller", n=pixels
        )
    else:
        advice = say("the card's {n:,} yarns take the most: leave out of it what would not be used", n=yarns)
    raise RoomError(
        say(
            "this takes about {need:.1f} GB of memory and {free:.1f} GB are free; {advice}",
            need=need / 1e9,
            free=free / 1e9,
            advice=advice,
        )
    )
