"""Several more processes that do long tasks side by side, each task begun once there is memory for it."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Generic, Protocol, TypeVar

from chartmaker.ground.engines import Lost, Serial
from chartmaker.ground.language import say
from chartmaker.ground.mate import Mate

R = TypeVar("R")
T = TypeVar("T")

#: How often a task is begun before it is given up, where the process that does it dies each time.
TRIES = 3
#: The most results that wait to be fetched, for each process.
_WAITING = 2


class Room(Protocol):
    """Decides which tasks may run at the same time."""

    def admit(self, task: Any) -> bool:
        """Say whether there is room for a task now, and keep that room for it."""

    def leave(self, task: Any, result: Any) -> None:
        """Give back the room of a task; `result` tells how much it really took."""


class Open:
    """Room for everything."""

    def admit(self, task: Any) -> bool:
        return True

    def leave(self, task: Any, result: Any) -> None:
        pass


class Crew(Serial):
    """Processes that take one task after another; one that dies is replaced, and its task is done again."""

    def __init__(self, number: int, room: Room | None = None) -> None:
        self._number = number
        self._room = room or Open()

    def as_done(self, work: Callable[[T], R], tasks: Iterable[T]) -> Iterator[tuple[T, R | Lost]]:
        run = _Run(work, iter(tasks), self._room, self._number)
        return run.results()


class _Run(Generic[T, R]):
    """One call of `as_done`: a thread for each process, which hands it tasks and waits for its answers."""

    def __init__(self, work: Callable[[T], R], tasks: Iterator[T], room: Room, number: int) -> None:
        self._work, self._tasks, self._room, self._number = work, tasks, room, number
        self._changed = threading.Condition()
        self._head: list[T] = []
        self._ended = self._closing = False
        self._running = 0
        self._mates: dict[int, Mate] = {}
        self._done: queue.Queue[tuple[T, R | Lost] | BaseException | None] = queue.Queue(number * _WAITING)

    def results(self) -> Iterator[tuple[T, R | Lost]]:
        """Yield results until all tasks are done; when left early, end the processes whatever they are doing."""
        threads = [threading.Thread(target=self._serve, args=(index,), daemon=True) for index in range(self._number)]
        for thread in threads:
            thread.start()
        try:
            left = len(threads)
            while left:
                found = self._done.get()
                if found is None:
                    left -= 1
                elif isinstance(found, BaseException):
                    raise found
                else:
                    yield found
        finally:
            self._close()
            while any(thread.is_alive() for thread in threads):
                _empty(self._done)  # a thread may be waiting to hand over a last result
                threads[0].join(0.01)
                threads = [thread for thread in threads if thread.is_alive()] or threads[:1]

    def _close(self) -> None:
        with self._changed:
            self._closing = True
            mates = list(self._mates.values())
            self._changed.notify_all()
        for mate in mates:
            mate.kill()

    def _serve(self, index: int) -> None:
        try:
            while (task := self._next()) is not None:
                result = self._answer(index, task[0])
                with self._changed:
                    self._running -= 1
                    self._room.leave(task[0], result)
                    self._changed.notify_all()
                    closing = self._closing
                if closing:
                    break
                self._done.put((task[0], result))
        except BaseException as error:  # raised by the tasks themselves: whoever asked should see it
            self._done.put(error)
        finally:
            with self._changed:
                mate = self._mates.pop(index, None)
            if mate is not None:
                mate.__exit__(None, None, None)
            self._done.put(None)

    def _next(self) -> tuple[T] | None:
        """Return the next task once there is room for it, in a tuple; None when no task is left."""
        with self._changed:
            while not self._closing:
                if not self._head and not self._ended:
                    for task in self._tasks:
                        self._head.append(task)
                        break
                    else:
                        self._ended = True
                if not self._head:
                    return None
                if self._room.admit(self._head[0]):
                    self._running += 1
                    return (self._head.pop(),)
                self._changed.wait(1.0)
        return None

    def _answer(self, index: int, task: T) -> R | Lost:
        for _ in range(TRIES):
            mate = self._mate(index)
            if mate is None:
                return Lost(say("the system does not allow another process"))
            done, result = mate.answer(self._work, task)
            if done:
                return result  # type: ignore[return-value]
            if self._closing:
                break
            if not mate.is_gone():
                return Lost(say("it could not be handed to another process, or back"))
            with self._changed:
                self._mates.pop(index, None)
            mate.__exit__(None, None, None)
        message = "the process that made it was ended {n} times from outside; was there too little memory?"
        return Lost(say(message, n=TRIES))

    def _mate(self, index: int) -> Mate | None:
        with self._changed:
            if self._closing:
                return None
            mate = self._mates.get(index)
            if mate is None and (mate := Mate.started()) is not None:
                self._mates[index] = mate
            return mate


def _empty(line: queue.Queue[Any]) -> None:
    try:
        while True:
            line.get_nowait()
    except queue.Empty:
        return
