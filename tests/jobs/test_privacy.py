"""The files that are made say nothing of the maker's machine, and nothing is read that was not asked for."""

from __future__ import annotations

import base64
import contextlib
import json
import re
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, PngImagePlugin
from support.small_order import CARD, RUG, draw_art

from chartmaker.artwork import reading
from chartmaker.jobs.making import convert_order
from chartmaker.jobs.orders import read_order
from chartmaker.jobs.reading import read_map


def unpacked(data: bytes, depth: int = 3) -> bytes:
    """Return `data` followed by the unpacked form of everything in it that is compressed or in base64."""
    parts = [data]
    if depth:
        for found in re.finditer(rb"[A-Za-z0-9+/]{40,}={0,2}", data):
            with contextlib.suppress(ValueError):
                parts.append(unpacked(base64.b64decode(found[0], validate=True), depth - 1))
        for start in {0, *(m.start() for m in re.finditer(rb"x[\x01\x5e\x9c\xda]", data))}:
            with contextlib.suppress(zlib.error):
                parts.append(zlib.decompressobj().decompress(data[start:], 10_000_000))
    return b"\n".join(parts)


def order_in(folder: Path) -> Path:
    """Write an order whose artwork has a broken colour profile, which gives a warning."""
    folder.mkdir()
    (folder / "wool.csv").write_text(CARD)
    draw_art(folder / "art.png")
    with Image.open(folder / "art.png") as picture:
        picture.save(folder / "art.png", icc_profile=b"no profile at all")
    (folder / "rug.toml").write_text(RUG)
    return folder / "rug.toml"


def test_no_path_of_the_maker_s_machine_is_in_any_output(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    made = []
    for folder in (tmp_path / "annas-hidden-folder", tmp_path / "elsewhere"):
        order = order_in(folder)
        out = folder / "set"
        assert chartmaker("make", order, "--card", folder / "wool.csv", "--out", out, "--quiet").code == 0
        made.append({path.name: path.read_bytes() for path in out.iterdir()})
    (warning,) = (f for f in json.loads(made[0]["summary.json"])["findings"] if "profile" in f["what"])
    assert warning["where"] == "art.png"
    assert made[0] == made[1]
    for name, data in made[0].items():
        plain = data
        if name.endswith(".pdf"):  # as another program unpacks it
            (tmp_path / name).write_bytes(data)
            plain = subprocess.run(
                ["qpdf", "--qdf", "--object-streams=disable", tmp_path / name, "-"], check=True, capture_output=True
            ).stdout
        for word in (b"annas-hidden-folder", str(tmp_path).encode(), b"test_no_path_of"):
            assert word not in unpacked(plain), name


def test_the_artwork_is_read_once(order: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bytes that are hashed are those that are converted, although the file changes as soon as it has been read."""
    art = order.parent / "art.png"
    first = art.read_bytes()
    read_once = reading.read_whole

    def then_changed(path: Path, *rest: Any) -> bytes:
        data = read_once(path, *rest)
        Image.new("RGB", (192, 256), (240, 232, 216)).save(art)
        return data

    before = convert_order(read_order(order, {}))
    monkeypatch.setattr(reading, "read_whole", then_changed)
    converted = convert_order(read_order(order, {}))
    assert art.read_bytes() != first
    assert converted.conversion.knot_map.sha256 == before.conversion.knot_map.sha256
    assert converted.read == before.read


def test_a_font_that_a_map_names_is_never_opened(
    knots: Path, chartmaker: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    with Image.open(knots) as picture:
        said = json.loads(picture.text["chartmaker"])  # type: ignore[attr-defined]
        said["tables"].setdefault("chart", {})["font"] = "/dev/zero"
        text = PngImagePlugin.PngInfo()
        text.add_itxt("chartmaker", json.dumps(said))
        picture.save(knots, pnginfo=text)
    assert read_map(knots).workshop.chart.font is None
    assert chartmaker("chart", knots, "--out", knots.parent / "chart.pdf", "--quiet").code == 0
    result = chartmaker("chart", knots, "--font", "/dev/zero", "--out", knots.parent / "other.pdf", "--quiet")
    assert (result.code, "must be a file" in result.err) == (8, True)


@pytest.mark.parametrize("what", ["card", "artwork", "rug file", "font", "knots", "set"])
def test_an_endless_input_is_refused_at_once(
    order: Path, knots: Path, chartmaker: Callable[..., Any], what: str
) -> None:
    out = ("--out", order.parent / "out", "--quiet")
    endless = order.parent / ("endless.toml" if what == "rug file" else "endless.png")
    endless.symlink_to("/dev/zero")
    command, code = {
        "card": (("make", order, "--card", endless, *out), 4),
        "artwork": (("make", order, "--set", f'design.artwork="{endless}"', *out), 5),
        "rug file": (("make", endless, *out), 3),
        "font": (("make", order, "--font", endless, *out), 8),
        "knots": (("figures", endless), 6),
        "set": (("verify", order.parent / "set"), 6),
    }[what]
    if what == "set":
        (order.parent / "set").mkdir()
        (order.parent / "set" / "knots.png").symlink_to("/dev/zero")
    result = chartmaker(*command)
    assert (result.code, "must be a file" in result.err) == (code, True), result.err
    assert not (order.parent / "out").exists()
