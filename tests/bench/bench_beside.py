"""This tree beside another one, such as the commit before, in one run: is anything slower?

Run: ``git worktree add ../before HEAD~1`` and then ``python tests/bench/bench_beside.py ../before``. Each line is one
command that both trees run in turn, some rounds long, so that whatever else the machine does falls on both. The least
of all rounds counts: processor seconds of all its processes, and seconds on the clock. A ratio above 1 means that this
tree is slower; the exit code is 1 if the processor takes over 5 % longer for any line.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from bench_palace import draw_artwork, write_rug
from matplotlib.colors import XKCD_COLORS
from PIL import Image
from skimage import data

HERE = Path(__file__).parents[2]
#: A line that is slower than the other tree by more than this ratio is worth a look.
MOST = 1.05
GRIDS = {"0.5": (500, 1000), "2": (1000, 2000)}


def measured(command: list[str], tree: Path, folder: Path) -> tuple[float, float]:
    """Return (processor seconds, seconds) that `tree` takes for a command line of chartmaker or a module's work.

    Each tree has sets of its own (``{tree}`` in the command): no tree replaces files that it did not write.
    """
    command = [part.replace("{tree}", "this" if tree == HERE else "other") for part in command]
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(
        [sys.executable, *command],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(tree)},
        capture_output=True,
        text=True,
        check=False,
    )
    took, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode:
        sys.exit(f"{tree}: {' '.join(command)}: exit code {done.returncode}\n{done.stderr[-2000:]}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, took


def lines_of(folder: Path, million: list[str]) -> dict[str, list[str]]:
    """Return the command of each line, with the files that it needs made in `folder`."""
    example = str(HERE / "examples" / "quince_garden.toml")
    program = ["-m", "chartmaker"]
    lines = {
        "--help": [*program, "--help"],
        "knot, example": [*program, "knot", example, "--out", "one.png", "--replace", "--quiet"],
        "make, example": [*program, "make", example, "--out", "set-{tree}", "--replace", "--quiet"],
        "verify, example": [*program, "verify", "set-{tree}", "--quiet"],
        "choosing 12 of 949": ["-c", _CHOOSING],
        "matching 2 million": ["-c", _MATCHING],
    }
    photograph = [*program, "knot", _photograph(folder), "--size", "170x240 cm", "--density", "40x45 per dm"]
    photograph += ["--fit", "crop", "--colours", "20", "--out", "one.png", "--replace", "--quiet"]
    lines["knot, 20 of 41 yarns"] = [*photograph, "--card", "card41.csv"]
    lines["knot, 20 shades"] = photograph
    for size in million:
        name = f"palace{size}"
        (folder / name).mkdir()
        draw_artwork(folder / name / "artwork.png", *GRIDS[size])
        write_rug(folder / name, *GRIDS[size])
        rug = f"{name}/rug.toml"
        lines[f"knot, {size} million"] = [*program, "knot", rug, "--out", "two.png", "--replace", "--quiet"]
        lines[f"make, {size} million"] = [
            *program,
            "make",
            rug,
            "--out",
            f"{name}/set-{{tree}}",
            "--replace",
            "--quiet",
        ]
    return lines


def _photograph(folder: Path) -> str:
    """Write a photograph from scikit-image and a card of 41 random XKCD colours, and return the photograph's name."""
    names = np.array(sorted(XKCD_COLORS.values()))
    card = np.random.default_rng(3).permutation(names)[:41]
    lines = (f"Y{number:02d},Yarn {number},{colour}\n" for number, colour in enumerate(card))
    (folder / "card41.csv").write_text("code,name,colour\n" + "".join(lines))
    Image.fromarray(data.astronaut()).save(folder / "photograph.png")
    return "photograph.png"


_CHOOSING = """
import numpy as np
from matplotlib.colors import XKCD_COLORS, to_rgb
from PIL import Image
from skimage import data
from chartmaker.colours.choosing import choose
from chartmaker.ground.colour import lab_from_srgb8
card = lab_from_srgb8(np.round([np.array(to_rgb(value)) * 255 for value in XKCD_COLORS.values()]).astype(np.uint8))
lab = lab_from_srgb8(np.asarray(Image.fromarray(data.coffee()).resize((100, 67)))).reshape(-1, 3)
choose(lab, np.ones(len(lab)), card, 12)
"""
_MATCHING = """
import numpy as np
from chartmaker.colours.matching import nearest_yarns
from chartmaker.ground.colour import lab_from_srgb8
random = np.random.default_rng(20)
packed = random.permutation(1 << 24)[:2_000_000]
lab = lab_from_srgb8(np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=1))
nearest_yarns(lab, lab_from_srgb8(random.integers(0, 256, (24, 3))))
"""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("other", type=Path, help="the tree to compare with")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--only", default="", help="lines that have this in their name")
    parser.add_argument("--million", nargs="*", choices=list(GRIDS), default=list(GRIDS), help="sizes of palace rugs")
    asked = parser.parse_args()
    other, worst = asked.other.resolve(), 0.0
    print(f"{'':22} {'CPU s: other':>14} {'this':>8} {'ratio':>7}   {'clock s: other':>14} {'this':>8} {'ratio':>7}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for what, command in lines_of(folder, asked.million).items():
            if asked.only not in what and what != "make, example":  # which `verify` reads
                continue
            both: dict[Path, list[tuple[float, float]]] = {other: [], HERE: []}
            for _ in range(asked.rounds):
                for tree, took in both.items():
                    took.append(measured(command, tree, folder))
            (cpu, clock), (cpu_here, clock_here) = (
                [min(side) for side in zip(*each, strict=True)] for each in both.values()
            )
            ratio, clock_ratio = cpu_here / cpu, clock_here / clock
            worst = max(worst, ratio)
            figures = f"{cpu:14.2f} {cpu_here:8.2f} {ratio:7.3f}   {clock:14.2f} {clock_here:8.2f} {clock_ratio:7.3f}"
            print(f"{what:22} {figures}", flush=True)
    print(f"worst ratio of processor seconds: {worst:.3f}")
    return 1 if worst > MOST else 0


if __name__ == "__main__":
    sys.exit(main())
