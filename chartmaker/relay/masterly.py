"""What a master would remark on a drawing with borders as it lies: a repeat cut, a corner that does not turn."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.repeats.frames import Box
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.order.rug import Rug
from chartmaker.relay.parts import Band, Parts
from chartmaker.relay.remarks import odd_proportions, off_middle, too_much_border
from chartmaker.relay.sides import BandSide

Codes = NDArray[np.int64]

#: A band narrower than so many knots is a guard line: nothing turns in it.
LEAST_TURNED_KNOTS = 4
#: The pattern goes on into an end, or into a corner, if so much of it agrees with the repeats beside.
LEAST_GOING_ON = 0.93
#: Of a repeat that is cut, at least so many knots are missing, and at least so many are there.
LEAST_CUT_KNOTS = 3
#: A motif stands whole where plain ground reaches round its edge over so many knots.
LEAST_PLAIN_KNOTS = 1.0


def remarks_on_drawn(drawing: Artwork, parts: Parts, knot_px: tuple[float, float], rug: Rug) -> tuple[Finding, ...]:
    """Return what there is to remark on a drawing as it lies; nothing if it has no border.

    Parameters
    ----------
    drawing : Artwork
        In pure colours.
    parts : Parts
        What it was found to be made of.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    rug : Rug
    """
    if not any(side.repeating for band in parts.bands for side in band.sides.values()):
        return ()
    srgb = drawing.srgb.astype(np.int64)
    codes = (srgb[..., 0] << 16) | (srgb[..., 1] << 8) | srgb[..., 2]
    found = []
    for number, band in enumerate(parts.bands, start=1):
        found += list(_cut_repeats(codes, number, band, knot_px))
        found += list(_unturned(codes, number, band, knot_px))
    share = 1 - parts.field.width / drawing.width
    width, length = float(rug.woven_width_mm), float(rug.woven_length_mm)
    return (*found, *too_much_border(share), *odd_proportions(width, length), *off_middle(parts))


def _cut_repeats(codes: Codes, number: int, band: Band, knot_px: tuple[float, float]) -> Iterator[Finding]:
    """Yield that a band runs into its corners in the middle of a repeat."""
    cut = {}
    for side in band.sides.values():
        share = _cut_share(codes, side, knot_px)
        if share is not None:
            cut[say("across") if side.run.across else say("along")] = share
    if cut:
        way, share = min(cut.items())
        yield Finding(
            say(
                "The repeats of band {number} do not come out {way}: {share:.0f} % of one is left at each corner.",
                number=number,
                way=say(" and ").join(sorted(cut)) if len(cut) > 1 else way,
                share=100 * share,
            ),
            say("band {number} of the border", number=number),
            "note",
        )


def _cut_share(codes: Codes, side: BandSide, knot_px: tuple[float, float]) -> float | None:
    """Return which share of a repeat is left at the ends of a side, if its motif is cut there."""
    own = codes[side.run.box.window]
    own = own if side.run.across else own.T
    repeating = side.repeating
    if repeating is None:
        return None
    end, period = round(repeating.end), round(repeating.period)
    left = repeating.end % repeating.period / repeating.period
    least = LEAST_CUT_KNOTS * knot_px[1 if side.run.across else 0] / repeating.period
    if not least <= left <= 1 - least or end + period > own.shape[1]:
        return None
    over = min(end, period)
    goes_on = float((own[:, :over] == own[:, period : period + over]).mean())
    reach = max(1, round(LEAST_PLAIN_KNOTS * knot_px[1 if side.run.across else 0]))
    plain = bool((own[:, :reach] == own[:, :1]).all())
    return left if goes_on >= LEAST_GOING_ON and not plain else None


def _unturned(codes: Codes, number: int, band: Band, knot_px: tuple[float, float]) -> Iterator[Finding]:
    """Yield that the pattern of one side runs through the corners of a band, and that of the other ends there."""
    foot, left = band.sides["bottom"], band.sides["left"]
    if min(band.width("bottom") / knot_px[0], band.width("left") / knot_px[1]) < LEAST_TURNED_KNOTS:
        return
    corner = codes[Box(band.inner.bottom, band.outer.left, band.outer.bottom, band.inner.left).window]
    if not corner.size or (corner == corner[:, :1]).all() or (corner == corner[:1]).all():
        return
    runs_through = [
        _goes_on(codes, side, block)
        for side, block in ((foot, corner), (left, corner[::-1].T))
        if side.repeating is not None
    ]
    if len(runs_through) == 2 and runs_through[0] != runs_through[1]:
        yield Finding(
            say(
                "At the corners of band {number} the pattern does not turn: one side runs through, and the other ends "
                "against it.",
                number=number,
            ),
            say("corners"),
            "note",
        )


def _goes_on(codes: Codes, side: BandSide, block: Codes) -> bool:
    """Whether the half of a corner block that lies before the beginning of a side is drawn as its repeats go on."""
    assert side.repeating is not None
    own = codes[side.run.box.window]
    own = own if side.run.across else own[::-1].T
    deep, wide = min(own.shape[0], block.shape[0]), block.shape[1] // 2
    period = round(side.repeating.period)
    shift = -(-wide // period) * period
    if shift > own.shape[1]:
        return False
    return float((block[:deep, -wide:] == own[:deep, shift - wide : shift]).mean()) >= LEAST_GOING_ON
