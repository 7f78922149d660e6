"""A value that is in force for a while, which code asks for instead of having it handed from function to function.

Only what changes no result may be ambient, such as the engine that carries the work. Everything else is an argument.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from contextvars import ContextVar
from typing import Generic, TypeVar

T = TypeVar("T")


class Ambient(Generic[T]):
    """A value in force, which is the usual one unless another was set; threads and contexts each have their own.

    Parameters
    ----------
    name : str
        What the value is, for those who debug.
    usual : T
        The value in force where none was set.
    """

    def __init__(self, name: str, usual: T) -> None:
        self._usual = usual
        self._set: ContextVar[T | None] = ContextVar(name, default=None)

    def now(self) -> T:
        """Return the value in force."""
        given = self.given()
        return self._usual if given is None else given

    def given(self) -> T | None:
        """Return the value that was set, or None where the usual one is in force."""
        return self._set.get()

    @contextlib.contextmanager
    def being(self, value: T) -> Iterator[T]:
        """Let `value` be in force while the context lasts."""
        before = self._set.set(value)
        try:
            yield value
        finally:
            self._set.reset(before)
