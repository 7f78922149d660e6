"""Lets every step of `make` that concerns files fail, in every way, once or from then on."""

from __future__ import annotations

import argparse
import itertools
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from support.failing_make import CODES, Bench


def main() -> int:
    """Run through the steps, and print after which failure something was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="of the writes, only every so many")
    asked = parser.parse_args()
    runs = bad = 0
    start = time.process_time()
    with tempfile.TemporaryDirectory() as scratch:
        bench = Bench.laid_out(Path(scratch))
        kinds = Counter(what for what, _ in bench.steps)
        for number, (what, _) in enumerate(bench.steps, start=1):
            if what == "write" and number % asked.every:
                continue
            for code, persistent, existing in itertools.product(CODES, (False, True), (False, True)):
                wrong = bench.wrong(number, code, persistent=persistent, existing=existing)
                runs, bad = runs + 1, bad + bool(wrong)
                for words in wrong:
                    print(words, flush=True)
    print(", ".join(f"{times} {what}" for what, times in kinds.items()))
    print(f"{runs:,} runs with a failure, {bad} wrong, {time.process_time() - start:.0f} s of one core")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
