"""The papers that sheets are printed on."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import say
from chartmaker.order.workshop import Orientation

INCH_MM = 25.4

#: Width by height in millimetres, portrait. A sizes: ISO 216. Letter, Legal, Tabloid: ANSI/ASME Y14.1 with US custom.
SHEETS_MM: dict[str, tuple[float, float]] = {
    "A5": (148, 210),
    "A4": (210, 297),
    "A3": (297, 420),
    "A2": (420, 594),
    "A1": (594, 841),
    "A0": (841, 1189),
    "Letter": (8.5 * INCH_MM, 11 * INCH_MM),
    "Legal": (8.5 * INCH_MM, 14 * INCH_MM),
    "Tabloid": (11 * INCH_MM, 17 * INCH_MM),
    "Roll 24": (24 * INCH_MM, 36 * INCH_MM),
    "Roll 36": (36 * INCH_MM, 48 * INCH_MM),
    "Roll 42": (42 * INCH_MM, 60 * INCH_MM),
}


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper as it is held: `width_mm` by `height_mm`."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def margin_mm(self) -> float:
        """What office printers and plotters can't reach, with a little room."""
        return 7.0 if min(self.width_mm, self.height_mm) < 200 else 9.0


def _key(name: str) -> str:
    return "".join(name.lower().replace('"', "").replace("inches", "").replace("inch", "").replace("in", "").split())


def paper_of(name: str, orientation: Orientation = "portrait") -> Paper:
    """Return the paper called `name`: A5 to A0, Letter, Legal, Tabloid, Roll 24, Roll 36, Roll 42.

    Rolls are cut to the usual drawing lengths; case, spaces and inch marks do not matter. Where how it lies is left
    open (auto), it stands upright.

    Raises
    ------
    SheetError
        If there is no such paper.
    """
    known = {_key(title): title for title in SHEETS_MM}
    title = known.get(_key(name))
    if title is None:
        raise SheetError(
            say("there is no paper called {name!r}; there are {names}", name=name, names=", ".join(SHEETS_MM))
        )
    width_mm, height_mm = SHEETS_MM[title]
    if orientation == "landscape":
        width_mm, height_mm = height_mm, width_mm
    return Paper(title, float(width_mm), float(height_mm))
