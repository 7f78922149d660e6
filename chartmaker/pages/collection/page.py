"""The page of a collection: every rug to scale with its figures, the dye order, the looms, in one HTML file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from chartmaker.pages.collection.words import COUNTED, SENTENCES
from chartmaker.pages.frames import LANGUAGE, facts_element, framed
from chartmaker.pages.words import word_table


def collection_page(record: Mapping[str, Any]) -> Iterator[str]:
    """Yield the text of the page, piece by piece; joined and written as UTF-8 it is the file.

    Parameters
    ----------
    record : mapping
        What collection.json says: collection, sets, store and looms.
    """
    facts = {
        "language": LANGUAGE,
        "words": word_table(SENTENCES, COUNTED),
        **{key: record[key] for key in ("collection", "sets", "store", "looms")},
    }
    title = record["collection"]["name"]
    yield from framed("collection", title, SENTENCES, facts_element(facts), pictures=True)
