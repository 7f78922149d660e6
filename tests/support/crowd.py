"""Runs `make` twenty times at once into one folder, each for its own rug, as a program, because it forks."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import sys
from pathlib import Path

from chartmaker.cli.faults import run
from chartmaker.jobs import outputs
from support.small_order import order

RUNS = 20


def at_once(rug_file: Path, out: Path, *options: str) -> list[int]:
    """Return the exit codes of runs that all begin together."""
    reading, writing = os.pipe()
    children = []
    for index in range(RUNS):
        child = os.fork()
        if child == 0:
            os.close(writing)
            os.read(reading, 1)  # the children wait until the parent lets all of them go
            with contextlib.redirect_stderr(io.StringIO()):
                ended = run(["make", str(rug_file), "--out", str(out), "--name", f"rug {index}", "--quiet", *options])
            os._exit(ended)
        children.append(child)
    os.close(writing)
    os.close(reading)
    return [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]


def whose(out: Path) -> int:
    """Return which run made the set in `out`, and fail if one of its files comes from another run."""
    summary = json.loads((out / "summary.json").read_bytes())
    assert set(summary["files"]["written"]) | {"summary.json"} == {path.name for path in out.iterdir()}
    for name, digest in summary["files"]["written"].items():
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == digest, f"{name} is of another run"
    return int(summary["rug"]["name"].removeprefix("rug "))


def main() -> None:
    """Let the runs race for a folder that does not exist yet, and then for the set in it."""
    folder = Path(sys.argv[1])
    # drawing the proof pictures would take most of the time
    outputs.proof_picture_bytes = lambda *_: b"a picture " * 20_000
    rug_file, out = order(folder, "one", 0, size="3x4 cm"), folder / "out"
    # so that all libraries are loaded before the race
    assert run(["make", str(rug_file), "--out", str(folder / "first"), "--quiet"]) == 0
    present = {path.name for path in folder.iterdir()} | {"out"}
    ended = at_once(rug_file, out)
    assert sorted(ended) == [0] + [7] * (RUNS - 1), ended
    assert ended[whose(out)] == 0
    ended = at_once(rug_file, out, "--replace")
    assert ended == [0] * RUNS, ended
    whose(out)
    assert {path.name for path in folder.iterdir()} == present
    sys.stdout.write("never mixed, never lost\n")


if __name__ == "__main__":
    main()
