"""Sets are made on a real scheduler whose workers, each a process, are killed, restarted and given a full disk."""

from __future__ import annotations

import itertools
import random
import signal
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from support.machines import Machines, whole_or_named
from support.seasons import bytes_of, season

from chartmaker.collection.cluster import Cluster
from chartmaker.collection.running import make_collection, read_collection
from chartmaker.collection.told import Told
from chartmaker.ground.engines import Serial
from chartmaker.ground.errors import ClusterError


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[Machines]:
    (tmp_path / "dask").mkdir()
    machines = Machines(tmp_path / "dask")
    with ExitStack() as stack:
        stack.callback(machines.end)
        yield machines


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The bytes of the season as a single process makes it."""
    folder = tmp_path_factory.mktemp("alone")
    make_collection(read_collection(season(folder, KIND)), folder / "out", engine=Serial())
    return bytes_of(folder / "out")


KIND = 'set = "figures"'
#: Making whole sets takes long enough for a worker to be interrupted.
WHOLE = {"designs": 1, "more": ""}


def made_by(machines: Machines, folder: Path, **more: Any) -> Told:
    (folder / "season").mkdir(exist_ok=True)
    asked = read_collection(season(folder / "season", **{"more": KIND, **more.pop("asked", {})}))
    return make_collection(asked, folder / "out", engine=Cluster(machines.address), **more)


def test_the_bytes_are_the_same_wherever_a_set_was_made(
    machines: Machines, tmp_path: Path, alone: dict[str, str]
) -> None:
    machines.start_worker()
    machines.start_worker()
    told = made_by(machines, tmp_path)
    assert [each.error for each in told.sets] == [""] * 8
    assert bytes_of(tmp_path / "out") == alone
    sent = make_collection(told.season, tmp_path / "sent", engine=Cluster(machines.address), send=True)
    assert [each.error for each in sent.sets] == [""] * 8
    assert bytes_of(tmp_path / "sent") == alone


def test_workers_killed_at_random_lose_nothing(machines: Machines, tmp_path: Path) -> None:
    for _ in range(2):
        machines.start_worker()
    over = threading.Event()
    killed: list[int] = []

    def kill() -> None:
        chance = random.Random(5)
        while not over.wait(chance.uniform(0.1, 0.4)) and len(killed) < 2:
            if not any((tmp_path / "out").glob("d*/summary.json")):
                continue
            victim = machines.workers.pop(0)
            victim.send_signal(signal.SIGKILL)
            killed.append(victim.pid)
            machines.start_worker()

    hand = threading.Thread(target=kill)
    hand.start()
    try:
        told = made_by(machines, tmp_path, asked=WHOLE)
    finally:
        over.set()
        hand.join()
    assert killed
    whole_or_named(told, tmp_path / "out")
    assert len(told.failed) <= len(killed) * 2
    if told.failed:  # a set that was named as failed is made the next time
        told = made_by(machines, tmp_path, asked=WHOLE)
        assert not told.failed


def test_a_scheduler_that_restarts_is_given_all_work_again(machines: Machines, tmp_path: Path) -> None:
    machines.start_worker()

    def restart() -> None:
        while not any((tmp_path / "out").glob("d*/summary.json")):
            time.sleep(0.02)
        machines.scheduler.kill()
        machines.scheduler.wait()
        for worker in machines.workers:
            worker.kill()
        machines.start_scheduler()
        machines.start_worker()

    hand = threading.Thread(target=restart)
    hand.start()
    told = made_by(machines, tmp_path, asked=WHOLE)
    hand.join()
    whole_or_named(told, tmp_path / "out")
    assert not told.failed


def test_a_worker_without_room_on_its_disk_hands_its_sets_on(machines: Machines, tmp_path: Path) -> None:
    # No file may be larger than two blocks of 512 bytes there, which has the effect of a full disk.
    machines.start_worker(limit="ulimit -f 2")
    told = made_by(machines, tmp_path, send=True)
    whole_or_named(told, tmp_path / "out")
    assert len(told.failed) == 8
    assert {each.exit_code for each in told.failed} == {7} and "File too large" in told.failed[0].error
    machines.start_worker()
    for _ in range(20):  # until the other worker has joined
        if not made_by(machines, tmp_path, send=True).failed:
            break
    again = make_collection(told.season, tmp_path / "again", engine=Cluster(machines.address), send=True)
    whole_or_named(again, tmp_path / "again")
    assert not again.failed


def test_a_scheduler_that_does_not_answer_is_named_and_nothing_is_left(tmp_path: Path) -> None:
    asked = read_collection(season(tmp_path, KIND, designs=1))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    with pytest.raises(ClusterError, match="no scheduler answers"):
        make_collection(asked, tmp_path / "out", engine=Cluster(address, 0.5))
    assert list((tmp_path / "out").iterdir()) == []


def test_without_workers_every_set_is_named_as_failed(machines: Machines, tmp_path: Path) -> None:
    (tmp_path / "season").mkdir()
    asked = read_collection(season(tmp_path / "season", KIND, designs=1))
    for _ in itertools.repeat(None, 100):
        with socket.socket() as knock:
            if knock.connect_ex(("127.0.0.1", machines.port)) == 0:
                break
        time.sleep(0.1)
    told = make_collection(asked, tmp_path / "out", engine=Cluster(machines.address, 2.0))
    assert {each.error for each in told.sets} == {f"the scheduler at {machines.address} has no worker"}
    assert (tmp_path / "out" / "collection.html").is_file() and not list((tmp_path / "out").glob("d0-*"))
