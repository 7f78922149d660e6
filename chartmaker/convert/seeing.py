"""What an artwork is seen as before it is converted: its real colours, and what in it is flat and what is shaded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.colours.palette import Palette, find_palette
from chartmaker.colours.style import StyleChoice, choose_style
from chartmaker.convert.parts import Parts, Patch, Way, designs_of, only
from chartmaker.convert.splitting import painted_part
from chartmaker.ground.language import say
from chartmaker.order.design import Design, Region, Style

Bits = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Seen:
    """The real colours of all that is flat, the style of what lies in no region and of each region, and the parts.

    `parts` are None if there are no regions. `looks_flat` says that something in it looks flat, whatever is asked for.
    """

    palette: Palette
    styles: tuple[StyleChoice, ...]
    parts: Parts | None
    looks_flat: bool

    @property
    def ways(self) -> tuple[Way, ...]:
        """The ways of the parts, of which there are none if there are no parts."""
        return () if self.parts is None else self.parts.ways

    @property
    def style(self) -> StyleChoice:
        """The style of the whole, which may be mixed."""
        regions = (0,) if self.parts is None else np.unique(self.parts.region_of_patch)
        met = [self.styles[region] for region in regions]
        if len({style.style for style in met}) == 1:
            return met[0]
        return StyleChoice(
            "mixed", say("Some parts of the artwork are converted as flat, others as shaded, as the regions have it.")
        )


def seen_in(artwork: Artwork, placement: Placement, design: Design, regions: tuple[Region, ...]) -> Seen:
    """Return what an artwork is seen as, as it lies under the grid.

    A region without a style of its own is seen together with what lies in no region; any other is seen by itself.
    """
    marked = artwork.regions
    if marked is None:
        palette, style, painted = _judged(artwork, placement, design.style)
        if painted is None:
            looks = style if design.style == "auto" else _choice("auto", palette, placement)
            return Seen(palette, (style,), None, looks.style == "flat")
        marked = np.zeros(painted.shape, dtype=np.uint8)
    designs, styles = designs_of(design, regions), [StyleChoice("flat", "")] * (len(regions) + 1)
    shaded = np.zeros(artwork.srgb.shape[:2], dtype=bool)
    apart = {number for number, region in enumerate(regions, start=1) if region.style is not None}
    for group in ({0, *range(1, len(designs))} - apart, *({number} for number in sorted(apart))):
        where = np.isin(marked, list(group))
        own = artwork if where.all() else only(artwork, where)
        _, style, painted = _judged(own, placement, designs[min(group)].style)
        shaded |= where & (painted if painted is not None else np.bool_(style.style == "shaded"))
        for number in group:
            styles[number] = style
    parts = _parts(marked, shaded, designs)
    flat = [way for way in parts.ways if way.style == "flat"]
    drawn = artwork if len(flat) in (0, len(parts.ways)) else only(artwork, parts.where(*flat))
    palette = find_palette(drawn, _pixels_a_knot(placement))
    return Seen(palette, tuple(styles), parts, _choice("auto", palette, placement).style == "flat")


def _judged(
    artwork: Artwork, placement: Placement, asked: Style
) -> tuple[Palette, StyleChoice, NDArray[np.bool_] | None]:
    """Return the real colours of an artwork, its style and, if that is mixed, which pixels are shaded."""
    palette = find_palette(artwork, _pixels_a_knot(placement))
    painted = None
    if asked == "auto" and not placement.is_a_pixel_a_knot:
        painted = painted_part(artwork, placement, palette)
    if painted is None:
        return palette, _choice(asked, palette, placement), None
    share = 100 * float(painted.mean())
    reason = "{share:.0f} % of the artwork is painted or photographed, the rest drawn: each is converted as what it is."
    return palette, StyleChoice("mixed", say(reason, share=share)), painted


def _choice(asked: Style, palette: Palette, placement: Placement) -> StyleChoice:
    return choose_style(asked, palette, pixel_a_knot=placement.is_a_pixel_a_knot)


def _pixels_a_knot(placement: Placement) -> float:
    return placement.height * placement.width / (placement.rows * placement.columns)


def _parts(regions: ByteArray, shaded: NDArray[np.bool_], designs: tuple[Design, ...]) -> Parts:
    """Return the parts into which regions and styles divide an artwork."""
    met, plane = np.unique(2 * regions + shaded, return_inverse=True)
    ways = (Way.of("shaded" if code % 2 else "flat", designs[code // 2]) for code in met)
    patches = tuple(Patch(int(code) // 2, way) for code, way in zip(met, ways, strict=True))
    return Parts(plane.reshape(regions.shape).astype(np.uint8), patches)
