"""What an artwork is seen as before it is converted: its real colours, and which of it is flat and which shaded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.colours.palette import Palette, find_palette
from chartmaker.convert.parts import Parts, Patch, Way, designs_of, only
from chartmaker.convert.style import StyleChoice, choose_style
from chartmaker.ground.language import say
from chartmaker.order.design import Design, Region, Style


@dataclass(frozen=True, eq=False)
class Seen:
    """The real colours of all that is flat, the style of what lies in no region and of each region, the parts.

    `parts` are None where there are no regions. `looks_flat` says that some of it looks flat, whatever is asked.
    """

    palette: Palette
    styles: tuple[StyleChoice, ...]
    parts: Parts | None
    looks_flat: bool

    @property
    def ways(self) -> tuple[Way, ...]:
        """The ways of the parts; none where there are no parts."""
        return () if self.parts is None else self.parts.ways

    @property
    def style(self) -> StyleChoice:
        """The style of the whole, which may be mixed."""
        found = {way.style for way in self.ways}
        if len(found) < 2:
            return next((style for style in self.styles if style.style in found), self.styles[0])
        return StyleChoice(
            "mixed", say("Some parts of the artwork are converted as flat, others as shaded, as the regions have it.")
        )


def seen_in(artwork: Artwork, placement: Placement, design: Design, regions: tuple[Region, ...]) -> Seen:
    """Return what an artwork is seen as, as it lies under the grid.

    A region that says no style is seen together with what lies in no region; any other is seen by itself.
    """
    pixels_a_knot = placement.height * placement.width / (placement.rows * placement.columns)

    def decided(asked: Style, where: NDArray[np.bool_]) -> StyleChoice:
        palette = find_palette(only(artwork, where), pixels_a_knot)
        return choose_style(asked, palette, pixel_a_knot=placement.is_a_pixel_a_knot)

    if artwork.regions is None:
        palette = find_palette(artwork, pixels_a_knot)
        asked, looks = (
            choose_style(style, palette, pixel_a_knot=placement.is_a_pixel_a_knot) for style in (design.style, "auto")
        )
        return Seen(palette, (asked,), None, looks.style == "flat")
    apart = [number for number, region in enumerate(regions, start=1) if region.style is not None]
    rest = decided(design.style, ~np.isin(artwork.regions, apart))
    designs = designs_of(design, regions)
    styles = tuple(
        decided(asked.style, artwork.regions == number) if number in apart else rest
        for number, asked in enumerate(designs)
    )
    met, plane = np.unique(artwork.regions, return_inverse=True)
    patches = tuple(Patch(int(number), Way.of(styles[number].style, designs[number])) for number in met)
    parts = Parts(plane.reshape(artwork.regions.shape).astype(np.uint8), patches)
    flat = [way for way in parts.ways if way.style == "flat"]
    drawn = artwork if len(flat) in (0, len(parts.ways)) else only(artwork, parts.where(*flat))
    palette = find_palette(drawn, pixels_a_knot)
    looks = choose_style("auto", palette, pixel_a_knot=placement.is_a_pixel_a_knot)
    return Seen(palette, styles, parts, looks.style == "flat")
