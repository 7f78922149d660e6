"""Signals that ask the run to stop, held back during steps that must not be interrupted."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Callable, Iterator
from types import FrameType


@contextlib.contextmanager
def held_back() -> Iterator[None]:
    """Hold back the signals that ask the run to stop until the block, which must not be interrupted, is done."""
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
