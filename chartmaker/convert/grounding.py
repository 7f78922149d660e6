"""The yarn that is tied where the artwork is transparent."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.report import Tally
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import guess
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.design import Design, YarnChoice
from chartmaker.yarns.yarn import Yarn


def with_ground(card: tuple[Yarn, ...], design: Design, choice: YarnChoice) -> YarnChoice:
    """Return the choice of yarns with the ground's among those to keep.

    Raises
    ------
    RugError
        If there is no card, the ground's yarn is not on it, or it is to be skipped.
    """
    code = design.ground
    if code is None:
        return choice
    codes = [yarn.code for yarn in card]
    if not card:
        raise RugError(say("[design] ground names {code!r}, but there is no yarn card to take it from", code=code))
    if code not in codes:
        near = guess(code.upper(), codes)
        if near:
            message = "[design] ground names {code!r}, which is not on the card; did you mean {near}?"
            raise RugError(say(message, code=code, near=near))
        raise RugError(say("[design] ground names {code!r}, which is not on the card", code=code))
    if code in choice.skip:
        message = "[design] ground and [yarns] skip both name {code!r}; leave it in one of them"
        raise RugError(say(message, code=code))
    return choice if code in choice.keep else choice.model_copy(update={"keep": (*choice.keep, code)})


def lay_ground(
    knots: NDArray[np.uint16],
    tally: Tally,
    yarns: tuple[Yarn, ...],
    code: str,
    outline: NDArray[np.bool_] | None,
    weights: tuple[NDArray[np.int64], NDArray[np.int64]],
) -> None:
    """Give every empty cell inside the rug's own outline the ground's yarn, in place, and count it as a match.

    `weights` says how often each row and each column counts.
    """
    empty = knots == NO_KNOT
    if outline is not None:
        empty &= outline
    ground = next(index for index, yarn in enumerate(yarns) if yarn.code == code)
    knots[empty] = ground
    if empty.any():
        times = float(weights[0] @ empty @ weights[1])
        tally.add(np.array([ground]), np.zeros(1), np.array([times]))
