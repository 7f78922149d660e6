"""Where the artwork is transparent, the yarn of the ground is tied."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.report import Tally
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import guess
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.times import Times
from chartmaker.order.design import Design, Region, YarnChoice
from chartmaker.yarns.yarn import Yarn


def grounds_of(design: Design, regions: tuple[Region, ...]) -> tuple[str | None, ...]:
    """Return the code of the ground's yarn for what lies in no region, and then for each region."""
    return (design.ground, *(design.ground if region.ground is None else region.ground for region in regions))


def with_ground(
    card: tuple[Yarn, ...], design: Design, choice: YarnChoice, regions: tuple[Region, ...] = ()
) -> YarnChoice:
    """Return the choice of yarns, with the yarns of the grounds among those to keep.

    Raises
    ------
    RugError
        If there is no card, or a ground's yarn is not on it or is to be skipped.
    """
    named = [("[design]", design.ground)]
    named += [(f"[[region]] {number}", region.ground) for number, region in enumerate(regions, start=1)]
    for table, code in named:
        if code is not None:
            choice = _with_code(card, table, code, choice)
    return choice


def _with_code(card: tuple[Yarn, ...], table: str, code: str, choice: YarnChoice) -> YarnChoice:
    codes = [yarn.code for yarn in card]
    if not card:
        message = "{table} ground names {code!r}, but there is no yarn card to take it from"
        raise RugError(say(message, table=table, code=code))
    if code not in codes:
        near = guess(code.upper(), codes)
        message = "{table} ground names {code!r}, which is not on the card"
        if near:
            message = "{table} ground names {code!r}, which is not on the card; did you mean {near}?"
        raise RugError(say(message, table=table, code=code, near=near))
    if code in choice.skip:
        message = "{table} ground and [yarns] skip both name {code!r}; leave it in one of them"
        raise RugError(say(message, table=table, code=code))
    return choice if code in choice.keep else choice.model_copy(update={"keep": (*choice.keep, code)})


def lay_ground(
    knots: NDArray[np.uint16],
    tally: Tally,
    yarns: tuple[Yarn, ...],
    grounds: tuple[str | None, ...],
    region_of: ByteArray | None,
    outline: NDArray[np.bool_] | None,
    times: Times,
) -> None:
    """Give every empty cell inside the rug's own outline the yarn of its ground, in place, and count it as a match.

    Parameters
    ----------
    knots : ndarray of uint16, shape (rows, columns)
    tally : Tally
    yarns : tuple of Yarn
    grounds : tuple of str or None
        The code of the ground's yarn for what lies in no region, and then for each region.
    region_of : ndarray of uint8, shape (rows, columns), or None
        The region of each cell, or None if there are no regions.
    outline : ndarray of bool, shape (rows, columns), or None
    times : Times
        How often each cell is woven.
    """
    if not any(grounds):
        return
    empty = knots == NO_KNOT
    if outline is not None:
        empty &= outline
    for code in sorted({code for code in grounds if code is not None}):
        here = empty
        if region_of is not None:
            here = empty & np.array([ground == code for ground in grounds])[region_of]
        ground = next(index for index, yarn in enumerate(yarns) if yarn.code == code)
        knots[here] = ground
        if here.any():
            tally.add(np.array([ground]), np.zeros(1), np.array([float(times.woven(here))]))
