"""Judges one picture: it is read right, refused with a reason, or different from what an independent decoder reads."""

from __future__ import annotations

import traceback
from pathlib import Path

import numpy as np

from chartmaker.artwork.reading import read_artwork
from chartmaker.ground.errors import ArtworkError
from support.otherdecoders import LOSSY, ROUNDED, CannotReadError, by_another_make

#: Differences that were looked into one by one, in which the other decoder is wrong.
EXPLAINED = {
    "hopper2I.tif": "ImageMagick 6 forgets that white is zero in 2 and 4 bits (TIFF 6.0, PhotometricInterpretation 0)",
    "hopper2IR.tif": "as hopper2I.tif",
    "hopper4I.tif": "as hopper2I.tif",
    "hopper4IR.tif": "as hopper2I.tif",
    "xmp_tags_orientation.png": "ImageMagick does not turn a PNG by the orientation in its XMP data",
    "xmp_tags_orientation_exiftool.png": "as xmp_tags_orientation.png",
    "old-style-jpeg-compression.tif": "ImageMagick gives green bands; the PNG of that name beside it is as ours",
    "old-style-jpeg-compression-no-samplesperpixel.tif": "as old-style-jpeg-compression.tif",
}


def judge(path: Path) -> tuple[str, str]:
    """Return (class, detail) for one file."""
    try:
        artwork, findings = read_artwork(path)
    except ArtworkError as error:
        return "refused", error.message
    except Exception:
        return "undocumented", traceback.format_exc(limit=-2).strip().replace("\n", " | ")
    noticed = "; ".join(finding.what for finding in findings)
    try:
        other, allowed = by_another_make(path)
    except CannotReadError as error:
        return "unconfirmed", f"{error} {noticed}"
    if other.shape[:2] != artwork.srgb.shape[:2]:
        return "different", f"{artwork.srgb.shape[:2]} against {other.shape[:2]}"
    coverage = np.full(other.shape[:2], 255) if artwork.coverage is None else artwork.coverage.astype(int)
    apart = np.abs(artwork.srgb.astype(int) - other[..., :3]).max(axis=-1)
    # colours are stored multiplied by coverage, so they are the rougher the fainter they are
    if path.suffix.lower().startswith(".tif"):
        apart = apart * coverage // 255
    colours, clear = int(apart[coverage > 0].max(initial=0)), int(np.abs(coverage - other[..., 3]).max())
    if colours > allowed or clear > (LOSSY if allowed == LOSSY else ROUNDED):
        said = f"colours by {colours}, coverage by {clear} {noticed}"
        return ("explained", EXPLAINED[path.name]) if path.name in EXPLAINED else ("different", said)
    return ("right, noticed" if noticed else "right"), noticed
