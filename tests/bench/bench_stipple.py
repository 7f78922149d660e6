"""Compares stipple with nearest yarn and Floyd-Steinberg: how each looks from 2.5 m and 5 m, its runs, its streaks."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import XKCD_COLORS, to_rgb
from PIL import Image
from scipy.ndimage import gaussian_filter
from skimage import data
from support.eye import seen

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.choosing import choose
from chartmaker.colours.matching import nearest_yarns
from chartmaker.convert.shaded.sampling import linear_averages
from chartmaker.convert.shaded.stipple import stippled
from chartmaker.ground.colour import (
    LINEAR_OF_BYTE,
    lab_from_linear,
    lab_from_srgb8,
    srgb8_from_linear,
)

COLUMNS, KNOT_MM, DISTANCES_M = 160, (2.54, 1.905), (2.5, 5.0)
FINENESS = (0.0, 0.25, 0.5, 0.75, 1.0)


def runs_a_row(knots: np.ndarray) -> float:
    return float(1 + (knots[:, 1:] != knots[:, :-1]).sum(axis=1).mean())


def floyd_steinberg(linear: np.ndarray, yarns: np.ndarray) -> np.ndarray:
    palette = Image.new("P", (1, 1))
    palette.putpalette(np.vstack([yarns, np.repeat(yarns[-1:], 256 - len(yarns), axis=0)]).tobytes())
    picture = Image.fromarray(srgb8_from_linear(linear))
    knots = np.asarray(picture.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG))
    return np.minimum(knots, len(yarns) - 1)


def streaks(fine: float) -> float:
    """Return how much more the rows of an even half-tone differ than its columns, each averaged with its neighbours."""
    yarns = np.array([(0.25, 0.25, 0.25), (0.35, 0.35, 0.35)])
    linear = np.full((96, 96, 3), 0.29)
    knots = stippled(linear, yarns, np.zeros((96, 96), np.uint16), np.ones((96, 96), bool), fine, KNOT_MM)
    rows, columns = (gaussian_filter(knots.astype(float).mean(axis=axis), 2)[6:-6].std() for axis in (1, 0))
    return float(rows - columns)


def measure(name: str, card: np.ndarray, number: int) -> None:
    picture = getattr(data, name)()[..., :3]
    rows = round(COLUMNS * picture.shape[0] / picture.shape[1] * KNOT_MM[0] / KNOT_MM[1])
    linear = linear_averages(Artwork(picture), evenly_placed(0, 0, *picture.shape[:2], rows, COLUMNS), 0, rows)
    lab = lab_from_linear(linear).reshape(-1, 3)
    yarns = card[choose(lab, np.ones(len(lab)), lab_from_srgb8(card), number).indices]
    light = LINEAR_OF_BYTE[yarns]
    nearest = nearest_yarns(lab, lab_from_srgb8(yarns)).reshape(rows, COLUMNS)
    routes = {"plain nearest": nearest, "Floyd-Steinberg": floyd_steinberg(linear, yarns)}
    for fine in FINENESS:
        routes[f"stipple = {fine}"] = stippled(linear, light, nearest, np.ones(nearest.shape, bool), fine, KNOT_MM)
    print(
        f"{name}, {COLUMNS} columns, {number} of {len(card)} yarns   runs a row"
        + "   at {} m, at {} m".format(*DISTANCES_M)
    )
    for route, knots in routes.items():
        figures = "".join(f"{seen(linear, light[knots], metres, KNOT_MM):10.3f}" for metres in DISTANCES_M)
        print(f"  {route:34} {runs_a_row(knots):10.1f} {figures}", flush=True)


def main() -> None:
    card = np.round(np.array([to_rgb(value) for value in XKCD_COLORS.values()]) * 255).astype(np.uint8)
    few = card[np.random.default_rng(3).choice(len(card), 24, replace=False)]
    print("an even half-tone, spread of rows less that of columns:", [round(streaks(fine), 3) for fine in FINENESS])
    for name in ("astronaut", "coffee", "chelsea", "rocket"):
        measure(name, card, 24)
        measure(name, few, 12)


if __name__ == "__main__":
    main()
