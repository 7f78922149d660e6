"""The four readers of foreign files as targets for fuzzing: their seeds, deep mutations, and the promises they keep."""

from __future__ import annotations

import io
import json
import math
import random
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageCms, PngImagePlugin

from chartmaker.artwork.reading import read_artwork
from chartmaker.ground import units
from chartmaker.ground.errors import ArtworkError, CardError, ChartmakerError, KnotFileError, RugError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.knotpng import read_knotpng, write_knotpng
from chartmaker.order.rugfile import _Tables, from_tables, read_rugfile, to_tables
from chartmaker.order.workshop import Workshop
from chartmaker.yarns import card as yarncard
from chartmaker.yarns.card import read_card
from support.making import make_map, make_rug, opened, settled
from support.pngparts import assemble, split

ROOT = Path(__file__).parents[2]
#: The errors that each reader may raise.
DOCUMENTED: dict[str, type[ChartmakerError]] = {
    "artwork": ArtworkError,
    "card": CardError,
    "rug": RugError,
    "knots": KnotFileError,
}
#: A mutated header may ask for any size; above this the fuzzer would only measure the machine's memory.
MOST_PIXELS = 1_000_000


def mutate_json(value: Any, rng: random.Random) -> Any:
    """Return `value` with one of its nodes replaced, dropped or doubled."""
    odd = [None, True, -1, 0, 2**63, 1e308, "", "\x1b[31m", "9" * 300, [], {}, [[]], "#12345", "1 cm", "-0", "\ud800"]
    if isinstance(value, dict) and value and rng.random() < 0.85:
        key = rng.choice(list(value))
        if rng.random() < 0.1:
            return {k: v for k, v in value.items() if k != key}
        if rng.random() < 0.1:
            return value | {rng.choice([*value, "size", "heights", "x"]) + rng.choice(["", "_mm", "s"]): value[key]}
        return value | {key: mutate_json(value[key], rng)}
    if isinstance(value, list) and value and rng.random() < 0.85:
        index = rng.randrange(len(value))
        if rng.random() < 0.2:
            return value[:index] + [value[index]] * rng.randrange(4) + value[index + 1 :]
        return [*value[:index], mutate_json(value[index], rng), *value[index + 1 :]]
    return rng.choice(odd)


def mutate_png(data: bytes, most: int, rng: random.Random, mutate: Callable[[bytes, int], bytes]) -> bytes:
    """Return a PNG with one chunk changed inside and its checksum right, so that the reader meets the change."""
    chunks = list(split(data))
    if not chunks:
        return bytes(mutate(data, most))
    index = rng.randrange(len(chunks))
    kind, content = chunks[index]
    choice = rng.random()
    if choice < 0.06 and len(chunks) > 1:
        del chunks[index]
    elif choice < 0.12:
        chunks.insert(rng.randrange(len(chunks)), (kind, content))
    elif choice < 0.18:
        names = [b"gAMA", b"cHRM", b"sRGB", b"cICP", b"iCCP", b"tRNS", b"PLTE", b"eXIf", b"acTL", b"iTXt", b"zTXt"]
        chunks[index] = (rng.choice(names), content)
    elif kind == b"IDAT":
        try:
            plain = zlib.decompressobj().decompress(content, MOST_PIXELS * 8)
            chunks[index] = (kind, zlib.compress(bytes(mutate(plain, len(plain) + 64)), 1))
        except zlib.error:
            chunks[index] = (kind, bytes(mutate(content, len(content) + 64)))
    elif kind == b"iTXt" and content.startswith(b"chartmaker\0") and rng.random() < 0.7:
        head, text = content[:15], content[15:]
        try:
            text = json.dumps(mutate_json(json.loads(text), rng), ensure_ascii=rng.random() < 0.5).encode(
                "utf-8", "surrogatepass"
            )
        except (ValueError, RecursionError):
            text = bytes(mutate(text, len(text) + 64))
        chunks[index] = (kind, head + text)
    else:
        chunks[index] = (kind, bytes(mutate(content, len(content) + 64)))
    return assemble(chunks)[:most]


def check_artwork(path: Path) -> None:
    artwork, findings = read_artwork(path)
    assert artwork.srgb.shape == (artwork.height, artwork.width, 3)
    assert all(finding.what.isprintable() for finding in findings)


def check_card(path: Path) -> None:
    yarns = read_card(path)
    assert len({yarn.code for yarn in yarns}) == len(yarns)
    for yarn in yarns:
        assert all(map(math.isfinite, yarn.lab))
        assert all(0 <= byte <= 255 for byte in yarn.srgb)
        assert yarn.name.isprintable()


def check_rug(path: Path) -> None:
    order = read_rugfile(path)
    tables = json.loads(json.dumps(to_tables(order.rug, order.workshop), allow_nan=False))
    back = from_tables(tables, where="again")
    assert (back.rug, back.workshop) == (order.rug, order.workshop)


def check_knots(path: Path) -> None:
    for snap in (False, True):
        found = read_knotpng(path, snap=snap)
        stream = io.BytesIO()
        write_knotpng(stream, found.knot_map, found.workshop)
        path.write_bytes(stream.getvalue())
        assert opened(path).sha256 == found.knot_map.sha256


CHECKS: dict[str, Callable[[Path], None]] = {
    "artwork": check_artwork,
    "card": check_card,
    "rug": check_rug,
    "knots": check_knots,
}


def attempt(target: str, path: Path) -> bool:
    """Let the reader of `target` read the file at `path`; return whether it could, and raise what it must not raise."""
    try:
        CHECKS[target](path)
    except DOCUMENTED[target] as error:
        assert str(error).isprintable(), f"a message that is not printable: {error!r}"
        return False
    return True


FULL_RUG = """
[rug]
name = "Every key"
size = "5'3\\" x 7'10\\""
density = "50 raj (7 cm)"
knot = "symmetric"
pile = "9 mm"
shape = "octagon"
technique = "tufted"
[design]
artwork = "a.png"
[yarns]
card = "wool.csv"
keep = ["A1"]
[pile]
heights = { A1 = "12 mm" }
yarn = "Nm 5 x2"
strands = 2
waste = 0.1
length_per_knot = "50 mm"
spread = "5%"
[loom]
shrinkage_across = "-3%"
shrinkage_along = "2%"
fringe = "0 cm"
backing_margin = "15 cm"
stretch = "25 cm"
[dye]
hank = "1/2 lb"
vessels = [{ name = "pot", holds = "5 kg", least = "1 kg", liquor_ratio = 30 }]
[cost]
currency = "EUR"
pile_per_kg = 20
weaving_per_day = 12.5
[chart]
strips = [100, 118]
square = true
counts = true
font = "DejaVu.ttf"
"""

FULL_CARD = """code,name,colour,fibre,count,stock_g,price_per_kg
A,"Rose, deep",#aa2030,wool,Nm 5 x2,1500,12.5
B,Lab,Lab 50 10 -20 D50/10,silk,Ne 10 x12,,
C,LCh,LCh 50 30 120 A,wool,tex 300,1e3,
D,xyY,xyY 0.3 0.4 20,,,,
"""


def seeds(target: str) -> list[bytes]:
    """Return files to begin with: the examples, the fixtures, and small files of every kind that is read."""
    examples = ROOT / "examples"
    if target == "rug":
        return [(examples / "quince_garden.toml").read_bytes(), FULL_RUG.encode()]
    if target == "card":
        bands = "code," + ",".join(f"{band}nm" for band in range(400, 701, 10)) + "\nR" + ",0.2" * 31 + "\n"
        return [(examples / "osmerfold_wool.csv").read_bytes()[:900], FULL_CARD.encode(), bands.encode()]
    suite = [path.read_bytes() for path in sorted((ROOT / "fixtures" / "pngsuite").glob("*.png"))]
    return suite + small_pictures() if target == "artwork" else knot_files()


def small_pictures() -> list[bytes]:
    rgba = Image.fromarray(np.random.default_rng(1).integers(0, 256, (12, 16, 4)).astype(np.uint8))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    files = []
    for mode, kind, options in (
        ("RGB", "JPEG", {"exif": b"Exif\0\0II*\0\x08\0\0\0\1\0\x12\1\3\0\1\0\0\0\6\0\0\0\0\0\0\0"}),
        ("CMYK", "JPEG", {"icc_profile": profile}),
        ("RGB", "TIFF", {"compression": "tiff_lzw"}),
        ("RGBA", "TIFF", {"compression": "tiff_adobe_deflate"}),
        ("P", "TIFF", {}),
        ("1", "TIFF", {"compression": "group4"}),
        ("RGBA", "WEBP", {"lossless": True, "icc_profile": profile}),
        ("RGB", "WEBP", {}),
        ("RGB", "PNG", {"icc_profile": profile}),
        ("PA", "PNG", {}),
    ):
        stream = io.BytesIO()
        rgba.convert("RGB").convert(mode).save(stream, kind, **options) if mode != "PA" else rgba.quantize(8).save(
            stream, kind
        )
        files.append(stream.getvalue())
    return files


def knot_files() -> list[bytes]:
    cells = np.random.default_rng(2).integers(0, 5, (16, 14)).astype(np.uint16)
    holed = np.where(cells == 4, NO_KNOT, cells)
    workshop = Workshop.model_validate({"loom": {"weavers": 3}, "pile": {"cut": "9.5 mm"}, "chart": {"strips": [5, 9]}})
    files = []
    for knots in (cells, holed):
        stream = io.BytesIO()
        write_knotpng(stream, *settled(make_map(knots, make_rug(14, 16, pile="12 mm"), workshop)))
        files.append(stream.getvalue())
        text = PngImagePlugin.PngInfo()
        picture = Image.open(io.BytesIO(stream.getvalue()))
        text.add_itxt("chartmaker", picture.text["chartmaker"])
        stream = io.BytesIO()
        picture.convert("RGBA").save(stream, "PNG", pnginfo=text)
        files.append(stream.getvalue())
    return files


def words(target: str) -> list[str]:
    """Return what the fuzzer puts whole into texts: keys, units, notations and odd characters."""
    odd = ["\x1b[31m", "\u202e", "²", "٣", "nan", "inf", "1e999", "9" * 60, "=1+1", "\ufeff", "'", '"', "/0", "-0", "½"]
    if target == "card":
        spaces = ["Lab ", "LCh ", "xyY ", " D50/10", " A/2", "#aabbcc", "400nm", '"a\nb"', "Nm 5 x2", "6/2"]
        return [*odd, *yarncard.COLUMNS, *spaces]
    keys = [
        field.alias or name
        for table in _Tables.model_fields.values()
        for name, field in getattr(table.annotation, "model_fields", {}).items()
    ]
    values = ["true", "1979-05-27T07:32:00Z", "[[", "]]", " = ", "= {", "100 kpsi", "9/60 indian", "60 knot tibetan"]
    return [*odd, *keys, *values, *(f"1 {unit}" for unit in units.LENGTH_UNITS_MM), "Nm 5 x2", "5x8ft", "15%"]
