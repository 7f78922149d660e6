"""A value is in force in its own thread while its context lasts; afterwards the value before it is in force again."""

from __future__ import annotations

import threading

import pytest

from chartmaker.ground.ambient import Ambient


def test_a_value_is_in_force_while_its_context_lasts_whatever_ends_it() -> None:
    value = Ambient("number", 1)
    assert (value.now(), value.given()) == (1, None)
    with pytest.raises(KeyError), value.being(2), value.being(0):
        assert (value.now(), value.given()) == (0, 0)
        raise KeyError
    assert (value.now(), value.given()) == (1, None)


def test_another_thread_keeps_the_usual_value() -> None:
    value, seen = Ambient("number", 1), list[int]()
    with value.being(2):
        thread = threading.Thread(target=lambda: seen.append(value.now()))
        thread.start()
        thread.join()
    assert seen == [1]
