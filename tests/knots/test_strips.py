"""The strips divide the width of the rug so that each column is in one of them."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import make_rug

from chartmaker.ground.errors import RugError
from chartmaker.knots.strips import strips_of, weavers_of
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Chart, Loom, Workshop


def workshop(strips: Any = None, weavers: int | None = None) -> Workshop:
    return Workshop(chart=Chart(strips=strips), loom=Loom(weavers=weavers))


@given(st.integers(60, 400), st.integers(1, 60))
def test_a_number_of_strips_shares_the_columns_evenly(columns: int, strips: int) -> None:
    parts = strips_of(make_rug(columns, 50), workshop(strips))
    assert [column for part in parts for column in part] == list(range(columns))
    widths = {len(part) for part in parts}
    assert len(parts) == strips
    assert max(widths) - min(widths) <= 1


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@given(st.integers(60, 400), st.integers(1, 30))
def test_the_half_that_is_read_first_has_whole_strips(reading: str, columns: int, half: int) -> None:
    """Else a strip of a mirrored rug has sheets for its middle column alone (a chart of 315 columns had four such)."""
    parts = strips_of(
        make_rug(columns, 50), Workshop.model_validate({"chart": {"strips": 2 * half, "reading": reading}})
    )
    assert {part.start for part in parts} & {columns // 2 if reading == "right to left" else -(-columns // 2)}


@given(st.sets(st.integers(2, 100), max_size=8), st.booleans())
def test_strips_begin_at_the_columns_that_were_given(starts: set[int], with_first: bool) -> None:
    wish = ((1,) if with_first else ()) + tuple(sorted(starts))
    parts = strips_of(make_rug(100, 50), workshop(wish))
    assert [part.start + 1 for part in parts] == sorted({1} | starts)
    assert [column for part in parts for column in part] == list(range(100))


@pytest.mark.parametrize("wish", [(30, 20), (20, 20), (101,), (5, 1, 9)])
def test_columns_that_do_not_rise_within_the_rug_are_refused(wish: tuple[int, ...]) -> None:
    rug = make_rug(100, 50)
    if wish == (5, 1, 9):  # column 1 always begins the first strip, wherever it is written
        assert [part.start for part in strips_of(rug, workshop(wish))] == [0, 4, 8]
        return
    with pytest.raises(RugError, match=r"\[chart\] strips: the first columns .* must rise, and lie within 1 to 100"):
        strips_of(rug, workshop(wish))


def test_more_strips_than_columns_are_refused() -> None:
    with pytest.raises(RugError, match=r"\[chart\] strips: 60 strips do not fit 20 columns"):
        strips_of(make_rug(20, 50), workshop(60))


@pytest.mark.parametrize(
    ("size", "weavers"),
    # Common practice: a weaver needs about 90 cm, and three or four share the loom of an average-sized rug.
    [("60x90 cm", 1), ("5x8ft", 2), ("9x12ft", 3), ("350x450 cm", 4), ("20x30 cm", 1)],
)
def test_the_number_of_weavers_follows_from_the_width(size: str, weavers: int) -> None:
    rug = Rug(size=size, density="40x40 per dm")
    assert weavers_of(rug, workshop()) == weavers
    assert len(strips_of(rug, workshop())) == weavers


def test_the_number_of_weavers_may_be_given() -> None:
    rug = Rug(size="5x8ft", density="40x40 per dm")
    assert weavers_of(rug, workshop(weavers=5)) == 5
    assert len(strips_of(rug, workshop(weavers=5))) == 5
    assert len(strips_of(rug, workshop(strips=3, weavers=5))) == 3
