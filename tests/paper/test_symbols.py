"""The symbol font is what its script builds; its shapes survive a photocopy and are heavier for darker yarns."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from chartmaker.knots.knotmap import MOST_YARNS
from chartmaker.paper.symbols import FIRST_CODE, build_font, symbol_font, symbols_of
from chartmaker.paper.symbols.assigning import by_preference, with_symbols
from chartmaker.paper.symbols.table import INK
from chartmaker.yarns.yarn import Yarn

HERE = Path(build_font.__file__).parent
#: The pixels of a cell of 2 mm at 150 dpi.
SIDE = 12


@pytest.fixture(scope="module")
def shapes() -> list[build_font.Shape]:
    return build_font.chosen_shapes()


def drawn(pixels: int) -> np.ndarray:
    """Return every symbol as FreeType draws it in a cell of `pixels`, as ink from 0 to 1, (symbols, pixels, pixels)."""
    fine = pixels * 8
    font = ImageFont.truetype(io.BytesIO(symbol_font()), round(fine * 0.9))
    cells = []
    for glyph in range(1, MOST_YARNS + 1):
        cell = Image.new("L", (fine, fine), 0)
        start = (fine - font.size) / 2
        ImageDraw.Draw(cell).text((start, start + font.size), chr(FIRST_CODE + glyph), font=font, fill=255, anchor="ls")
        cells.append(np.array(cell.resize((pixels, pixels), Image.Resampling.BOX)) / 255)
    return np.array(cells)


def photocopied(cells: np.ndarray) -> np.ndarray:
    """Return the cells blurred by a Gaussian of 0.7 pixels, then black or white."""
    soft = [
        Image.fromarray((cell * 255).astype(np.uint8)).filter(ImageFilter.GaussianBlur(0.7))
        for cell in np.pad(cells, ((0, 0), (2, 2), (2, 2)))
    ]
    return np.array([np.array(cell)[2:-2, 2:-2] > 107 for cell in soft])


def test_run_as_a_script_it_writes_the_files_of_the_repository_beside_itself(
    shapes: list[build_font.Shape], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(build_font, "__file__", str(tmp_path / "build_font.py"))
    monkeypatch.setattr(build_font, "chosen_shapes", lambda: shapes)
    build_font.main()
    assert {path.name for path in tmp_path.iterdir()} == {"knots.ttf", "table.py"}
    for name in ("knots.ttf", "table.py"):
        assert (tmp_path / name).read_bytes() == (HERE / name).read_bytes()


def test_every_yarn_of_a_map_has_a_symbol_one_em_wide() -> None:
    font = TTFont(io.BytesIO(symbol_font()))
    assert len(INK) == MOST_YARNS
    assert {advance for advance, _ in font["hmtx"].metrics.values()} == {font["head"].unitsPerEm}
    names = font.getGlyphOrder()
    codes = font.getBestCmap()
    assert [codes[FIRST_CODE + n] for n in range(1, MOST_YARNS + 1)] == names[1:]


@pytest.mark.parametrize(("first", "floor"), [(12, 0.12), (24, 0.08), (100, 0.05), (128, 0.045), (MOST_YARNS, 0.04)])
def test_symbols_stay_distinct_at_2_mm_after_a_photocopy(first: int, floor: float) -> None:
    """The limit is the share of a cell's 144 pixels by which any two symbols still differ, drawn by FreeType."""
    copies = photocopied(drawn(SIDE))[:first].reshape(first, -1)
    differing = (copies[:, None] != copies[None]).mean(axis=2)
    np.fill_diagonal(differing, 1)
    assert differing.min() >= floor, np.unravel_index(differing.argmin(), differing.shape)


def test_small_cards_have_symbols_that_stay_apart_on_a_turned_or_mirrored_sheet() -> None:
    copies = photocopied(drawn(SIDE))[:24]
    for index, one in enumerate(copies):
        for other in copies[:index]:
            for side in (other, other[:, ::-1]):
                assert min((one != np.rot90(side, k)).mean() for k in range(4)) >= 0.07


def test_no_symbol_of_a_card_of_42_hugs_an_edge_of_its_cell() -> None:
    """A bar at a cell's foot is a line between two rows of knots (common practice); FreeType draws the symbols."""
    cells = drawn(40)[[glyph - 1 for glyph in by_preference()[:42]]]
    ink = cells.sum(axis=(1, 2))
    off = (np.arange(40) - 19.5) / 36 * 8  # in eighths of the symbol
    assert max(np.abs(cells.sum(axis=axis) @ off / ink).max() for axis in (1, 2)) < 2.05  # such a bar has 2.6


@pytest.mark.parametrize("count", [12, 41, 140])
def test_no_symbol_of_a_card_becomes_another_when_the_sheet_is_turned_round(count: int) -> None:
    """A sheet on the loom may lie with its head towards the weaver (common practice); FreeType draws the symbols."""
    lightness = np.random.default_rng(count).uniform(0, 100, count)
    yarns = tuple(Yarn(f"Y{i}", "", (0, 0, 0), (float(value), 0.0, 0.0)) for i, value in enumerate(lightness))
    copies = photocopied(drawn(SIDE))[[(yarn.symbol or 0) - 1 for yarn in with_symbols(yarns)]]
    turned = copies[:, ::-1, ::-1].reshape(count, -1)
    differing = (copies.reshape(count, -1)[:, None] != turned[None]).mean(axis=2)
    np.fill_diagonal(differing, 1)  # that a symbol looks the same turned round is no harm
    assert differing.min() >= 0.04, np.unravel_index(differing.argmin(), differing.shape)


def test_darker_yarns_have_heavier_ink() -> None:
    rng = np.random.default_rng(4)
    ink = drawn(24).mean(axis=(1, 2))
    for count in (2, 12, 60, MOST_YARNS):
        lightness = rng.uniform(0, 100, count)
        yarns = tuple(Yarn(f"Y{i}", "", (0, 0, 0), (float(value), 0.0, 0.0)) for i, value in enumerate(lightness))
        glyphs = symbols_of(yarns)
        assert len(set(glyphs.tolist())) == count
        by_darkness = ink[glyphs[np.argsort(-lightness)] - 1]
        assert (np.diff(by_darkness) > -0.008).all()  # FreeType's pixels are coarser than the table of ink
        assert by_darkness[-1] > by_darkness[0]


def test_the_table_of_ink_is_true() -> None:
    """FreeType's ink agrees with the table within 1 % of the square."""
    assert np.abs(drawn(40).mean(axis=(1, 2)) / 0.9**2 - np.array(INK) / 1000).max() < 0.01
