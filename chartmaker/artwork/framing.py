"""The artwork cut or filled up to the rug's rectangle, to be shown beside it."""

from __future__ import annotations

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import fitted, turned
from chartmaker.order.design import Design
from chartmaker.order.rug import Rug


def framed(artwork: Artwork, rug: Rug, design: Design) -> Artwork:
    """Return what the rug shows of `artwork`, in whole pixels, as it was turned, cut or filled up to fit.

    A stretched artwork stays as it was drawn.

    Raises
    ------
    ArtworkError
        As `fitting.fitted`.
    """
    upright, frame, _ = fitted(turned(artwork, design.turn), rug, design.fit)
    rows = slice(max(round(frame.top), 0), round(frame.top + frame.height))
    columns = slice(max(round(frame.left), 0), round(frame.left + frame.width))
    coverage = None if upright.coverage is None else upright.coverage[rows, columns]
    return Artwork(upright.srgb[rows, columns], coverage)
