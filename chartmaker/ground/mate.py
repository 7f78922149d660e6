"""A second process that does what it is asked over a pipe, and never outlives whoever started it."""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from types import TracebackType
from typing import Any, BinaryIO, Generic, TypeVar

from chartmaker.ground import language

R = TypeVar("R")

#: What the second process runs. It has one core to itself, so it does not share out its work again.
_SERVE = """
import sys
sys.path[:] = {path!r}
from chartmaker.ground.engines import Serial, running
from chartmaker.ground.mate import serve
with running(Serial()):
    serve()
"""


class Promise(Generic[R]):
    """Waits for the result of a task; does the task here if it failed in the other process or was not begun there."""

    def __init__(self, here: Callable[[], R], answer: Future[tuple[bool, Any]] | None = None) -> None:
        self._here = here
        self._answer = answer

    @staticmethod
    def kept(result: R) -> Promise[R]:
        """Return the promise of a result that is already known."""
        return Promise(lambda: result)

    def done(self) -> bool:
        """Say whether the result can be had without waiting for the other process."""
        return self._answer is None or self._answer.done()

    def take_back(self) -> None:
        """Do the task here and now if it has not been sent yet."""
        if self._answer is not None and self._answer.cancel():
            self._settle(self._here())

    def __call__(self) -> R:
        self.take_back()
        if self._answer is not None:
            done, value = self._answer.result()
            self._settle(value if done else self._here())
        return self._here()

    def _settle(self, result: R) -> None:
        self._here, self._answer = lambda: result, None


class Mate:
    """The second process; use it as a context manager.

    It only answers. The first process writes all files, so that a set of them stays all or nothing. The second runs in
    a session of its own, because a terminal's Ctrl-C is for the first process to act on, and it ends when the pipe
    through which it is asked closes, even if the first process is killed.
    """

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process
        self._letters = ThreadPoolExecutor(1)

    @staticmethod
    def started() -> Mate | None:
        """Return a second process, or None where the system does not allow one."""
        try:
            return Mate(
                subprocess.Popen(
                    [sys.executable, "-c", _SERVE.format(path=sys.path)],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    start_new_session=True,
                )
            )
        except OSError:
            return None

    def ask(self, work: Callable[..., R], *arguments: Any) -> Promise[R]:
        """Give it a task, which it begins after all earlier ones."""
        here = partial(work, *arguments)
        try:  # packed here, not in the thread, because lazy parts of the arguments may be worked out meanwhile
            letter = letter_of((language.in_force(), work, arguments))
        except (pickle.PicklingError, AttributeError, TypeError):  # it cannot leave this process
            return Promise(here)
        return Promise(here, self._letters.submit(_asked, self._process, letter))

    def answer(self, work: Callable[..., R], *arguments: Any) -> tuple[bool, R | None]:
        """Wait for it to do a task; return whether it could, and the result. The task is never done here instead."""
        return _asked(self._process, letter_of((language.in_force(), work, arguments)))

    def is_gone(self) -> bool:
        """Say whether it has ended, or is about to because its pipe has broken."""
        try:
            self._process.wait(timeout=1.0)
        except subprocess.TimeoutExpired:
            return False
        return True

    def kill(self) -> None:
        """End it, whatever it is doing; leaving the context clears away what is left of it."""
        self._process.kill()

    def __enter__(self) -> Mate:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self._process.kill()
        self._letters.shutdown(cancel_futures=True)
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            with contextlib.suppress(OSError):  # half a message that nobody reads
                pipe.close()  # type: ignore[union-attr]


def letter_of(task: Any) -> list[bytes | memoryview]:
    """Return the parts of a message, which are the sizes of its arrays, these as they lie in memory, and the rest.

    Nothing may change the arrays before they are sent, because a copy of a palace carpet's artwork would take a third
    of a gigabyte.
    """
    arrays: list[pickle.PickleBuffer] = []
    rest = pickle.dumps(task, pickle.HIGHEST_PROTOCOL, buffer_callback=arrays.append)
    own = [array.raw() for array in arrays]
    return [pickle.dumps([array.nbytes for array in own]), *own, rest]


def _asked(process: subprocess.Popen[bytes], letter: list[bytes | memoryview]) -> tuple[bool, Any]:
    """Return whether the second process could do the work, and its result; drop the message as it is sent."""
    assert process.stdin is not None and process.stdout is not None
    try:
        while letter:
            process.stdin.write(letter.pop(0))
        process.stdin.flush()
        done, value = pickle.load(process.stdout)
    except (OSError, EOFError, pickle.PickleError, ValueError):
        return False, None
    return done, value


def serve() -> None:
    """Do what is asked on stdin and answer on stdout; end at once when the first process is gone."""
    asked: queue.SimpleQueue[tuple[language.Catalogue, Callable[..., Any], tuple[Any, ...]]] = queue.SimpleQueue()
    answers, sys.stdout = sys.stdout.buffer, sys.stderr
    threading.Thread(target=_listen, args=(sys.stdin.buffer, asked), daemon=True).start()
    while True:
        catalogue, work, arguments = asked.get()
        try:
            with language.speaking(catalogue):
                answer = pickle.dumps((True, work(*arguments)), pickle.HIGHEST_PROTOCOL)
        except Exception:
            answer = pickle.dumps((False, None))
        answers.write(answer)
        answers.flush()
        del work, arguments, answer  # half a gigabyte of a palace carpet, while there may be nothing more to do


def _listen(letters: BinaryIO, asked: queue.SimpleQueue[Any]) -> None:
    try:
        while True:
            arrays = [bytearray(size) for size in pickle.load(letters)]
            for array in arrays:
                letters.readinto(array)  # type: ignore[attr-defined]
            asked.put(pickle.load(letters, buffers=arrays))
            del arrays
    finally:  # the first process is gone, perhaps in the middle of a message
        os._exit(0)
