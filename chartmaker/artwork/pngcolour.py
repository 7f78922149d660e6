"""What the chunks of a PNG say of its colours, followed to sRGB.

After the W3C's PNG specification, third edition, 4.3: cICP goes before iCCP, that before sRGB, that before gAMA with
cHRM; a file without any of them is taken as sRGB.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.pngchunks import chunks_of
from chartmaker.ground.colour import RGB_TO_XYZ, WHITE_XYZ, FloatArray, linear_from_srgb, srgb8_from_linear
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.language import say

#: What stands in for sRGB for old readers (PNG, third edition, 11.3.2.5): gAMA; cHRM as white, red, green, blue.
SRGB_GAMMA = 45_455
SRGB_XY = (31_270, 32_900, 64_000, 33_000, 30_000, 60_000, 15_000, 6_000)
_SRGB_CICP = bytes([1, 13, 0, 1])  # ITU-T H.273: primaries of BT.709, transfer of sRGB, RGB, full range
_NEAR_GAMMA, _NEAR_XY = 50, 100
#: gAMA outside these (exponents of 0.05 to 20) describes no picture.
_LEAST_GAMMA, _MOST_GAMMA = 5_000, 2_000_000
#: Bradford's cone response (ICC.1:2022, annex E).
_CONES = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
_BAND_ROWS = 256


@dataclass(frozen=True, eq=False)
class PngColour:
    """How the samples of a PNG are meant.

    Parameters
    ----------
    depth : int
        Bits a sample.
    profile : bool
        Whether an ICC profile decides; then the next two are None.
    gamma : float or None
        Light is the sample, 0..1, to the power of 1 / `gamma`; None for the curve of sRGB.
    matrix : ndarray of shape (3, 3), or None
        From the linear light of its primaries to that of sRGB, white to white; None for those of sRGB.
    clear : tuple of int, or None
        The grey or colour that is transparent, in the file's own steps.
    fault : str or None
        What the file says of its colours that cannot be.
    """

    depth: int
    profile: bool = False
    gamma: float | None = None
    matrix: FloatArray | None = None
    clear: tuple[int, ...] | None = None
    fault: str | None = None


def _xyz_of(x: float, y: float) -> FloatArray:
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _to_srgb_primaries(xy: tuple[int, ...]) -> FloatArray | None:
    """Return the matrix from the primaries of a cHRM chunk to those of sRGB, None if there can be no such colours."""
    if any(not 0 < y <= 100_000 for y in xy[1::2]) or any(x > 100_000 for x in xy[0::2]):
        return None
    white, *primaries = (_xyz_of(x / 1e5, y / 1e5) for x, y in zip(xy[0::2], xy[1::2], strict=True))
    columns = np.stack(primaries, axis=1)
    if abs(np.linalg.det(columns)) < 1e-4:
        return None
    to_xyz = columns * np.linalg.solve(columns, white)
    adapted = np.linalg.solve(_CONES, ((_CONES @ WHITE_XYZ) / (_CONES @ white))[:, None] * _CONES)
    return np.asarray(np.linalg.solve(RGB_TO_XYZ, adapted @ to_xyz))


def _transfer(chunks: dict[bytes, bytes]) -> tuple[float | None, FloatArray | None, str | None]:
    """Return (gamma, matrix, fault) of gAMA with cHRM."""
    said_gamma, said_xy = chunks.get(b"gAMA"), chunks.get(b"cHRM")
    gamma = SRGB_GAMMA if said_gamma is None else int.from_bytes(said_gamma[:4], "big")
    if not _LEAST_GAMMA <= gamma <= _MOST_GAMMA:
        return None, None, f"the artwork's gamma of {gamma / 100_000:g} cannot be; its colours were taken as sRGB"
    xy = SRGB_XY if said_xy is None else struct.unpack(">8I", said_xy[:32])
    usual = all(abs(one - other) <= _NEAR_XY for one, other in zip(xy, SRGB_XY, strict=True))
    matrix = None if usual else _to_srgb_primaries(xy)
    if matrix is None and not usual:
        return None, None, "the artwork's primary colours (cHRM) cannot be; its colours were taken as sRGB"
    if said_gamma is None or (usual and abs(gamma - SRGB_GAMMA) <= _NEAR_GAMMA):
        return None, matrix, None
    return gamma / 100_000, matrix, None


def read_colour(data: bytes, where: str) -> PngColour:
    """Return how the samples of the PNG `data` are meant, which Pillow has read without complaint.

    Raises
    ------
    ArtworkError
        If a cICP chunk names other colours than those of sRGB: those of films, with lights beyond white.
    """
    chunks = chunks_of(data)
    depth, kind_of_colour = chunks[b"IHDR"][8], chunks[b"IHDR"][9]
    wanted = {0: 1, 2: 3}.get(kind_of_colour, 0)
    clear = struct.unpack(f">{wanted}H", chunks[b"tRNS"][: 2 * wanted]) if wanted and b"tRNS" in chunks else None
    if b"cICP" in chunks:
        if chunks[b"cICP"] != _SRGB_CICP:
            said = "/".join(map(str, chunks[b"cICP"][:4]))
            raise ArtworkError(
                say("the artwork's colours are coded as {said} (cICP); save it as sRGB", said=said), where=where
            )
        return PngColour(depth, clear=clear)
    if b"iCCP" in chunks:
        return PngColour(depth, True, clear=clear)
    if b"sRGB" in chunks:
        return PngColour(depth, clear=clear)
    gamma, matrix, fault = _transfer(chunks)
    return PngColour(depth, False, gamma, matrix, clear, fault)


def eight_bits(samples: NDArray[np.uint8] | NDArray[np.uint16]) -> NDArray[np.uint8]:
    """Return samples of 8 or 16 bits as 8 bits, to the nearest (PNG, third edition, 13.12). Any shape."""
    if samples.dtype == np.uint8:
        return samples  # type: ignore[return-value]
    table = ((np.arange(65_536, dtype=np.uint32) * 255 + 32_767) // 65_535).astype(np.uint8)
    return np.asarray(table[samples])


def to_srgb8(samples: NDArray[np.uint8] | NDArray[np.uint16], colour: PngColour) -> NDArray[np.uint8]:
    """Return 8-bit sRGB of samples of 8 or 16 bits, colours out of gamut clipped. Shape (height, width, 3)."""
    if colour.gamma is None and colour.matrix is None:
        return eight_bits(samples)
    steps = np.linspace(0, 1, 256 if samples.dtype == np.uint8 else 65_536)
    light = linear_from_srgb(steps) if colour.gamma is None else steps ** (1 / colour.gamma)
    if colour.matrix is None:
        return np.asarray(srgb8_from_linear(light)[samples])
    srgb = np.empty(samples.shape, dtype=np.uint8)
    for first in range(0, len(samples), _BAND_ROWS):
        band = slice(first, first + _BAND_ROWS)
        srgb[band] = srgb8_from_linear(light[samples[band]] @ colour.matrix.T)
    return srgb
