"""The command `calibrate` finds the yarn in a knot from the yarn that a rug has used."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

#: The sides are not overcast, so that all of the yarn goes into the knots.
UNBOUND = ("--set", "loom.binding=0 mm")


def test_twice_the_yarn_is_twice_the_length_a_knot_and_bad_use_is_refused(
    knots: Path, chartmaker: Callable[..., Any]
) -> None:
    estimate = json.loads(chartmaker("figures", knots, *UNBOUND, "--json").out)["pile"]["mass_g"]["best"]
    said = json.loads(chartmaker("calibrate", knots, *UNBOUND, "--total", f"{2 * estimate} g", "--json").out)
    plain = json.loads(chartmaker("calibrate", knots, *UNBOUND, "--total", f"{estimate} g", "--json").out)
    assert said["length_per_knot_mm"] == pytest.approx(2 * plain["length_per_knot_mm"], rel=1e-3)
    assert chartmaker("calibrate", knots).code == 2
    assert "length_per_knot" in chartmaker("calibrate", knots, "--used", "R1=100 g").out
    assert chartmaker("calibrate", knots, "--used", "ZZ=100 g").code == 3
