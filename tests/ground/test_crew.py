"""Each task given to several processes is done or named as lost, and no process outlives the one that started it."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from chartmaker.ground.crew import TRIES, Crew
from chartmaker.ground.engines import Lost, Serial


def squared(number: int) -> tuple[int, int]:
    time.sleep(0.01)
    return number * number, os.getpid()


def dying(task: tuple[str, int]) -> str:
    """Kill this process as many times as `deaths` says; a file counts the times."""
    name, deaths = task
    seen = Path(name)
    before = int(seen.read_text()) if seen.exists() else 0
    if before < deaths:
        seen.write_text(str(before + 1))
        os.kill(os.getpid(), signal.SIGKILL)
    return "done"


def asleep(seconds: float) -> int:
    time.sleep(seconds)
    return os.getpid()


def test_every_task_is_done_once_by_other_processes() -> None:
    found = dict(Crew(2).as_done(squared, range(30)))
    assert {number: result[0] for number, result in found.items() if not isinstance(result, Lost)} == {
        number: number * number for number in range(30)
    }
    pids = {result[1] for result in found.values() if not isinstance(result, Lost)}
    assert os.getpid() not in pids and 1 <= len(pids) <= 2
    assert dict(Serial().as_done(squared, range(3))).keys() == {0, 1, 2}


def test_a_task_whose_process_dies_is_tried_again_and_finally_named_as_lost(tmp_path: Path) -> None:
    tasks = [(str(tmp_path / f"{deaths}"), deaths) for deaths in (0, 1, TRIES - 1, TRIES, 0)]
    found = list(Crew(2).as_done(dying, tasks))
    results = {task[1]: result for task, result in found}
    assert len(found) == 5
    lost = results.pop(TRIES)
    assert isinstance(lost, Lost) and f"{TRIES} times" in lost.why
    assert set(results.values()) == {"done"}


class OneHeavy:
    """A limit that admits one heavy task at a time, and light ones beside it."""

    def __init__(self) -> None:
        self.heavy = 0
        self.most = 0

    def admit(self, task: Any) -> bool:
        if task >= 0.1 and self.heavy:
            return False
        self.heavy += task >= 0.1
        self.most = max(self.most, self.heavy)
        return True

    def leave(self, task: Any, result: Any) -> None:
        self.heavy -= task >= 0.1


def test_tasks_wait_for_room() -> None:
    room = OneHeavy()
    assert len(list(Crew(3, room).as_done(asleep, [0.1, 0.1, 0.01, 0.1]))) == 4
    assert (room.heavy, room.most) == (0, 1)


def test_tasks_are_taken_as_needed_and_an_error_of_their_source_reaches_the_caller() -> None:
    taken: list[int] = []

    def tasks() -> Iterator[float]:
        for number in range(1000):
            taken.append(number)
            yield 0.01
        raise AssertionError

    results = Crew(2).as_done(asleep, tasks())
    next(results)
    assert len(taken) < 20
    results.close()  # type: ignore[attr-defined]

    def broken() -> Iterator[float]:
        yield 0.01
        raise ValueError("no more")

    with pytest.raises(ValueError, match="no more"):
        list(Crew(2).as_done(asleep, broken()))


def test_a_caller_that_stops_early_leaves_no_process_behind() -> None:
    results = Crew(2).as_done(asleep, [0.01, 30.0, 30.0, 30.0])
    began = time.monotonic()
    _, pid = next(results)
    results.close()  # type: ignore[attr-defined]
    assert time.monotonic() - began < 10
    assert isinstance(pid, int)
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
