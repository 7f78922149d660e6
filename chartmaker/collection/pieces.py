"""The pieces to be woven: as many of each set as its orders ask for, in the order of the file."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from chartmaker.collection.combining import Wanted, matches
from chartmaker.collection.told import Told
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.order.collectionfile import CollectionFile, Order


@dataclass(frozen=True)
class Ordered:
    """One rug to weave: its set and the record of that, the order, and the first day on which it may be begun."""

    name: str
    order: str
    record: Mapping[str, Any]
    not_before: date | None = None


def check_orders(file: CollectionFile, wanted: Sequence[Wanted], chosen: Collection[str] = ()) -> None:
    """Refuse an order that asks for no set, and a chosen order that the file does not have.

    Raises
    ------
    RugError
    """
    names, where = [each.name for each in wanted], inert(file.path)
    for name, order in file.orders.items():
        for pattern in order.sets:
            if not any(matches(each, (pattern,)) for each in names):
                message = say("no set is named {pattern}", pattern=inert(pattern))
                raise RugError(message, where=", ".join((where, "[orders] sets", inert(name))))
    for name in chosen:
        if name not in file.orders:
            known = ", ".join(map(inert, file.orders))
            if not known:
                raise RugError(say("there is no order {name}: the file has none", name=inert(name)), where=where)
            raise RugError(
                say("there is no order {name}; there is {known}", name=inert(name), known=known), where=where
            )


def pieces_of(told: Told, chosen: Collection[str] = ()) -> tuple[Ordered, ...]:
    """Return the pieces of all orders, or of the chosen ones; without orders, one piece of each set.

    Sets that could not be made are left out, because nothing is known of them.
    """
    orders: Mapping[str, Order] = told.season.file.orders or {"": Order()}
    return tuple(
        piece
        for name, order in orders.items()
        if not chosen or name in chosen
        for piece in _of_order(told, name, order)
    )


def _of_order(told: Told, name: str, order: Order) -> Iterator[Ordered]:
    for each in told.sets:
        if each.record is not None and matches(each.wanted.name, order.sets):
            for _ in range(order.pieces):
                yield Ordered(each.wanted.name, name, each.record, order.start)
