"""The remark on colours that change where the loom cannot change them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.checks.places import where_words
from chartmaker.ground.findings import Finding, Place, Severity
from chartmaker.ground.sentence import later_n
from chartmaker.knots.bands import banded
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of

#: A line whose ground covers less of it has no plain ground that a pattern could be tufted into.
PLAIN_SHARE = 0.5


def changes_along(knot_map: KnotMap, workshop: Workshop) -> Iterator[Finding]:
    """Yield a finding where the yarn changes along a line on which the craft has but one."""
    along = craft_of(knot_map.rug).one_yarn_along(workshop.loom)
    if along is None:
        return
    free = banded(knot_map.knots, columns=along == "column").free
    share = free.mean(axis=1)
    kinds: tuple[tuple[NDArray[np.bool_], tuple[str, str], Severity], ...] = (
        ((share > 0) & (share <= 1 - PLAIN_SHARE), _TUFTED_IN[along], "note"),
        (share > 1 - PLAIN_SHARE, _UNWOVEN[along], "error"),
    )
    for lines, sentences, severity in kinds:
        if lines.any():
            places = _places(lines, knot_map, along == "column")
            yield Finding(later_n(*sentences, int(lines.sum())), where_words(places), severity, places)


def _places(lines: NDArray[np.bool_], knot_map: KnotMap, columns: bool) -> tuple[Place, ...]:
    """Return the stretches of lines as places on the grid."""
    edges = np.flatnonzero(np.diff(lines.astype(np.int8), prepend=0, append=0)).tolist()
    found = list(zip(edges[::2], edges[1::2], strict=True))
    if columns:
        return tuple((0, knot_map.rows, first, end) for first, end in found)
    return tuple((first, end, 0, knot_map.columns) for first, end in found)


_TUFTED_IN = {
    "row": (
        "The yarn changes along {n} rod: no hand loom weaves that. Weave it plain, and tuft the pattern in afterwards "
        "(pattern.pdf).",
        "The yarn changes along {n:,} rods: no hand loom weaves that. Weave them plain, and tuft the pattern in "
        "afterwards (pattern.pdf).",
    ),
    "column": (
        "The yarn changes along {n} end of the pile: no hand loom weaves that. Weave it plain, and tuft the pattern in "
        "afterwards (pattern.pdf).",
        "The yarn changes along {n:,} ends of the pile: no hand loom weaves that. Weave them plain, and tuft the "
        "pattern in afterwards (pattern.pdf).",
    ),
}
_UNWOVEN = {
    "row": (
        "{n} rod has no yarn that covers half of it: no hand loom weaves this. Draw it in bands, or choose another "
        "craft.",
        "{n:,} rods have no yarn that covers half of them: no hand loom weaves this. Draw them in bands, or choose "
        "another craft.",
    ),
    "column": (
        "{n} end of the pile has no yarn that covers half of it: no hand loom weaves this. Draw it in stripes, or "
        "choose another craft.",
        "{n:,} ends of the pile have no yarn that covers half of them: no hand loom weaves this. Draw them in stripes, "
        "or choose another craft.",
    ),
}
