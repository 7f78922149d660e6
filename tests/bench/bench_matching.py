"""Compares matching 6 million distinct random colours with 24 yarns to trying every yarn with scikit-image."""

from __future__ import annotations

import time

import numpy as np
from skimage.color import deltaE_ciede2000

from chartmaker.colours.matching import nearest_yarns
from chartmaker.ground.colour import lab_from_srgb8

COLOURS, YARNS = 6_000_000, 24


def vectorised_brute_force(lab: np.ndarray, yarns: np.ndarray) -> np.ndarray:
    """Return the nearest yarn by applying scikit-image's formula once for each yarn, in blocks that fit the cache."""
    nearest = np.empty(len(lab), dtype=np.uint16)
    for first in range(0, len(lab), 50_000):
        part = lab[first : first + 50_000]
        de00 = np.stack([deltaE_ciede2000(part, np.broadcast_to(yarn, part.shape)) for yarn in yarns], axis=1)
        nearest[first : first + 50_000] = de00.argmin(axis=1)
    return nearest


def main() -> None:
    random = np.random.default_rng(20)
    packed = random.permutation(1 << 24)[:COLOURS]
    lab = lab_from_srgb8(np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=1))
    yarns = lab_from_srgb8(random.integers(0, 256, (YARNS, 3)))
    start = time.perf_counter()
    fast = nearest_yarns(lab, yarns)
    middle = time.perf_counter()
    slow = vectorised_brute_force(lab, yarns)
    end = time.perf_counter()
    print(f"{COLOURS:,} distinct colours, {YARNS} yarns")
    print(f"  chartmaker            {middle - start:8.2f} s")
    print(f"  vectorised brute force {end - middle:7.2f} s")
    print(f"  ratio                 {(end - middle) / (middle - start):8.1f}")
    print(f"  knots that differ     {int((fast != slow).sum()):8,}")


if __name__ == "__main__":
    main()
