"""Sends signals at random moments of `chartmaker make` and looks at the output folder after each."""

from __future__ import annotations

import argparse
import collections
import contextlib
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

from scratch import signals_as_at_a_terminal
from support.small_order import order, set_of

ROOT = Path(__file__).parents[2]
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
#: How many seconds a second process may take, on a busy machine, to see that the first is gone.
GRACE_S = 10.0

Set = dict[str, str]


@dataclass
class Trial:
    """The outcome of one run that was stopped."""

    code: int
    said: str
    replaced: bool
    faults: list[str]
    outlived_s: float


def command(folder: Path, name: str, *, two: bool = False) -> list[str]:
    """Return the command line of a run, which with `two` shares its work with a second process."""
    program = "import chartmaker.jobs.making as job; job.LARGE_KNOTS = 0; from chartmaker.cli import main; main()"
    start = [sys.executable, *(["-c", program] if two else ["-m", "chartmaker"])]
    return [*start, "make", str(folder / f"{name}.toml"), "--out", str(folder / "out"), "--replace", "--quiet"]


def running(mark: str) -> list[int]:
    """Return the processes with `mark` in their environment, whatever their group or session."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            with contextlib.suppress(OSError):
                if mark.encode() in (entry / "environ").read_bytes():
                    found.append(int(entry.name))
    return found


def outlived(mark: str) -> float:
    """Return how many seconds marked processes outlive their parent, and end those that do so for too long."""
    start = time.monotonic()
    while left := running(mark):
        if time.monotonic() - start > GRACE_S:
            for number in left:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(number, signal.SIGKILL)
            return float("inf")
        time.sleep(0.005)
    return time.monotonic() - start


def wait(folder: Path, process: subprocess.Popen[bytes], rng: random.Random, span_s: float) -> None:
    """Wait for some moment of the run, or of the writing of files, or of putting the folder in its place."""
    moment = rng.choice(["any", "writing", "moving in"])
    if moment == "any":
        time.sleep(rng.uniform(0, 1.05 * span_s))
        return
    old = set(folder.glob(".*.part"))
    wanted = "*" if moment == "writing" else "summary.json"
    while process.poll() is None and not any(any(part.glob(wanted)) for part in set(folder.glob(".*.part")) - old):
        time.sleep(0.0005)
    time.sleep(rng.uniform(0, 0.5 * span_s if moment == "writing" else 0.05))


def trial(
    folder: Path, name: str, old: Set, new: Set, number: signal.Signals, rng: random.Random, span_s: float
) -> Trial:
    """Run `make` of `name` over the set `old`, stop it by a signal at some moment, and look at what is there."""
    out = folder / "out"
    before = {path.name for path in folder.iterdir()}
    whole_group, twice = rng.random() < 0.3, rng.random() < 0.3
    mark = f"SOAK_RUN={rng.getrandbits(64):016x}"
    process = subprocess.Popen(
        command(folder, name, two=rng.random() < 0.5),
        cwd=ROOT,
        env=os.environ | dict([mark.split("=")]),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    wait(folder, process, rng, span_s)
    for _ in range(2 if twice else 1):
        with contextlib.suppress(ProcessLookupError):
            # A terminal sends Ctrl-C to the whole group, while `kill` reaches one process.
            (os.killpg if whole_group else os.kill)(process.pid, number)
        if twice:
            time.sleep(rng.uniform(0, 0.02))
    try:
        _, err = process.communicate(timeout=60)
        hung = False
    except subprocess.TimeoutExpired:
        process.kill()
        _, err = process.communicate()
        hung = True
    lived = outlived(mark)
    said, code, now = err.decode(), process.returncode, set_of(out)
    faults = []
    if hung:
        faults.append("did not end")
    if now not in (old, new):
        faults.append(f"the folder is neither the old set nor the new: {sorted(now or {})}")
    if lived == float("inf"):
        faults.append("a child outlives it")
    left = {path.name for path in folder.iterdir()} - before
    if left and number != signal.SIGKILL:
        faults.append(f"leaves {sorted(left)}")
    # Before the program handles the signal it dies of it, which a shell reports as 128 + its number, too.
    if code not in (0, -number, 128 + number) or (number == signal.SIGKILL and code == 128 + number):
        faults.append(f"ends with {code}")
    if code == 0 and now != new:
        faults.append("says that all went well, but the set is the old")
    if "nothing was changed" in said and now != old:
        faults.append("says that nothing was changed, but the set is the new")
    if "Traceback" in said and code != -signal.SIGINT:
        faults.append(f"shows a traceback: {said[-300:]!r}")
    return Trial(code, said, now == new, faults, lived)


def main() -> int:
    """Stop `--count` runs, and then let one run complete over whatever is left."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--size", default="3x4 cm")
    asked = parser.parse_args()
    signals_as_at_a_terminal()
    rng = random.Random(asked.seed)
    tally: collections.Counter[str] = collections.Counter()
    bad, longest = 0, 0.0
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        sets: dict[str, Set] = {}
        spans = []
        for seed, name in enumerate(("one", "two", "one")):
            order(folder, name, seed % 2, asked.size)
            start = time.monotonic()
            subprocess.run(command(folder, name), cwd=ROOT, check=True)
            spans.append(time.monotonic() - start)
            made = set_of(folder / "out")
            assert made is not None and sets.setdefault(name, made) == made
        assert sets["one"] != sets["two"]
        span_s, present = sorted(spans)[1], "one"
        for index in range(asked.count):
            number = SIGNALS[index % len(SIGNALS)]
            other = "two" if present == "one" else "one"
            done = trial(folder, other, sets[present], sets[other], number, rng, span_s)
            tally[f"{number.name} {'ended before it' if done.code == 0 else done.code}"] += 1
            tally[f"{number.name} set {'new' if done.replaced else 'old'}"] += 1
            if done.outlived_s != float("inf"):
                longest = max(longest, done.outlived_s)
            if done.faults:
                bad += 1
                print(f"run {index} ({number.name}): {'; '.join(done.faults)} | {done.said.strip()[-200:]}", flush=True)
            if done.replaced:
                present = other
            if index % 50 == 49:
                print(f"{index + 1} runs, {bad} bad", flush=True)
        remains = sorted(path.name for path in folder.iterdir() if path.name.endswith(".part"))
        other = "two" if present == "one" else "one"
        subprocess.run(command(folder, other), cwd=ROOT, check=True)
        if set_of(folder / "out") != sets[other]:
            bad += 1
            print("the run after all the others does not make its set")
        after = sorted(path.name for path in folder.iterdir() if path.name.endswith(".part"))
    for what, times in sorted(tally.items()):
        print(f"{what:32} {times:5}")
    print(
        f"{asked.count} runs of {span_s:.1f} s stopped: {bad} bad; children outlived their parent by at most "
        f"{longest:.2f} s; SIGKILL left {len(remains)} hidden folders, {len(after)} after the next run"
    )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
