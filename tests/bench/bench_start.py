"""How soon a command starts, beside the bare import of click: ``python tests/bench/bench_start.py``.

The package is compiled first, as an installer compiles it and click.
"""

from __future__ import annotations

import argparse
import compileall
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import chartmaker

#: What is run, by the name under which it is printed; all others are compared with the first.
RUNS = {
    "import click": ["-c", "import click"],
    "bare Python": ["-c", "pass"],
    "chartmaker --help": ["-m", "chartmaker", "--help"],
    "chartmaker make --help": ["-m", "chartmaker", "make", "--help"],
    "chartmaker plan": ["-m", "chartmaker", "plan", "--size", "5x8ft", "--density", "100 kpsi"],
}


def seconds(words: list[str], folder: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], cwd=folder, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def main() -> None:
    """Run each in turn, over and over, so that other work slows all of them alike, and print the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=21)
    rounds = parser.parse_args().rounds
    compileall.compile_dir(Path(chartmaker.__file__).parent, quiet=1)
    with tempfile.TemporaryDirectory() as folder:
        times = [{name: seconds(words, folder) for name, words in RUNS.items()} for _ in range(rounds)]
    medians = {name: statistics.median(each[name] for each in times) for name in RUNS}
    for name, median in medians.items():
        print(f"{name:<24} {1000 * median:5.0f} ms  {median / medians['import click']:.2f} times import click")


if __name__ == "__main__":
    main()
