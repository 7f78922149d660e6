"""The engine of many machines, on which a Dask scheduler hands the tasks to its workers."""

from __future__ import annotations

import logging
import time
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from chartmaker.ground import language
from chartmaker.ground.crew import TRIES
from chartmaker.ground.engines import Lost, Serial, running
from chartmaker.ground.errors import ClusterError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert

R = TypeVar("R")
T = TypeVar("T")

#: How long a scheduler may be gone, or without any worker, in seconds.
PATIENCE_S = 60.0
#: How many tasks the scheduler holds for each thread of its workers, so that no thread waits for us.
_AHEAD = 2
_LOOK_S = 0.5


class Cluster(Serial):
    """Hands tasks to the workers of a scheduler at `address`, such as ``tcp://10.0.0.5:8786``.

    If a worker dies, another does its task again, as often as the scheduler allows. If the scheduler itself restarts,
    it is given again whatever it held. A task whose result says `elsewhere` is tried on another worker.
    """

    def __init__(self, address: str, patience_s: float = PATIENCE_S) -> None:
        self._address, self._patience_s = address, patience_s

    def as_done(self, work: Callable[[T], R], tasks: Iterable[T]) -> Iterator[tuple[T, R | Lost]]:
        with _quietly():
            run: _Run[T, R] = _Run(self._address, self._patience_s, work, iter(tasks))
            try:
                yield from run.results()
            finally:
                run.close()


@dataclass
class _Given(Generic[T]):
    """A task, how often it was given out, and the workers that failed to do it."""

    task: T
    times: int = 0
    without: tuple[str, ...] = ()
    future: Any = None


class _Run(Generic[T, R]):
    """One call of `as_done`."""

    def __init__(self, address: str, patience_s: float, work: Callable[[T], R], tasks: Iterator[T]) -> None:
        self._address, self._patience_s, self._work, self._tasks = address, patience_s, work, tasks
        self._client = _connected(address, patience_s)
        self._again: deque[_Given[T]] = deque()
        self._given: list[_Given[T]] = []
        self._seen_worker = time.monotonic()
        self._known: dict[str, int] = {}
        self._asked = 0.0

    def results(self) -> Iterator[tuple[T, R | Lost]]:
        """Yield results until all tasks are done."""
        while True:
            self._give()
            if not self._given:
                return
            done = [each for each in self._given if each.future.done()]
            if not done:
                if self._client.status != "running":
                    self._reconnect()
                elif self._is_without_workers():
                    yield from self._all_lost()
                    return
                else:
                    time.sleep(_LOOK_S / 10)
            for each in done:
                self._given.remove(each)
                yield from self._settled(each)

    def close(self) -> None:
        """Leave the scheduler; the tasks that it still holds are cancelled."""
        with suppress(Exception):
            self._client.cancel([each.future for each in self._given])
        with suppress(Exception):
            self._client.close(timeout=2)

    def _give(self) -> None:
        """Give the scheduler tasks until each worker has a next one."""
        threads = self._threads()
        while len(self._given) < max(threads * _AHEAD, 1):
            if self._again:
                each = self._again.popleft()
            else:
                try:
                    each = _Given(next(self._tasks))
                except StopIteration:
                    return
            workers = [name for name in self._workers() if name not in each.without] if each.without else None
            each.times += 1
            each.future = self._client.submit(
                _at_worker, language.in_force(), self._work, each.task, pure=False, workers=workers
            )
            self._given.append(each)

    def _settled(self, each: _Given[T]) -> Iterator[tuple[T, R | Lost]]:
        """Yield the result of a task, unless the task is to be done again."""
        status = each.future.status
        if status == "finished":
            try:
                worker, result = each.future.result(timeout=self._patience_s)
            except Exception:  # its worker died with the result
                yield from self._once_more(each)
                return
            each.future = None
            others = set(self._workers()) - {*each.without, worker}
            if getattr(result, "elsewhere", False) and others and each.times < TRIES:
                each.without = (*each.without, worker)
                self._again.append(each)
            else:
                yield each.task, result
        elif status == "error":
            fault = each.future.exception()
            if type(fault).__name__ == "KilledWorker":
                yield each.task, Lost(say("the workers that made it died; had they too little memory?"))
            else:
                yield each.task, Lost(say("a worker failed: {fault}", fault=inert(f"{type(fault).__name__}: {fault}")))
        else:  # cancelled or lost: the scheduler that knew of it is gone
            yield from self._once_more(each)

    def _once_more(self, each: _Given[T]) -> Iterator[tuple[T, R | Lost]]:
        if each.times < TRIES:
            self._again.append(each)
        else:
            yield each.task, Lost(say("the scheduler lost it {n} times", n=TRIES))

    def _reconnect(self) -> None:
        """Wait for the scheduler to come back, and give it again whatever it held."""
        with suppress(Exception):
            self._client.close(timeout=1)
        self._client = _connected(self._address, self._patience_s)
        self._again.extend(self._given)
        self._given = []

    def _workers(self) -> dict[str, int]:
        """Return the threads of each worker by its address, asked for once a second."""
        if time.monotonic() - self._asked > 1.0:
            self._known, self._asked = {}, time.monotonic()
            with suppress(Exception):
                self._known = dict(self._client.nthreads())
        return self._known

    def _threads(self) -> int:
        return sum(self._workers().values())

    def _is_without_workers(self) -> bool:
        """Say whether there has been no worker for too long."""
        if self._threads():
            self._seen_worker = time.monotonic()
        return time.monotonic() - self._seen_worker > self._patience_s

    def _all_lost(self) -> Iterator[tuple[T, R | Lost]]:
        why = say("the scheduler at {address} has no worker", address=inert(self._address))
        left = [each.task for each in (*self._given, *self._again)]
        for task in (*left, *self._tasks):
            yield task, Lost(why)


def _at_worker(catalogue: language.Catalogue, work: Callable[[T], R], task: T) -> tuple[str, R]:
    """Do a task at a worker, which has its own share of the machine; return the worker's address and the result."""
    from distributed import get_worker

    with language.speaking(catalogue), running(Serial()):
        return get_worker().address, work(task)


def _connected(address: str, patience_s: float) -> Any:
    """Return a client of the scheduler, once it is there.

    Raises
    ------
    ClusterError
        If it does not answer in time, or the library is missing.
    """
    try:
        import distributed
    except ImportError as error:
        message = say("--cluster needs the library distributed: install chartmaker[cluster], here and at the workers")
        raise ClusterError(message) from error
    connect: Any = distributed.Client
    until = time.monotonic() + patience_s
    while True:
        try:
            return connect(address, timeout=max(min(patience_s, 10.0), 0.1), set_as_default=False)
        except (OSError, ValueError, RuntimeError) as error:
            if time.monotonic() > until or isinstance(error, ValueError):
                message = say("no scheduler answers: {reason}", reason=inert(error))
                raise ClusterError(message, where=inert(address)) from error
            time.sleep(_LOOK_S)


@contextmanager
def _quietly() -> Iterator[None]:
    """Keep the library's logs and warnings from the user, who is told of each set what matters."""
    logger = logging.getLogger("distributed")
    before = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        logger.setLevel(before)
