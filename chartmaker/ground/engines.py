"""Engines that carry heavy work: one thread, several threads, or threads and a second process, behind one interface.

Code that has work to spread asks for `engine()` and need not know which one it gets, because the results are the same
to the byte: parts are put together in their own order, and work that fails elsewhere is done again here. The engine in
force is the only thing that is not passed from function to function, because it changes only how long the work takes.
"""

from __future__ import annotations

import contextlib
import os
import threading
from abc import ABC, abstractmethod
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from chartmaker.ground.ambient import Ambient
from chartmaker.ground.mate import Mate, Promise

R = TypeVar("R")
T = TypeVar("T")

#: The most tasks that the other process holds: the one that it is doing and the next one.
_AHEAD = 2
#: The most results that wait for an earlier one, so that memory does not grow with the number of tasks.
_WAITING = 8


@dataclass(frozen=True)
class Lost:
    """Takes the place of a result when no process could finish the task, and says why."""

    why: str


class Engine(ABC):
    """Carries work to where it is done.

    There are two kinds of work. `each` is for many short parts that share the memory of this process. `give` and
    `spread` are for long tasks that may leave it: the work must be a function at the top level of a module, and its
    arguments and its result must pickle. An engine with more processes or machines overrides `give` and `spread`.
    """

    @abstractmethod
    def each(self, work: Callable[[T], R], parts: Iterable[T]) -> list[R]:
        """Return the results of `work` for each of `parts`, in their order."""

    @abstractmethod
    def give(self, work: Callable[..., R], *arguments: Any) -> Callable[[], R]:
        """Begin `work` where there is room for it; return a function that waits for the result."""

    def spread(self, work: Callable[..., R], tasks: Iterable[tuple[Any, ...]]) -> Iterator[R]:
        """Yield the result of `work` for each task's arguments, in order; the tasks are taken one by one."""
        for arguments in tasks:
            yield work(*arguments)

    def as_done(self, work: Callable[[T], R], tasks: Iterable[T]) -> Iterator[tuple[T, R | Lost]]:
        """Yield each task with its result as soon as it is there, in any order; tasks are taken one by one.

        The work may leave this process and may write files, as long as each task is all or nothing: a task whose
        process is killed is begun again, and counts as lost when that has failed too often.
        """
        for task in tasks:
            yield task, work(task)

    def warm(self, work: Callable[[], Any]) -> None:  # noqa: B027
        """Run `work`, which imports what later tasks need, wherever those tasks will run, unless that is here."""


class Serial(Engine):
    """Does everything in the calling thread; a task begins when its result is asked for."""

    def each(self, work: Callable[[T], R], parts: Iterable[T]) -> list[R]:
        return [work(part) for part in parts]

    def give(self, work: Callable[..., R], *arguments: Any) -> Callable[[], R]:
        return partial(work, *arguments)


class Threads(Serial):
    """Shares parts among threads, one for each core that may be used. The pool is made once, for the first parts.

    numpy releases the interpreter lock while it works on an array, so short work on arrays gains from threads. Long
    tasks consist of many short steps that wait for the interpreter; they would gain nothing and are done in place.
    """

    def __init__(self, cores: int | None = None) -> None:
        self._cores = cores
        self._pool: ThreadPoolExecutor | None = None
        self._making = threading.Lock()

    def each(self, work: Callable[[T], R], parts: Iterable[T]) -> list[R]:
        together = list(parts)
        pool = self._ready() if len(together) > 1 else None
        if pool is None:
            return [work(part) for part in together]
        return list(pool.map(partial(_in_a_thread, work), together))

    def _ready(self) -> ThreadPoolExecutor | None:
        with self._making:
            self._cores = self._cores or cores()
            if self._pool is None and self._cores > 1:
                self._pool = ThreadPoolExecutor(self._cores, "chartmaker")
            return self._pool


class TwoProcesses(Threads):
    """Shares parts among threads, and gives long tasks to a second process while this one works on its own."""

    def __init__(self, mate: Mate, cores: int | None = None) -> None:
        super().__init__(cores)
        self._mate = mate

    def give(self, work: Callable[..., R], *arguments: Any) -> Callable[[], R]:
        return self._mate.ask(work, *arguments)

    def warm(self, work: Callable[[], Any]) -> None:
        self._mate.ask(work)

    def spread(self, work: Callable[..., R], tasks: Iterable[tuple[Any, ...]]) -> Iterator[R]:
        waiting: deque[Promise[R]] = deque()
        for arguments in tasks:
            promise: Promise[R]
            if sum(not promise.done() for promise in waiting) < _AHEAD:
                promise = self._mate.ask(work, *arguments)
            else:
                promise = Promise.kept(work(*arguments))
            waiting.append(promise)
            if len(waiting) > _WAITING:
                _take_back(waiting)
            while waiting and (waiting[0].done() or len(waiting) > _WAITING):
                yield waiting.popleft()()
        _take_back(waiting)
        for promise in waiting:
            yield promise()


def _take_back(waiting: deque[Promise[R]]) -> None:
    """Do the tasks here that the other process has not begun, from the last, while it goes on from the first."""
    for promise in reversed(waiting):
        promise.take_back()


def _in_a_thread(work: Callable[[T], R], part: T) -> R:
    """Do a part in a thread of the pool. Parts within it are not shared out again, because the pool may be full."""
    with running(Serial()):
        return work(part)


_engines: Ambient[Engine] = Ambient("engine", Threads())


def engine() -> Engine:
    """Return the engine in force: the one that `running` or `started` set, or else threads."""
    return _engines.now()


def running(engine: Engine) -> contextlib.AbstractContextManager[Engine]:
    """Use `engine` while the context lasts."""
    return _engines.being(engine)


@contextlib.contextmanager
def started(*, large: bool) -> Iterator[Engine]:
    """Use the engine that suits the work: for `large` work one with a second process, if there is a core for it.

    An engine that is already in force stays. On leaving, the second process is ended, whatever it is doing.
    """
    mate = Mate.started() if large and _engines.given() is None and cores() > 1 else None
    if mate is None:
        yield engine()
        return
    with mate, running(TwoProcesses(mate)) as two:
        yield two


def cores() -> int:
    """Return how many cores this process may use: the ones it may run on, within the quota of its control group."""
    mine = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(mine, _quota(Path("/proc/self/cgroup"), Path("/sys/fs/cgroup")) or mine))


def _quota(own: Path, groups: Path) -> int | None:
    """Return how many cores the control groups of this process (cgroup v2, ``cpu.max``) allow; None without a limit.

    A limit holds for all groups below it, so every group on the way up is read. The file holds a quota and a period in
    microseconds, or ``max`` for no limit (Linux, Documentation/admin-guide/cgroup-v2.rst). Part of a core counts as a
    whole one.
    """
    least = None
    try:
        name = next(line[3:].strip() for line in own.read_text().splitlines() if line.startswith("0::"))
    except (OSError, StopIteration):
        return None
    here = groups / name.lstrip("/")
    for group in (here, *here.parents):
        if not group.is_relative_to(groups):
            break
        with contextlib.suppress(OSError, ValueError):
            quota, period = (group / "cpu.max").read_text().split()
            if quota != "max":
                left = -(-int(quota) // int(period))
                least = left if least is None else min(least, left)
    return least
