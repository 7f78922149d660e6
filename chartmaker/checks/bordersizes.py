"""Borders that repeat after no whole number of knots, and the nearest sizes of the rug at which they do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.lengths import both_sizes
from chartmaker.ground.sentence import Sentence, later, listed
from chartmaker.order.wholesizes import BorderSizes, WholeGrid

#: How many knots a repeat takes at a place, in a rug with one border whose repeats are told, and in one with several.
_LENGTHS = {
    True: (phrase("{knots:g} at top and foot"), phrase("{knots:g} at top and foot of border {border} from the rim")),
    False: (phrase("{knots:g} at the sides"), phrase("{knots:g} at the sides of border {border} from the rim")),
}
_ONE_SIZE = phrase("{columns:,} x {rows:,} knots, {size}, at {knots} knots each")
_SIZE_OF_EACH = phrase("{columns:,} x {rows:,} knots, {size}, at so many each: {knots}")


def sizes_of_borders(borders: BorderSizes | None) -> Iterator[Finding]:
    """Yield a note if a border repeats after no whole number of knots, with the nearest sizes at which it does."""
    if borders is None or not borders.astray:
        return
    exact = [float(pitch.knots(borders.grid)) for pitch in borders.astray]
    near = [round(knots, 1) for knots in exact]
    drawn = _knots_words(borders, [round(knots, 2) for knots in exact] if any(map(float.is_integer, near)) else near)
    grids = [each for each in (borders.smaller, borders.larger) if each is not None]
    sizes = _either_size(
        [_size_words(borders, each) for each in grids], 100 * max((each.off_proportion for each in grids), default=0.0)
    )
    what = (
        later(
            "A border repeats every {knots} knots, which is no whole number, so its repeats come out unevenly spaced "
            "or unlike each other. {sizes}",
            knots=drawn[0],
            sizes=sizes,
        )
        if len(drawn) == 1
        else later(
            "Borders repeat every so many knots: {knots}. These are no whole numbers, so repeats come out unevenly "
            "spaced or unlike each other. {sizes}",
            knots=listed(drawn),
            sizes=sizes,
        )
    )
    yield Finding(what, "[rug] size", "note")


def _knots_words(borders: BorderSizes, knots: Sequence[float]) -> list[Sentence]:
    """Return the knots of each repeat that is not whole on the rug with where it is; once if all take as many."""
    if len(set(knots)) == 1:
        return [later("{knots:g}", knots=knots[0])]
    several = len({pitch.band for pitch in borders.astray}) > 1
    return [
        later(_LENGTHS[pitch.across][several], knots=count, border=pitch.band + 1)
        for pitch, count in zip(borders.astray, knots, strict=True)
    ]


def _size_words(borders: BorderSizes, whole: WholeGrid) -> Sentence:
    """Return a grid with its size, and how many knots repeats take on it."""
    knots = _knots_words(borders, [round(pitch.knots(whole.grid)) for pitch in borders.astray])
    size, (columns, rows) = both_sizes(whole.width_mm, whole.length_mm), whole.grid
    if len(knots) == 1:
        return later(_ONE_SIZE, columns=columns, rows=rows, size=size, knots=knots[0])
    return later(_SIZE_OF_EACH, columns=columns, rows=rows, size=size, knots=listed(knots))


def _either_size(sizes: list[Sentence], off: float) -> Sentence:
    """Return at which sizes repeats are whole, and by how many per cent the proportion of the rug then changes."""
    if not sizes:
        return later("No size of that proportion, up to a quarter smaller or larger, makes all of them whole.")
    if len(sizes) == 1:
        return later(
            "As drawn, repeats are whole with {size}; the proportion of the rug then changes by up to {off:.1f} %.",
            size=sizes[0],
            off=off,
        )
    return later(
        "As drawn, repeats are whole with {smaller}, or with {larger}; the proportion of the rug then changes by up to "
        "{off:.1f} %.",
        smaller=sizes[0],
        larger=sizes[1],
        off=off,
    )
