"""One design in all the sizes of its rug file, as a collection of its own."""

from __future__ import annotations

from pathlib import Path

from chartmaker.collection.combining import wanted_of
from chartmaker.collection.told import Season
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.jobs.orders import read_order
from chartmaker.order.collectionfile import Calendar, CollectionFile, Sets, Store
from chartmaker.order.rugfile import RugFile, Tables


def sizes_of(path: Path | str) -> Season:
    """Return a set for each of a rug file's [sizes], the design laid anew in each.

    Where [layout] does not say for which size the artwork is drawn, it is drawn for that of [rug].

    Raises
    ------
    RugError
        If the rug file is wrong, or names no sizes.
    """
    path = Path(path)
    order = read_order(path)
    if not order.sizes.of:
        raise RugError(
            say('no sizes: say [sizes] of = ["5x8 ft", "8x10 ft"] in the rug file, or give --size'), where=inert(path)
        )
    return Season(file := _as_collection(order, path), wanted_of(file, (path.absolute(),)))


def _as_collection(order: RugFile, path: Path) -> CollectionFile:
    every: Tables = {}
    if order.design.fit is None:
        every["design"] = {"fit": "relay"}
    if order.layout.drawn_mm is None:
        every["layout"] = {"drawn": f"{float(order.rug.width_mm):.6g}x{float(order.rug.length_mm):.6g} mm"}
    return CollectionFile(
        sets=Sets(name=order.rug.name, rugs=(path.name,)),
        sizes=order.sizes.of,
        colourways={},
        qualities={},
        every=every,
        dye=None,
        store=Store(),
        looms={},
        calendar=Calendar(),
        orders={},
        folder=path.parent.absolute(),
        path=path,
    )
