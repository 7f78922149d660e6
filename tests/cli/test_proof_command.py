"""The command `proof` writes the proof as a picture or as a page, by the ending of the name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image


@pytest.mark.parametrize("name", ["proof.png", "proof.html"])
def test_the_proof_is_a_picture_or_a_page_by_its_ending(
    order: Path, knots: Path, chartmaker: Callable[..., Any], name: str
) -> None:
    out = order.parent / name
    assert chartmaker("proof", knots, "--artwork", order.parent / "art.png", "--out", out, "--quiet").code == 0
    if name.endswith("png"):
        Image.open(out).verify()
    else:
        assert "Small rug" in out.read_text(encoding="utf-8")
    assert chartmaker("proof", knots, "--out", order.parent / "proof.gif").code == 2
