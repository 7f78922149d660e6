"""Pixels of an edited knot map turned back into knots."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import ciede2000, hex_of, lab_from_srgb8
from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.language import say, say_n
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.yarns.yarn import Yarn, lab_of

#: At most this many colours that no yarn has are named in a message.
MOST_NAMED = 8
#: With more colours than this that no yarn has, it is a photograph and not a touched-up map.
MOST_STRANGERS = 100_000
#: A smoothed pencil leaves half-transparent pixels; from half upwards they count as knots when snapped.
OPAQUE, HALF = 255, 128

_BAND_PIXELS = 2_000_000


@dataclass(frozen=True)
class Stranger:
    """A colour that no yarn has: its knots, the first of them (row, column counted from 0, row 0 first woven)."""

    srgb: tuple[int, int, int]
    knots: int
    row: int
    column: int

    @property
    def words(self) -> str:
        """The colour, how many knots have it, and where the first of them is, counted from 1."""
        return say_n(
            "{colour} ({n} knot, row {row}, column {column})",
            "{colour} ({n:,} knots, first in row {row}, column {column})",
            self.knots,
            colour=hex_of(self.srgb),
            row=self.row + 1,
            column=self.column + 1,
        )


@dataclass(frozen=True)
class Snapped:
    """A colour that was no yarn, with the yarn that its knots were given and how far off that is."""

    stranger: Stranger
    code: str
    de00: float


def _bands(pixels: NDArray[np.uint8]) -> Iterator[slice]:
    step = max(1, _BAND_PIXELS // pixels.shape[1])
    for first in range(0, len(pixels), step):
        yield slice(first, first + step)


def _packed(rgba: NDArray[np.uint8]) -> NDArray[np.uint32]:
    red, green, blue = (rgba[..., channel].astype(np.uint32) for channel in range(3))
    return np.asarray(red << np.uint32(16) | green << np.uint32(8) | blue)


def _pack(srgb: tuple[int, int, int]) -> int:
    return int.from_bytes(bytes(srgb), "big")


def _unpack(packed: int) -> tuple[int, int, int]:
    return packed >> 16, packed >> 8 & 255, packed & 255


def yarn_of_colour(yarns: tuple[Yarn, ...]) -> tuple[dict[int, int], set[int]]:
    """Return (packed colour to index of its first yarn, packed colours that several yarns share)."""
    index_of: dict[int, int] = {}
    shared = set()
    for index, yarn in enumerate(yarns):
        colour = _pack(yarn.srgb)
        if colour in index_of:
            shared.add(colour)
        else:
            index_of[colour] = index
    return index_of, shared


def _lookup(packed: NDArray[np.uint32], index_of: dict[int, int]) -> KnotArray:
    """Return the yarn of each colour, NO_KNOT where it has none."""
    colours = np.array(sorted(index_of), dtype=np.uint32)
    indices = np.array([index_of[int(colour)] for colour in colours], dtype=np.uint16)
    place = np.minimum(np.searchsorted(colours, packed), len(colours) - 1)
    return np.where(colours[place] == packed, indices[place], np.uint16(NO_KNOT)).astype(np.uint16)


def _check_edges(rgba: NDArray[np.uint8]) -> None:
    """Refuse half-transparent pixels."""
    soft, place = 0, (0, 0)
    for band in _bands(rgba):
        alpha = rgba[band, :, 3]
        found = (alpha != 0) & (alpha != OPAQUE)
        if count := int(found.sum()):
            row, column = np.argwhere(found)[-1]
            soft, place = soft + count, (len(rgba) - band.start - int(row), int(column) + 1)
    if soft:
        message = say_n(
            "{n} pixel is half transparent, in row {row}, column {column}; draw with a hard pencil, without "
            "smoothing, or let it take the nearest yarn with --snap",
            "{n:,} pixels are half transparent, the first in row {row}, column {column}; draw with a hard pencil, "
            "without smoothing, or let each take the nearest yarn with --snap",
            soft,
            row=place[0],
            column=place[1],
        )
        raise KnotFileError(message)


def _count(
    strangers: dict[int, Stranger], packed: NDArray[np.uint32], rows: NDArray[np.intp], columns: NDArray[np.intp]
) -> None:
    """Add the pixels `packed`, which stand in rising grid order, to `strangers`."""
    colours, first, counts = np.unique(packed, return_index=True, return_counts=True)
    for colour, place, count in zip(colours.tolist(), first.tolist(), counts.tolist(), strict=True):
        known = strangers.get(colour)
        if known is None:
            strangers[colour] = Stranger(_unpack(colour), count, int(rows[place]), int(columns[place]))
        else:
            strangers[colour] = Stranger(known.srgb, known.knots + count, known.row, known.column)


def _refuse(strangers: tuple[Stranger, ...]) -> None:
    knots = sum(stranger.knots for stranger in strangers)
    named = "; ".join(stranger.words for stranger in strangers[:MOST_NAMED])
    if len(strangers) > MOST_NAMED:
        one, many = "{named}; and {n} colour more", "{named}; and {n:,} colours more"
        named = say_n(one, many, len(strangers) - MOST_NAMED, named=named)
    message = say_n(
        "{n} knot has a colour that no yarn of the map has: {named}. Paint it in a yarn's colour, name the rug file if "
        "it is another yarn of its card (--rug RUG.toml), or let it take the nearest yarn (--snap)",
        "{n:,} knots have a colour that no yarn of the map has: {named}. Paint them in a yarn's colour, name the rug "
        "file if they are other yarns of its card (--rug RUG.toml), or let each take the nearest yarn (--snap)",
        knots,
        named=named,
    )
    raise KnotFileError(message)


def _snap(strangers: tuple[Stranger, ...], yarns: tuple[Yarn, ...]) -> dict[int, tuple[int, float]]:
    """Return the yarn nearest to each stranger by CIEDE2000 with the difference, by packed colour."""
    lab = lab_from_srgb8(np.array([stranger.srgb for stranger in strangers], dtype=np.uint8))
    nearest = {}
    step = max(1, 500_000 // len(yarns))
    for first in range(0, len(strangers), step):
        away = ciede2000(lab[first : first + step, None], lab_of(yarns)[None])
        index = away.argmin(axis=1)
        for stranger, yarn, row in zip(strangers[first : first + step], index.tolist(), away, strict=True):
            nearest[_pack(stranger.srgb)] = (yarn, float(row[yarn]))
    return nearest


def knots_of_pixels(
    rgba: NDArray[np.uint8], yarns: tuple[Yarn, ...], *, snap: bool
) -> tuple[KnotArray, tuple[Snapped, ...]]:
    """Return the knots that the colours of an edited map say, with what was snapped.

    Parameters
    ----------
    rgba : ndarray of uint8, shape (rows, columns, 4)
        Top row (the last woven) first, as in a raster file.
    yarns : tuple of Yarn
        At least one. Two yarns of the same colour cannot be told apart.
    snap : bool
        Whether a colour that no yarn has takes the nearest yarn by CIEDE2000 and a half-transparent pixel counts as
        a knot from half upwards. Otherwise both are refused.

    Returns
    -------
    knots : ndarray of uint16, shape (rows, columns)
        Row 0 is the first woven; indices into `yarns`; NO_KNOT where the pixel is transparent.
    snapped : tuple of Snapped
        Most knots first; empty unless `snap`.

    Raises
    ------
    KnotFileError
        Naming colours that no yarn has with their knots and places, yarns that cannot be told apart, or
        half-transparent pixels.
    """
    if not snap:
        _check_edges(rgba)
    index_of, shared = yarn_of_colour(yarns)
    upward = rgba[::-1]
    knots = np.empty(rgba.shape[:2], dtype=np.uint16)
    strangers: dict[int, Stranger] = {}
    used: set[int] = set()
    for band in _bands(upward):
        packed, tied = _packed(upward[band]), upward[band, :, 3] >= HALF
        knots[band] = np.where(tied, _lookup(packed, index_of), NO_KNOT)
        used.update(np.unique(knots[band]).tolist())
        rows, columns = np.nonzero(tied & (knots[band] == NO_KNOT))
        _count(strangers, packed[rows, columns], rows + band.start, columns)
        if len(strangers) > MOST_STRANGERS:
            raise KnotFileError(
                say(
                    "more than {most:,} colours belong to no yarn: this is not a touched-up knot map; convert it as "
                    "artwork",
                    most=MOST_STRANGERS,
                )
            )
    _check_told_apart(yarns, shared, used)
    if not strangers:
        return knots, ()
    ordered = tuple(sorted(strangers.values(), key=lambda s: (-s.knots, s.row, s.column)))
    if not snap:
        _refuse(ordered)
    nearest = _snap(ordered, yarns)
    every = {colour: yarn for colour, (yarn, _) in nearest.items()}
    for band in _bands(upward):
        strange = (knots[band] == NO_KNOT) & (upward[band, :, 3] >= HALF)
        knots[band][strange] = _lookup(_packed(upward[band])[strange], every)
    return knots, tuple(Snapped(s, yarns[nearest[_pack(s.srgb)][0]].code, nearest[_pack(s.srgb)][1]) for s in ordered)


def _check_told_apart(yarns: tuple[Yarn, ...], shared: set[int], used: set[int]) -> None:
    """Refuse a picture that shows a colour which two yarns share."""
    for colour in sorted(shared):
        alike = [(index, yarn) for index, yarn in enumerate(yarns) if _pack(yarn.srgb) == colour]
        if any(index in used for index, _ in alike):
            *firsts, last = (yarn.code for _, yarn in alike)
            raise KnotFileError(
                say(
                    "yarns {firsts} and {last} have the same colour, {colour}, and the editor did not keep the palette "
                    "that told them apart; give one of them another colour before the map is edited",
                    firsts=", ".join(firsts),
                    last=last,
                    colour=hex_of(_unpack(colour)),
                )
            )
