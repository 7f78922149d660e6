"""Measures a collection beside a shell loop over `make`, the overhead of a cluster, and an extrapolated season.

    python tests/bench/bench_collection.py                     # 40 sets of 20,000 knots each way
    python tests/bench/bench_collection.py --sets 1000         # the floor; about half an hour of two cores
    python tests/bench/bench_collection.py --large             # one rug of 3 million knots, in parts, then the season

Both ways make the same sets: designs in two sizes and four colourways. The loop has no colourways: it makes each set
again, as it must with only `make`. The clock is what one waits for; processor seconds are those of all processes.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\nO1,Ochre,#c08a30\n"
RUG = '[rug]\nname = "Design {n}"\nsize = "30x40 cm"\ndensity = "40x42 per dm"\n[design]\nartwork = "d{n}.png"\n'
RUG += '[yarns]\ncard = "wool.csv"\n'
SIZES = ("30x40 cm", "32x38 cm")
WAYS = {"drawn": "", "dawn": 'R1 = "O1"\n', "dusk": 'R1 = "B1"\nB1 = "R1"\n', "night": 'W1 = "G1"\nG1 = "W1"\n'}
#: The season that is extrapolated: its sets, the knots of each, and how many sets share a conversion.
SEASON_SETS, SEASON_KNOTS, SHARING = 4000, 3_000_000, len(WAYS)


def draw(path: Path, seed: int, width: int = 480, height: int = 640) -> None:
    """Draw a border, a medallion, petals and thin lines in flat colours, arranged differently for each seed."""
    chance = np.random.default_rng(seed)
    colours = np.array([[160, 40, 32], [32, 44, 96], [240, 232, 216], [112, 112, 48], [192, 138, 48]], np.uint8)
    y, x = np.mgrid[:height, :width]
    border = np.minimum.reduce([x, y, width - 1 - x, height - 1 - y])
    art = np.full((height, width), chance.integers(5))
    angle, away = np.arctan2(y - height / 2, x - width / 2), np.hypot(y - height / 2, x - width / 2)
    petals = chance.integers(5, 12)
    art[away < 150 + 40 * np.cos(petals * angle)] = chance.integers(5)
    art[away < 90 + 25 * np.sin(petals * angle)] = chance.integers(5)
    art[(x + y * 2) % 60 < 4] = chance.integers(5)
    art[border < 48] = chance.integers(5)
    art[(border > 20) & (border < 28)] = chance.integers(5)
    Image.fromarray(colours[art]).save(path)


def prepared(folder: Path, sets: int) -> Path:
    """Write the designs for that many sets and the file of their collection."""
    (folder / "wool.csv").write_text(CARD)
    for n in range(max(sets // (len(SIZES) * len(WAYS)), 1)):
        draw(folder / f"d{n}.png", n)
        (folder / f"d{n}.toml").write_text(RUG.format(n=n))
    ways = "".join(f"[colourways.{name}]\n{swaps}" for name, swaps in WAYS.items())
    every = '[every.design]\nfit = "stretch"\n'
    text = f'[collection]\nrugs = ["d*.toml"]\n[sizes]\nof = {json.dumps(SIZES)}\n{ways}{every}'
    (folder / "season.toml").write_text(text)
    return folder / "season.toml"


def timed(command: list[str]) -> tuple[float, float, float]:
    """Return the clock seconds and processor seconds of a command, and the megabytes of its largest process."""
    began = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    assert child.returncode == 0, command
    return time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


CHARTMAKER = [sys.executable, "-m", "chartmaker"]


def looped(folder: Path, sets: int) -> tuple[float, float]:
    """Make the sets one after another with `make`, as a shell loop does."""
    clock = cpu = 0.0
    (folder / "loop").mkdir()
    for n in range(max(sets // (len(SIZES) * len(WAYS)), 1)):
        for size in SIZES:
            for way in WAYS:
                out = str(folder / "loop" / f"d{n}-{size.replace(' ', '')}-{way}")
                options = ["--size", size, "--name", f"Design {n}, {way}", "--fit", "stretch", "--quiet"]
                took = timed([*CHARTMAKER, "make", str(folder / f"d{n}.toml"), "--out", out, *options])
                clock, cpu = clock + took[0], cpu + took[1]
    return clock, cpu


PARENT = """
import resource, sys
from chartmaker.collection.running import make_collection, read_collection
told = make_collection(read_collection(sys.argv[1]), sys.argv[2])
assert not told.failed
with open(sys.argv[3], "w") as stream:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, file=stream)
"""


def beside(sets: int, loop_sets: int) -> None:
    """Make `sets` as a collection and `loop_sets` of them in a loop, alternately in two halves."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        season = prepared(folder, sets)
        made = max(sets // 8, 1) * 8
        run = [sys.executable, "-c", PARENT, str(season), str(folder / "out"), str(folder / "rss")]
        clock, cpu, largest = timed(run)
        parent = float((folder / "rss").read_text())
        again = timed(run)
        loop_clock, loop_cpu = looped(folder, loop_sets)
        looped_sets = max(loop_sets // 8, 1) * 8
        print(f"collection  {made:5d} sets  {clock / made:6.3f} s a set  {cpu / made:6.3f} processor s a set")
        print(f"make, loop  {looped_sets:5d} sets  {loop_clock / looped_sets:6.3f} s a set", end="")
        print(f"  {loop_cpu / looped_sets:6.3f} processor s a set")
        ratio = (loop_clock / looped_sets) / (clock / made)
        by_cpu = (loop_cpu / looped_sets) / (cpu / made)
        print(f"the collection is {ratio:.2f} times as fast by the clock, {by_cpu:.2f} by processor seconds")
        print(f"nothing to make: {again[0]:.2f} s for {made} sets")
        print(f"memory of {made} sets: {parent:.0f} MB who hands out, {largest:.0f} MB the largest worker")


def processor_seconds(machines: list[subprocess.Popen[bytes]]) -> float:
    """Return the processor seconds of this process, of its children that ended, and of `machines` still running."""
    ended = os.times()
    far = 0.0
    for machine in machines:
        fields = Path(f"/proc/{machine.pid}/stat").read_text().rpartition(")")[2].split()
        far += (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    return ended.user + ended.system + ended.children_user + ended.children_system + far


def cluster(sets: int) -> None:
    """Make the same sets by two local processes and by two workers of a scheduler, in turn.

    Processor seconds are printed beside the clock, because other work on the machine changes them less.
    """
    from chartmaker.collection.cluster import Cluster
    from chartmaker.collection.running import make_collection, read_collection
    from chartmaker.ground.crew import Crew

    start = "import sys, distributed.cli.dask_{0} as it; sys.argv[0] = '{0}'; it.main()"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        season = read_collection(prepared(folder, sets))
        plain = ["--no-dashboard"]
        address = "tcp://127.0.0.1:8799"
        commands = [[sys.executable, "-c", start.format("scheduler"), "--host", "127.0.0.1", "--port", "8799", *plain]]
        worker = [sys.executable, "-c", start.format("worker"), address, "--nthreads", "1", "--no-nanny", *plain]
        commands += [[*worker, "--local-directory", name]] * 2
        # so that the workers end with this process even if it is killed
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
        machines = [subprocess.Popen(c, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL) for c in commands]
        try:
            took: dict[str, list[tuple[float, float]]] = {"processes": [], "cluster": []}
            for turn in range(3):  # the first round of each only warms up
                for what, engine in (("processes", Crew(2)), ("cluster", Cluster(address))):
                    out = folder / f"{what}{turn}"
                    began, used = time.perf_counter(), processor_seconds(machines)
                    assert not make_collection(season, out, engine=engine).failed
                    took[what].append((time.perf_counter() - began, processor_seconds(machines) - used))
                    shutil.rmtree(out)
        finally:
            for machine in machines:
                machine.kill()
                machine.wait()
        for number, unit in enumerate(("s by the clock", "processor s")):
            for what, times in took.items():
                print(f"{what:10s} {', '.join(f'{each[number]:.2f}' for each in times)} {unit} for {sets} sets")
            local, far = (min(each[number] for each in took[what][1:]) for what in ("processes", "cluster"))
            print(f"the cluster takes {100 * (far / local - 1):+.1f} % against processes that are started anew")


NEED = """
import sys, time
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from bench_collection import draw, prepared
from chartmaker.collection.batches import Batch, SetTask, make_batch
from chartmaker.ground.engines import Serial, running
from chartmaker.jobs import read_order
folder, style, size, side = Path(sys.argv[2]), sys.argv[3], sys.argv[4], int(sys.argv[5])
prepared(folder, 8)
draw(folder / "d0.png", 0, 3 * side, 4 * side)
over = {"rug": {"size": size, "density": "50x50 per dm"}, "design": {"fit": "stretch", "style": style}}
order = read_order(folder / "d0.toml", over)
with running(Serial()):
    done = make_batch(Batch(order, (SetTask("big", "Big", (), "all", ""),), str(folder)))
assert not done.outcomes[0].error, done.outcomes[0].error
print(style, order.rug.knots, 12 * side * side, round(done.peak_bytes / 1e6), "MB")
"""


def needs() -> None:
    """Print the most memory that one set takes for its knots and for its artwork's pixels, each in a fresh process."""
    here = str(Path(__file__).parent)
    for style in ("flat", "shaded"):
        for size, side in (("30x40 cm", 160), ("30x40 cm", 1600), ("120x160 cm", 480), ("240x320 cm", 960)):
            with tempfile.TemporaryDirectory() as name:
                subprocess.run([sys.executable, "-c", NEED, here, name, style, size, str(side)], check=True)


def large() -> None:
    """Make one rug of 3 million knots, in its parts and in one process, and extrapolate the season from it."""
    from chartmaker.collection.batches import Batch, SetTask, make_batch
    from chartmaker.ground.engines import Serial, running
    from chartmaker.jobs import convert_order, read_order

    with tempfile.TemporaryDirectory() as name, running(Serial()):
        folder = Path(name)
        prepared(folder, 8)
        draw(folder / "d0.png", 0, 3 * 480, 3 * 640)
        over = {"rug": {"size": "300x400 cm", "density": "50x50 per dm"}, "design": {"fit": "stretch"}}
        order = read_order(folder / "d0.toml", over)
        assert order.rug.knots == SEASON_KNOTS
        began = time.process_time()
        convert_order(order)
        converting = time.process_time() - began
        began = time.process_time()
        done = make_batch(Batch(order, (SetTask("big", "Big", (), "all", ""),), name))
        writing = time.process_time() - began - converting
        assert not done.outcomes[0].error
        size = sum(path.stat().st_size for path in (folder / "big").iterdir())
    print(f"{SEASON_KNOTS:,} knots: converting {converting:.1f} s, writing {writing:.1f} s of a core", end="")
    print(f", {done.peak_bytes / 1e6:.0f} MB, {size / 1e6:.1f} MB of files")
    cores = SEASON_SETS * writing + SEASON_SETS / SHARING * converting
    for machines in (1, 8, 64):
        print(
            f"a season of {SEASON_SETS:,} on {machines:2d} machines of two cores: {cores / (2 * machines) / 3600:.1f} h"
        )


def main() -> None:
    """Run the measurement that the command line asks for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--sets", type=int, default=40)
    asked.add_argument("--loop-sets", type=int, default=16, help="so many of them in the loop, which is far slower")
    asked.add_argument("--large", action="store_true")
    asked.add_argument("--cluster", action="store_true")
    asked.add_argument("--needs", action="store_true")
    given = asked.parse_args()
    if given.large:
        large()
    elif given.needs:
        needs()
    elif given.cluster:
        cluster(given.sets)
    else:
        beside(given.sets, min(given.sets, given.loop_sets))


if __name__ == "__main__":
    main()
