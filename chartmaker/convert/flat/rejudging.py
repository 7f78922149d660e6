"""Hairlines that parts of the grid would judge otherwise than other parts are judged once, as a whole."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import Window
from chartmaker.convert.flat.hairlines import NARROWEST, SHORTEST
from chartmaker.convert.flat.likeness import BLOCK, Block, widened
from chartmaker.convert.flat.threads import Threads, all_of


def judged_in(parts: list[Threads], blocks: list[Block]) -> Threads | None:
    """Return the crossings of which their hairline as a whole is judged otherwise, or None if there are none.

    A hairline is as faint as it is on average. A stroke that goes on wider is left as it is, and so is what
    mostly lies close between others, because that is a gap rather than a line.

    Parameters
    ----------
    parts : list of Threads
        The hairlines of all tiles.
    blocks : list of Block
        Those that are like earlier cells have the hairlines of these.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    if not any(part.faint.any() for part in parts) or all(part.faint.all() for part in parts):
        return None
    threads = _with_copies(all_of(parts), blocks)
    order = np.argsort(threads.name)
    names, size = threads.name[order], len(threads)
    one, other = (np.minimum(np.searchsorted(names, side), size - 1) for side in (threads.one, threads.other))
    known = (names[one] == threads.one) & (names[other] == threads.other)
    graph = coo_array((np.ones(int(known.sum()), dtype=np.int8), (one[known], other[known])), shape=(size, size))
    count, line = connected_components(graph, directed=False)
    number = np.empty(size, dtype=np.intp)
    number[order] = line
    times, out = np.bincount(number, minlength=count), np.bincount(number, threads.faint, count)
    thin = np.bincount(number, threads.width.astype(np.float64), count) < NARROWEST * times
    mixed = (out > 0) & (out < times) & (times >= SHORTEST) & (np.bincount(number, threads.swells, count) == 0)
    mixed &= 2 * np.bincount(number, threads.lone, count) > times
    changed = mixed[number] & (threads.faint != thin[number])
    return threads.chosen(changed, slice(0)) if changed.any() else None


def _with_copies(threads: Threads, blocks: list[Block]) -> Threads:
    """Return the hairlines of all blocks, given those of the blocks that are like no others."""
    if all(block.like is None for block in blocks):
        return threads
    found = _by_block(threads)
    for block in blocks:
        if block.like is not None:
            step = _step(block)
            down, across = (range(side.start // BLOCK, (side.stop - 1) // BLOCK + 1) for side in block.like)
            near = [found[place] for place in ((y, x) for y in down for x in across) if place in found]
            if near:
                place = block.own[0].start // BLOCK, block.own[1].start // BLOCK
                found[place] = all_of(part.moved(block.like, step) for part in near)
    return all_of(found.values())


def _step(block: Block) -> tuple[int, int]:
    assert block.like is not None
    return block.own[0].start - block.like[0].start, block.own[1].start - block.like[1].start


def _by_block(threads: Threads) -> dict[tuple[int, int], Threads]:
    """Return the hairlines in each block that has any, by its place among the blocks."""
    own, out = (
        np.stack([row // BLOCK, column // BLOCK], axis=1)
        for row, column in ((threads.row, threads.column), (threads.one_row, threads.one_column))
    )
    places = np.unique(np.concatenate([own, out]), axis=0).tolist()
    return {
        (row, column): threads.chosen((own == (row, column)).all(axis=1), (out == (row, column)).all(axis=1))
        for row, column in places
    }


def judged_again(judged: Threads, blocks: list[Block], shape: tuple[int, int]) -> list[bool]:
    """Return which blocks are to be made anew, because the judged crossings are near that no other has alike."""
    return [
        not np.array_equal(
            _names(judged, _seen(block.own, shape)),
            np.empty(0) if block.like is None else _names(judged, _seen(block.like, shape), _step(block)),
        )
        for block in blocks
    ]


def _seen(window: Window, shape: tuple[int, int]) -> Window:
    return widened(window[0], shape[0]), widened(window[1], shape[1])


def _names(threads: Threads, window: Window, step: tuple[int, int] = (0, 0)) -> NDArray[np.int64]:
    return np.sort(threads.moved(window, step).name)
