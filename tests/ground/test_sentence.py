"""A sentence that is kept is put into the language in force when it is shown, but programs always get English."""

from __future__ import annotations

import doctest
import pickle

from chartmaker.ground import sentence
from chartmaker.ground.findings import Finding, place_words
from chartmaker.ground.language import speaking
from chartmaker.ground.sentence import english, later, later_n


class Turned:
    """A language that has another word for rows and puts the place first."""

    def sentence(self, template: str) -> str:
        words = {"row {first}": "zeile {first}", "Look at {place}.": "{place}: there."}
        return words.get(template, template)

    def plural(self, one: str, many: str, number: int) -> str:
        return "{n} things" if "thing" in one else one


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(sentence).attempted >= 2
    assert doctest.testmod(sentence).failed == 0


def test_a_finding_is_shown_in_the_language_in_force() -> None:
    finding = Finding(later("Look at {place}.", place=place_words((0, 1, 4, 9))), later("artwork"), "note")
    assert finding.what == "Look at row 1, columns 5 to 9."
    with speaking(Turned()):
        assert finding.what == "zeile 1, columns 5 to 9: there."
        assert english(finding.said) == "Look at row 1, columns 5 to 9."
        assert str(later_n("{n} thing", "{n} thingies", 3)) == "3 things"
    assert english("as it stands") == "as it stands"


def test_a_finding_keeps_its_fields_and_can_go_to_another_process() -> None:
    finding = Finding(later("{code} is tied in {knots} knots.", code="M-11", knots=3), "yarn M-11", "note")
    assert pickle.loads(pickle.dumps(finding)) == finding
    assert len({finding, pickle.loads(pickle.dumps(finding))}) == 1
