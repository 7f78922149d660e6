"""The pattern as an SVG in millimetres, with a path for each field, for cutters, projectors and drawing programs."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from chartmaker.ground.colour import hex_of
from chartmaker.ground.language import say
from chartmaker.outlines.lattice import Points
from chartmaker.sheets.pattern.drawing import Drawing


def pattern_svg(drawing: Drawing) -> Iterator[str]:
    """Yield the SVG piece by piece, with y running downward.

    Each field is a path with the yarn's code and number as ``data-yarn`` and ``data-number``, in the yarn's colour.
    """
    wide, high = drawing.width_mm, drawing.height_mm
    yield (
        '<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" '
        f'width="{wide:.3f}mm" height="{high:.3f}mm" viewBox="0 0 {wide:.3f} {high:.3f}" '
        f'data-side="{drawing.side}" data-map={quoteattr(drawing.code)}>\n<title>'
    )
    yield escape(say("{name}: full-size pattern", name=drawing.name)) + "</title>\n"
    yield '<g id="fields" stroke="#000000" stroke-width="0.4" stroke-linejoin="round" fill-rule="evenodd">\n'
    for label, rings in drawing.outlines.rings:
        yarn = drawing.yarns[label]
        path = "".join(f"M{'L'.join(_points(ring[:-1] * (1, -1) + (0, high)))}Z" for ring in rings)
        yield (
            f'<path data-yarn={quoteattr(yarn.code)} data-number="{drawing.number(label)}" '
            f'fill="{hex_of(yarn.srgb)}" d="{path}"/>\n'
        )
    yield '</g>\n<g id="centre-lines" fill="none" stroke="#e600ff" stroke-width="0.25" stroke-dasharray="2 1.2">\n'
    for line in drawing.outlines.lines:
        points = " ".join(f"{x:.2f},{high - y:.2f}" for x, y in line.points_mm)
        yield f'<polyline data-tuft-rows="{line.tuft_rows}" points="{points}"/>\n'
    yield '</g>\n<g id="numbers" font-family="sans-serif" text-anchor="middle">\n'
    for place in drawing.outlines.numbers:
        if place.has_leader:
            yield (
                f'<line x1="{place.x_mm:.2f}" y1="{high - place.y_mm:.2f}" x2="{place.at_x_mm:.2f}" '
                f'y2="{high - place.at_y_mm:.2f}" stroke="#0033ff" stroke-width="0.2"/>\n'
            )
        yield (
            f'<text x="{place.x_mm:.2f}" y="{high - place.y_mm + place.height_mm / 2:.2f}" fill="#0033ff" '
            f'stroke="#ffffff" stroke-width="0.6" paint-order="stroke" font-size="{place.height_mm / 0.73:.2f}">'
            f"{drawing.number_of(place)}</text>\n"
        )
    yield "</g>\n</svg>\n"


def _points(ring: Points) -> Iterator[str]:
    return (f"{x:.3f} {y:.3f}" for x, y in zip(ring[:, 0].tolist(), ring[:, 1].tolist(), strict=True))
