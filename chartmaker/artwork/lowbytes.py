"""The low bytes of a 16-bit PNG, and every internal of Pillow that chartmaker uses.

Pillow reads a PNG of 16 bits a sample into 8 and drops the rest. Its decoder can unpack the low bytes as well if it is
told so in the list of tiles, which Pillow documents for those who write readers of formats, not for those who use them.
Nothing else in chartmaker relies on Pillow's internals, and a test names any that has gone.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from chartmaker.artwork.raster import our_limits

if TYPE_CHECKING:
    from PIL import Image

#: Releases of Pillow that this was tried with.
TRIED = ("11.0.0", "11.3.0", "12.0.0", "13.0.0")

#: What is used of the inside of a picture.
INSIDE = {
    "tile": "the list of one tile that says how the decoder unpacks the file",
    "im": "the picture's samples; set to those of another picture to keep the rest",
}


def low_bytes(data: bytes) -> Image.Image | None:
    """Return the low bytes of the colours of the 16-bit PNG `data`, decoded before, in the mode of the high bytes.

    Pillow keeps the high bytes only. None if the samples have 8 bits or are a single grey, which Pillow keeps whole.
    """
    from PIL import Image

    with our_limits():
        picture = Image.open(io.BytesIO(data), formats=("PNG",))
        if picture.mode not in ("RGB", "RGBA") or data[24] != 16:
            return None
        (tile,) = picture.tile
        grey = tile[3] == "LA;16B"  # laid out as four bytes a pixel: grey high, grey low, alpha high, alpha low
        picture.tile = [tile._replace(args="RGBA" if grey else f"{picture.mode};16L")]
        picture.load()
    if grey:
        _, low, _, alpha = picture.split()
        picture.im = Image.merge("RGBA", (low, low, low, alpha)).im
    return picture
