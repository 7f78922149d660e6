"""Blended difference against runs per row: stipple, plain nearest yarn, Floyd-Steinberg."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import XKCD_COLORS, to_rgb
from PIL import Image
from scipy.ndimage import gaussian_filter
from skimage import data

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.choosing import choose
from chartmaker.colours.matching import nearest_yarns
from chartmaker.convert.shaded.sampling import linear_averages
from chartmaker.convert.shaded.stipple import stippled
from chartmaker.ground.colour import LINEAR_OF_BYTE, ciede2000, lab_from_linear, lab_from_srgb8, srgb8_from_linear

COLUMNS, YARNS, BLUR_KNOTS = 200, 24, 1.5


def blended_difference(linear: np.ndarray, other: np.ndarray) -> float:
    """Return the mean CIEDE2000 of two pictures blurred in linear light."""
    first, second = (gaussian_filter(picture, (BLUR_KNOTS, BLUR_KNOTS, 0)) for picture in (linear, other))
    return float(ciede2000(lab_from_linear(first), lab_from_linear(second)).mean())


def runs_a_row(knots: np.ndarray) -> float:
    return float(1 + (knots[:, 1:] != knots[:, :-1]).sum(axis=1).mean())


def floyd_steinberg(linear: np.ndarray, yarns: np.ndarray) -> np.ndarray:
    palette = Image.new("P", (1, 1))
    palette.putpalette(np.vstack([yarns, np.repeat(yarns[-1:], 256 - len(yarns), axis=0)]).tobytes())
    picture = Image.fromarray(srgb8_from_linear(linear))
    knots = np.asarray(picture.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG))
    return np.minimum(knots, len(yarns) - 1)


def main() -> None:
    card = np.round(np.array([to_rgb(value) for value in XKCD_COLORS.values()]) * 255).astype(np.uint8)
    for name in ("astronaut", "coffee"):
        picture = getattr(data, name)()
        rows = round(COLUMNS * picture.shape[0] / picture.shape[1])
        frame = evenly_placed(0, 0, picture.shape[0], picture.shape[1], rows, COLUMNS)
        linear = linear_averages(Artwork(picture), frame, 0, rows)
        lab = lab_from_linear(linear).reshape(-1, 3)
        yarns = card[choose(lab, np.ones(len(lab)), lab_from_srgb8(card), YARNS).indices]
        light = LINEAR_OF_BYTE[yarns]
        nearest = nearest_yarns(lab, lab_from_srgb8(yarns)).reshape(rows, COLUMNS)
        routes = {"plain nearest": nearest, "Floyd-Steinberg": floyd_steinberg(linear, yarns)}
        inside = np.ones(nearest.shape, dtype=bool)
        for fine in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
            routes[f"stipple = {fine}"] = stippled(linear, light, nearest, inside, fine)
        print(f"{name}, {COLUMNS} columns, {YARNS} yarns       runs a row   blended CIEDE2000")
        for route, knots in routes.items():
            print(f"  {route:34} {runs_a_row(knots):10.1f} {blended_difference(linear, light[knots]):14.3f}")


if __name__ == "__main__":
    main()
