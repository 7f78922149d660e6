"""Knot maps opened, together with what a rug file or the command line says about them."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from chartmaker.artwork.outline import outline_of
from chartmaker.checks.places import places_where, where_words
from chartmaker.ground.errors import KnotFileError, SheetError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.knotpng import Description, read_description, read_knotpng
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rugfile import RugFile, Tables, from_tables, merge, read_rugfile, to_tables
from chartmaker.order.workshop import Workshop
from chartmaker.paper.symbols.assigning import with_symbols
from chartmaker.yarns.card import read_card
from chartmaker.yarns.yarn import Yarn

#: The largest fonts, those with Chinese characters, have 20 to 40 MB.
MOST_FONT_BYTES = 100_000_000
#: The tables of a rug file that a knot map is made from; options for them mean that the subject is an artwork.
_OF_AN_ORDER = ("rug", "design", "yarns")


def _check_kind(path: Path) -> None:
    """Refuse a set's folder and a rug file with a word on what is wanted in their place."""
    inner = path / "knots.png"
    if os.path.isfile(inner):  # noqa: PTH113 - a name that no system takes is no file, where a Path would fail on it
        raise KnotFileError(
            say("this is a folder; give the knot map in it, {inner}", inner=inert(inner)), where=inert(path)
        )
    if path.suffix.lower() == ".toml":
        raise KnotFileError(
            say("this is a rug file; give the knot map that make or knot makes of it, such as knots.png"),
            where=inert(path),
        )


def read_map(
    path: Path | str, rug: Path | str | None = None, over: Tables | None = None, *, snap: bool = False
) -> MapFile:
    """Return the knot map at `path`, perhaps edited since it was written, with the settings in force for it.

    A map carries what the loom and the dyer need. Prices, the stock of yarns and a font for the sheets are kept beside
    it: they come from the rug file and its card, or from `over`.

    Parameters
    ----------
    path : Path or str
        The knot map, a PNG.
    rug : Path or str, optional
        The rug file (.toml): its settings override the map's own, its card gives prices and stock, and both supply what
        an editor dropped from the map. Or an older knot map of the rug (.png), which only supplies what was dropped.
    over : dict of dict, optional
        Tables of a rug file whose keys override both.
    snap : bool
        Whether colours that no yarn has take the nearest yarn.

    Returns
    -------
    MapFile
        The map and the settings beside it.

    Raises
    ------
    ChartmakerError
        If any of the files cannot be read, a value is wrong, or the map and the rug file belong to different rugs.

    Examples
    --------
    >>> found = read_map("knots.png", over={"chart": {"paper": "A3"}})
    >>> found.knot_map.tied, found.workshop.chart.paper
    (3840, 'A3')
    """
    path, rug = Path(path), None if rug is None else Path(rug)
    _check_kind(path)
    over, read = over or {}, (path,) if rug is None else (path, rug)
    if rug is not None and rug.suffix.lower() == ".toml":
        order = read_rugfile(rug, over)
        found = read_knotpng(path, describe_order(order), snap=snap)
        _check_grid(found.knot_map, order, rug)
        return _under(found, order, read)
    found = read_knotpng(path, None if rug is None else read_description(rug), snap=snap)
    if not over:
        return replace(found, inputs=read)
    tables = merge(to_tables(found.knot_map.rug, found.workshop), over)
    return _under(found, from_tables(tables, where=say("the command line")), read)


def is_order(subject: Path, over: Tables) -> bool:
    """Return whether a job is given an order: a rug file, or a picture with what only an artwork takes in `over`."""
    return subject.suffix.lower() == ".toml" or any(over.get(table) for table in _OF_AN_ORDER)


def read_edited(path: Path | str, rug: Path | str | None = None, *, snap: bool = False) -> MapFile:
    """Return a knot map that was edited by hand, after checking that all its knots lie within the rug's shape.

    Parameters
    ----------
    path : Path or str
        The edited map, a PNG.
    rug, snap
        As `read_map` takes them.

    Returns
    -------
    MapFile
        The map and the settings beside it.

    Raises
    ------
    ChartmakerError
        As `read_map`, and if knots were painted outside the ellipse or octagon; the message names their places.

    Examples
    --------
    >>> read_edited("knots.png").knot_map.tied
    3840
    """
    found = read_map(path, rug, snap=snap)
    outline = outline_of(found.knot_map.rug)
    if outline is None:
        return found
    beyond = (found.knot_map.knots != NO_KNOT) & ~outline[::-1]
    number = int(beyond.sum())
    if number:
        places = places_where(beyond)
        raise KnotFileError(
            say_n(
                "{n} knot is painted outside the rug's shape ({shape}): {places}; rub it out, or give the rug file "
                "another shape",
                "{n:,} knots are painted outside the rug's shape ({shape}): {places}; rub them out, or give the rug "
                "file another shape",
                number,
                shape=found.knot_map.rug.shape,
                places=where_words(places),
            ),
            where=inert(path),
        )
    return found


def describe_order(order: RugFile) -> Description:
    """Return what a rug file, and its card if it names one, says about a knot map.

    Raises
    ------
    CardError
        If the card cannot be read.
    """
    return Description(order.rug, order.workshop, _card_of(order))


def _card_of(order: RugFile) -> tuple[Yarn, ...]:
    return () if order.card is None else with_symbols(read_card(order.card))


def _check_grid(knot_map: KnotMap, order: RugFile, rug: Path) -> None:
    if (knot_map.columns, knot_map.rows) != (order.rug.columns, order.rug.rows):
        raise KnotFileError(
            say(
                "the rug file asks for {columns} x {rows} knots, but the knot map has {map_columns} x {map_rows}: name "
                "the rug file that it was made from, with the size and the density that it had then",
                columns=order.rug.columns,
                rows=order.rug.rows,
                map_columns=knot_map.columns,
                map_rows=knot_map.rows,
            ),
            where=inert(rug),
        )


def _under(found: MapFile, order: RugFile, read: tuple[Path, ...]) -> MapFile:
    """Return the map with the rug and the settings of the order, and the stock and the prices of its card."""
    yarns = _stocked(found.knot_map.yarns, _card_of(order))
    knot_map = KnotMap(found.knot_map.knots, yarns, order.rug)
    return MapFile(knot_map, order.workshop, found.snapped, order.folder, (*read, *order.inputs))


def _stocked(yarns: tuple[Yarn, ...], card: tuple[Yarn, ...]) -> tuple[Yarn, ...]:
    """Return the yarns with the stock and the price that the card gives for their codes."""
    by_code = {yarn.code: yarn for yarn in card}
    return tuple(
        replace(yarn, stock_g=kept.stock_g, price_per_kg=kept.price_per_kg)
        if (kept := by_code.get(yarn.code))
        else yarn
        for yarn in yarns
    )


def read_font(workshop: Workshop, folder: Path) -> bytes | None:
    """Return the font file that [chart] font names, if it names one.

    Raises
    ------
    SheetError
        If the font cannot be read.
    """
    if workshop.chart.font is None:
        return None
    return read_whole(folder / workshop.chart.font, MOST_FONT_BYTES, SheetError, say("font of [chart] font"))
