"""What was worked out before and need not be worked out again, because nothing that it depends on has changed.

Whoever does long work on arrays asks `memory()` for its result, and names everything that the result depends on. The
memory in force is ambient, like the engine: nothing but time depends on it, so a program that remembers writes the
same bytes as one that does not. Unless `remembering` says otherwise nothing is remembered.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.ambient import Ambient

#: What a piece of work depends on: numbers, words and arrays, in tuples of any depth.
Key: TypeAlias = "bool | int | float | str | bytes | NDArray[Any] | tuple[Key, ...] | None"
Values = tuple[NDArray[Any], ...]

#: Bytes of an array that are taken at a time.
_BAND_BYTES = 1 << 22


class Memory:
    """Remembers nothing: whatever is asked for is made."""

    def recall(self, work: str, of: Key, make: Callable[[], Values]) -> Values:
        """Return the arrays that `make` makes, or made before.

        Parameters
        ----------
        work : str
            What is done; results of different work are never mixed up.
        of : Key
            Everything that the result depends on, the program's own code left out.
        make : callable
            Does the work. Its arrays hold numbers, no objects.
        """
        return make()


_memories: Ambient[Memory] = Ambient("memory", Memory())


def memory() -> Memory:
    """Return the memory in force: the one that `remembering` set, or else one that remembers nothing."""
    return _memories.now()


def remembering(memory: Memory) -> AbstractContextManager[Memory]:
    """Use `memory` while the context lasts."""
    return _memories.being(memory)


def feed(take: Callable[[bytes], object], key: Key) -> None:
    """Give bytes that no other key gives to `take`, such as a hash: each value with its kind and its length."""
    if isinstance(key, tuple):
        take(b"(%d," % len(key))
        for part in key:
            feed(take, part)
    elif isinstance(key, np.ndarray):
        take(f"{key.dtype.str}{key.shape}:".encode())
        step = max(1, _BAND_BYTES * len(key) // max(key.nbytes, 1)) if key.ndim else 1
        for first in range(0, len(key) if key.ndim else 1, step):
            take(np.ascontiguousarray(key[first : first + step] if key.ndim else key).tobytes())
    else:
        value = key if isinstance(key, bytes) else repr(key).encode()
        take(b"%s %d:%s" % (type(key).__name__.encode(), len(value), value))
