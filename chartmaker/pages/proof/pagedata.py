"""The data that a proof page carries inside it, each part in a `script` element that a browser does not run.

``page-facts``
    JSON: ``rows``, ``columns``, ``sha256`` of the map, ``empty`` (cells without a knot), ``yarns`` (``code``, ``name``,
    ``srgb`` as #rrggbb, ``knots``, ``difference`` that half of them are within, ...), ``findings``, ``difference``
    (``step``) with ``artwork`` (``type``), both null without artwork; ``carved`` (``heights`` by yarn where they
    differ, ``grooves`` as pairs of yarns, the second null for any, ``depth``, ``width``), null where nothing is.
    Beside words stand their fields, as (start, end, name), so that programs find the numbers in any language.
``proof-knots``
    Base64, with line breaks, of a zlib stream (RFC 1950) of rows x columns bytes: row by row from the first woven, each
    from the left as seen from the pile side. A byte is the number of a yarn in ``yarns``, counted from 0, or 255 where
    there is no knot.
``proof-difference``
    Likewise: CIEDE2000 between the yarn and the mean, in linear light, of what its knot covers of the artwork, in units
    of ``step``, rounded; 254 stands for that much or more, 255 for a place without knot or artwork.
``proof-artwork``
    Base64 of a picture file, for looking at only.
"""

from __future__ import annotations

import base64
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.figures.carving import Carving
from chartmaker.ground.colour import ciede2000, hex_of, lab_from_linear
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import fields_of
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.pages.frames import LANGUAGE, data_element, facts_element
from chartmaker.pages.proof.area import artwork_bands
from chartmaker.pages.proof.words import COUNTED, SENTENCES
from chartmaker.pages.words import word_table
from chartmaker.reports.words import code_words, density_words, knots_words, size_words
from chartmaker.yarns.yarn import lab_of

#: In the page: no knot; in the differences: nothing to compare.
NOTHING = 255
#: The largest difference, in steps.
MOST_STEPS = 254
#: Beyond this many knots the differences are rounded more coarsely, so that the page stays small enough to send.
_FINE_KNOTS = 8_000_000
_FINE_STEP, _COARSE_STEP = 0.1, 1.0

_ARTWORK_LONG_SIDE_PX = 3200
_ARTWORK_BYTES = 3_000_000
_CHUNK = 3 * 2**18  # a multiple of three, so that base64 texts can follow one another


def differences(knot_map: KnotMap, artwork: Artwork, step: float) -> NDArray[np.uint8]:
    """Return CIEDE2000 between artwork and yarn in units of `step`, shape (rows, columns), row 0 the first woven.

    MOST_STEPS stands for that or more, NOTHING for a place without knot or with less than half artwork.
    """
    yarns_lab = lab_of(knot_map.yarns)
    found = np.full(knot_map.knots.shape, NOTHING, dtype=np.uint8)
    from_top, knots_from_top = found[::-1], knot_map.knots[::-1]
    for start, light, cover in artwork_bands(artwork, knot_map.rows, knot_map.columns):
        band = slice(start, start + len(light))
        knots = knots_from_top[band]
        there = (knots != NO_KNOT) & (cover >= 0.5)
        steps = ciede2000(lab_from_linear(light[there]), yarns_lab[knots[there]]) / step
        from_top[band][there] = np.minimum(np.floor(steps + 0.5), MOST_STEPS)
    return found


def data_elements(
    knot_map: KnotMap,
    artwork: Artwork | None,
    findings: Sequence[Finding],
    figures: Mapping[str, str],
    carving: Carving | None = None,
) -> Iterator[str]:
    """Yield the script elements that hold the data."""
    step = _FINE_STEP if knot_map.rows * knot_map.columns <= _FINE_KNOTS else _COARSE_STEP
    steps = picture = None
    media_type = ""
    if artwork is not None:
        from chartmaker.pages.proof.proof import artwork_file

        steps = differences(knot_map, artwork, step)
        picture, media_type = artwork_file(artwork, long_side_px=_ARTWORK_LONG_SIDE_PX, most_bytes=_ARTWORK_BYTES)
    told = [size_words(knot_map.rug), density_words(knot_map.rug), knots_words(knot_map), code_words(knot_map)]
    facts = {
        "name": inert(knot_map.rug.name),
        "language": LANGUAGE,
        "words": word_table(SENTENCES, COUNTED),
        "facts": told,
        "factFields": [_fields(words) for words in told],
        "sha256": knot_map.sha256,
        "rows": knot_map.rows,
        "columns": knot_map.columns,
        "empty": knot_map.empty,
        "knotWidthMm": float(knot_map.rug.density.knot_width_mm),
        "knotHeightMm": float(knot_map.rug.density.knot_height_mm),
        "yarns": _yarn_facts(knot_map, steps, step, figures),
        "findings": [
            {
                "what": inert(f.what, longest=2000),
                "where": inert(f.where),
                "severity": f.severity,
                "places": [[int(edge) for edge in place] for place in f.places],
            }
            for f in findings
        ],
        "difference": None if steps is None else {"step": step},
        "artwork": None if picture is None else {"type": media_type},
        "carved": None if carving is None or not carving.shows else _carved_facts(carving),
    }
    yield from facts_element(facts)
    yield from data_element("proof-knots", "text/plain", _base64(_deflated(_knot_bytes(knot_map))))
    if steps is not None and picture is not None:
        rows = (steps[row : row + 64].tobytes() for row in range(0, len(steps), 64))
        yield from data_element("proof-difference", "text/plain", _base64(_deflated(rows)))
        yield from data_element("proof-artwork", "text/plain", _base64([picture]))


def _carved_facts(carving: Carving) -> dict[str, Any]:
    """Return what the readout says of heights and grooves: a height for each yarn, the yarns that a groove parts."""
    return {
        "heights": [f"{height:g}" for height in carving.finished_mm] if carving.uneven else [],
        "grooves": [[groove.yarn, groove.other] for groove in carving.grooves],
        "depth": f"{carving.depth_mm:g}",
        "width": f"{carving.width_mm:g}",
    }


def _yarn_facts(
    knot_map: KnotMap, steps: NDArray[np.uint8] | None, step: float, figures: Mapping[str, str]
) -> list[dict[str, Any]]:
    """Return what the legend says of each yarn."""
    middles = [None] * len(knot_map.yarns) if steps is None else _middle_differences(knot_map, steps, step)
    return [
        {
            "code": inert(yarn.code),
            "name": inert(yarn.name),
            "srgb": hex_of(yarn.srgb),
            "knots": int(knots),
            "share": f"{percent:.2f}",
            "figures": inert(figures.get(yarn.code, "")),
            "figureFields": _fields(figures.get(yarn.code, "")),
            "difference": middle,
        }
        for yarn, knots, percent, middle in zip(
            knot_map.yarns, knot_map.counts, knot_map.percents, middles, strict=True
        )
    ]


def _fields(words: str) -> list[list[int | str]]:
    """Return where the fields of a sentence stand: its first letter, the one after its last, its name."""
    return [[start, end, name] for start, end, name in fields_of(words)]


def _middle_differences(knot_map: KnotMap, steps: NDArray[np.uint8], step: float) -> list[float | None]:
    """Return within which difference half the knots of each yarn are; None where nothing could be compared."""
    tally = np.zeros((len(knot_map.yarns), NOTHING + 1), dtype=np.int64)
    for row in range(0, knot_map.rows, 256):
        knots, found = knot_map.knots[row : row + 256], steps[row : row + 256]
        there = found != NOTHING
        pairs = knots[there].astype(np.int64) * (NOTHING + 1) + found[there]
        tally += np.bincount(pairs, minlength=tally.size).reshape(tally.shape)
    totals = tally.sum(axis=1)
    middles = np.argmax(2 * tally.cumsum(axis=1) >= totals[:, None], axis=1)
    return [round(float(middle * step), 1) if total else None for middle, total in zip(middles, totals, strict=True)]


def _knot_bytes(knot_map: KnotMap) -> Iterator[bytes]:
    """Yield the map, a byte a cell, from the first woven row."""
    for row in range(0, knot_map.rows, 64):
        band = knot_map.knots[row : row + 64]
        yield np.where(band == NO_KNOT, NOTHING, band).astype(np.uint8).tobytes()


def _deflated(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Yield the zlib stream of `pieces`."""
    packer = zlib.compressobj(level=6)
    for piece in pieces:
        yield packer.compress(piece)
    yield packer.flush()


def _base64(pieces: Iterable[bytes]) -> Iterator[str]:
    """Yield the base64 text of `pieces` joined, a line for each of its parts."""
    held = b""
    for piece in pieces:
        held += piece
        whole = len(held) // _CHUNK * _CHUNK
        for start in range(0, whole, _CHUNK):
            yield base64.b64encode(held[start : start + _CHUNK]).decode("ascii") + "\n"
        held = held[whole:]
    yield base64.b64encode(held).decode("ascii")
