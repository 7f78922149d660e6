"""The example's artwork: drawn again it is the committed picture, symmetric, in a few flat colours."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def committed() -> Image.Image:
    """The committed picture."""
    with Image.open(EXAMPLES / "quince_garden.png") as image:
        image.load()
        return image


def _draw() -> Callable[[], Image.Image]:
    """Load the drawing program, which is a script beside the picture, not a module of the package."""
    name = "draw_quince_garden"
    spec = importlib.util.spec_from_file_location(name, EXAMPLES / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    draw: Callable[[], Image.Image] = module.draw
    return draw


def test_drawn_again_it_is_the_committed_picture(committed: Image.Image) -> None:
    drawn = _draw()()
    assert drawn.size == committed.size
    assert np.array_equal(np.asarray(drawn.convert("RGB")), np.asarray(committed.convert("RGB")))


def test_a_few_flat_colours_cover_nearly_all_of_it(committed: Image.Image) -> None:
    colours = committed.convert("RGB").getcolors(256)
    assert colours is not None
    counts = np.sort([count for count, _ in colours])[::-1] / (committed.width * committed.height)
    assert 8 <= np.count_nonzero(counts > 0.01) <= 14
    assert counts[:12].sum() > 0.85


def test_it_is_symmetric_to_the_pixel_both_ways(committed: Image.Image) -> None:
    picture = np.asarray(committed.convert("RGB"))
    assert np.array_equal(picture, picture[::-1])
    assert np.array_equal(picture, picture[:, ::-1])


def test_it_has_the_proportions_of_the_rug_and_is_small(committed: Image.Image) -> None:
    assert committed.size == (472 * 4, 945 * 3)
    assert abs(committed.width / committed.height * 180 / 120 - 1) < 0.002
    assert (EXAMPLES / "quince_garden.png").stat().st_size < 1_000_000


def drawn_by(script: str, function: str) -> Image.Image:
    """Return what another example's drawing program draws."""
    spec = importlib.util.spec_from_file_location(script, EXAMPLES / f"{script}.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    picture: Image.Image = getattr(module, function)()
    return picture


@pytest.mark.parametrize(
    ("name", "function"), [("frost_rosette", "rosette"), ("tarn_bands", "bands"), ("hazel_trellis", "trellis")]
)
def test_an_order_of_another_craft_or_size_is_made_and_proved(name: str, function: str, tmp_path: Path) -> None:
    from chartmaker.jobs import make, read_order, verify_folder

    with Image.open(EXAMPLES / f"{name}.png") as committed:
        assert np.array_equal(np.asarray(drawn_by(f"draw_{name}", function)), np.asarray(committed.convert("RGB")))
    made = make(read_order(EXAMPLES / f"{name}.toml"), tmp_path / "set")
    assert not [finding for finding in made.findings if finding.severity == "error"]
    assert verify_folder(tmp_path / "set").differences == ()
