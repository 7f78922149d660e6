"""The memory is in force only where it is asked for, and it never takes one key for another."""

from __future__ import annotations

import hashlib

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as stn

from chartmaker.ground.memory import Key, Memory, Values, feed, memory, remembering

#: Anything that a piece of work may depend on.
KEYS: st.SearchStrategy[Key] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-3, 3)
    | st.floats(allow_nan=False)
    | st.text(max_size=2)
    | st.binary(max_size=2),
    lambda parts: st.lists(parts, max_size=3).map(tuple),
    max_leaves=6,
)


def hashed(key: Key) -> str:
    digest = hashlib.sha256()
    feed(digest.update, key)
    return digest.hexdigest()


@given(KEYS, KEYS)
def test_keys_are_the_same_only_if_they_are_equal_in_value_and_type(one: Key, other: Key) -> None:
    assert (hashed(one) == hashed(other)) == (repr(one) == repr(other))


@given(stn.arrays(np.uint8, stn.array_shapes(max_dims=3, max_side=4)), st.integers(0, 63), st.integers(1, 255))
def test_another_byte_shape_or_type_of_an_array_makes_another_key(array: np.ndarray, place: int, step: int) -> None:
    changed = array.copy()
    changed.flat[place % array.size] ^= np.uint8(step)
    others = (changed, array[None], array.astype(np.int16), array.tobytes(), (array,))
    assert len({hashed(key) for key in (array, *others)}) == 1 + len(others)
    turned = np.ascontiguousarray(array.T).T  # the same values, laid out differently
    assert hashed(turned) == hashed(array)


def test_every_value_of_a_large_array_counts() -> None:
    array = np.arange(3_000_000, dtype=np.int32).reshape(1000, 3000)
    assert hashed(array) == hashed(array.copy())
    for place in ((0, 0), (999, 2999), (500, 7)):
        changed = array.copy()
        changed[place] += 1
        assert hashed(changed) != hashed(array)
    assert hashed(np.array(5.0)) != hashed(np.array(6.0))


def test_nothing_is_remembered_unless_it_is_asked_for() -> None:
    class Always(Memory):
        def recall(self, work, of, make) -> Values:  # type: ignore[no-untyped-def]
            return (np.array([7]),)

    def make() -> Values:
        return (np.array([1]),)

    assert memory().recall("work", 1, make)[0] == 1
    with remembering(Always()) as there:
        assert memory() is there and memory().recall("work", 1, make)[0] == 7
        with remembering(Memory()):
            assert memory().recall("work", 1, make)[0] == 1
        assert memory() is there
    assert memory().recall("work", 1, make)[0] == 1
