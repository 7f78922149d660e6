"""The tufter's papers read back: nothing found in true ones, however crowded, and every kind of fault in others."""

from __future__ import annotations

import io

import numpy as np
import pytest
from support.alike import named_alike

from chartmaker.figures.reckoning import figures_of
from chartmaker.jobs.drawn import drawing_of, pattern_writers
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.verify import patterns


@pytest.mark.parametrize("number", [201, 250, 443, 446, 17, 95])
def test_a_true_pattern_raises_no_alarm_however_crowded_it_is(number: int) -> None:
    """Rugs of the size of a stamp, each knot of another yarn: numbers beside their fields, fields outside the rug."""
    given, workshop = named_alike(number), Workshop()
    knot_map = KnotMap(given.knots, given.yarns, given.rug.model_copy(update={"technique": "tufted"}))
    labels = knot_map.knots[::-1].astype(np.int32)
    labels[labels == NO_KNOT] = -1
    drawing = drawing_of(knot_map, workshop, labels.astype(np.int16).repeat(3, axis=0).repeat(3, axis=1))
    writers = pattern_writers(drawing, figures_of(knot_map, workshop), None)
    expected = patterns.expected_pattern(knot_map, workshop)
    for name, read in (("pattern.pdf", patterns.pattern_differences), ("pattern.svg", patterns.svg_differences)):
        stream = io.BytesIO()
        writers[name](stream)
        assert list(read(stream.getvalue(), expected)) == []
