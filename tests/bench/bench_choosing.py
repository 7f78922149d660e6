"""Choosing yarns from cards, with a proven bound, is compared with snapping a quantiser's palette.

The cards are the 949 colours of an open survey and, as the largest that there may be, 20,000 random ones.
"""

from __future__ import annotations

import time
from itertools import product

import numpy as np
from matplotlib.colors import XKCD_COLORS, to_rgb
from PIL import Image
from skimage import data

from chartmaker.colours.choosing import choose
from chartmaker.colours.matching import nearest_yarns
from chartmaker.ground.colour import ciede2000, lab_from_srgb8

COLUMNS = 200


def area_average(picture: np.ndarray) -> np.ndarray:
    """Return the picture averaged in sRGB to COLUMNS columns by Pillow's box filter."""
    rows = round(COLUMNS * picture.shape[0] / picture.shape[1])
    return np.asarray(Image.fromarray(picture).resize((COLUMNS, rows), Image.Resampling.BOX))


def snapped(average: np.ndarray, card: np.ndarray, number: int) -> np.ndarray:
    """Return the yarns nearest to the palette of Pillow's median cut, which is the general way to choose colours."""
    quantised = Image.fromarray(average).quantize(number, Image.Quantize.MEDIANCUT)
    palette = np.array(quantised.getpalette(), dtype=np.uint8).reshape(-1, 3)[:number]
    return np.unique(nearest_yarns(lab_from_srgb8(palette), card))


def mean(lab: np.ndarray, yarns: np.ndarray) -> float:
    return float(ciede2000(lab, yarns[nearest_yarns(lab, yarns)]).mean())


def main() -> None:
    survey = np.array([to_rgb(value) for value in XKCD_COLORS.values()])
    random = np.random.default_rng(3).integers(0, 256, (20_000, 3), dtype=np.uint8)
    cards = {"survey": np.round(survey * 255).astype(np.uint8), "random": random}
    print("picture    card     yarns   general    chosen     bound   above it       s     CPU s")
    for name, of, number in (*product(("astronaut", "coffee"), ["survey"], (12, 24)), ("astronaut", "random", 12)):
        average, card = area_average(getattr(data, name)()), lab_from_srgb8(cards[of])
        lab = lab_from_srgb8(average).reshape(-1, 3)
        start, cpu = time.perf_counter(), time.process_time()
        found = choose(lab, np.ones(len(lab)), card, number)
        took, cpu = time.perf_counter() - start, time.process_time() - cpu
        rival, above = mean(lab, card[snapped(average, card, number)]), found.mean_de00 / found.bound_de00 - 1
        figures = f"{rival:9.3f} {found.mean_de00:9.4f} {found.bound_de00:9.4f} {100 * above:8.3f} %"
        print(f"{name:10} {of:8} {number:5} {figures} {took:7.1f} {cpu:7.1f}")


if __name__ == "__main__":
    main()
