"""Makes one order in many settings and compares the sets byte for byte."""

from __future__ import annotations

import argparse
import itertools
import os
import random
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from support.reproducing import FOLDERS, Setting, laid_out, made

#: The values that each setting takes in turn; every value meets every value of the others now and then.
VARIABLES = {
    "PYTHONHASHSEED": ("0", "1", "31337", "4294967295", "random"),
    "TZ": ("UTC", "Asia/Kathmandu", "America/St_Johns", "Pacific/Kiritimati", "XYZ+11:30"),
    "LC_ALL": ("C", "POSIX", "C.UTF-8", "de_DE.UTF-8", "tr_TR.UTF-8", "fa_IR.UTF-8"),
    "LANG": ("C", "en_US.UTF-8", "hi_IN.UTF-8", "ja_JP.EUC-JP"),
    "PYTHONUTF8": ("0", "1"),
    "PYTHONCOERCECLOCALE": ("0", "1"),
    "OMP_NUM_THREADS": ("1", "2", "5"),
    "OPENBLAS_NUM_THREADS": ("1", "2", "5"),
    "COLUMNS": ("40", "200"),
    "NO_COLOR": ("1", ""),
    "PYTHONOPTIMIZE": ("", "1", "2"),
    "SOURCE_DATE_EPOCH": ("0", "2000000000"),
}
OUTS = ("set", "another name", "../beside", "é")
UMASKS = (0o000, 0o022, 0o027, 0o077)


def setting(rng: random.Random, number: int) -> Setting:
    """Return setting `number`, in which each kind takes its values in turn and in an order of its own."""
    turns = itertools.count(2)
    return Setting(
        {name: values[(number + number // next(turns)) % len(values)] for name, values in VARIABLES.items()},
        folder=FOLDERS[number % len(FOLDERS)],
        out=rng.choice(OUTS),
        umask=rng.choice(UMASKS),
        second_process=rng.random() < 0.5,
        one_core=rng.random() < 0.25,
    )


def main() -> int:
    """Make the order in `--count` settings, and name the files that differ with their setting."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--size", default="12x16 cm")
    asked = parser.parse_args()
    rng = random.Random(asked.seed)
    bad = files = 0
    with tempfile.TemporaryDirectory() as scratch:
        folders = [Path(scratch) / name for name in ("order", "ein Ordner für alles")]
        for folder in folders:
            folder.mkdir()
        rug_files = [laid_out(folder, asked.size) for folder in folders]
        first = made(rug_files[0], Setting())
        for number in range(asked.count):
            tried = setting(rng, number)
            found = made(rug_files[number % 2], tried)
            files += len(found)
            if differ := sorted(name for name in first | found if first.get(name) != found.get(name)):
                bad += 1
                print(f"{differ} differ in {tried}", flush=True)
    print(
        f"{asked.count} settings on {os.cpu_count()} cores, {files} files compared byte for byte, {bad} settings differ"
    )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
