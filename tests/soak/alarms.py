"""Makes whole sets whose names, codes and counts are drawn from each other; verify must find nothing in them."""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from support.alike import alarms_of

from chartmaker.ground.engines import Serial, running
from chartmaker.ground.errors import ChartmakerError


def main() -> int:
    """Make and verify `--count` sets, starting from `--first`, and print each alarm with the number of its set."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first set")
    asked = parser.parse_args()
    start = time.process_time()
    alarms = refused = 0
    for number in range(asked.first, asked.first + asked.count):
        with tempfile.TemporaryDirectory() as folder, running(Serial()):
            try:
                found = alarms_of(Path(folder), number)
            except ChartmakerError as error:
                refused += 1
                print(f"set {number} is refused: {error}", flush=True)
                continue
        for words in found:
            print(f"set {number}: {words}", flush=True)
        alarms += bool(found)
    spent = time.process_time() - start
    print(f"{asked.count:,} sets, {refused} refused, {alarms} with false alarms, {spent:.0f} s of one core")
    return 1 if alarms else 0


if __name__ == "__main__":
    sys.exit(main())
