"""Each yarn of a card has one symbol in every rug, and yarns of nearly one tone have shapes that differ in print."""

from __future__ import annotations

import io
import math
import subprocess
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import gaussian_filter
from support.making import coloured_map

from chartmaker.checks.likesymbols import moved_symbols
from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.paper.symbols import FIRST_CODE, symbol_font, symbols_of
from chartmaker.paper.symbols.assigning import with_symbols
from chartmaker.paper.symbols.table import INK
from chartmaker.sheets.chart.cells import SYMBOL_SHARE
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.grids import cells_of
from chartmaker.verify.sheets import Paper
from chartmaker.yarns.card import read_card
from chartmaker.yarns.yarn import Yarn

CARD = read_card(Path(__file__).parents[2] / "examples" / "osmerfold_wool.csv")


def _yarns(lightness: list[float]) -> tuple[Yarn, ...]:
    return tuple(Yarn(f"Y{i}", "", (9, 9, 9), (value, 0.0, 0.0)) for i, value in enumerate(lightness))


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.floats(0, 100), min_size=1, max_size=70),
    st.dictionaries(st.integers(0, 69), st.integers(1, 255), max_size=6),
    st.randoms(use_true_random=False),
)
def test_a_yarn_of_a_card_has_one_symbol_in_whatever_order_the_lines_stand(lightness, own, random) -> None:
    given_own = {number: place for place, number in own.items()}
    asked = {place: number for number, place in given_own.items()}
    card = tuple(replace(yarn, symbol=asked.get(i)) for i, yarn in enumerate(_yarns(lightness)))
    found = with_symbols(card)
    assert len({yarn.symbol for yarn in found}) == len(card)
    assert all(after.symbol == before.symbol for before, after in zip(card, found, strict=True) if before.symbol)
    shuffled = list(card)
    random.shuffle(shuffled)
    assert {yarn.code: yarn.symbol for yarn in with_symbols(tuple(shuffled))} == {y.code: y.symbol for y in found}
    some = tuple(yarn for yarn in found if random.random() < 0.4)
    assert symbols_of(some).tolist() == [yarn.symbol for yarn in some]


def _large_card(yarns: int) -> tuple[Yarn, ...]:
    srgb = np.random.default_rng(1).integers(0, 256, (yarns, 3))
    lab = lab_from_srgb8(srgb.astype(np.uint8)).tolist()
    return tuple(Yarn(f"Y{i}", "", tuple(srgb[i].tolist()), tuple(lab[i])) for i in range(yarns))


def test_on_a_very_large_card_yarns_near_in_colour_share_a_symbol() -> None:
    plain = _large_card(700)
    card = with_symbols((replace(plain[0], symbol=200), *plain[1:]))
    families: dict[int | None, list[Yarn]] = {}
    for yarn in card:
        families.setdefault(yarn.symbol, []).append(yarn)
    assert set(families) == set(range(1, len(INK) + 1))
    assert families[200] == [replace(plain[0], symbol=200)]
    assert {len(family) for number, family in families.items() if number != 200} <= {2, 3}
    within = [math.dist(a.lab, b.lab) for family in families.values() for a, b in combinations(family, 2)]
    among = [math.dist(a.lab, b.lab) for a, b in combinations(card[:200], 2)]
    assert np.median(within) < np.median(among) / 4
    turned = with_symbols(tuple(reversed((replace(plain[0], symbol=200), *plain[1:]))))
    assert {yarn.code: yarn.symbol for yarn in turned} == {yarn.code: yarn.symbol for yarn in card}
    full = tuple(replace(yarn, symbol=i + 1) if i < len(INK) else yarn for i, yarn in enumerate(plain[:300]))
    assert with_symbols(full) == full  # the card uses up every symbol


def test_a_rug_from_a_large_card_has_no_symbol_twice_and_reports_the_change() -> None:
    card = with_symbols(_large_card(700))
    first = card[0]
    second = next(yarn for yarn in card[1:] if yarn.symbol == first.symbol)
    others = [yarn for yarn in card if yarn.symbol != first.symbol][:2]
    yarns = (first, *others, second)
    glyphs = symbols_of(yarns).tolist()
    assert glyphs[:3] == [yarn.symbol for yarn in yarns[:3]] and len(set(glyphs)) == 4
    knots = np.arange(400).reshape(20, 20) % 4
    trial = replace(coloured_map(knots, np.array([yarn.srgb for yarn in yarns])), yarns=yarns)
    (finding,) = moved_symbols(trial)
    assert finding.where == second.code and finding.severity == "warning"
    assert f"{second.code} and {first.code}" in finding.what and f"has symbol {glyphs[3]}:" in finding.what
    alone = replace(trial, knots=np.minimum(trial.knots, 2), yarns=yarns[:3])
    assert list(moved_symbols(alone)) == []


def test_yarns_of_a_large_card_differ_in_grey_at_100_dpi(tmp_path: Path) -> None:
    """As in the last test, for every sixtieth yarn of a card of 949, the size of a large public list of colours."""
    card = with_symbols(_large_card(949))
    _, nearest = _nearest(card[::60], tmp_path)
    assert nearest > 10  # a mark in the corner of one shape would make a difference of 5.4


def test_of_two_yarns_with_the_same_symbol_the_first_keeps_it() -> None:
    first, second, third = (replace(yarn, symbol=number) for yarn, number in zip(CARD, (7, 7, 3), strict=False))
    glyphs = symbols_of((first, second, third)).tolist()
    assert (glyphs[0], glyphs[2]) == (7, 3)
    assert glyphs[1] not in (7, 3)


def test_darker_yarns_have_heavier_symbols() -> None:
    """The rank correlation of lightness and ink shows that a photocopy keeps its tones."""
    found = with_symbols(CARD)
    ranks = [np.argsort(np.argsort(each)) for each in ([y.lab[0] for y in found], [-INK[y.symbol - 1] for y in found])]
    assert np.corrcoef(*ranks)[0, 1] > 0.85


def test_verify_notices_a_legend_that_bears_the_symbol_of_an_old_card() -> None:
    yarns = with_symbols(CARD[:4])
    cells = np.arange(400).reshape(20, 20) % 4
    trial = replace(coloured_map(cells, np.array([yarn.srgb for yarn in yarns])), yarns=yarns)
    stream = io.BytesIO()
    write_chart(stream, trial, trial.workshop)
    expected = expected_of(trial, trial.workshop)
    assert list(chart_differences(stream.getvalue(), expected)) == []
    later = replace(expected, yarns=(*yarns[:3], replace(yarns[3], symbol=200)))
    assert any("the yarn's own is 200" in fault for fault in chart_differences(stream.getvalue(), later))


def _grey_cells(yarns: tuple[Yarn, ...], folder: Path) -> list[np.ndarray]:
    """Return the cells of every yarn as poppler draws them in grey at 100 dpi, shape (cells, 11, 11) each."""
    block = np.kron(np.arange(len(yarns)).reshape(-1, 4), np.ones((4, 4), dtype=int))
    trial = coloured_map(block, np.array([yarn.srgb for yarn in yarns]), density=(40, 40), cell="3 mm", marks="both")
    trial = replace(trial, yarns=yarns)
    stream = io.BytesIO()
    write_chart(stream, trial, trial.workshop)
    (folder / "chart.pdf").write_bytes(stream.getvalue())
    subprocess.run(["pdftoppm", "-r", "100", "-gray", folder / "chart.pdf", folder / "page"], check=True)
    sheet = list(Paper(stream.getvalue(), block.size).sheets())[1]
    cells = cells_of(next(iter(sheet.root.find("cells"))), expected_of(trial, trial.workshop))
    picture = np.array(Image.open(next(folder.glob("page-*2.pgm"))), dtype=float)
    pixel = 100 / 25.4
    found: list[list[np.ndarray]] = [[] for _ in yarns]
    for row, line in enumerate(block):
        for column, yarn in enumerate(line):
            left = round((cells.x_mm + column * cells.cell_mm[0]) * pixel)
            top = round(len(picture) - (cells.y_mm + (row + 1) * cells.cell_mm[1]) * pixel)
            found[yarn].append(picture[top : top + 11, left : left + 11])
    return [np.array(each) for each in found]


def _nearest(yarns: tuple[Yarn, ...], folder: Path) -> tuple[float, float]:
    """Return the mean difference in grey of the two darkest, and of the two most alike of about one tone.

    Each is the least over all pairs of cells, which lie out of step with the pixels in different ways.
    """
    cells = _grey_cells(yarns, folder)

    def apart(i: int, j: int) -> float:
        return float(np.abs(cells[i][:, None] - cells[j][None]).mean(axis=(2, 3)).min())

    dark = sorted(range(len(yarns)), key=lambda i: yarns[i].lab[0])[:2]
    near = [(i, j) for i, j in combinations(range(len(yarns)), 2) if abs(yarns[i].lab[0] - yarns[j].lab[0]) < 8]
    return apart(*dark), min(apart(i, j) for i, j in near)


def _nearest_from_afar(yarns: tuple[Yarn, ...], folder: Path) -> float:
    """Return the mean difference in grey of the two most alike of about one tone, blurred, at the best of nine shifts.

    The blur is 0.4 mm wide, two minutes of arc at 650 mm: what is left at the loom in poor light (an estimate). The
    cells go on like a field of one yarn, and the eye does not count where in its cell a mark stands.
    """
    cells = [
        np.array([gaussian_filter(cell, 1.5, mode="wrap") for cell in each]) for each in _grey_cells(yarns, folder)
    ]
    nearest = math.inf
    for i, j in combinations(range(len(yarns)), 2):
        if abs(yarns[i].lab[0] - yarns[j].lab[0]) < 2:
            for shift in product((-1, 0, 1), repeat=2):
                moved = np.roll(cells[i], shift, axis=(1, 2))
                nearest = min(nearest, float(np.abs(moved[:, None] - cells[j][None]).mean(axis=(2, 3)).min()))
    return nearest


@pytest.mark.parametrize(
    ("codes", "least"),
    [
        # two bars beside a ring had 4.6 here, and a bar beside two bars stood for pink and camel, 1 L* apart
        ("W-01 W-05 W-07 M-11 M-14 M-16 M-19 I-31 I-34 I-36 Y-51 G-71", 8.0),
        ("I-38 G-72 I-34 M-20 M-12 N-94 W-04 M-19 G-71 M-13 G-76 I-35 Y-53 N-91 Y-55 Y-52", 5.8),  # 4.7 before
    ],
)
def test_yarns_of_one_tone_differ_from_where_the_weaver_sits(codes: str, least: float, tmp_path: Path) -> None:
    card = {yarn.code: yarn for yarn in with_symbols(CARD)}
    yarns = tuple(card[code] for code in codes.split())
    assert _nearest_from_afar(yarns, tmp_path) > least
    if len(yarns) > 12:
        return  # the card's most crowded tones, which have more yarns than there are ways for stripes to run
    across = [_share_across(cells) for cells in _grey_cells(yarns, tmp_path)]
    for i, j in combinations(range(len(yarns)), 2):
        if abs(yarns[i].lab[0] - yarns[j].lab[0]) < 2:
            assert not (min(across[i], across[j]) > 2 / 3 or max(across[i], across[j]) < 1 / 3)  # both are stripes


def _share_across(cells: np.ndarray) -> float:
    """Return the share of a symbol's edges that stand upright, which is half for a ring and more for bars."""
    inner = cells.mean(axis=0)[2:-2, 2:-2]  # without the lines round the cell
    steps = [float(np.abs(np.diff(inner, axis=axis)).sum()) for axis in (1, 0)]
    return steps[0] / sum(steps)


@pytest.mark.parametrize(
    "codes",
    [
        "W-01 W-05 W-07 M-11 M-14 M-16 M-19 I-31 I-34 I-36 Y-51 G-71",  # the twelve yarns of the example
        "N-93 I-32 W-01 M-17 I-31 M-16 G-73 W-02 M-18 I-33 W-03 M-11",  # a card of nothing but the darkest yarns
    ],
)
def test_yarns_of_one_tone_differ_in_grey_at_100_dpi(codes: str, tmp_path: Path) -> None:
    """A grey copy of about 100 dpi goes to the loom and is read there at arm's length (common practice)."""
    card = {yarn.code: yarn for yarn in with_symbols(CARD)}
    darkest, nearest = _nearest(tuple(card[code] for code in codes.split()), tmp_path)
    # chosen by ink alone, a ring in a square stood beside a square in a square, with a difference of 30
    assert darkest > 36
    assert nearest > 15


def _copied(symbol: int, blur_mm: float, dpi: int, *, black_and_white: bool) -> np.ndarray:
    """Return a cell of 3 mm from a field of cells with one symbol, on a copy: ink from 0 to 1."""
    fine, size = 60, round(60 * SYMBOL_SHARE["symbol"])  # twenty pixels to the millimetre
    cell = Image.new("L", (fine, fine))
    font = ImageFont.truetype(io.BytesIO(symbol_font()), size)
    ImageDraw.Draw(cell).text(((fine - size) / 2,) * 2, chr(FIRST_CODE + symbol), font=font, fill=255)
    soft = Image.fromarray(gaussian_filter(np.array(cell), blur_mm * 20, mode="wrap"))
    pixels = round(3 / 25.4 * dpi)
    ink = np.array(soft.resize((pixels, pixels), Image.Resampling.BOX), dtype=float)
    return ink > (ink.min() + ink.max()) / 2 if black_and_white else ink / 255


@pytest.mark.parametrize(
    ("blur_mm", "dpi", "black_and_white", "least"),
    [  # what the two most alike yarns differed by, before: 0.021, 0.024, 0.008, 0 and 0
        (0.4, 100, False, 0.045),
        (0.4, 75, False, 0.045),
        (0.6, 100, False, 0.015),
        (0.4, 100, True, 0.02),
        (0.4, 75, True, 0.01),
    ],
)
def test_no_two_symbols_of_the_card_run_together_on_a_poor_copy(
    blur_mm: float, dpi: int, black_and_white: bool, least: float
) -> None:
    """Copies of copies are blurred or black and white, and charts of symbols alone show no tone (common practice)."""
    card = with_symbols(CARD)
    copies = [_copied(yarn.symbol, blur_mm, dpi, black_and_white=black_and_white).astype(float) for yarn in card]
    shifts = list(product((-1, 0, 1), repeat=2))
    for i, j in combinations(range(len(card)), 2):
        apart = min(float(np.abs(np.roll(copies[i], shift, axis=(0, 1)) - copies[j]).mean()) for shift in shifts)
        assert apart > least, (card[i].code, card[j].code)
