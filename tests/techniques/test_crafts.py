"""Each craft has its own words, in the right number and in the language in force."""

from __future__ import annotations

import pytest
from support.making import make_rug

from chartmaker.ground.language import speaking
from chartmaker.order.rug import Technique
from chartmaker.techniques.crafts import CRAFTS, craft_of


@pytest.mark.parametrize(
    ("technique", "one", "many", "pace"),
    [
        ("knotted", "1 weaver", "3 weavers", "6,000 knots per weaver per day"),
        ("tufted", "1 tufter", "3 tufters", "6,000 tufts per tufter per day"),
        ("hand-loomed", "1 weaver", "3 weavers", "6,000 points per weaver per day"),
    ],
)
def test_a_craft_is_spoken_of_in_whole_words(technique: Technique, one: str, many: str, pace: str) -> None:
    """Whoever ties knots is a weaver, and whoever tufts is a tufter (common practice)."""
    craft = craft_of(make_rug(40, 50, technique=technique))
    assert craft is CRAFTS[technique]
    assert (craft.words.hands_of(1), craft.words.hands_of(3)) == (one, many)
    assert craft.words.pace_of(6000) == pace


class Shouting:
    """A language of capitals, which shows whether a word was looked up."""

    def sentence(self, template: str) -> str:
        return template.replace("weaver", "WEAVER")

    def plural(self, one: str, many: str, number: int) -> str:
        return self.sentence(one if number == 1 else many)


def test_words_are_looked_up_when_they_are_used() -> None:
    words = CRAFTS["knotted"].words
    with speaking(Shouting()):
        assert words.hands_of(2) == "2 WEAVERs"
        assert words.pace_of(10) == "10 knots per WEAVER per day"
    assert words.hands_of(2) == "2 weavers"
