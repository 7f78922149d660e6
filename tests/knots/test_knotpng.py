"""The file of a knot map gives the map back, shows it to other readers, takes edits, and is refused when damaged."""

from __future__ import annotations

import contextlib
import io
import json
import struct
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from PIL import Image, PngImagePlugin
from support.making import SettledMap, knot_maps, make_map, make_rug, make_yarn, opened, with_settings

from chartmaker.ground.colour import hex_of
from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.units import parse_yarn_count
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.knotpng import read_description, write_knotpng
from chartmaker.order.workshop import Workshop


def written(knot_map: SettledMap) -> bytes:
    stream = io.BytesIO()
    write_knotpng(stream, knot_map, knot_map.workshop)
    return stream.getvalue()


def chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield (type, content) of the chunks of a PNG, checking their checksums (W3C PNG, third edition, 5.3)."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    place = 8
    while place < len(data):
        (length,) = struct.unpack_from(">I", data, place)
        kind, content = data[place + 4 : place + 8], data[place + 8 : place + 8 + length]
        (checksum,) = struct.unpack_from(">I", data, place + 8 + length)
        assert checksum == zlib.crc32(kind + content)
        yield kind, content
        place += 12 + length


@pytest.fixture
def small() -> SettledMap:
    rng = np.random.default_rng(3)
    cells = rng.integers(0, 6, (30, 20)).astype(np.uint16)
    cells[cells == 5] = NO_KNOT
    return make_map(cells, make_rug(20, 30, "9/60 indian", name="Hâlî 地毯", pile="12 mm"))


@settings(max_examples=60)
@given(knot_maps(most_yarns=255))
def test_the_file_gives_the_map_back(tmp_path_factory: pytest.TempPathFactory, knot_map: SettledMap) -> None:
    path = tmp_path_factory.mktemp("map") / "knots.png"
    path.write_bytes(written(knot_map))
    back = opened(path)
    assert back.sha256 == knot_map.sha256
    assert np.array_equal(back.knots, knot_map.knots)
    assert (back.rug, back.workshop, back.yarns) == (knot_map.rug, knot_map.workshop, knot_map.yarns)
    assert written(back) == path.read_bytes()


def test_all_that_the_loom_needs_survives(tmp_path: Path) -> None:
    yarn = make_yarn(1, (1, 2, 3), fibre="silk", count=parse_yarn_count("Nm 60 x2"), stock_g=12.5, price_per_kg=80.0)
    yarn = replace(yarn, symbol=41)
    workshop = Workshop.model_validate({"loom": {"weavers": 3}, "pile": {"cut": "9.5 mm"}, "chart": {"strips": [1, 9]}})
    knot_map = SettledMap(np.zeros((20, 20), dtype=np.uint16), (yarn,), make_rug(20, 20), workshop)
    (tmp_path / "k.png").write_bytes(written(knot_map))
    back = opened(tmp_path / "k.png")
    assert back.yarns == (replace(yarn, stock_g=None, price_per_kg=None),)
    assert back.workshop == workshop
    assert back.workshop.loom.model_fields_set == {"weavers"}  # the file also keeps which values were defaults


def test_no_wage_price_or_stock_is_anywhere_in_the_bytes() -> None:
    """The file goes to the loom, where nobody needs to know what the workshop pays."""
    secrets = {"price_per_kg": 8123.25, "stock_g": 7654.5}
    cost = {"currency": "QXZ", "pile_per_kg": 4321.5, "weaving_per_day": 9876.25, "finishing_per_m2": 6789.75}
    workshop = Workshop.model_validate(
        {"cost": cost, "loom": {"weavers": 3}, "chart": {"font": "/home/anna/fonts/secret.ttf", "cell": "4 mm"}}
    )
    yarns = (make_yarn(0, (1, 2, 3), **secrets), make_yarn(1, (4, 5, 6), **secrets))
    data = written(SettledMap(np.eye(20, dtype=np.uint16), yarns, make_rug(20, 20), workshop))
    everything = [data]
    for kind, content in chunks(data):
        if kind in (b"IDAT", b"zTXt", b"iTXt", b"iCCP"):
            for start in range(min(len(content), 400)):  # a compressed stream may begin at any of these places
                with contextlib.suppress(zlib.error):
                    everything.append(zlib.decompressobj().decompress(content[start:]))
    plain = b"\n".join(everything)
    assert b'"weavers": 3' in plain
    numbers = [*secrets.values(), *(value for value in cost.values() if isinstance(value, float))]
    for word in ("cost", "price", "stock", "wage", "per_kg", "per_day", "QXZ", "font", "anna", *map(str, numbers)):
        assert word.encode() not in plain, word


def test_an_older_map_still_opens_with_its_prices_but_without_its_font_file(tmp_path: Path, small: SettledMap) -> None:
    path = tmp_path / "old.png"
    path.write_bytes(written(small))
    with Image.open(path) as picture:
        said = json.loads(picture.text["chartmaker"])  # type: ignore[attr-defined]
        said["tables"] |= {"cost": {"pile_per_kg": 20.0}, "chart": {"font": "/dev/zero", "marks": "symbol"}}
        said["yarns"][0] |= {"stock_g": 120.0, "price_per_kg": 31.5}
        text = PngImagePlugin.PngInfo()
        text.add_itxt("chartmaker", json.dumps(said))
        picture.save(path, pnginfo=text, transparency=picture.info["transparency"])
    back = opened(path)
    assert back.sha256 == small.sha256
    assert (back.yarns[0].stock_g, back.yarns[0].price_per_kg, back.workshop.cost.pile_per_kg) == (120.0, 31.5, 20.0)
    assert (back.workshop.chart.marks, back.workshop.chart.font) == ("symbol", None)
    assert written(back) == written(with_settings(small, Workshop.model_validate({"chart": {"marks": "symbol"}})))


def test_another_reader_finds_the_documented_chunks(small: SettledMap) -> None:
    # The file is read chunk by chunk with the standard library, after the PNG specification, without an imaging
    # library.
    parts = dict(chunks(written(small)))
    width, height, depth, kind, *_ = struct.unpack(">IIBBBBB", parts[b"IHDR"])
    assert (width, height, kind) == (20, 30, 3)
    raw = zlib.decompress(parts[b"IDAT"])
    palette = parts[b"PLTE"]
    for index, yarn in enumerate(small.yarns):
        assert palette[3 * index : 3 * index + 3] == bytes(yarn.srgb)
    alphas = parts[b"tRNS"]
    assert alphas[: len(small.yarns)] == b"\xff" * len(small.yarns)
    assert alphas[len(small.yarns)] == 0
    # These are knots per metre: 9/60 has 10 an inch across and 13.333 along.
    assert struct.unpack(">IIB", parts[b"pHYs"]) == (round(10 / 0.0254), round(40 / 3 / 0.0254), 1)
    keyword, rest = parts[b"iTXt"].split(b"\0", 1)
    assert keyword == b"chartmaker"
    said = json.loads(rest[4:].decode())
    assert said["sha256"] == small.sha256
    assert [yarn["srgb"] for yarn in said["yarns"]] == [hex_of(yarn.srgb) for yarn in small.yarns]
    image = Image.open(io.BytesIO(written(small)))
    pixels = np.asarray(image)
    top = np.where(small.knots[-1] == NO_KNOT, len(small.yarns), small.knots[-1])
    assert np.array_equal(pixels[0], top)  # the top of the picture is the last woven row
    assert len(raw) == 30 * (1 + -(-20 * depth // 8))


def saved(path: Path, image: Image.Image, text: bool = True, **more: object) -> Path:
    info = None
    if text:
        info = PngImagePlugin.PngInfo()
        info.add_itxt("chartmaker", image.info["chartmaker"])
    image.save(path, pnginfo=info, **more)  # type: ignore[arg-type]
    return path


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "P reordered"])
def test_an_editor_may_change_the_mode(tmp_path: Path, small: SettledMap, mode: str) -> None:
    image = Image.open(io.BytesIO(written(small)))
    if mode == "P reordered":
        edited = image.convert("RGBA").quantize(method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
        rgba = np.asarray(edited.convert("RGBA"))
        assert np.array_equal(rgba[..., 3], np.asarray(image.convert("RGBA"))[..., 3])
    else:
        edited = image.convert("RGBA")
    if mode == "RGB":
        small = make_map(np.where(small.knots == NO_KNOT, 0, small.knots), small.rug)
        image = Image.open(io.BytesIO(written(small)))
        edited = image.convert("RGB")
    edited.info = {"chartmaker": image.info["chartmaker"]}
    back = opened(saved(tmp_path / "edited.png", edited))
    assert back.sha256 == small.sha256


def test_one_knot_touched_up_is_one_knot_changed(tmp_path: Path, small: SettledMap) -> None:
    image = Image.open(io.BytesIO(written(small))).convert("RGBA")
    image.info = {"chartmaker": Image.open(io.BytesIO(written(small))).info["chartmaker"]}
    row, column = map(int, np.argwhere(small.knots == 0)[0])
    image.putpixel((column, small.rows - 1 - row), (*small.yarns[1].srgb, 255))
    back = opened(saved(tmp_path / "edited.png", image))
    assert np.argwhere(back.knots != small.knots).tolist() == [[row, column]]
    assert back.knots[row, column] == 1


def test_a_colour_that_no_yarn_has_is_named_with_its_place(tmp_path: Path, small: SettledMap) -> None:
    image = Image.open(io.BytesIO(written(small))).convert("RGBA")
    image.info = {"chartmaker": Image.open(io.BytesIO(written(small))).info["chartmaker"]}
    image.putpixel((4, 28), (9, 9, 9, 255))
    with pytest.raises(KnotFileError, match=r"1 knot has .*#090909 \(1 knot, row 2, column 5\)"):
        opened(saved(tmp_path / "edited.png", image))


def test_the_soft_edge_of_a_brush_is_noticed(tmp_path: Path, small: SettledMap) -> None:
    image = Image.open(io.BytesIO(written(small))).convert("RGBA")
    image.info = {"chartmaker": Image.open(io.BytesIO(written(small))).info["chartmaker"]}
    image.putpixel((0, 29), (*small.yarns[1].srgb, 128))
    with pytest.raises(KnotFileError, match="1 pixel is half transparent, in row 1, column 1"):
        opened(saved(tmp_path / "edited.png", image))


def test_a_file_that_is_no_knot_map_is_refused_by_its_name(tmp_path: Path, small: SettledMap) -> None:
    good = written(small)
    image = Image.open(io.BytesIO(good))
    cases = {
        "missing.png": (None, "cannot read"),
        "empty.png": (b"", "not a picture"),
        "text.png": (b"not a picture", "not a picture"),
        "cut.png": (good[:-30], "damaged"),
        "flipped.png": (good[:-20] + bytes([good[-20] ^ 1]) + good[-19:], "damaged"),
    }
    for name, (content, message) in cases.items():
        path = tmp_path / name
        if content is not None:
            path.write_bytes(content)
        with pytest.raises(KnotFileError, match=message) as caught:
            opened(path)
        assert name in str(caught.value)
    with pytest.raises(KnotFileError, match="holds no rug"):
        opened(saved(tmp_path / "bare.png", image, text=False))
    cropped = image.crop((0, 0, 19, 30))
    cropped.info = {"chartmaker": image.info["chartmaker"]}
    with pytest.raises(KnotFileError, match="19 x 30 pixels, but its rug has 20 x 30"):
        opened(saved(tmp_path / "cropped.png", cropped))


def test_a_picture_without_a_text_chunk_is_refused(tmp_path: Path, small: SettledMap) -> None:
    image = Image.open(io.BytesIO(written(small)))
    with pytest.raises(KnotFileError, match="it was not written by chartmaker"):
        read_description(saved(tmp_path / "bare.png", image, text=False))
    assert read_description(saved(tmp_path / "whole.png", image)).rug == small.rug


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"format": 99}', '{"format": 1, "tables": {}, "yarns": []}', "[" * 9999]
)
def test_a_damaged_description_is_refused(tmp_path: Path, small: SettledMap, text: str) -> None:
    image = Image.open(io.BytesIO(written(small)))
    image.info["chartmaker"] = text
    with pytest.raises(KnotFileError, match=r"damaged|written in format|holds no rug"):
        opened(saved(tmp_path / "odd.png", image))


def test_a_map_with_an_empty_list_of_yarns_is_refused(tmp_path: Path, small: SettledMap) -> None:
    # A fuzzer found this case.
    image = Image.open(io.BytesIO(written(small)))
    said = json.loads(image.info["chartmaker"])
    image.info["chartmaker"] = json.dumps(said | {"yarns": []})
    with pytest.raises(KnotFileError, match="names no yarn"):
        opened(saved(tmp_path / "bare.png", image))


def test_a_yarn_name_with_half_a_surrogate_pair_is_refused(tmp_path: Path, small: SettledMap) -> None:
    # A fuzzer found this case: JSON can spell a lone surrogate, which no file, digest or terminal can hold.
    image = Image.open(io.BytesIO(written(small)))
    said = json.loads(image.info["chartmaker"])
    for key in ("code", "name"):
        odd = [yarn | {key: "\ud800"} for yarn in said["yarns"]]
        image.info["chartmaker"] = json.dumps(said | {"yarns": odd})
        with pytest.raises(KnotFileError, match="damaged") as caught:
            opened(saved(tmp_path / "half.png", image))
        assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("lab", "[11, 8, 11.8e99916]", "between -200 and 200"),  # a fuzzer found this case: JSON can spell infinity
        ("lab", "[NaN, 0, 0]", "between -200 and 200"),
        ("lab", "[50, 0]", "damaged"),
        ("lab", f"[{'9' * 400}, 0, 0]", "damaged"),
        ("stock_g", "1e999", "stock_g must be a number"),
        ("stock_g", "NaN", "stock_g must be a number"),
        ("stock_g", "-1", "stock_g must be a number"),
        ("stock_g", '"much"', "stock_g must be a number"),
        ("price_per_kg", "true", "price_per_kg must be a number"),
        ("symbol", "0", "symbol must be a whole number"),
        ("symbol", "true", "symbol must be a whole number"),
    ],
)
def test_a_yarn_with_impossible_numbers_is_refused(
    tmp_path: Path, small: SettledMap, key: str, value: str, said: str
) -> None:
    image = Image.open(io.BytesIO(written(small)))
    told = json.loads(image.info["chartmaker"])
    told["yarns"][0][key] = "here"
    image.info["chartmaker"] = json.dumps(told).replace('"here"', value)
    with pytest.raises(KnotFileError, match=rf"odd\.png.*{said}"):
        opened(saved(tmp_path / "odd.png", image))


@pytest.mark.parametrize("empty", ["1e999", "NaN", '"many"', "[]"])
def test_an_impossible_number_of_empty_places_is_refused(tmp_path: Path, small: SettledMap, empty: str) -> None:
    image = Image.open(io.BytesIO(written(small)))
    said = json.loads(image.info["chartmaker"]) | {"empty": "here"}
    image.info["chartmaker"] = json.dumps(said).replace('"here"', empty)
    with pytest.raises(KnotFileError, match=r"odd\.png.*damaged"):
        opened(saved(tmp_path / "odd.png", image))
