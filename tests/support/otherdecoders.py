"""Pictures as decoders other than Pillow read them, with their colours converted to sRGB."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import colour as colour_science
import numpy as np
import png
from numpy.typing import NDArray
from PIL import ImageCms

from support.pngparts import split

#: The largest differences allowed between independent decoders: none, by rounding, by a profile, by lossy coding.
EXACT, ROUNDED, PROFILED, LOSSY = 0, 1, 3, 6


class CannotReadError(Exception):
    """Raised where the other decoder cannot read the file."""


def stored(data: bytes) -> tuple[NDArray[np.float64], NDArray[np.uint8], float | None]:
    """Return (RGB 0..1 as stored, alpha as bytes, gamma or None) of the PNG `data`, read by pypng."""
    reader = png.Reader(bytes=data)
    width, height, rows, info = reader.read()
    depth, planes = info["bitdepth"], info["planes"]
    samples = np.array([list(row) for row in rows], dtype=np.int64).reshape(height, width, planes)
    most = 2**depth - 1
    if reader.colormap:
        entries = np.array([(*entry, 255)[:4] for entry in info["palette"]])[samples[..., 0]]
        return entries[..., :3] / 255, entries[..., 3].astype(np.uint8), info.get("gamma")
    alpha = np.full((height, width), 255, dtype=np.uint8)
    if info["alpha"]:
        alpha = np.floor(samples[..., -1] / most * 255 + 0.5).astype(np.uint8)
        samples = samples[..., :-1]
    elif reader.transparent is not None:
        clear = np.array(reader.transparent) & most  # the other bits do not count (PNG, third edition, 11.3.1.1)
        alpha[(samples == clear).all(axis=-1)] = 0
    return np.broadcast_to(samples / most, (height, width, 3)), alpha, info.get("gamma")


def srgb8_of(values: NDArray[np.float64], gamma: float | None) -> NDArray[np.uint8]:
    """Return sRGB bytes, where light is the value to the power of 1 / gamma (PNG, third edition, 4.3 and 13.13)."""
    if gamma is not None:
        values = colour_science.models.eotf_inverse_sRGB(values ** (1 / gamma))
    return np.floor(values * 255 + 0.5).astype(np.uint8)


def by_pypng(data: bytes) -> NDArray[np.uint8]:
    """Return RGBA of a PNG that has no profile or primaries of its own."""
    try:
        values, alpha, gamma = stored(data)
    except (png.Error, IndexError, ValueError) as error:
        raise CannotReadError(f"pypng: {error}") from error
    return np.dstack([srgb8_of(values, gamma), alpha])


def by_imagemagick(path: Path) -> NDArray[np.uint8]:
    """Return RGBA of the first frame, upright, in sRGB."""
    frame = f"{path}[0]"
    ask = ["identify", "-format", "%w %h %[orientation] %[profile:icc]", frame]
    width, height, orientation, *profile = (
        subprocess.run(ask, capture_output=True, check=False).stdout.split() or [0] * 3
    )
    with tempfile.NamedTemporaryFile(suffix=".icc") as srgb:
        srgb.write(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
        srgb.flush()
        colours = ["-profile", srgb.name] if profile else ["-colorspace", "sRGB"]
        command = ["convert", frame, "-auto-orient", *colours, "-depth", "8", "rgba:-"]
        done = subprocess.run(command, capture_output=True, check=False, timeout=120)
    shape = (int(height), int(width), 4)
    if orientation in (b"LeftTop", b"RightTop", b"RightBottom", b"LeftBottom"):
        shape = (shape[1], shape[0], 4)
    if done.returncode or len(done.stdout) != shape[0] * shape[1] * 4:
        raise CannotReadError((done.stderr.decode(errors="replace").splitlines() or ["unreadable"])[0])
    return np.frombuffer(done.stdout, dtype=np.uint8).reshape(shape)


def by_another_make(path: Path) -> tuple[NDArray[np.uint8], int]:
    """Return (RGBA, largest difference that is allowed) of the file at `path`.

    Raises
    ------
    CannotReadError
        If the other decoder does not read it.
    """
    data, suffix = path.read_bytes(), path.suffix.lower()
    kinds = {kind for kind, _ in split(data)}
    if kinds and not kinds & {b"iCCP", b"sRGB", b"cHRM"}:
        return by_pypng(data), EXACT
    rgba = by_imagemagick(path)
    if kinds:
        return rgba, PROFILED if b"iCCP" in kinds else EXACT
    return rgba, ROUNDED if suffix.startswith(".tif") else LOSSY
