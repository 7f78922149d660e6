"""The second process: what it is given comes back as if done here, and it never outlives whoever started it."""

from __future__ import annotations

import operator
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from chartmaker.ground import language
from chartmaker.ground import mate as module
from chartmaker.ground.engines import Serial, engine
from chartmaker.ground.mate import Mate, Promise, serve


@pytest.fixture
def mate() -> Iterator[Mate]:
    other = Mate.started()
    assert other is not None
    with other:
        yield other


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


def test_work_is_done_elsewhere_in_its_order(mate: Mate) -> None:
    elsewhere = mate.ask(os.getpid)
    results = [mate.ask(operator.mul, np.arange(5), factor) for factor in range(8)]
    wait_until(lambda: all(result.done() for result in results))
    assert [result().tolist() for result in results] == [[n * factor for n in range(5)] for factor in range(8)]
    assert elsewhere() != os.getpid()


def test_where_the_system_gives_none_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert Mate.started() is None


def test_what_fails_there_fails_here_as_what_it_is(mate: Mate) -> None:
    failing, after = mate.ask(operator.truediv, 1, 0), mate.ask(operator.add, 1, 2)
    with pytest.raises(ZeroDivisionError):
        failing()
    assert after() == 3


def test_what_cannot_travel_is_done_here(mate: Mate) -> None:
    """Neither a nested function goes there, nor does a result come back that cannot be packed."""
    assert mate.ask(lambda: os.getpid())() == os.getpid()
    assert type(mate.ask(threading.Lock)()) is type(threading.Lock())
    there = mate.ask(os.getpid)
    wait_until(there.done)
    assert there() != os.getpid()  # and it still serves


def test_what_was_not_begun_there_is_done_here(mate: Mate) -> None:
    hung = mate.ask(time.sleep, 600)
    waiting = mate.ask(os.getpid)
    assert waiting() == os.getpid()
    assert not hung.done()
    assert waiting.done()


def _engine_there() -> str:
    return type(engine()).__name__


def test_it_shares_nothing_out_again(mate: Mate) -> None:
    there = mate.ask(_engine_there)
    wait_until(there.done)
    assert there() == Serial.__name__


class Shouting:
    """A language of capitals."""

    def sentence(self, template: str) -> str:
        return template.upper()

    def plural(self, one: str, many: str, number: int) -> str:
        return self.sentence(one if number == 1 else many)


def test_it_speaks_the_language_in_force_here(mate: Mate) -> None:
    with language.speaking(Shouting()):
        shouted = mate.ask(language.say, "a rug")
    said = mate.ask(language.say, "a rug")
    wait_until(said.done)
    assert (shouted(), said()) == ("A RUG", "a rug")


def test_killed_it_is_done_without(mate: Mate) -> None:
    there = mate.ask(os.getpid)
    wait_until(there.done)
    os.kill(there(), signal.SIGKILL)
    assert [mate.ask(operator.add, n, 1)() for n in range(3)] == [1, 2, 3]
    assert mate.ask(os.getpid)() == os.getpid()


def test_left_it_is_ended_whatever_it_is_at() -> None:
    other = Mate.started()
    assert other is not None
    with other:
        asked = other.ask(os.getpid)
        wait_until(asked.done)
        there = asked()
        other.ask(time.sleep, 600)
    assert not is_running(there)
    assert there not in children()


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
def test_it_ends_with_whoever_started_it(number: signal.Signals) -> None:
    work = (
        "import os, time; from chartmaker.ground.mate import Mate\n"
        "with Mate.started() as mate:\n"
        "    there = mate.ask(os.getpid); time.sleep(0.2)\n"
        "    while not there.done(): time.sleep(0.02)\n"
        "    print(there(), flush=True); mate.ask(time.sleep, 600); time.sleep(600)"
    )
    process = subprocess.Popen([sys.executable, "-c", work], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    there = int(process.stdout.readline())
    assert there != process.pid and is_running(there)
    process.send_signal(number)
    process.wait()
    process.stdout.close()
    wait_until(lambda: not is_running(there))


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_it_ends_when_its_letters_do_even_in_the_middle_of_one(share: float) -> None:
    """Whoever asks may be killed while writing."""
    task = (language.English(), operator.add, ([1] * 10_000, [2]))
    letter = pickle.dumps(task, pickle.HIGHEST_PROTOCOL)
    serving = [sys.executable, "-c", module._SERVE.format(path=sys.path)]
    with subprocess.Popen(serving, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as other:
        assert other.stdin is not None and other.stdout is not None
        other.stdin.write(letter[: round(len(letter) * share)])
        other.stdin.flush()
        if share == 1:
            assert pickle.load(other.stdout) == (True, [1] * 10_000 + [2])
        other.stdin.close()
        assert other.wait(timeout=60) == 0


def test_a_promise_of_what_is_there_is_kept() -> None:
    promise = Promise.kept([1])
    assert promise.done() and promise() is promise()
    promise.take_back()
    assert promise() == [1]


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
            pickle.dump((language.English(), *work), letters)
            letters.flush()
            assert pickle.load(answers) == expected
        letters.close()
        assert ended.wait(60)
