"""The table of the yarn in stock, with a code and its grams on each line."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

from chartmaker.ground.errors import CardError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.textfile import text_of
from chartmaker.ground.textsafe import inert
from chartmaker.yarns.yarn import MOST_AMOUNT

_MOST_BYTES = 10_000_000


def read_stock(path: Path) -> dict[str, float]:
    """Return the grams in stock by code; further columns are left alone.

    Raises
    ------
    CardError
        If the table cannot be read, lacks a column, or says something impossible.
    """
    where, what = inert(path), say("table of the stock")
    text = text_of(read_whole(path, _MOST_BYTES, CardError, what), CardError, what, where)
    try:
        rows = list(csv.DictReader(io.StringIO(text), strict=True))
    except csv.Error as error:
        raise CardError(say("this is not a CSV table: {fault}", fault=inert(error)), where=where) from error
    stock: dict[str, float] = {}
    for number, row in enumerate(rows, start=2):
        code, given = (row.get("code") or "").strip(), (row.get("stock_g") or "").strip()
        try:
            grams = float(given)
        except ValueError:
            grams = math.nan
        if not code or not 0 <= grams < MOST_AMOUNT:
            message = say("line {number} needs a code and stock_g, a number of zero or more", number=number)
            raise CardError(message, where=where)
        if code in stock:
            raise CardError(say("line {number}: {code} is there twice", number=number, code=inert(code)), where=where)
        stock[code] = grams
    return stock
