"""All measures of flat drawings by name, with their targets."""

from __future__ import annotations

from collections.abc import Callable

from support.drawing_measures import edges, guards, motifs, outlines
from support.drawing_measures.placed import Placed, Score
from support.drawing_measures.repeats import Lattice, repeat_identity

#: The measures that are taken of a drawing and its knots.
FLAT: dict[str, Callable[[Placed], Score]] = {
    "motif consistency": motifs.motif_consistency,
    "mirror": motifs.mirror,
    "dents": edges.dents,
    "corners": edges.corners,
    "stripes": edges.stripes,
    "thin width": outlines.thin_width,
    "irregular runs": outlines.irregular_runs,
    "dots": motifs.dots,
    "fidelity": guards.fidelity,
    "invented": guards.invented,
    "unbroken": guards.unbroken,
}
#: The targets: at least this if positive, and at most this if negative.
TARGETS = {
    "repeat identity": 1.0,
    "motif consistency": 0.97,
    "mirror": 0.95,
    "dents": -0.1,
    "corners": -0.01,
    "stripes": 0.98,
    "thin width": -0.15,
    "irregular runs": -0.005,
    "dots": 0.95,
    "fidelity": 0.985,
    "invented": -0.0005,
    "unbroken": 0.96,
    "third yarn": -0.02,
    "details": 0.95,
}


def flat_scores(placed: Placed, lattices: list[Lattice], only: set[str] | None = None) -> dict[str, Score]:
    """Return the chosen measures of a flat drawing."""
    scores = {}
    if only is None or "repeat identity" in only:
        scores["repeat identity"] = repeat_identity(placed, lattices)
    for name, measure in FLAT.items():
        if only is None or name in only:
            scores[name] = measure(placed)
    return scores
