"""Signals that ask the run to stop, held back while something is done that must not be cut in two."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Callable, Iterator
from types import FrameType


@contextlib.contextmanager
def held_back() -> Iterator[None]:
    """Let signals that ask the run to stop wait until the block is done: what it does must not be cut in two."""
    if threading.current_thread() is not threading.main_thread():  # signals are not handled here
        yield
        return
    waiting: list[int] = []
    handlers: dict[int, Callable[[int, FrameType | None], object]] = {}
    try:
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None and callable(handler := signal.getsignal(number)):
                handlers[number] = handler
                signal.signal(number, lambda number, _frame: waiting.append(number))
        yield
    finally:
        for number, handler in handlers.items():
            signal.signal(number, handler)
        if waiting:
            signal.raise_signal(waiting[0])
