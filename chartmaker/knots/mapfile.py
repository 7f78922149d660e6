"""What a knot map's file says: the knots and, beside them, how the workshop makes the rug."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.touchup import Snapped
from chartmaker.order.workshop import Workshop


@dataclass(frozen=True, eq=False)
class MapFile:
    """A knot map with, beside it, the settings that are in force for it.

    Attributes
    ----------
    knot_map : KnotMap
    workshop : Workshop
        What the file says of pile, loom, dyeing and sheets, or what the rug file says in its place. Prices come from
        the rug file alone.
    snapped : tuple of Snapped
        Colours that were no yarn, with the yarns that they were given.
    folder : Path
        What the settings' paths (a font) are relative to.
    inputs : tuple of Path
        The files that were read for it or that its settings name; no output may take the place of one.
    """

    knot_map: KnotMap
    workshop: Workshop
    snapped: tuple[Snapped, ...] = ()
    folder: Path = Path()
    inputs: tuple[Path, ...] = ()
