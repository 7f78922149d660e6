"""Pictures as lossy compression leaves them, which is that of libjpeg through Pillow."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Bytes = NDArray[np.uint8]


def as_jpeg(srgb: Bytes, quality: int, *, colour_halved: bool = True) -> Bytes:
    """Return the pixels of a picture that was saved as JPEG, as most programs do with half as many of colour."""
    file = io.BytesIO()
    Image.fromarray(srgb).save(file, "JPEG", quality=quality, subsampling=2 if colour_halved else 0)
    return np.array(Image.open(file).convert("RGB"))
