"""Swapping yarns leaves every knot in its place, the counts follow, and an exchange undoes itself."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from support.making import SettledMap, knot_maps, make_map, make_yarn

from chartmaker.ground.errors import CardError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.swaps import exchanged_or_merged, onto_card, recoloured, swaps_between


@given(knot_maps(most_columns=20, most_rows=20), st.data())
def test_a_merge_moves_all_knots_and_no_other(knot_map: SettledMap, data: st.DataObject) -> None:
    assume(len(knot_map.yarns) > 1)
    first, second = data.draw(st.permutations(range(len(knot_map.yarns))))[:2]
    a, b = knot_map.yarns[first], knot_map.yarns[second]
    after = exchanged_or_merged(knot_map, [(a.code, b.code)], [])
    assert a not in after.yarns
    counts = dict(zip(after.yarns, after.counts.tolist(), strict=True))
    assert counts[b] == knot_map.counts[first] + knot_map.counts[second]
    assert after.tied == knot_map.tied
    tied_before = np.isin(knot_map.knots, [first, second])
    assert np.array_equal(after.knots == after.yarns.index(b), tied_before)
    assert [swap.after for swap in swaps_between(knot_map, after)] == [b]


@given(knot_maps(most_columns=20, most_rows=20), st.data())
def test_an_exchange_done_twice_is_the_map_again(knot_map: SettledMap, data: st.DataObject) -> None:
    assume(len(knot_map.yarns) > 1)
    a, b = (knot_map.yarns[i].code for i in data.draw(st.permutations(range(len(knot_map.yarns))))[:2])
    once = exchanged_or_merged(knot_map, [], [(a, b)])
    assert once.sha256 != knot_map.sha256
    assert sorted(once.counts.tolist()) == sorted(knot_map.counts.tolist())
    assert exchanged_or_merged(once, [], [(b, a)]).sha256 == knot_map.sha256
    assert {(s.before.code, s.after.code) for s in swaps_between(knot_map, once)} == {(a, b), (b, a)}


@given(knot_maps(most_columns=20, most_rows=20), st.sampled_from(["nearest", "distinct"]))
def test_the_map_s_own_yarns_as_a_card_change_nothing(knot_map: SettledMap, by: str) -> None:
    for way in ("code", by):
        after = onto_card(knot_map, knot_map.yarns[::-1], way)  # type: ignore[arg-type]
        assert after.sha256 == knot_map.sha256


def test_yarns_move_to_a_card_in_new_colours_by_their_codes() -> None:
    knot_map = make_map(np.arange(120).reshape(6, 20) % 4)
    card = [make_yarn(i, (60 * i, 5, 9)) for i in range(4)]
    after = onto_card(knot_map, card, "code")
    assert after.yarns == tuple(card)
    assert np.array_equal(after.knots, knot_map.knots)
    with pytest.raises(CardError, match=r"no yarn Y003; .*--recolour"):
        onto_card(knot_map, card[:3], "code")


def test_nearest_may_make_one_yarn_of_two_and_distinct_may_not() -> None:
    cells = np.zeros((20, 20), dtype=np.uint16)
    cells[5:], cells[8:], cells[0, 0] = 1, 2, NO_KNOT
    yarns = tuple(make_yarn(i, (grey,) * 3) for i, grey in enumerate([100, 110, 200]))
    knot_map = SettledMap(cells, yarns, make_map(cells).rug, make_map(cells).workshop)
    card = tuple(make_yarn(10 + i, (grey,) * 3) for i, grey in enumerate([205, 104, 60]))
    merged = onto_card(knot_map, card, "nearest")
    assert [yarn.code for yarn in merged.yarns] == ["Y011", "Y010"]
    assert merged.counts.tolist() == [99 + 60, 240]
    assert len(swaps_between(knot_map, merged)) == 3
    apart = onto_card(knot_map, card, "distinct")
    assert sorted(yarn.code for yarn in apart.yarns) == ["Y010", "Y011", "Y012"]
    with pytest.raises(CardError, match="2 yarns, which are too few to keep 3 apart"):
        onto_card(knot_map, card[:2], "distinct")


def test_distinct_is_the_best_of_all_assignments() -> None:
    # Every assignment is tried here, with scikit-image's CIEDE2000.
    from skimage.color import deltaE_ciede2000

    knot_map = make_map(np.arange(120).reshape(6, 20) ** 2 % 5)
    rng = np.random.default_rng(5)
    card = tuple(make_yarn(100 + i, tuple(int(v) for v in rng.integers(0, 256, 3))) for i in range(7))
    chosen = {s.before.code: s.after for s in swaps_between(knot_map, onto_card(knot_map, card, "distinct"))}

    def cost(pick: tuple[int, ...]) -> float:
        return sum(
            float(count) * float(deltaE_ciede2000(np.array(yarn.lab), np.array(card[i].lab))) ** 2
            for yarn, count, i in zip(knot_map.yarns, knot_map.counts, pick, strict=True)
        )

    best = min(cost(pick) for pick in itertools.permutations(range(7), len(knot_map.yarns)))
    assert cost(tuple(card.index(chosen[yarn.code]) for yarn in knot_map.yarns)) == pytest.approx(best)


def test_yarns_are_recoloured_from_the_card_by_their_codes() -> None:
    knot_map = make_map(np.arange(120).reshape(6, 20) % 3)
    card = (make_yarn(50, (1, 2, 3)), make_yarn(1, knot_map.yarns[1].srgb), make_yarn(2, (9, 9, 9)))
    after = recoloured(knot_map, [("Y000", "Y050")], card)
    assert [yarn.code for yarn in after.yarns] == ["Y050", "Y001", "Y002"]
    assert np.array_equal(after.knots, knot_map.knots)
    assert recoloured(knot_map, [("Y000", "Y001")], card).counts.tolist() == [80, 40]
    with pytest.raises(CardError, match="Y000 is recoloured twice"):
        recoloured(knot_map, [("Y000", "Y050"), ("Y000", "Y001")], card)
    with pytest.raises(CardError, match="the card has no yarn Y051; did you mean Y050"):
        recoloured(knot_map, [("Y000", "Y051")], card)
    with pytest.raises(CardError, match=r"ties Y002 in #......, and the card has it in #090909"):
        recoloured(knot_map, [("Y000", "Y002")], card)


@pytest.mark.parametrize(
    ("merges", "exchanges", "message"),
    [
        ([("Y000", "Y001"), ("Y001", "Y002")], [], "Y001 is in two swaps"),
        ([("Y000", "Y001")], [("Y001", "Y002")], "Y001 is in two swaps"),
        ([("Y000", "Y001"), ("Y000", "Y002")], [], "Y000 is in two swaps"),
        ([("Y000", "Y000")], [], "names one yarn twice"),
        ([("Y00", "Y001")], [], "ties no yarn Y00; did you mean Y00"),
        ([], [("Y001", "blue")], "ties no yarn blue; it ties Y000, Y001, Y002"),
    ],
)
def test_an_ambiguous_or_impossible_swap_is_refused(
    merges: list[tuple[str, str]], exchanges: list[tuple[str, str]], message: str
) -> None:
    with pytest.raises(CardError, match=message):
        exchanged_or_merged(make_map(np.arange(120).reshape(6, 20) % 3), merges, exchanges)


def test_a_yarn_that_is_not_tied_has_become_no_other() -> None:
    cells = np.zeros((20, 20), dtype=np.uint16)
    yarns = (make_yarn(0, (9, 9, 9)), make_yarn(1, (200, 9, 9)))
    knot_map = SettledMap(cells, yarns, make_map(cells).rug, make_map(cells).workshop)
    after = recoloured(knot_map, [("Y000", "Y050")], [make_yarn(50, (1, 2, 3))])
    assert [(swap.before.code, swap.after.code) for swap in swaps_between(knot_map, after)] == [("Y000", "Y050")]
