"""Makes one order in many settings, or orders of every kind on two processors, and compares the sets byte for byte.

python tests/soak/reproducible.py --count 100
python tests/soak/reproducible.py --processors    # orders of every kind, with and without wide instructions
"""

from __future__ import annotations

import argparse
import itertools
import os
import random
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from support.ornament import Motif, drop, flower, leaf, star
from support.reproducing import FOLDERS, PLAIN, ROOT, Setting, laid_out, made
from support.small_order import CARD

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


#: The tables of orders whose conversion takes ways of its own, or whose papers do; each is the rug of an artwork.
KINDS: dict[str, tuple[str, str]] = {
    "whole repeats": ("tiling", ""),
    "motifs made equal": ("strewn", ""),
    "shaded": ("shaded", "colours = 4\n"),
    "tufted": ("strewn", '[pattern]\npaper = "A4"\n'),
    "tufted and carved": (
        "tiling",
        '[pile]\ncarved = { R1 = "6 mm" }\n[carve]\ngrooves = ["round B1"]\ndepth = "4 mm"\nwidth = "3 mm"\n',
    ),
    "hand-loomed": ("bands", ""),
}
INKS = np.array([(240, 232, 216), (160, 40, 32), (32, 44, 96), (112, 112, 48)], np.uint8)


def _scattered(motifs: dict[tuple[float, float], tuple[Motif, float]], high: int, wide: int) -> np.ndarray:
    """Return motifs of a radius of 20 pixels round some places, each turned by its angle."""
    found = np.zeros((high, wide), np.uint8)
    rows, columns = np.mgrid[:high, :wide].astype(float)
    for (y, x), (motif, turn) in motifs.items():
        down, across = (rows - y) / 20, (columns - x) / 20
        ink = motif(across * np.cos(turn) + down * np.sin(turn), down * np.cos(turn) - across * np.sin(turn))
        found = np.where(ink > 0, ink, found)
    return found


def _artwork(name: str) -> np.ndarray:
    """Return a drawing of 360 x 480 pixels in four inks, or in shades of them."""
    rng = np.random.default_rng(3)
    if name == "tiling":
        places = {(y, x): (star, 0.3) for y in np.arange(0, 500, 43.3) for x in np.arange(0, 400, 41.7)}
        return INKS[_scattered(places, 480, 360)]
    kinds = (drop, flower, leaf)
    places = {
        (y, x): (kinds[int(rng.integers(3))], float(rng.random() * 6))
        for y in (40, 150, 260, 400)
        for x in (50, 170, 300)
    }
    strewn = INKS[_scattered(places, 480, 360)]
    if name == "strewn":
        return strewn
    if name == "shaded":
        rows, columns = np.mgrid[:480, :360]
        light = (np.sin(rows / 31.7) + np.cos(columns / 23.1) + 2) / 4
        return (strewn * light[..., None] + 20 * rng.random((480, 360, 1))).clip(0, 255).astype(np.uint8)
    lines = np.repeat(rng.integers(0, 3, 24), 20)
    bands = np.broadcast_to(INKS[lines][:, None], strewn.shape).copy()
    bands[100:200, 100:200] = strewn[100:200, 100:200]
    return bands


def orders_of_every_kind(folder: Path) -> Iterator[tuple[str, Path]]:
    """Write the rug files of KINDS and yield them, and those of examples that are laid anew, carved and woven."""
    (folder / "wool.csv").write_text(CARD)
    for number, (name, (drawn, more)) in enumerate(KINDS.items()):
        Image.fromarray(_artwork(drawn)).save(folder / f"{drawn}.png")
        craft = name.split()[0] if name.split()[0] in ("tufted", "hand-loomed") else "knotted"
        table, rest = (more, "") if more.startswith("colours") else ("", more)
        (folder / f"kind{number}.toml").write_text(
            f'[rug]\nname = "{name}"\nsize = "18x24 cm"\ndensity = "40x40 per dm"\ntechnique = "{craft}"\n'
            'pile = "10 mm"\n'
            f'[design]\nartwork = "{drawn}.png"\nfit = "stretch"\n[yarns]\ncard = "wool.csv"\n{table}{rest}'
        )
        yield name, folder / f"kind{number}.toml"
    for example in ("hazel_trellis", "tarn_bands", "frost_rosette"):
        yield example, ROOT / "examples" / f"{example}.toml"


def on_two_processors() -> int:
    """Make each kind of order with and without wide instructions, and return how many sets differ."""
    bad = 0
    with tempfile.TemporaryDirectory() as scratch:
        for number, (name, rug_file) in enumerate(orders_of_every_kind(Path(scratch))):
            sets = [
                made(rug_file, Setting(variables, out=str(Path(scratch) / f"set{number}-{len(variables)}")))
                for variables in ({}, PLAIN)
            ]
            differ = sorted(file for file in sets[0] | sets[1] if sets[0].get(file) != sets[1].get(file))
            bad += bool(differ)
            print(f"{name}: {len(sets[0])} files, {', '.join(differ) or 'none'} different", flush=True)
    return bad


def main() -> int:
    """Make the order in `--count` settings, and name the files that differ with their setting."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--size", default="12x16 cm")
    parser.add_argument("--processors", action="store_true", help="orders of every kind on two processors instead")
    asked = parser.parse_args()
    if asked.processors:
        return 1 if on_two_processors() else 0
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
