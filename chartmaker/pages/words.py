"""The words of a page as one table, which its frame is filled from and its scripts look words up in."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from chartmaker.ground.language import in_force, say

#: From so many on, the last two figures alone decide the plural, as in every language known to gettext.
_NUMBERS = 200


def word_table(sentences: Mapping[str, str], counted: Mapping[str, tuple[str, str]]) -> dict[str, Any]:
    """Return the words that a page carries: a sentence by its key, or the forms of one that counts things.

    Of those, ``forms`` are the sentences, ``usual`` the one that most numbers take, ``others`` which ones the other
    numbers below 200 take; larger numbers go by their last two figures.
    """
    catalogue = in_force()
    table: dict[str, Any] = {key: catalogue.sentence(words) for key, words in sentences.items()}
    for key, (one, many) in counted.items():
        said = [catalogue.plural(one, many, number) for number in range(_NUMBERS)]
        forms = sorted(set(said), key=said.index)
        usual = max(forms, key=said.count)
        others = {str(number): forms.index(words) for number, words in enumerate(said) if words != usual}
        table[key] = {"forms": forms, "usual": forms.index(usual), "others": others}
    return table


def filled(frame: str, sentences: Mapping[str, str], filling: Mapping[str, Iterable[str]]) -> Iterator[str]:
    """Yield the text of a page: the frame, with ``{{w:key}}`` said in place, and every other ``{{key}}`` filled in."""
    for number, piece in enumerate(re.split(r"\{\{([\w:]+)\}\}", frame)):
        if number % 2 == 0:
            yield piece
        elif piece.startswith("w:"):
            yield html.escape(say(sentences[piece.removeprefix("w:")]), quote=True)
        else:
            yield from filling[piece]
