"""The few yarns that are chosen from a card are the best, as trying all choices shows; bad requests are refused."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data
from support.drawings import card_of, converted
from support.making import SQUARE, make_rug

from chartmaker.colours import choosing, swapping, yarnset
from chartmaker.colours.choosing import choose
from chartmaker.colours.yarnset import SHADES_APART_DE00, allowed_yarns, chosen_yarns
from chartmaker.ground.colour import ciede2000, lab_from_srgb8
from chartmaker.ground.errors import CardError, RugError
from chartmaker.order.design import YarnChoice

PHOTOGRAPH = data.astronaut()[::4, ::4]


def colours(seed: int, number: int) -> np.ndarray:
    return lab_from_srgb8(np.random.default_rng(seed).integers(0, 256, (number, 3)))


@settings(max_examples=40)
@given(st.integers(0, 10**6), st.integers(1, 4), st.booleans(), st.sampled_from([0, 11, 6]))
def test_choices_are_the_best_there_are_with_the_bound_below(seed: int, number: int, keep: bool, likely: int) -> None:
    """So they are where large problems begin with five yarns and go on with the `likely` ones that a bound leaves.

    The choice need not be the best where more of them are left than are looked at, yet the bound still holds.
    """
    lab, card = colours(seed, 60), colours(seed + 1, 11)
    weights = np.random.default_rng(seed).integers(1, 50, 60).astype(float)
    kept = [3] if keep else []
    de00 = ciede2000(lab[:, None], card[None])

    def mean(chosen: tuple[int, ...]) -> float:
        return float((de00[:, list(chosen)].min(axis=1) * weights).sum() / weights.sum())

    best = min(mean(choice) for choice in combinations(range(11), number) if set(kept) <= set(choice))
    with pytest.MonkeyPatch.context() as patch:
        if likely:
            limits = {"MANY_PAIRS": 0, "MANY_TRIES": 120, "FIRST_YARNS": 5, "FIRST_ROUNDS": 5, "LIKELY_YARNS": likely}
            for limit, value in limits.items():
                patch.setattr(choosing, limit, value)
        found = choose(lab, weights, card, number, kept)
    assert set(kept) <= set(found.indices.tolist())
    assert found.mean_de00 == pytest.approx(mean(tuple(found.indices)), abs=1e-9)
    assert found.bound_de00 <= best + 1e-9
    assert likely == 6 or found.mean_de00 == pytest.approx(best, rel=0.01)


def test_many_colours_are_chosen_for_in_groups() -> None:
    """There are more colours than the search keeps groups for, and the best pair is found all the same."""
    random = np.random.default_rng(11)
    lab, card = colours(3, 9000), colours(4, 12)
    weights = random.integers(1, 9, len(lab)).astype(float)
    de00 = ciede2000(lab[:, None], card[None])
    best = min((de00[:, list(pair)].min(axis=1) * weights).sum() for pair in combinations(range(12), 2)) / weights.sum()
    found = choose(lab, weights, card, 2)
    assert found.mean_de00 == pytest.approx(best, abs=1e-9)
    assert found.bound_de00 <= best


def test_near_colours_are_gathered_where_a_card_is_too_large_to_weigh_each(monkeypatch: pytest.MonkeyPatch) -> None:
    """All colours, tried one by one, are hardly further from that choice than from the one that weighs each."""
    lab, card = colours(7, 3000), card_of(np.random.default_rng(8).integers(0, 256, (30, 3)).astype(np.uint8))
    weights = np.random.default_rng(9).integers(1, 9, len(lab)).astype(float)
    means = []
    for most, exact in ((10**9, True), (30 * 500, False)):
        monkeypatch.setattr(yarnset, "_MOST_TRIES", most)
        yarns, made = chosen_yarns(card, (), 6, lab, weights, exact=True)
        assert (len(yarns), made.exact) == (6, exact)
        de00 = ciede2000(lab[:, None], np.array([yarn.lab for yarn in yarns])[None])
        means.append(float((de00.min(axis=1) * weights).sum() / weights.sum()))
        assert made.bound_de00 <= made.mean_de00 == pytest.approx(means[-1], rel=0.001 if exact else 0.05)
    assert means[1] <= 1.01 * means[0]


@pytest.mark.parametrize("number", [11, 12])
def test_asking_for_as_many_as_the_card_has_gives_all_of_them(number: int) -> None:
    lab, card = colours(1, 60), colours(2, 11)
    found = choose(lab, np.ones(60), card, number)
    assert found.indices.tolist() == list(range(11))
    nearest = ciede2000(lab[:, None], card[None]).min(axis=1).mean()
    assert (found.mean_de00, found.bound_de00) == pytest.approx((nearest, nearest))


def test_fewer_are_chosen_where_no_more_lie_far_enough_apart() -> None:
    card = lab_from_srgb8(np.array([(0, 0, 0), (8, 8, 8), (255, 255, 255), (247, 247, 247)]))
    found = choose(colours(1, 60), np.ones(60), card, 3, least_apart=20)
    assert len(found.indices) == 2
    assert ciede2000(*card[found.indices]) > 20


def test_each_further_step_of_the_search_only_helps(monkeypatch: pytest.MonkeyPatch) -> None:
    """From greedy choice alone to swaps and kicks, the mean falls and never gets below the proven bound."""
    means: dict[str, list[float]] = {"greedy": [], "swaps": [], "kicks": []}
    for seed in range(12):
        lab, card = colours(seed, 400), colours(seed + 100, 60)
        for step, swaps, kicks in (("greedy", 0, 0), ("swaps", 1000, 0), ("kicks", 1000, 16)):
            monkeypatch.setattr(swapping, "MOST_SWAPS", swaps)
            monkeypatch.setattr(choosing, "GROUP_KICKS", kicks)
            monkeypatch.setattr(choosing, "KICKS", kicks)
            found = choose(lab, np.ones(400), card, 7)
            assert len(found.indices) == 7
            assert found.bound_de00 <= found.mean_de00
            means[step].append(found.mean_de00)
    assert all(a >= b - 1e-4 for a, b in zip(means["greedy"], means["swaps"], strict=True))
    assert all(a >= b - 1e-4 for a, b in zip(means["swaps"], means["kicks"], strict=True))
    assert sum(means["greedy"]) > sum(means["swaps"]) + 0.1
    assert sum(means["swaps"]) > sum(means["kicks"]) + 0.01


def test_keep_and_skip_are_honoured() -> None:
    card = card_of(np.random.default_rng(2).integers(0, 256, (60, 3)).astype(np.uint8))
    free = converted(PHOTOGRAPH, make_rug(64, 64, SQUARE), card, YarnChoice(colours=8))
    assert free.choosing is not None
    skip, keep = free.choosing.codes[0], next(y.code for y in card if y.code not in free.choosing.codes)
    bound = converted(PHOTOGRAPH, make_rug(64, 64, SQUARE), card, YarnChoice(colours=8, keep=(keep,), skip=(skip,)))
    assert bound.choosing is not None
    assert keep in bound.choosing.codes
    assert skip not in bound.choosing.codes
    assert len(bound.choosing.codes) == 8
    assert free.choosing.bound_de00 <= free.choosing.mean_de00 <= bound.choosing.mean_de00
    assert free.report.mean_de00 == pytest.approx(free.choosing.mean_de00, abs=1e-6)


def test_a_choice_that_cannot_be_made_is_refused_with_the_reason() -> None:
    card = card_of([(0, 0, 0), (255, 255, 255)])
    with pytest.raises(RugError, match=r"keep: 'Y00' is not on the card; did you mean Y00[01]"):
        allowed_yarns(card, YarnChoice(keep=("Y00",)))
    with pytest.raises(RugError, match="both name 'Y001'"):
        allowed_yarns(card, YarnChoice(keep=("Y001",), skip=("Y001",)))
    with pytest.raises(RugError, match="colours allows 1"):
        allowed_yarns(card, YarnChoice(keep=("Y000", "Y001"), colours=1))
    with pytest.raises(CardError, match="no yarn is left"):
        allowed_yarns(card, YarnChoice(skip=("Y000", "Y001")))
    with pytest.raises(RugError, match="needs a card"):
        converted(PHOTOGRAPH, make_rug(64, 64, SQUARE), ())


def test_shades_to_be_dyed_are_told_apart_by_eye() -> None:
    result = converted(PHOTOGRAPH, make_rug(64, 64, SQUARE), (), YarnChoice(colours=20))
    yarns = result.knot_map.yarns
    assert result.dyed
    assert len(yarns) == 20
    assert [yarn.code for yarn in yarns] == [f"S{number:02d}" for number in range(1, 21)]
    lab = np.array([yarn.lab for yarn in yarns])
    assert np.allclose(lab, lab_from_srgb8(np.array([yarn.srgb for yarn in yarns], dtype=np.uint8)))
    assert (ciede2000(lab[:, None], lab[None])[~np.eye(20, dtype=bool)] >= SHADES_APART_DE00).all()
    random = card_of(np.random.default_rng(0).integers(0, 256, (20, 3)).astype(np.uint8))
    assert result.report.mean_de00 < converted(PHOTOGRAPH, make_rug(64, 64, SQUARE), random).report.mean_de00 / 2


def test_a_card_larger_than_a_map_can_hold_is_chosen_from() -> None:
    card = card_of(np.random.default_rng(5).integers(0, 256, (300, 3)).astype(np.uint8))
    result = converted(PHOTOGRAPH, make_rug(32, 32, SQUARE), card)
    assert result.choosing is not None
    assert len(result.choosing.codes) == 24
