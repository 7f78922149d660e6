"""Work given to the second process comes back as if it was done here, and that process never outlives this one."""

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


def test_work_is_done_by_the_other_process_in_order(mate: Mate) -> None:
    elsewhere = mate.ask(os.getpid)
    results = [mate.ask(operator.mul, np.arange(5), factor) for factor in range(8)]
    wait_until(lambda: all(result.done() for result in results))
    assert [result().tolist() for result in results] == [[n * factor for n in range(5)] for factor in range(8)]
    assert elsewhere() != os.getpid()


def test_where_the_system_starts_no_process_there_is_no_mate(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert Mate.started() is None


def test_an_error_in_the_other_process_is_raised_here_as_it_was(mate: Mate) -> None:
    failing, after = mate.ask(operator.truediv, 1, 0), mate.ask(operator.add, 1, 2)
    with pytest.raises(ZeroDivisionError):
        failing()
    assert after() == 3


def test_work_that_cannot_be_sent_is_done_here(mate: Mate) -> None:
    """A nested function cannot be sent there, and a result that cannot be packed does not come back."""
    assert mate.ask(lambda: os.getpid())() == os.getpid()
    assert type(mate.ask(threading.Lock)()) is type(threading.Lock())
    there = mate.ask(os.getpid)
    wait_until(there.done)
    assert there() != os.getpid()  # and the process still serves


def test_work_that_was_not_begun_there_is_done_here(mate: Mate) -> None:
    hung = mate.ask(time.sleep, 600)
    waiting = mate.ask(os.getpid)
    assert waiting() == os.getpid()
    assert not hung.done()
    assert waiting.done()


def _engine_there() -> str:
    return type(engine()).__name__


def test_it_does_not_share_out_its_work_again(mate: Mate) -> None:
    there = mate.ask(_engine_there)
    wait_until(there.done)
    assert there() == Serial.__name__


class Shouting:
    """A language of capitals, which shows whether a word was looked up."""

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


def test_when_it_is_killed_the_work_is_done_here(mate: Mate) -> None:
    there = mate.ask(os.getpid)
    wait_until(there.done)
    os.kill(there(), signal.SIGKILL)
    assert [mate.ask(operator.add, n, 1)() for n in range(3)] == [1, 2, 3]
    assert mate.ask(os.getpid)() == os.getpid()


def test_when_its_context_ends_it_is_ended_whatever_it_does() -> None:
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
def test_it_ends_with_the_process_that_started_it(number: signal.Signals) -> None:
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
def test_it_ends_when_its_messages_stop_even_in_the_middle_of_one(share: float) -> None:
    """The process that asks may be killed while it writes a message."""
    task = (language.English(), operator.add, ([1] * 10_000, [2]))
    letter = b"".join(module.letter_of(task))
    serving = [sys.executable, "-c", module._SERVE.format(path=sys.path)]
    with subprocess.Popen(serving, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as other:
        assert other.stdin is not None and other.stdout is not None
        other.stdin.write(letter[: round(len(letter) * share)])
        other.stdin.flush()
        if share == 1:
            assert pickle.load(other.stdout) == (True, [1] * 10_000 + [2])
        other.stdin.close()
        assert other.wait(timeout=60) == 0


def test_a_result_that_is_known_is_given_at_once() -> None:
    promise = Promise.kept([1])
    assert promise.done() and promise() is promise()
    promise.take_back()
    assert promise() == [1]


def test_the_two_processes_exchange_tasks_and_results(monkeypatch: pytest.MonkeyPatch) -> None:
    ended = threading.Event()
    asked, ask = os.pipe()
    answered, answer = os.pipe()
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=os.fdopen(asked, "rb")))
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(buffer=os.fdopen(answer, "wb")))

    def leave(_code: int) -> None:
        ended.set()
        threading.Event().wait()  # so that nothing goes on after it

    monkeypatch.setattr(os, "_exit", leave)
    threading.Thread(target=serve, daemon=True).start()
    with os.fdopen(ask, "wb") as letters, os.fdopen(answered, "rb") as answers:
        for work, expected in (((int, ("7",)), (True, 7)), ((int, ("seven",)), (False, None))):
            letters.writelines(module.letter_of((language.English(), *work)))
            letters.flush()
            assert pickle.load(answers) == expected
        letters.close()
        assert ended.wait(60)
