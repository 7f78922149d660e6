"""Work shared with a second process comes out as if done alone, whatever becomes of that process."""

from __future__ import annotations

import os
import pickle
import sys
import threading
import time
from types import SimpleNamespace

import pytest

from chartmaker import workmate
from chartmaker.workmate import alone, serve


@pytest.fixture(autouse=True)
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workmate, "_cores", lambda: 2)


def leave_unless(process: int) -> str:
    """End the process at once, unless it is `process`."""
    if os.getpid() != process:
        os._exit(1)
    return "done here"


def test_work_is_done_in_another_process() -> None:
    with workmate.workmate(wanted=True) as give:
        answers = [give(pow, 7, exponent) for exponent in range(5)]
        assert give(os.getpid)() != os.getpid()
        assert [answer() for answer in answers] == [7**exponent for exponent in range(5)]


def test_work_that_fails_there_fails_here() -> None:
    with workmate.workmate(wanted=True) as give:
        with pytest.raises(ValueError, match="invalid literal"):
            give(int, "seven")()
        assert give(int, "7")() == 7  # and the other goes on


def test_work_is_done_here_when_the_other_process_is_gone() -> None:
    with workmate.workmate(wanted=True) as give:
        assert give(leave_unless, os.getpid())() == "done here"
        assert give(pow, 7, 2)() == 49


def test_it_is_ended_in_the_middle_of_its_work() -> None:
    with workmate.workmate(wanted=True) as give:
        process = give(os.getpid)()
        give(time.sleep, 10_000)
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)


def test_no_second_process_where_none_is_wanted_or_there_is_one_core(monkeypatch: pytest.MonkeyPatch) -> None:
    with workmate.workmate(wanted=False) as give:
        assert give is alone
    monkeypatch.setattr(workmate, "_cores", lambda: 1)
    with workmate.workmate(wanted=True) as give:
        assert give(os.getpid)() == os.getpid()


def test_cores_are_those_this_process_may_use(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    assert workmate._cores() == len(os.sched_getaffinity(0))
    monkeypatch.delattr(os, "sched_getaffinity")
    assert workmate._cores() == os.cpu_count()


def test_what_is_said_between_the_two(monkeypatch: pytest.MonkeyPatch) -> None:
    ended = threading.Event()
    asked, ask = os.pipe()
    answered, answer = os.pipe()
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=os.fdopen(asked, "rb")))
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(buffer=os.fdopen(answer, "wb")))
    monkeypatch.setattr(os, "_exit", lambda code: ended.set())
    threading.Thread(target=serve, daemon=True).start()
    with os.fdopen(ask, "wb") as letters, os.fdopen(answered, "rb") as answers:
        for work, expected in (((int, ("7",)), (True, 7)), ((int, ("seven",)), (False, None))):
            pickle.dump(work, letters)
            letters.flush()
            assert pickle.load(answers) == expected
        letters.close()
        assert ended.wait(60)
