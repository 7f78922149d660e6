"""Measures how well maps are drawn by the converter, by plain majority and by area averages, a line for each family.

python tests/bench/bench_drawing.py --quick                      # a minute: some of each family
python tests/bench/bench_drawing.py --family tilings --each      # one line a hold-out
python tests/bench/bench_drawing.py --measure corners,dents --save before.json
python tests/bench/bench_drawing.py --measure corners,dents --against before.json
python tests/bench/bench_drawing.py --quick --tree ../other      # another tree's converter beside this one's
python tests/bench/bench_drawing.py --quick --jpeg 85            # saved as JPEG first
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.compressing import as_jpeg
from support.drawing_measures.placed import Drawing, Placed, Score, coverage, even_edges, integration, summed
from support.drawing_measures.shaded import details, grid_colours, third_yarn
from support.drawing_measures.table import TARGETS, flat_scores
from support.drawings import card_of, converted, picked
from support.holdouts import Artwork, HoldOut, hold_outs, rows_of
from support.making import make_rug

from chartmaker.artwork.artwork import Artwork as Pixels
from chartmaker.colours.matching import nearest_yarns
from chartmaker.ground.colour import LINEAR_OF_BYTE, lab_from_linear, lab_from_srgb8

FAMILIES = ("drawings", "tilings", "fields", "borders", "scatterings", "strokes", "gradients", "paintings")
#: Scores are kept by method, then by hold-out, then by measure.
Scores = dict[str, dict[str, dict[str, Score]]]


@dataclass(frozen=True, eq=False)
class Woven:
    """Knots in raster order, as numbers of the artwork's colours, with the edges of their cells in pixels."""

    knots: np.ndarray
    row_edges: np.ndarray
    column_edges: np.ndarray


def by_converter(hold_out: HoldOut, artwork: Artwork, rows: int) -> Woven:
    result = converted(
        undone(artwork.srgb, hold_out.columns * rows),
        make_rug(hold_out.columns, rows, hold_out.density),
        card_of(artwork.colours),
    )
    placed = getattr(result, "placed", None)
    if placed is None:  # a tree from before the converter chose its own edges
        return evenly(picked(result), artwork)
    return Woven(picked(result), placed.placement.raster_row_edges, placed.placement.column_edges)


def undone(srgb: np.ndarray, knots: int) -> np.ndarray:
    """Return an artwork with what compression did to it undone, as it is whenever an order's artwork is read."""
    try:
        from chartmaker.colours.evening import evened
    except ImportError:  # a tree from before there was any such thing
        return srgb
    return evened(Pixels(srgb), srgb.shape[0] * srgb.shape[1] / knots)[0].srgb


def evenly(knots: np.ndarray, artwork: Artwork) -> Woven:
    (height, width), (rows, columns) = artwork.srgb.shape[:2], knots.shape
    return Woven(knots, even_edges(height, rows), even_edges(width, columns))


def by_average(hold_out: HoldOut, artwork: Artwork, rows: int) -> Woven:
    """Average each cell in linear light and take the nearest yarn by CIEDE2000."""
    edges = [even_edges(size, n) for size, n in zip(artwork.srgb.shape[:2], (rows, hold_out.columns), strict=True)]
    light = LINEAR_OF_BYTE[artwork.srgb]
    mean = np.stack([averaged(light[..., k], *edges) for k in range(3)], axis=-1)
    nearest = nearest_yarns(lab_from_linear(mean).reshape(-1, 3), lab_from_srgb8(artwork.colours))
    return Woven(nearest.reshape(rows, hold_out.columns).astype(int), *edges)


def averaged(plane: np.ndarray, row_edges: np.ndarray, column_edges: np.ndarray) -> np.ndarray:
    """Return the mean of a plane in each cell, which is the coverage by the one ink that has that value."""
    return integration(row_edges, plane.shape[0])(integration(column_edges, plane.shape[1])(plane, 1), 0)


def by_majority(hold_out: HoldOut, artwork: Artwork, rows: int) -> Woven:
    """Take the colour that covers most of each cell, which only flat artwork has."""
    assert artwork.labels is not None
    edges = [even_edges(size, n) for size, n in zip(artwork.labels.shape, (rows, hold_out.columns), strict=True)]
    return Woven(coverage(artwork.labels, len(artwork.colours), *edges).argmax(axis=-1), *edges)


METHODS: dict[str, Callable[[HoldOut, Artwork, int], Woven]] = {
    "converter": by_converter,
    "majority": by_majority,
    "average": by_average,
}


def measured(
    hold_out: HoldOut, methods: list[str], only: set[str] | None, keep: Path | None, jpeg: int | None = None
) -> dict[str, dict[str, Score]]:
    artwork = hold_out.made()
    if jpeg:
        artwork = replace(artwork, srgb=as_jpeg(artwork.srgb, jpeg))
    rows = rows_of(hold_out, artwork.srgb)
    found: dict[str, dict[str, Score]] = {}
    labels = artwork.labels
    drawing = None
    if labels is not None:
        height, width = labels.shape[0] / rows, labels.shape[1] / hold_out.columns
        drawing = Drawing(labels, height, width, len(artwork.colours))
    for method in methods:
        if method == "majority" and labels is None:
            continue
        woven = METHODS[method](hold_out, artwork, rows)
        if keep:
            np.savez_compressed(
                keep / f"{str(hold_out).replace(' ', '_').replace('/', '-')}_{method}.npz",
                srgb=artwork.srgb,
                yarns=artwork.colours,
                **vars(woven),
            )
        if drawing is not None:
            placed = Placed(drawing, woven.row_edges, woven.column_edges, woven.knots)
            found[method] = flat_scores(placed, list(artwork.lattices), only)
            continue
        colours = grid_colours(artwork.colours, woven.knots)
        own = {"gradients": {"third yarn": third_yarn}, "paintings": {"details": details}}[hold_out.family]
        found[method] = {
            name: measure(artwork.srgb, woven.row_edges, woven.column_edges, colours)
            for name, measure in own.items()
            if only is None or name in only
        }
    return found


def collected(options: argparse.Namespace) -> Scores:
    only = set(options.measure.split(",")) if options.measure else None
    chosen = [
        hold_out
        for hold_out in hold_outs()
        if (not options.family or hold_out.family in options.family.split(","))
        and (not options.name or options.name in str(hold_out))
        and (not options.quick or hold_out.quick)
    ]
    scores: Scores = {}
    methods = options.methods.split(",")
    for number, hold_out in enumerate(chosen, start=1):
        start = time.process_time()
        for method, found in measured(hold_out, methods, only, options.keep, options.jpeg).items():
            scores.setdefault(method, {})[f"{hold_out.family}: {hold_out}"] = found
        took = time.process_time() - start
        print(f"[{number}/{len(chosen)}] {hold_out.family}: {hold_out}, {took:.1f} s", file=sys.stderr)
    return scores


def printed(columns: dict[str, dict[str, dict[str, Score]]], each: bool) -> None:
    """Print a line for each measure and family, a column for each way of converting."""
    rows = [name for found in columns.values() for name in found]
    groups = {name: [name] for name in dict.fromkeys(rows)} if each else {}
    if not each:
        for family in FAMILIES:
            groups[family] = [name for name in dict.fromkeys(rows) if name.startswith(f"{family}:")]
        groups["all"] = list(dict.fromkeys(rows))
    print(f"{'measure':18} {'target':>9}  {'hold-outs':34}" + "".join(f"{name:>24}" for name in columns))
    for measure, target in TARGETS.items():
        for group, names in groups.items():
            scores = [
                summed([found[name][measure] for name in names if name in found and measure in found[name]])
                for found in columns.values()
            ]
            if any(score.whole for score in scores):
                bound = f"{'>=' if target > 0 else '<='} {abs(target):g}"
                figures = "".join(f"{score.value:12.4f} {told(score):>11}" for score in scores)
                print(f"{measure:18} {bound:>9}  {group:34}{figures}")


def told(score: Score) -> str:
    return f"/{score.whole:.0f}" if score.whole else ""


def saved(scores: Scores, path: Path) -> None:
    path.write_text(json.dumps(scores, default=float), encoding="utf-8")


def loaded(path: Path) -> Scores:
    raw = json.loads(path.read_text(encoding="utf-8"))
    return {m: {h: {k: Score(*v) for k, v in s.items()} for h, s in found.items()} for m, found in raw.items()}


def of_tree(tree: Path, arguments: list[str]) -> Scores:
    """Return what the converter of another tree scores on the same hold-outs, by the measures of this one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scores.json"
        environment = {**os.environ, "PYTHONPATH": str(tree.resolve())}
        command = [sys.executable, __file__, *arguments, "--methods", "converter", "--save", str(path)]
        subprocess.run(command, check=True, env=environment, stdout=subprocess.DEVNULL)
        return loaded(path)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="only some hold-outs of each family")
    parser.add_argument("--family", default="", help=f"some of {','.join(FAMILIES)}")
    parser.add_argument("--name", default="", help="only hold-outs with this in their name")
    parser.add_argument("--measure", default="", help="only these measures, separated by commas")
    parser.add_argument("--methods", default=",".join(METHODS), help="ways of converting, separated by commas")
    parser.add_argument("--each", action="store_true", help="one line a hold-out, not one a family")
    parser.add_argument("--save", type=Path, help="write the scores as JSON")
    parser.add_argument("--against", type=Path, help="the converter's scores saved before, printed beside these")
    parser.add_argument("--jpeg", type=int, help="save all artwork as JPEG of this quality first")
    parser.add_argument("--tree", type=Path, help="another tree whose converter is measured too")
    parser.add_argument("--keep", type=Path, help="a folder for the knots as .npz files, to be looked at")
    options = parser.parse_args()
    if options.keep:
        options.keep.mkdir(parents=True, exist_ok=True)
    scores = collected(options)
    if options.save:
        saved(scores, options.save)
    columns = dict(scores)
    if options.against:
        columns = {"before": loaded(options.against)["converter"], **columns}
        columns["before"] = {n: s for n, s in columns["before"].items() if n in scores["converter"]}
    if options.tree:
        passed = [
            f"--{key}={getattr(options, key)}" for key in ("family", "name", "measure", "jpeg") if getattr(options, key)
        ]
        other = of_tree(options.tree, passed + (["--quick"] if options.quick else []))
        columns = {"other tree": other["converter"], **columns}
    printed(columns, options.each)


if __name__ == "__main__":
    main()
