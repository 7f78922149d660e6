"""A plain word for a colour, as it is said across the loom: dark red, pale blue, ochre.

A code is soon misread and a trade name says nothing to whoever has not seen the yarn. The word is that of the nearest
colour of a table, by CIEDE2000. The table is ours: everyday words, each with one or several typical colours of dyed
yarn in sRGB. A word that two people would give to different yarns is left out.

Where two yarns of one rug get the same word, each gets a finer one: of two, the darker and the lighter are told apart,
or, where they are about equally dark, the brighter and the duller or how their hues differ. Three or more are numbered
from the darkest. Yarns whose colours nobody could tell apart keep their word, since their codes alone part them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from chartmaker.ground.colour import ciede2000, lab_from_srgb8
from chartmaker.ground.language import phrase, say

#: Each word with its typical colours.
WORDS: dict[str, tuple[str, ...]] = {
    phrase("white"): ("#f7f5ef", "#ffffff"),
    phrase("cream"): ("#ece2ca", "#fff8dc"),
    phrase("beige"): ("#d6c2a0", "#c8b296"),
    phrase("light grey"): ("#c6c4bf", "#d8d7d4"),
    phrase("grey"): ("#8e8b87", "#a5a29d", "#75736f"),
    phrase("dark grey"): ("#55534f", "#444343"),
    phrase("black"): ("#1d1b1b", "#000000", "#2a2726"),
    phrase("light brown"): ("#b08b63", "#a67b5b", "#c29b72"),
    phrase("brown"): ("#7a5233", "#6b4a33", "#80461b"),
    phrase("dark brown"): ("#452a1d", "#32201a"),
    phrase("red-brown"): ("#8a432f", "#a0522d"),
    phrase("pale pink"): ("#efd0c8", "#f4c2c2"),
    phrase("pink"): ("#e2a09f", "#de8fa0", "#ffb0c0"),
    phrase("deep pink"): ("#cb5a7c", "#e0508c"),
    phrase("light red"): ("#cf6d61", "#e4717a"),
    phrase("red"): ("#be2a2e", "#dc1e1e", "#b0392f", "#ff0000"),
    phrase("dark red"): ("#84232a", "#8b0000", "#922f2c"),
    phrase("wine red"): ("#581b2b", "#7a2442", "#451a26"),
    phrase("light orange"): ("#efb27a", "#f2c08c"),
    phrase("orange"): ("#e07c28", "#ff8c00", "#d8803f"),
    phrase("rust"): ("#b3541e", "#b7612f"),
    phrase("pale yellow"): ("#f0e1a3", "#f8f0b8"),
    phrase("yellow"): ("#e9c736", "#ffd700", "#e2bb55", "#ffff00"),
    phrase("ochre"): ("#c29335", "#b67a2d"),
    phrase("olive"): ("#7d7a36", "#6b6b23", "#57552f"),
    phrase("yellow-green"): ("#a9bb4a", "#9acd32"),
    phrase("pale green"): ("#c4d3ac", "#bcc493", "#c9e3c4"),
    phrase("light green"): ("#93bb7c", "#90ee90"),
    phrase("green"): ("#3f8a4a", "#008000", "#4f8f3c", "#00c000"),
    phrase("dark green"): ("#22472e", "#1b4d3e", "#006400"),
    phrase("grey-green"): ("#7b8a6b", "#5c6b53", "#9aa585"),
    phrase("pale blue-green"): ("#aed3cb", "#a0e0d8"),
    phrase("blue-green"): ("#2f8783", "#008080", "#5a9d97"),
    phrase("dark blue-green"): ("#17494d", "#0f3a3c"),
    phrase("pale blue"): ("#bed4e2", "#c9d9e4"),
    phrase("light blue"): ("#86afd2", "#6490ba", "#87ceeb"),
    phrase("blue"): ("#3369a8", "#4169e1", "#3a5f95", "#0000ff"),
    phrase("dark blue"): ("#1f3868", "#000080", "#2a4270"),
    phrase("very dark blue"): ("#141c36", "#1a2036"),
    phrase("grey-blue"): ("#67798d", "#59636f", "#8a98a8"),
    phrase("light violet"): ("#b4a2d0", "#c3b4dc"),
    phrase("violet"): ("#6b4ba1", "#7d5fb8", "#8a2be2"),
    phrase("dark violet"): ("#3a2659", "#4b0082"),
    phrase("light purple"): ("#c99bc6", "#dda0dd"),
    phrase("purple"): ("#8c3b87", "#800080", "#9c4a8c"),
    phrase("dark purple"): ("#4d204a", "#3c1a3a"),
}

#: What is added to a word that two yarns have: of each pair the first is for whatever has more of it.
LIGHTER, DARKER = phrase("{word}, lighter"), phrase("{word}, darker")
BRIGHTER, DULLER = phrase("{word}, brighter"), phrase("{word}, duller")
REDDER, GREENER = phrase("{word}, redder"), phrase("{word}, greener")
YELLOWER, BLUER = phrase("{word}, yellower"), phrase("{word}, bluer")
#: What is added where three or more have it.
NUMBERED = phrase("{word} {shade}")
_FINER = (LIGHTER, DARKER, BRIGHTER, DULLER, REDDER, GREENER, YELLOWER, BLUER)
#: Colours of one word that are less apart than this are alike to the eye, and a difference in lightness from the second
#: on is named first, since it is seen in any light (both in units of CIELAB; our own judgement).
_ALIKE, _PLAINLY = 1.0, 3.0

Lab = tuple[float, float, float]

_NAMES = tuple(WORDS)
_PLACES = tuple(place for place, colours in enumerate(WORDS.values()) for _ in colours)
_SRGB = np.array([tuple(bytes.fromhex(each[1:])) for colours in WORDS.values() for each in colours], dtype=np.uint8)


def colour_numbers(lab: ArrayLike) -> tuple[int, ...]:
    """Return the place in `WORDS` of the plain word for each colour, which is the same in every language.

    Parameters
    ----------
    lab : array_like, shape (colours, 3)
        CIELAB under D65, 2 degrees.
    """
    return tuple(_number(*each) for each in np.asarray(lab, dtype=np.float64).reshape(-1, 3).tolist())


@lru_cache(maxsize=4096)
def _number(lightness: float, a: float, b: float) -> int:
    """Return the place of the word for one colour, which every sheet that has the yarn asks for again."""
    table = lab_from_srgb8(_SRGB)
    return _PLACES[int(ciede2000(np.broadcast_to((lightness, a, b), table.shape), table).argmin())]


def colour_words(lab: ArrayLike) -> tuple[str, ...]:
    """Return a plain word for each colour, in the language in force.

    Parameters
    ----------
    lab : array_like, shape (colours, 3)
        CIELAB under D65, 2 degrees.
    """
    return tuple(say(_NAMES[number]) for number in colour_numbers(lab))


@dataclass(frozen=True, slots=True)
class ColourWord:
    """The word for the colour of one yarn of a rug.

    `word` is its place in `WORDS`. `finer` is the place of what is added to it, from 1, or 0 where nothing is, and
    `shade` counts the yarns that share a word from the darkest, or is 0 where fewer than three do.
    """

    word: int
    finer: int = 0
    shade: int = 0

    @property
    def told(self) -> str:
        """The word in the language in force."""
        name = say(_NAMES[self.word])
        return say(self._added, word=name, shade=self.shade) if self._added else name

    @property
    def english(self) -> str:
        """The word in English, whatever language is in force."""
        name = _NAMES[self.word]
        return self._added.format(word=name, shade=self.shade) if self._added else name

    @property
    def _added(self) -> str:
        if self.shade:
            return NUMBERED
        return _FINER[self.finer - 1] if self.finer else ""

    @property
    def numbers(self) -> tuple[int, int, int]:
        """What says the same in every language."""
        return self.word, self.finer, self.shade


@lru_cache(maxsize=64)
def words_apart(labs: tuple[Lab, ...]) -> tuple[ColourWord, ...]:
    """Return the word for each yarn of a rug, finer where two of them would have the same.

    Parameters
    ----------
    labs : tuple of (float, float, float)
        CIELAB under D65, 2 degrees, of all yarns of the rug, so that a yarn has one word on every sheet.
    """
    words = colour_numbers(labs)
    found = [ColourWord(word) for word in words]
    for word, count in zip(*np.unique(words, return_counts=True), strict=True) if words else ():
        if count > 1:
            same = [place for place, each in enumerate(words) if each == word]
            for place, finer in _finer(labs, same):
                found[place] = finer
    return tuple(found)


def _finer(labs: Sequence[Lab], same: list[int]) -> Iterator[tuple[int, ColourWord]]:
    """Yield what tells apart the colours at the places `same`, which share a word."""
    word = colour_numbers(labs[same[0]])[0]
    if len(same) > 2:
        for shade, place in enumerate(sorted(same, key=lambda place: (*labs[place], place)), start=1):
            yield place, ColourWord(word, shade=shade)
        return
    one, other = (labs[place] for place in same)
    if math.dist(one, other) < _ALIKE:
        return
    more, less = _difference(one, other)
    yield same[0], ColourWord(word, _FINER.index(more) + 1)
    yield same[1], ColourWord(word, _FINER.index(less) + 1)


def _difference(one: Lab, other: Lab) -> tuple[str, str]:
    """Return what is added to the words of `one` and of `other` by what sets the two colours apart most."""
    lighter, redder, yellower = (a - b for a, b in zip(one, other, strict=True))
    brighter = math.hypot(*one[1:]) - math.hypot(*other[1:])
    hue = math.sqrt(max(redder**2 + yellower**2 - brighter**2, 0.0))
    if abs(lighter) >= min(_PLAINLY, max(abs(brighter), hue)):
        more, pair = lighter, (LIGHTER, DARKER)
    elif abs(brighter) >= hue:
        more, pair = brighter, (BRIGHTER, DULLER)
    elif abs(redder) >= abs(yellower):
        more, pair = redder, (REDDER, GREENER)
    else:
        more, pair = yellower, (YELLOWER, BLUER)
    return pair if more >= 0 else (pair[1], pair[0])
