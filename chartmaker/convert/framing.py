"""The artwork cut or filled up to the rug's rectangle, to be shown beside it."""

from __future__ import annotations

import numpy as np

from chartmaker.convert import fitting
from chartmaker.design import Design
from chartmaker.picture import Artwork
from chartmaker.rug import Rug


def framed(artwork: Artwork, rug: Rug, design: Design) -> Artwork:
    """Return the part of `artwork` that the rug shows, in whole pixels; its edge fills what is beyond it.

    Its proportions are those of the frame: a stretched artwork stays as it was drawn.

    Raises
    ------
    ArtworkError
        As `fitting.frame_of`.
    """
    upright = fitting.turned(artwork, design.turn)
    frame, _ = fitting.frame_of(upright, rug, design.fit)
    rows = np.arange(round(frame.top), round(frame.top + frame.height))
    columns = np.arange(round(frame.left), round(frame.left + frame.width))
    inner_rows = np.clip(rows, 0, upright.height - 1)
    inner_columns = np.clip(columns, 0, upright.width - 1)
    if np.array_equal(rows, inner_rows) and np.array_equal(columns, inner_columns):
        window = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        return Artwork(upright.srgb[window], None if upright.coverage is None else upright.coverage[window])
    window_pixels = np.ix_(inner_rows, inner_columns)
    coverage = None if upright.coverage is None else upright.coverage[window_pixels]
    return Artwork(upright.srgb[window_pixels], coverage)
