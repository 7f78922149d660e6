"""A design taken apart by itself: what was found, with a picture of it, before it is laid anew in any size."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from chartmaker.artwork.placing import turned
from chartmaker.ground import files, targets
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.jobs.designs import artwork_of_order
from chartmaker.order.rugfile import RugFile
from chartmaker.relay.relaid import Apart, taken_apart


@dataclass(frozen=True)
class Found:
    """The parts of a design, with what was noticed on reading it; `mm_per_px` are millimetres down and across."""

    apart: Apart
    mm_per_px: tuple[float, float]
    findings: tuple[Finding, ...]


def write_layout(order: RugFile, out: Path | str, *, replace: bool = False, progress: Progress = SILENT) -> Found:
    """Take an order's artwork apart, and write a picture of its parts.

    Parameters
    ----------
    order : RugFile
        As `read_order` gives it.
    out : Path or str
        The picture, a PNG.
    replace : bool
        Whether a file that is there may be replaced.
    progress : Progress
        Told how far it is.

    Returns
    -------
    Found
        The parts: bands of the border with their repeats, the field.

    Raises
    ------
    ChartmakerError
        If the artwork cannot be read or taken apart, or the picture cannot be written.

    Examples
    --------
    >>> found = write_layout(read_order("rug.toml"), "parts.png", replace=True)
    >>> len(found.apart.parts.bands)
    3
    """
    from chartmaker.pages.partspicture import parts_picture

    out = Path(out)
    targets.check_file(out, replace=replace, inputs=order.inputs)
    progress.doing(say("reading the artwork"))
    artwork, noticed = artwork_of_order(order, {})
    artwork = turned(artwork, order.design.turn)
    progress.doing(say("taking the design apart"))
    apart = taken_apart(artwork, order.rug, order.design, order.layout)
    density = order.rug.density
    mm_per_px = (
        float(density.knot_height_mm) / apart.knot_px[0],
        float(density.knot_width_mm) / apart.knot_px[1],
    )
    picture = parts_picture(artwork, apart.parts, mm_per_px)
    files.write_file(out, lambda stream: stream.write(picture), replace=replace, inputs=order.inputs)
    return Found(apart, mm_per_px, noticed)
