"""Makes a season of many small sets while workers are killed at random: each set must be whole or named."""

from __future__ import annotations

import argparse
import random
import signal
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

from support.machines import Machines, whole_or_named
from support.seasons import bytes_of, season

from chartmaker.collection.cluster import Cluster
from chartmaker.collection.running import make_collection, read_collection
from chartmaker.ground.engines import Serial

#: The sets of each design: two sizes in two colourways.
SETS_OF_A_DESIGN = 4


def killing(machines: Machines, over: threading.Event, every_s: float, chance: random.Random) -> int:
    """Kill a worker at random moments, on average every `every_s` seconds, start another each time; return how many."""
    killed = 0
    while not over.wait(chance.uniform(0.5, 1.5) * every_s):
        victim = machines.workers.pop(chance.randrange(len(machines.workers)))
        victim.send_signal(signal.SIGKILL)
        victim.wait()
        machines.start_worker()
        killed += 1
    return killed


def main() -> int:
    """Make the season while workers are killed, then again until it is whole; compare it with an undisturbed one."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--sets", type=int, default=2000)
    asked.add_argument("--every", type=float, default=10.0, help="seconds between two killed workers, on average")
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    began, failures = time.perf_counter(), []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "dask").mkdir()
        designs = max(given.sets // SETS_OF_A_DESIGN, 1)
        wanted = read_collection(season(folder, 'set = "figures"', designs=designs))
        machines, over, killed = Machines(folder / "dask"), threading.Event(), []
        try:
            machines.start_worker()
            machines.start_worker()
            chance = random.Random(given.seed)
            hand = threading.Thread(target=lambda: killed.append(killing(machines, over, given.every, chance)))
            hand.start()
            engine = Cluster(machines.address)
            for _ in range(10):
                told = make_collection(wanted, folder / "out", engine=engine)
                whole_or_named(told, folder / "out")
                failures.append(len(told.failed))
                if not told.failed:
                    break
        finally:
            over.set()
            hand.join()
            machines.end()
        seconds = time.perf_counter() - began
        make_collection(wanted, folder / "alone", engine=Serial())
        same = bytes_of(folder / "out") == bytes_of(folder / "alone")
    print(f"{len(wanted.wanted)} sets, {killed[0]} workers killed, {seconds:.0f} s")
    print(f"sets named as failed, by run: {failures}; the bytes of one process: {'the same' if same else 'DIFFERENT'}")
    return 0 if same and not failures[-1] else 1


if __name__ == "__main__":
    sys.exit(main())
