"""A real scheduler with workers, each in a process of its own, and what must hold of a season that they made."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

from chartmaker.collection.batches import FIGURES_ONLY
from chartmaker.collection.told import Told
from chartmaker.jobs.outputs import SET_NAMES

START = "import sys, distributed.cli.{what} as it; sys.argv[0] = '{what}'; it.main()"


class Machines:
    """A scheduler and its workers, each a process; all of them end with the test."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"tcp://127.0.0.1:{self.port}"
        self.folder = folder
        self.all: list[subprocess.Popen[bytes]] = []
        self.workers: list[subprocess.Popen[bytes]] = []
        self.scheduler = self.start_scheduler()

    def _started(self, what: str, *arguments: str, limit: str = "") -> subprocess.Popen[bytes]:
        command = [sys.executable, "-c", START.format(what=what), *arguments]
        if limit:
            command = ["sh", "-c", f'{limit}; exec "$@"', "sh", *command]
        log = (self.folder / "log").open("ab")
        process = subprocess.Popen(command, stdout=log, stderr=log, cwd=self.folder)
        self.all.append(process)
        return process

    def start_scheduler(self) -> subprocess.Popen[bytes]:
        arguments = ("--host", "127.0.0.1", "--port", str(self.port), "--no-dashboard")
        self.scheduler = self._started("dask_scheduler", *arguments)
        return self.scheduler

    def start_worker(self, limit: str = "") -> None:
        arguments = ("--nthreads", "1", "--no-nanny", "--no-dashboard", "--local-directory", str(self.folder))
        self.workers.append(self._started("dask_worker", self.address, *arguments, limit=limit))

    def end(self) -> None:
        for process in self.all:
            process.kill()
        for process in self.all:
            process.wait()


def whole_or_named(told: Told, out: Path) -> None:
    """Check that every set is there with all its files, or is named with an error and left nothing behind."""
    assert not list(out.glob(".*.part"))
    for each in told.sets:
        names = {path.name for path in (out / each.wanted.name).glob("*")}
        wanted = FIGURES_ONLY if each.wanted.kind == "figures" else SET_NAMES
        assert names == (set() if each.state == "failed" else set(wanted))
        assert (each.state == "failed") == bool(each.error)
