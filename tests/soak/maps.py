"""Writes generated knot maps in every form, reads each form back, and compares all cells."""

from __future__ import annotations

import argparse
import collections
import sys
import time
import traceback
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from support.exactness import FORMS, wrong_cells
from support.generated import generated_map


def main() -> int:
    """Compare `--count` maps from number `--first` on, and name each that differs, so that it can be made alone."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first map")
    parser.add_argument("--most", type=int, default=40, help="columns and rows at most")
    parser.add_argument("--large", type=float, default=0.02, help="share of maps up to six times as wide and long")
    asked = parser.parse_args()
    cells: collections.Counter[str] = collections.Counter()
    wrong: collections.Counter[str] = collections.Counter()
    bad = largest = most_yarns = 0
    start = time.process_time()
    for number in range(asked.first, asked.first + asked.count):
        knot_map = generated_map(asked.seed, number, asked.most, asked.large)
        largest, most_yarns = max(largest, knot_map.knots.size), max(most_yarns, len(knot_map.yarns))
        try:
            found = wrong_cells(knot_map, knot_map)
        except Exception:
            traceback.print_exc()
            found = {"unreadable": (0, knot_map.knots.size)}
        for form, (read, differ) in found.items():
            cells[form] += read
            wrong[form] += differ
        if any(differ for _, differ in found.values()):
            bad += 1
            print(f"map {number} of seed {asked.seed}: {found} {knot_map.workshop.chart}", flush=True)
        if number % 500 == 499:
            print(f"{number + 1 - asked.first} maps, {bad} bad, {time.process_time() - start:.0f} s", flush=True)
    for form in (*FORMS, "unreadable"):
        print(f"{form:18} {cells[form]:>13,} cells {wrong[form]:>8,} different")
    print(
        f"{asked.count:,} maps of seed {asked.seed}, up to {largest:,} knots, up to {most_yarns} yarns: "
        f"{sum(cells.values()):,} cells compared, {sum(wrong.values()):,} different, {bad} maps bad, "
        f"{time.process_time() - start:.0f} s of one core"
    )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
