"""The symbols' small pictures turned, from afar and on a poor copy: which stay apart, and which hug no edge."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

#: Small pictures that are apart by less, either way up, are taken for each other (in sixteenths of a grey, blurred).
TURNED_APART = 1000
#: How often pictures are blurred as a scan shows them close by, and as a poor copy or the weaver's distance does.
CLOSE_BY, FROM_AFAR = 1, 3
#: What two pictures, blurred by some 0.4 mm, differ by at the least on a poor copy, either way up and moved by an
#: eighth of the symbol; and mirrored or turned in any way and moved by three eighths, since nobody keeps in mind which
#: way a shape looks. With more, too few symbols would be left for a card: now there are 62.
COPIED_APART, FACED_APART = 1080, 700
#: How far up or down, or to a side, the middle of a symbol's ink may lie from the middle of its cell, in eighths of the
#: symbol: farther off, its field is streaks along the lines between the cells.
MOST_OFF_MIDDLE = 2
_SIDE = 8


def pictures(looks: Sequence[str]) -> NDArray[np.int64]:
    """Return the small picture of each symbol, shape (symbols, 8, 8), its ink from 0 to 15."""
    return np.array([[int(digit, 16) for digit in look] for look in looks], dtype=np.int64).reshape(-1, _SIDE, _SIDE)


def blurred(soft: NDArray[np.int64], blurs: int) -> NDArray[np.uint16]:
    """Return pictures blurred so often by binomial weights, as a scan out of step with the cells or distance does."""
    for _ in range(blurs):
        soft = np.pad(soft, ((0, 0), (2, 2), (2, 2)))
        soft = soft[:, :-2] + 2 * soft[:, 1:-1] + soft[:, 2:]
        soft = soft[:, :, :-2] + 2 * soft[:, :, 1:-1] + soft[:, :, 2:]
    return soft.astype(np.uint16)  # room enough for three blurs, and a quarter of the time


def ways(inks: NDArray[np.int64], blurs: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return how far any two pictures are apart once blurred, and how far one is from the other turned by half."""
    soft = blurred(inks, blurs)
    return _apart(soft, soft), _apart(soft, soft[:, ::-1, ::-1])


def _apart(these: NDArray[np.uint16], those: NDArray[np.uint16]) -> NDArray[np.int64]:
    flat = these.reshape(len(these), -1)
    apart = ((np.maximum(flat, each) - np.minimum(flat, each)).sum(axis=1) for each in those.reshape(flat.shape))
    return np.array(list(apart), dtype=np.int64)


def staying_apart(looks: Sequence[str]) -> tuple[int, ...]:
    """Return the symbols, numbered from 1, of which no two become one on a sheet turned round, or on a poor copy.

    The first of those that are alike stays.
    """
    inks = pictures(looks)
    alike = np.minimum(*ways(inks, CLOSE_BY)) < TURNED_APART
    moved = [(_moved(inks, 1), COPIED_APART), (_moved(inks, 3, every_way=True), FACED_APART)]
    found: list[int] = []
    for place in range(len(inks)):
        if not alike[place, found].any() and not any(_alike(each, place, found, least) for each, least in moved):
            found.append(place)
    return tuple(place + 1 for place in found)


def centred(looks: Sequence[str]) -> tuple[int, ...]:
    """Return the symbols, numbered from 1, whose ink lies about the middle of their cells."""
    inks = pictures(looks)
    eighths = 2 * np.arange(_SIDE) - (_SIDE - 1)  # twice the distance from the middle, to stay whole
    down, across = ((inks.sum(axis=axis) * eighths).sum(axis=1) for axis in (2, 1))
    near = np.abs([down, across]).max(axis=0) < 2 * MOST_OFF_MIDDLE * inks.sum(axis=(1, 2))
    return tuple(int(place) + 1 for place in np.flatnonzero(near))


def _moved(inks: NDArray[np.int64], most: int, *, every_way: bool = False) -> NDArray[np.uint16]:
    """Return pictures on a poor copy, moved by up to so many eighths, shape (ways, pictures, pixels); first as is."""
    soft = np.pad(blurred(inks, FROM_AFAR), ((0, 0), (most, most), (most, most)))
    faces = [np.rot90(soft, turns, (1, 2)) for turns in range(0, 4, 1 if every_way else 2)]
    faces += [face[:, ::-1] for face in faces if every_way]
    moves = product(faces, product(range(-most, most + 1), repeat=2))
    every = [soft, *(np.roll(face, move, axis=(1, 2)) for face, move in moves)]
    return np.stack(every).reshape(len(every), len(soft), -1)


def _alike(moved: NDArray[np.uint16], place: int, others: Sequence[int], least: int) -> bool:
    """Return whether one of `others`, moved to where it fits best, is apart from the picture at `place` by less."""
    still, limit = moved[0, place], least * 16 ** (FROM_AFAR - CLOSE_BY)
    return any(
        ((np.maximum(still, each) - np.minimum(still, each)).sum(axis=1, dtype=np.uint32) < limit).any()
        for each in (moved[:, other] for other in others)
    )
