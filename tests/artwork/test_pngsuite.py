"""Each valid file of PngSuite is read as an independent decoder reads it, and each corrupt one is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from support.otherdecoders import srgb8_of, stored

from chartmaker.artwork.reading import read_artwork
from chartmaker.ground.errors import ArtworkError

SUITE = Path(__file__).parents[2] / "fixtures" / "pngsuite"
FILES = sorted(SUITE.glob("*.png"))
#: In PngSuite's naming a corrupt file begins with x.
CORRUPT = [path for path in FILES if path.name.startswith("x")]
VALID = [path for path in FILES if path not in CORRUPT]


def test_the_suite_is_whole() -> None:
    assert (len(VALID), len(CORRUPT)) == (161, 14)


@pytest.mark.parametrize("path", VALID, ids=lambda path: path.stem)
def test_a_valid_file_is_read_as_another_decoder_reads_it(path: Path) -> None:
    values, alpha, gamma = stored(path.read_bytes())
    artwork, findings = read_artwork(path)
    assert not findings
    assert np.array_equal(artwork.srgb, srgb8_of(values, gamma))
    coverage = np.full_like(alpha, 255) if artwork.coverage is None else artwork.coverage
    assert np.array_equal(coverage, alpha)


@pytest.mark.parametrize("path", CORRUPT, ids=lambda path: path.stem)
def test_a_corrupt_file_is_refused(path: Path) -> None:
    with pytest.raises(ArtworkError, match=r"damaged or cut short|not a picture that can be read") as caught:
        read_artwork(path)
    assert path.name in str(caught.value)
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("kind", ["0g16", "2c08"])
def test_one_picture_in_many_gammas_is_one_picture(kind: str) -> None:
    # The same picture is stored for exponents of 0.35 to 2.5 (PngSuite, "test-images for gamma").
    pictures = [read_artwork(SUITE / f"g{gamma}n{kind}.png")[0].srgb.astype(int) for gamma in ("05", "07", "10")]
    for picture in pictures[1:]:
        assert np.median(np.abs(picture - pictures[0])) <= 6
