"""The second process: what it is given comes back as if done here, and it never outlives whoever started it."""

from __future__ import annotations

import functools
import operator
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from chartmaker.ground import engines as module
from chartmaker.ground.engines import alone, serve, workmate


@pytest.fixture(autouse=True)
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_cores", lambda: 2)


def children() -> list[int]:
    return [int(number) for number in Path(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read_text().split()]


def wait_until(condition: Callable[[], bool]) -> None:
    for _ in range(400):
        if condition():
            return
        time.sleep(0.05)
    raise AssertionError("it never happened")


def is_running(number: int) -> bool:
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_work_is_done_elsewhere_in_its_order() -> None:
    with workmate(wanted=True) as give:
        results = [give(operator.mul, np.arange(5), factor) for factor in range(8)]
        elsewhere = give(os.getpid)
        assert [result().tolist() for result in results] == [[n * factor for n in range(5)] for factor in range(8)]
        assert elsewhere() != os.getpid()


def test_unwanted_or_alone_it_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    with workmate(wanted=False) as give:
        assert give(os.getpid)() == os.getpid()
    monkeypatch.setattr(module, "_cores", lambda: 1)
    with workmate(wanted=True) as give:
        assert give(os.getpid)() == os.getpid()
        assert not children()
    assert alone is functools.partial


def test_where_the_system_gives_none_it_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with workmate(wanted=True) as give:
        assert give(os.getpid)() == os.getpid()


def test_what_fails_there_fails_here_as_what_it_is() -> None:
    with workmate(wanted=True) as give:
        failing, after = give(operator.truediv, 1, 0), give(operator.add, 1, 2)
        with pytest.raises(ZeroDivisionError):
            failing()
        assert after() == 3


def test_killed_it_is_done_without() -> None:
    with workmate(wanted=True) as give:
        there = give(os.getpid)()
        os.kill(there, signal.SIGKILL)
        assert [give(operator.add, n, 1)() for n in range(3)] == [1, 2, 3]
        assert give(os.getpid)() == os.getpid()


def test_left_it_is_ended_whatever_it_is_at() -> None:
    with workmate(wanted=True) as give:
        there = give(os.getpid)()
        give(time.sleep, 600)
    assert not is_running(there)
    assert there not in children()


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
def test_it_ends_with_whoever_started_it(number: signal.Signals) -> None:
    work = (
        "import os, time; from chartmaker.ground import engines as w; w._cores = lambda: 2\n"
        "with w.workmate(wanted=True) as give:\n"
        "    print(give(os.getpid)(), flush=True); give(time.sleep, 600); time.sleep(600)"
    )
    process = subprocess.Popen([sys.executable, "-c", work], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    there = int(process.stdout.readline())
    assert is_running(there)
    process.send_signal(number)
    process.wait()
    process.stdout.close()
    wait_until(lambda: not is_running(there))


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_it_ends_when_its_letters_do_even_in_the_middle_of_one(share: float) -> None:
    """Whoever asks may be killed while writing."""
    letter = pickle.dumps((operator.add, ([1] * 10_000, [2])), pickle.HIGHEST_PROTOCOL)
    serve = [sys.executable, "-c", module._SERVE.format(path=sys.path)]
    with subprocess.Popen(serve, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as mate:
        assert mate.stdin is not None and mate.stdout is not None
        mate.stdin.write(letter[: round(len(letter) * share)])
        mate.stdin.flush()
        if share == 1:
            assert pickle.load(mate.stdout) == (True, [1] * 10_000 + [2])
        mate.stdin.close()
        assert mate.wait(timeout=60) == 0


def test_cores_are_those_that_this_process_may_use(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    assert module._cores() == len(os.sched_getaffinity(0))
    monkeypatch.delattr(os, "sched_getaffinity")
    assert module._cores() == os.cpu_count()


def test_what_is_said_between_the_two(monkeypatch: pytest.MonkeyPatch) -> None:
    ended = threading.Event()
    asked, ask = os.pipe()
    answered, answer = os.pipe()
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=os.fdopen(asked, "rb")))
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(buffer=os.fdopen(answer, "wb")))

    def leave(_code: int) -> None:
        ended.set()
        threading.Event().wait()  # nothing goes on after it

    monkeypatch.setattr(os, "_exit", leave)
    threading.Thread(target=serve, daemon=True).start()
    with os.fdopen(ask, "wb") as letters, os.fdopen(answered, "rb") as answers:
        for work, expected in (((int, ("7",)), (True, 7)), ((int, ("seven",)), (False, None))):
            pickle.dump(work, letters)
            letters.flush()
            assert pickle.load(answers) == expected
        letters.close()
        assert ended.wait(60)
