"""The parts of a job fill the whole of its progress in order, whatever their weights."""

from __future__ import annotations

import doctest
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground import progress as module
from chartmaker.ground.progress import SILENT, Progress

WEIGHTS = st.dictionaries(st.text(min_size=1), st.floats(0.1, 100), min_size=1, max_size=6)


@given(WEIGHTS, WEIGHTS)
def test_parts_follow_one_another_from_start_to_end(weights: dict[str, float], inner: dict[str, float]) -> None:
    told: list[float] = []
    parts = Progress(lambda _what, share: told.append(share)).parts(weights)
    assert list(parts) == list(weights)
    for part in parts.values():
        for within in part.parts(inner).values():
            within.doing("x")
            within.done(1, of=2)
            within.done(2, of=2)
    assert told[0] == 0
    assert told[-1] == pytest.approx(1)
    assert all(later >= earlier - 1e-9 for earlier, later in pairwise(told))


@given(WEIGHTS)
def test_a_part_is_as_long_as_its_weight_says(weights: dict[str, float]) -> None:
    told: list[float] = []
    for name, part in Progress(lambda _what, share: told.append(share)).parts(weights).items():
        told.clear()
        part.done(0)
        part.done(1)
        assert told[1] - told[0] == pytest.approx(weights[name] / sum(weights.values()))


def test_the_last_words_stay_until_new_ones_come() -> None:
    told: list[tuple[str, float]] = []
    job = Progress(lambda what, share: told.append((what, share)))
    job.doing("drawing")
    job.done(1, of=4)
    job.done(9, of=4)  # progress is never more than the whole
    job.done(0, of=0)  # a part with nothing to do is no error
    assert told == [("drawing", 0), ("drawing", 0.25), ("drawing", 1), ("drawing", 0)]


def test_progress_need_not_be_watched() -> None:
    SILENT.doing("anything")
    SILENT.parts({"a": 1})["a"].done(1, of=2)
    assert SILENT._what == ""  # the unwatched progress is shared by all and remembers nothing


def test_the_example_in_the_docstring_holds() -> None:
    assert doctest.testmod(module).failed == 0
    assert doctest.testmod(module).attempted > 0
