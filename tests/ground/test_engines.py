"""Every engine gives the same results, and a set of files made by any of them is the same to the byte."""

from __future__ import annotations

import contextlib
import functools
import operator
import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from chartmaker.ground import engines as module
from chartmaker.ground.engines import Engine, Serial, Threads, TwoProcesses, cores, engine, running, started
from chartmaker.ground.mate import Mate
from chartmaker.jobs import making, read_order

ENGINES = ("serial", "threads", "two processes")


@contextlib.contextmanager
def engine_called(name: str) -> Iterator[Engine]:
    """Put the engine of that name in force, with two cores on any machine."""
    if name == "two processes":
        mate = Mate.started()
        assert mate is not None
        with mate, running(TwoProcesses(mate, cores=2)) as there:
            yield there
    else:
        with running(Serial() if name == "serial" else Threads(cores=2)) as there:
            yield there


@pytest.mark.parametrize("name", ENGINES)
def test_results_come_in_the_order_of_their_parts(name: str) -> None:
    with engine_called(name) as there:
        assert there.each(lambda part: part * part, range(50)) == [n * n for n in range(50)]
        assert there.each(len, []) == []
        given_away = [there.give(operator.mul, np.arange(3), n) for n in range(20)]
        assert [result().tolist() for result in given_away] == [[0, n, 2 * n] for n in range(20)]
        assert list(there.spread(operator.sub, ((n, 1) for n in range(200)))) == list(range(-1, 199))
        assert list(there.spread(operator.sub, ())) == []


@pytest.mark.parametrize("name", ENGINES)
def test_an_error_in_a_task_reaches_the_caller_as_it_was_raised(name: str) -> None:
    with engine_called(name) as there:
        with pytest.raises(ZeroDivisionError):
            there.each(lambda part: 1 // part, [2, 0, 1])
        failing, after = there.give(operator.truediv, 1, 0), there.give(operator.add, 1, 2)
        with pytest.raises(ZeroDivisionError):
            failing()
        with pytest.raises(ZeroDivisionError):
            list(there.spread(operator.truediv, [(1, n % 3) for n in range(9)]))
        assert after() == 3
        assert there.each(abs, [-1, -2]) == [1, 2]  # and the engine still works afterwards


def test_a_result_is_worked_out_once() -> None:
    """A result that is asked for twice is the same object."""
    with engine_called("two processes") as there:
        result = there.give(operator.mul, np.arange(3), 2)
        assert result() is result()


def test_tasks_are_taken_one_by_one_and_few_results_are_held_back() -> None:
    """While the first task hangs in the other process, this one does a few of the next, but not all of them."""
    taken = 0

    def tasks() -> Iterator[tuple[float]]:
        nonlocal taken
        for n in range(1000):
            taken += 1
            yield (0.5 if n == 0 else 0.0,)

    with engine_called("two processes") as there:
        assert there.spread(time.sleep, tasks()) is not None
        assert taken == 0
        first = next(there.spread(time.sleep, tasks()))
        assert first is None
        assert taken < 30


def test_both_processes_do_a_fair_share_of_many_tasks() -> None:
    with engine_called("two processes") as there:
        assert there.give(os.getpid)() != os.getpid()
        done_by = list(there.spread(_busy, [(0.02,)] * 40))
        assert 10 <= done_by.count(os.getpid()) <= 30


def _busy(seconds: float) -> int:
    time.sleep(seconds)
    return os.getpid()


def test_nested_work_does_not_block_the_pool() -> None:
    """Two threads that both shared out their work again would fill the pool and wait for ever."""
    with engine_called("threads") as there:
        inner = there.each(lambda part: engine().each(lambda n: n + part, range(4)), range(8))
    assert inner == [[n + part for n in range(4)] for part in range(8)]


def test_threads_are_made_once_and_not_at_all_for_one_part_or_one_core() -> None:
    here = Threads(cores=2)
    assert here.each(lambda _: threading.get_ident(), [0]) == [threading.get_ident()]
    assert here._pool is None
    for _ in range(3):
        here.each(abs, range(9))
        pool = here._pool
        assert pool is not None
    assert here._pool is pool
    alone = Threads(cores=1)
    assert set(alone.each(lambda _: threading.get_ident(), range(9))) == {threading.get_ident()}


def test_a_second_process_is_started_for_large_work_where_there_is_a_core_for_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "cores", lambda: 2)
    usual = engine()
    assert type(usual) is Threads
    with started(large=True) as there:
        assert type(there) is TwoProcesses and engine() is there
        with started(large=True) as inner:
            assert inner is there
    assert engine() is usual
    with started(large=False) as there:
        assert there is usual
    with running(Serial()) as wanted, started(large=True) as there:
        assert there is wanted
    monkeypatch.setattr(module, "cores", lambda: 1)
    with started(large=True) as there:
        assert there is usual


def test_without_a_second_process_the_work_is_done_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "cores", lambda: 2)
    monkeypatch.setattr("sys.executable", "/nowhere/python")
    with started(large=True) as there:
        assert there.give(os.getpid)() == os.getpid()
        there.warm(functools.partial(pytest.fail, "nobody to be warmed"))


def test_cores_are_those_that_this_process_may_use(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_quota", lambda *_: None)
    assert cores() == len(os.sched_getaffinity(0))
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(9)))
    assert cores() == 9
    monkeypatch.setattr(module, "_quota", lambda *_: 3)
    assert cores() == 3
    monkeypatch.setattr(module, "_quota", lambda *_: None)
    monkeypatch.delattr(os, "sched_getaffinity")
    assert cores() == os.cpu_count()


@pytest.mark.parametrize(
    ("own", "limits", "left"),
    [  # In cgroup v2 cpu.max is "$MAX $PERIOD" in microseconds (Linux, Documentation/admin-guide/cgroup-v2.rst).
        ("0::/\n", {"": "200000 100000"}, 2),
        ("0::/\n", {"": "max 100000"}, None),
        ("0::/a/b\n", {"a/b": "max 100000", "a": "150000 100000"}, 2),
        ("0::/a/b\n", {"a/b": "50000 100000", "a": "400000 100000"}, 1),
        ("12:cpu:/a\n0::/a\n", {"a": "300000 100000"}, 3),
        ("0::/../elsewhere\n", {}, None),
        ("4:cpu:/a\n", {"a": "100000 100000"}, None),
        ("", {}, None),
        ("0::/a\n", {"a": "nonsense"}, None),
        (None, {}, None),
    ],
)
def test_the_quota_of_a_control_group(
    tmp_path: Path, own: str | None, limits: dict[str, str], left: int | None
) -> None:
    mine, groups = tmp_path / "cgroup", tmp_path / "groups"
    if own is not None:
        mine.write_text(own)
    for name, limit in limits.items():
        (groups / name).mkdir(parents=True, exist_ok=True)
        (groups / name / "cpu.max").write_text(limit + "\n")
    assert module._quota(mine, groups) == left


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False, width=32), max_size=40), st.integers(1, 5))
def test_sums_over_parts_do_not_depend_on_the_engine(values: list[float], step: int) -> None:
    array = np.array(values, dtype=np.float64)
    parts = [slice(first, first + step) for first in range(0, len(array), step)]
    sums = [sum(there.each(lambda part: float(array[part].sum()), parts)) for there in (Serial(), Threads(cores=2))]
    assert sums[0] == sums[1]


@pytest.fixture(scope="module")
def sets(root: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, bytes]]:
    """The files of one small set in flat and in shaded style, made by each engine."""
    made = {}
    artwork = tmp_path_factory.mktemp("artwork") / "quince.png"
    with Image.open(root / "examples" / "quince_garden.png") as large:
        large.crop((large.width // 4, large.height // 4, large.width // 2, large.height // 2)).save(artwork)
    for name in ENGINES:
        files = {}
        for style in ("flat", "shaded"):
            over: making.Tables = {
                "rug": {"size": "20x30 cm"},  # of a quarter of the artwork, so that motifs are few
                "design": {"style": style, "artwork": str(artwork)},
                "yarns": {"colours": 6},
            }
            order = read_order(root / "examples" / "quince_garden.toml", over)
            out = tmp_path_factory.mktemp(style) / "out"
            with engine_called(name):
                making.make(order, out, replace=False)
            files |= {f"{style} {path.name}": path.read_bytes() for path in out.iterdir()}
        made[name] = files
    return made


@pytest.mark.parametrize("name", ENGINES[1:])
def test_each_engine_makes_the_same_bytes(sets: dict[str, dict[str, bytes]], name: str) -> None:
    assert len(sets["serial"]) == 2 * len(making.outputs.SET_NAMES)
    assert sets["serial"].keys() == sets[name].keys()
    assert [file for file, data in sets["serial"].items() if sets[name][file] != data] == []
