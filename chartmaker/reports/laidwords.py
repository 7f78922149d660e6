"""What each part of a design comes to in one size, in a few words, so that sizes can be held against each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from chartmaker.ground.language import say, say_n


def laid_words(layout: Mapping[str, Any] | None) -> list[tuple[str, str]]:
    """Return the parts of a design that is laid anew, each with what it comes to; none if it is not.

    Parameters
    ----------
    layout : mapping, optional
        The table ``layout`` of summary.json.
    """
    if layout is None:
        return []
    field = say("{columns:,} x {rows:,} knots", columns=layout["field_columns"], rows=layout["field_rows"])
    return [(say("field"), field), *_bands(layout)]


def _bands(layout: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the width of each band and how its repeats come out."""
    around = layout.get("repeats_around", ())
    for number, band in enumerate(layout["bands"], start=1):
        widths = band["width_knots"]
        words = say("{across} knots wide at the sides, {along} at the ends", across=widths["left"], along=widths["top"])
        yield say("band {number}", number=number), words
        if number <= len(around) and around[number - 1]:
            repeats = say_n("{n} repeat", "{n} repeats", around[number - 1])
            yield say("band {number}, all round", number=number), repeats
        for side, name in (
            ("bottom", say("band {number}, across", number=number)),
            ("left", say("band {number}, along", number=number)),
        ):
            if band["sides"][side] is not None:
                yield name, _repeats(band["sides"][side])


def _repeats(side: Mapping[str, Any]) -> str:
    """Return how many repeats lie along a side, and what gives so that they come out."""
    repeats = say_n("{n} repeat", "{n} repeats", side["repeats"])
    spare = side["spare_knots"]
    if not spare:
        return repeats
    if side["spare_lies_in"] == "ground":
        return say("{repeats}, {knots:+} knots of ground", repeats=repeats, knots=spare)
    share = 100 * spare / (side["repeats"] * side["repeat_knots"])
    return say("{repeats}, pulled by {share:+.1f} %", repeats=repeats, share=share)
