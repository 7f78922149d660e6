"""Plain words for colours: they agree with published names, and whoever speaks another language gets their own."""

import numpy as np
import pytest
from PIL import ImageColor

from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.ground.colourwords import WORDS, colour_words
from chartmaker.ground.language import speaking


def _word(colour: str) -> str:
    return colour_words(lab_from_srgb8(np.array(ImageColor.getrgb(colour)[:3], dtype=np.uint8)))[0]


# CSS Color Module Level 4 (W3C): the named colours whose name is a plain word of the table, or two run together.
CSS = {
    "black": "black",
    "white": "white",
    "gray": "grey",
    "lightgray": "light grey",
    "red": "red",
    "darkred": "dark red",
    "pink": "pink",
    "deeppink": "deep pink",
    "orange": "orange",
    "yellow": "yellow",
    "olive": "olive",
    "yellowgreen": "yellow-green",
    "green": "green",
    "darkgreen": "dark green",
    "lightgreen": "light green",
    "teal": "blue-green",
    "blue": "blue",
    "darkblue": "dark blue",
    "lightblue": "pale blue",
    "blueviolet": "violet",
    "purple": "purple",
}
# Centroids of the ISCC-NBS colour names (Kelly and Judd 1976) in sRGB, from memory: strong brown, dark brown, deep
# red, moderate pink, vivid orange, strong blue-green, medium gray, deep blue.
NBS = {
    "#80461b": "brown",
    "#422518": "dark brown",
    "#841b2d": "dark red",
    "#dea5a4": "pink",
    "#f38400": "orange",
    "#007a74": "blue-green",
    "#848482": "grey",
    "#00416a": "dark blue",
}


@pytest.mark.parametrize(("colour", "word"), [*CSS.items(), *NBS.items()])
def test_the_word_is_the_one_that_published_tables_give(colour: str, word: str) -> None:
    assert _word(colour) == word


def test_many_colours_keep_their_order_and_each_typical_colour_has_its_own_word() -> None:
    typical = [(word, each) for word, colours in WORDS.items() for each in colours]
    labs = [lab_from_srgb8(np.array(ImageColor.getrgb(each), dtype=np.uint8)) for _, each in typical]
    assert list(colour_words(labs)) == [word for word, _ in typical]


def test_the_words_are_looked_up_in_the_language_in_force() -> None:
    class Loud:
        def sentence(self, template: str) -> str:
            return template.upper()

        def plural(self, one: str, many: str, number: int) -> str:
            return many

    with speaking(Loud()):
        assert _word("#ffffff") == "WHITE"
