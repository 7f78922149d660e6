"""An edited knot map is read back right, whatever habits its editor had."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from support.making import SettledMap, knot_maps, make_rug, make_yarn, opened

from chartmaker.ground.colour import ciede2000, hex_of
from chartmaker.ground.errors import KnotFileError
from chartmaker.jobs.reading import describe_order
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.knotpng import (
    Description,
    read_description,
    read_knotpng,
    write_knotpng,
)
from chartmaker.knots.touchup import knots_of_pixels
from chartmaker.order.rugfile import read_rugfile
from chartmaker.order.workshop import Workshop

Habit = Callable[[Path], None]


def program(name: str, sign: str) -> str:
    """Return the path of a program that these tests need; if it is missing, or another has its name, the test fails."""
    path = shutil.which(name)
    assert path is not None, f"{name} is not installed (see tests/run)"
    said = subprocess.run([path, "-version"], capture_output=True, text=True, check=False)
    assert sign in said.stdout + said.stderr, f"{path} is no {sign}"
    return path


def imagemagick(*options: str) -> Habit:
    """Rewrite the file in place as ImageMagick does, whose versions 6 and 7 both have mogrify."""
    return lambda path: _run([program("mogrify", "ImageMagick"), *options, str(path)])


def pngcrush(*options: str) -> Habit:
    def habit(path: Path) -> None:
        crushed = path.with_suffix(".crushed")
        _run([program("pngcrush", "pngcrush"), "-q", *options, str(path), str(crushed)])
        crushed.replace(path)

    return habit


def optipng(*options: str) -> Habit:
    return lambda path: _run([program("optipng", "OptiPNG"), "-quiet", *options, str(path)])


def _run(command: list[str]) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def pillow(change: Callable[[Image.Image], Image.Image], **options: Any) -> Habit:
    """Rewrite the file with Pillow, which drops the text chunk."""

    def habit(path: Path) -> None:
        with Image.open(path) as image:
            image.load()
            changed = change(image)
        changed.info = {key: value for key, value in changed.info.items() if key == "transparency"}
        changed.save(path, format="PNG", **options)

    return habit


def reordered(image: Image.Image) -> Image.Image:
    """Reverse the palette with its transparency, as an editor does that sorts colours."""
    count = len(image.getpalette("RGB") or []) // 3
    palette = np.array(image.getpalette("RGB")).reshape(-1, 3)[::-1]
    clear = image.info["transparency"]  # the index of the one transparent entry
    alphas = bytes(0 if index == clear else 255 for index in range(count))
    turned = Image.fromarray((count - 1 - np.asarray(image)).astype(np.uint8))
    turned.putpalette(palette.astype(np.uint8).tobytes(), "RGB")
    turned.info["transparency"] = alphas[::-1]
    return turned


HABITS = {
    "pillow RGBA": pillow(lambda image: image.convert("RGBA")),
    "pillow palette reordered": pillow(reordered),
    "pillow palette made anew": pillow(
        lambda image: image.convert("RGBA").quantize(method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    ),
    "pillow same palette, no text": pillow(lambda image: image.copy()),
    "pillow optimised": pillow(lambda image: image.convert("RGBA"), optimize=True),
    "magick RGBA": imagemagick("-define", "png:color-type=6"),
    "magick RGBA, 16 bits": imagemagick("-define", "png:color-type=6", "-define", "png:bit-depth=16"),
    "magick stripped": imagemagick("-strip"),
    "magick stripped, interlaced": imagemagick("-strip", "-interlace", "PNG"),
    "magick as it likes": imagemagick("-depth", "8"),
    "pngcrush": pngcrush(),
    "pngcrush without text": pngcrush("-rem", "alla", "-reduce", "-brute"),
    "optipng": optipng("-o2"),
    "optipng stripped": optipng("-o2", "-strip", "all", "-i", "1"),
}


def save(path: Path, knot_map: SettledMap) -> Path:
    stream = io.BytesIO()
    write_knotpng(stream, knot_map, knot_map.workshop)
    path.write_bytes(stream.getvalue())
    return path


def example(*, outlined: bool = True, greys: bool = False) -> SettledMap:
    rng = np.random.default_rng(11)
    cells = np.kron(rng.integers(0, 9, (13, 10)), np.ones((3, 2), dtype=int)).astype(np.uint16)
    cells[rng.random(cells.shape) < 0.1] = 9
    if outlined:
        cells[:4, :3] = NO_KNOT
    levels = [(16 * i, 16 * i, 16 * i) if greys else (25 * i, 255 - 20 * i, 7 * i) for i in range(10)]
    yarns = tuple(make_yarn(i, srgb) for i, srgb in enumerate(levels))
    return SettledMap(cells, yarns, make_rug(20, 39, shape="artwork" if outlined else "rectangle"), Workshop())


def same_rug(back: SettledMap, knot_map: SettledMap) -> bool:
    return back.sha256 == knot_map.sha256 and (back.rug, back.workshop, back.yarns) == (
        knot_map.rug,
        knot_map.workshop,
        knot_map.yarns,
    )


@pytest.mark.parametrize("kind", ["outlined", "rectangle", "greys"])
@pytest.mark.parametrize("habit", HABITS)
def test_an_editor_s_habits_change_no_knot(tmp_path: Path, habit: str, kind: str) -> None:
    knot_map = example(outlined=kind == "outlined", greys=kind == "greys")
    old = save(tmp_path / "old.png", knot_map)
    path = save(tmp_path / "edited.png", knot_map)
    HABITS[habit](path)
    assert path.read_bytes() != old.read_bytes() or "optipng" in habit
    assert same_rug(opened(path, read_description(old)), knot_map)


@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_an_editor_without_transparency_is_fine_for_a_rectangle(tmp_path: Path, mode: str) -> None:
    knot_map = example(outlined=False, greys=True)
    old, path = save(tmp_path / "old.png", knot_map), save(tmp_path / "edited.png", knot_map)
    pillow(lambda image: image.convert("RGB").convert(mode))(path)
    assert same_rug(opened(path, read_description(old)), knot_map)


def test_sixteen_bits_of_grey_are_scaled_not_clipped(tmp_path: Path) -> None:
    knot_map = example(outlined=False, greys=True)
    old, path = save(tmp_path / "old.png", knot_map), save(tmp_path / "edited.png", knot_map)
    imagemagick("-colorspace", "Gray", "-define", "png:color-type=0", "-define", "png:bit-depth=16")(path)
    with Image.open(path) as image:
        assert image.mode == "I;16"
    assert same_rug(opened(path, read_description(old)), knot_map)


@pytest.mark.parametrize("background", ["white", "black"])
def test_paint_outside_the_outline_is_refused_even_in_a_yarn_s_colour(tmp_path: Path, background: str) -> None:
    cells = np.zeros((20, 20), dtype=np.uint16)
    cells[10:], cells[:3, :3] = 1, NO_KNOT
    yarns = (make_yarn(0, (255, 255, 255)), make_yarn(1, (0, 0, 0)))
    old = save(tmp_path / "old.png", SettledMap(cells, yarns, make_rug(20, 20, shape="artwork"), Workshop()))
    path = shutil.copy(old, tmp_path / "edited.png")
    imagemagick("-background", background, "-alpha", "remove", "-alpha", "off")(path)
    for snap in (False, True):
        with pytest.raises(KnotFileError, match=r"edited.png: .*filled what lies outside"):
            read_knotpng(path, read_description(old), snap=snap)


def test_the_rug_file_supplies_what_the_editor_dropped(tmp_path: Path) -> None:
    knot_map = example(outlined=False)
    lines = [f"{yarn.code},{yarn.name},{hex_of(yarn.srgb)}" for yarn in knot_map.yarns]
    (tmp_path / "card.csv").write_text("\n".join(["code,name,colour", *lines, "X9,Never tied,#123456"]))
    (tmp_path / "rug.toml").write_text(
        '[rug]\nname = "Test rug"\nwidth = "50 cm"\nlength = "78 cm"\ndensity = "40x50 per dm"\n'
        '[loom]\nweavers = 2\n[yarns]\ncard = "card.csv"\n'
    )
    path = save(tmp_path / "edited.png", knot_map)
    HABITS["pillow RGBA"](path)
    with pytest.raises(KnotFileError, match=r"--rug RUG.toml"):
        opened(path)
    order = describe_order(read_rugfile(tmp_path / "rug.toml"))
    with pytest.raises(KnotFileError, match="20 x 39 pixels, but its rug has 200 x 390"):
        opened(path, order)
    order = describe_order(read_rugfile(tmp_path / "rug.toml", {"rug": {"width": "5 cm", "length": "7.8 cm"}}))
    back = opened(path, order)
    assert back.sha256 == knot_map.sha256
    assert back.workshop.loom.weavers == 2
    with pytest.raises(KnotFileError, match="names no yarn card"):
        opened(path, describe_order(read_rugfile(tmp_path / "rug.toml", {"yarns": {"card": None, "colours": 9}})))


def test_another_yarn_of_the_card_may_be_painted(tmp_path: Path) -> None:
    knot_map = example(outlined=False)
    path = save(tmp_path / "edited.png", knot_map)
    new = make_yarn(77, (1, 2, 3))
    with Image.open(path) as image:
        text, painted = image.text, image.convert("RGBA")  # type: ignore[attr-defined]
    painted.putpixel((2, 38), (1, 2, 3, 255))
    painted.save(path)
    assert text
    rest = Description(knot_map.rug, knot_map.workshop, (*knot_map.yarns, new))
    back = opened(path, rest)
    assert back.yarns == (*knot_map.yarns, new)
    assert np.argwhere(back.knots == 10).tolist() == [[0, 2]]


@given(knot_maps(most_columns=30, most_rows=30), st.data())
def test_only_the_knots_that_were_painted_change(knot_map: SettledMap, data: st.DataObject) -> None:
    yarns = knot_map.yarns
    rgba = np.zeros((*knot_map.knots.shape, 4), dtype=np.uint8)
    tied = knot_map.knots != NO_KNOT
    rgba[tied] = [[*yarns[index].srgb, 255] for index in knot_map.knots[tied]]
    wanted = knot_map.knots.copy()
    for _ in range(data.draw(st.integers(0, 20))):
        row = data.draw(st.integers(0, knot_map.rows - 1))
        column = data.draw(st.integers(0, knot_map.columns - 1))
        yarn = data.draw(st.integers(-1, len(yarns) - 1))
        wanted[row, column] = NO_KNOT if yarn < 0 else yarn
        rgba[row, column] = (9, 9, 9, 0) if yarn < 0 else (*yarns[yarn].srgb, 255)
    knots, snapped = knots_of_pixels(rgba[::-1], yarns, snap=False)
    assert snapped == ()
    assert np.array_equal(knots, wanted)


def test_every_colour_that_is_no_yarn_is_listed_and_snapped_on_request() -> None:
    yarns = (make_yarn(0, (200, 30, 30)), make_yarn(1, (20, 30, 160)), make_yarn(2, (240, 235, 220)))
    rgba = np.full((12, 10, 4), (200, 30, 30, 255), dtype=np.uint8)
    rgba[0, 0] = (30, 40, 150, 255)  # the last row, column 1
    rgba[11, 3:7] = (230, 230, 230, 255)  # the first row, columns 4 to 7
    with pytest.raises(KnotFileError) as caught:
        knots_of_pixels(rgba, yarns, snap=False)
    assert "5 knots have a colour that no yarn" in caught.value.message
    assert "#e6e6e6 (4 knots, first in row 1, column 4); #1e2896 (1 knot, row 12, column 1)" in caught.value.message
    knots, snapped = knots_of_pixels(rgba, yarns, snap=True)
    assert [(each.stranger.knots, each.code) for each in snapped] == [(4, "Y002"), (1, "Y001")]
    assert knots[0, 3:7].tolist() == [2] * 4
    assert knots[11, 0] == 1
    assert (knots == 0).sum() == 115


@given(st.lists(st.tuples(*[st.integers(0, 255)] * 3), min_size=1, max_size=30))
def test_snapping_takes_the_nearest_by_the_reference_formula(colours: list[tuple[int, int, int]]) -> None:
    # The reference is scikit-image's CIEDE2000 on scikit-image's own Lab.
    from skimage.color import deltaE_ciede2000, rgb2lab

    yarns = tuple(
        make_yarn(i, srgb) for i, srgb in enumerate([(10, 10, 10), (250, 20, 60), (60, 90, 200), (99, 99, 99)])
    )
    rgba = np.array([[(*colour, 255) for colour in colours]], dtype=np.uint8)
    knots, _ = knots_of_pixels(rgba, yarns, snap=True)
    for column, colour in enumerate(colours):
        lab = rgb2lab(np.array(colour) / 255)
        away = [float(deltaE_ciede2000(lab, rgb2lab(np.array(yarn.srgb) / 255))) for yarn in yarns]
        assert away[knots[0, column]] <= min(away) + 1e-2


def test_the_soft_edge_of_a_brush_is_refused_or_snapped() -> None:
    yarns = (make_yarn(0, (0, 0, 0)), make_yarn(1, (255, 255, 255)))
    rgba = np.full((4, 5, 4), (0, 0, 0, 255), dtype=np.uint8)
    rgba[3, 1] = (250, 250, 250, 200)
    rgba[2, 0] = (250, 250, 250, 90)
    with pytest.raises(KnotFileError, match="2 pixels are half transparent, the first in row 1, column 2"):
        knots_of_pixels(rgba, yarns, snap=False)
    knots, snapped = knots_of_pixels(rgba, yarns, snap=True)
    assert (knots[0, 1], knots[1, 0]) == (1, NO_KNOT)
    assert [each.stranger.knots for each in snapped] == [1]
    assert snapped[0].de00 == pytest.approx(float(ciede2000(np.array(yarns[1].lab), _lab(250))), abs=1e-6)


def _lab(grey: int) -> Any:
    return np.array(make_yarn(9, (grey,) * 3).lab)


def test_yarns_of_one_colour_are_kept_apart_by_the_palette_or_refused(tmp_path: Path) -> None:
    cells = np.zeros((20, 20), dtype=np.uint16)
    cells[5:], cells[12:] = 1, 2
    yarns = (make_yarn(0, (9, 9, 9)), make_yarn(1, (80, 0, 0)), make_yarn(2, (80, 0, 0)))
    knot_map = SettledMap(cells, yarns, make_rug(20, 20), Workshop())
    path = save(tmp_path / "k.png", knot_map)
    assert same_rug(opened(path), knot_map)
    rest = read_description(path)
    HABITS["pillow RGBA"](path)
    with pytest.raises(KnotFileError, match="yarns Y001 and Y002 have the same colour, #500000"):
        opened(path, rest)


def test_yarns_of_one_colour_that_the_picture_does_not_show_are_fine() -> None:
    yarns = (make_yarn(0, (9, 9, 9)), make_yarn(1, (80, 0, 0)), make_yarn(2, (80, 0, 0)))
    knots, _ = knots_of_pixels(np.full((20, 20, 4), (9, 9, 9, 255), dtype=np.uint8), yarns, snap=False)
    assert (knots == 0).all()


def test_a_strange_colour_all_over_is_counted_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("chartmaker.knots.touchup._BAND_PIXELS", 40)  # so that two rows are read at a time
    rgba = np.full((20, 20, 4), (9, 9, 9, 255), dtype=np.uint8)
    rgba[:, 3] = (200, 30, 30, 255)
    with pytest.raises(KnotFileError, match=r"#c81e1e \(20 knots, first in row 1, column 4\)"):
        knots_of_pixels(rgba, (make_yarn(0, (9, 9, 9)),), snap=False)


def test_a_photograph_is_refused_as_a_touched_up_map() -> None:
    rng = np.random.default_rng(1)
    rgba = rng.integers(0, 256, (400, 400, 4)).astype(np.uint8)
    rgba[..., 3] = 255
    with pytest.raises(KnotFileError, match="100,000 colours belong to no yarn"):
        knots_of_pixels(rgba, (make_yarn(0, (1, 1, 1)),), snap=True)
