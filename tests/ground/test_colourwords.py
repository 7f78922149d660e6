"""The plain words for colours agree with published names, and another language can have its own words."""

import numpy as np
import pytest
from PIL import ImageColor

from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.ground.colourwords import WORDS, colour_words, words_apart
from chartmaker.ground.language import speaking


def _word(colour: str) -> str:
    return colour_words(lab_from_srgb8(np.array(ImageColor.getrgb(colour)[:3], dtype=np.uint8)))[0]


# These are named colours of CSS Color Module Level 4 (W3C) whose name is a plain word of the table, or two run
# together.
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
# These are centroids of ISCC-NBS colour names (Kelly and Judd 1976) in sRGB, from memory: strong brown, dark brown,
# deep red, moderate pink, vivid orange, strong blue-green, medium gray and deep blue.
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
def test_the_word_for_a_colour_agrees_with_published_names(colour: str, word: str) -> None:
    assert _word(colour) == word


def test_many_colours_keep_their_order_and_each_typical_colour_has_its_own_word() -> None:
    typical = [(word, each) for word, colours in WORDS.items() for each in colours]
    labs = [lab_from_srgb8(np.array(ImageColor.getrgb(each), dtype=np.uint8)) for _, each in typical]
    assert list(colour_words(labs)) == [word for word, _ in typical]


def test_the_words_are_looked_up_in_the_language_in_force() -> None:
    class Loud:
        """A language of capitals, which shows whether a word was looked up."""

        def sentence(self, template: str) -> str:
            return template.upper()

        def plural(self, one: str, many: str, number: int) -> str:
            return many

    with speaking(Loud()):
        assert _word("#ffffff") == "WHITE"


# A caller could not tell these yarns of one rug apart by the plain word alone (common practice: of two blues a dyer
# speaks of the darker one, and numbers a scale of shades from one end).
@pytest.mark.parametrize(
    ("labs", "words"),
    [
        ([(24, 8, -30), (60, 0, 0), (30, 8, -30)], ["dark blue, darker", "grey", "dark blue, lighter"]),
        ([(30, 5, -22), (28.5, 10, -34)], ["dark blue, duller", "dark blue, brighter"]),
        ([(40, 60, 40), (40, 64, 34)], ["red, yellower", "red, bluer"]),
        ([(60, 11, 26), (60, 8, 28)], ["light brown, redder", "light brown, greener"]),
        ([(24, 8, -30), (24, 8.5, -30)], ["dark blue", "dark blue"]),
        ([(30, 8, -30), (22, 8, -30), (26, 8, -30)], ["dark blue 3", "dark blue 1", "dark blue 2"]),
        ([], []),
    ],
)
def test_yarns_of_one_rug_have_words_that_tell_them_apart(
    labs: list[tuple[float, float, float]], words: list[str]
) -> None:
    found = words_apart(tuple(labs))
    assert [each.told for each in found] == [each.english for each in found] == words


def test_the_words_of_a_rug_all_differ_and_each_is_true() -> None:
    rng = np.random.default_rng(3)
    more_of = {"lighter": 0, "redder": 1, "yellower": 2}
    less_of = {"darker": 0, "greener": 1, "bluer": 2}
    for _ in range(150):
        centre = rng.uniform((20, -40, -40), (80, 40, 40))
        labs = tuple(tuple(each) for each in (centre + rng.normal(0, 5, (rng.integers(2, 7), 3))).tolist())
        words = [each.told for each in words_apart(labs)]
        plain = colour_words(labs)
        for place, word in enumerate(words):
            assert word.startswith(plain[place])
            twins = [other for other in range(len(labs)) if plain[other] == plain[place] and other != place]
            finer = word.removeprefix(plain[place]).strip(", ")
            if len(twins) > 1:
                darker = [other for other in twins if labs[other][0] < labs[place][0]]
                assert finer == str(len(darker) + 1)
            elif not twins or np.linalg.norm(np.subtract(labs[place], labs[twins[0]])) < 1:
                assert not finer
            else:
                other = twins[0]
                chroma = [float(np.hypot(*labs[each][1:])) for each in (place, other)]
                if finer in more_of:
                    assert labs[place][more_of[finer]] > labs[other][more_of[finer]]
                elif finer in less_of:
                    assert labs[place][less_of[finer]] < labs[other][less_of[finer]]
                else:
                    assert (chroma[0] > chroma[1]) == (finer == "brighter") and finer in ("brighter", "duller")
                if abs(labs[place][0] - labs[other][0]) > 3:
                    assert finer in ("lighter", "darker")
