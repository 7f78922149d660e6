"""A second process that takes part of the work."""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, BinaryIO

#: Takes a function of a module with its arguments; returns what waits for the result.
Give = Callable[..., Callable[[], Any]]

#: Does the work here, when the result is asked for.
alone: Give = partial

_SERVE = "import sys; sys.path[:] = {path!r}; from chartmaker.ground.engines import serve; serve()"


@contextlib.contextmanager
def workmate(*, wanted: bool) -> Iterator[Give]:
    """Yield what gives work to a second process, where one is `wanted` and the machine has a core for it.

    Functions with their arguments and results must be picklable. Work that the second process fails in is done
    again here, so that it fails here, or not at all. On leaving, it is ended, whatever it is at.
    """
    mate = _started() if wanted and _cores() > 1 else None
    if mate is None:
        yield alone
        return
    letters = ThreadPoolExecutor(1)

    def give(work: Callable[..., Any], *arguments: Any) -> Callable[[], Any]:
        # packed here, not in the thread: what is lazy about the arguments may be worked out meanwhile
        answer = letters.submit(_asked, mate, [pickle.dumps((work, arguments), pickle.HIGHEST_PROTOCOL)])

        def result() -> Any:
            done, value = answer.result()
            return value if done else work(*arguments)

        return result

    try:
        yield give
    finally:
        mate.kill()
        letters.shutdown(cancel_futures=True)
        mate.wait()
        for pipe in (mate.stdin, mate.stdout):
            with contextlib.suppress(OSError):  # half a letter that nobody reads
                pipe.close()  # type: ignore[union-attr]


def _started() -> subprocess.Popen[bytes] | None:
    """Return a second process that serves, None where the system gives none."""
    try:
        return subprocess.Popen(
            [sys.executable, "-c", _SERVE.format(path=sys.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # a terminal's Ctrl-C is ours to act on
        )
    except OSError:
        return None


def _cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _asked(mate: subprocess.Popen[bytes], letter: list[bytes]) -> tuple[bool, Any]:
    """Return whether the second process could do the work, then its result; let go of the letter once it is sent."""
    assert mate.stdin is not None and mate.stdout is not None
    try:
        mate.stdin.write(letter.pop())
        mate.stdin.flush()
        done, value = pickle.load(mate.stdout)
    except (OSError, EOFError, pickle.PickleError, ValueError):
        return False, None
    return done, value


def serve() -> None:
    """Do what is asked for on stdin, answer on stdout; end at once when whoever asks is gone."""
    asked: queue.SimpleQueue[tuple[Callable[..., Any], tuple[Any, ...]]] = queue.SimpleQueue()
    answers, sys.stdout = sys.stdout.buffer, sys.stderr
    threading.Thread(target=_listen, args=(sys.stdin.buffer, asked), daemon=True).start()
    while True:
        work, arguments = asked.get()
        try:
            answer = True, work(*arguments)
        except Exception:
            answer = False, None
        pickle.dump(answer, answers, pickle.HIGHEST_PROTOCOL)
        answers.flush()


def _listen(letters: BinaryIO, asked: queue.SimpleQueue[Any]) -> None:
    try:
        while True:
            asked.put(pickle.load(letters))
    finally:  # whoever asks is gone, maybe in the middle of a letter
        os._exit(0)
