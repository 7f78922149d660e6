"""The knot map's file: an indexed PNG in which one pixel is one knot."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

from chartmaker.colour import hex_of
from chartmaker.errors import ChartmakerError, KnotFileError
from chartmaker.knotmap import NO_KNOT, KnotArray, KnotMap, without_unused
from chartmaker.raster import open_raster
from chartmaker.rug import Rug
from chartmaker.rugfile import from_tables, to_tables
from chartmaker.textsafe import inert
from chartmaker.units import parse_yarn_count
from chartmaker.workshop import Workshop
from chartmaker.yarn import Yarn

if TYPE_CHECKING:
    from PIL import Image

#: Keyword of the text chunk.
KEYWORD = "chartmaker"
FORMAT = 1
#: At most this many colours that are no yarn are named in an error.
MOST_NAMED = 8


def _yarn_table(yarn: Yarn) -> dict[str, Any]:
    table: dict[str, Any] = {"code": yarn.code, "name": yarn.name, "srgb": hex_of(yarn.srgb), "lab": list(yarn.lab)}
    if yarn.count is not None:
        table["count"] = yarn.count.notation
    for key in ("fibre", "stock_g", "price_per_kg"):
        if (value := getattr(yarn, key)) is not None:
            table[key] = value
    return table


def _yarn_of(table: dict[str, Any]) -> Yarn:
    red, green, blue = bytes.fromhex(table["srgb"].removeprefix("#"))
    lightness, a, b = map(float, table["lab"])
    count = table.get("count")
    return Yarn(
        str(table["code"]),
        str(table["name"]),
        (red, green, blue),
        (lightness, a, b),
        table.get("fibre"),
        None if count is None else parse_yarn_count(count),
        table.get("stock_g"),
        table.get("price_per_kg"),
    )


def _describe(knot_map: KnotMap) -> str:
    return json.dumps(
        {
            "format": FORMAT,
            "tables": to_tables(knot_map.rug, knot_map.workshop),
            "yarns": [_yarn_table(yarn) for yarn in knot_map.yarns],
            "sha256": knot_map.sha256,
        },
        ensure_ascii=False,
        allow_nan=False,
        sort_keys=True,
    )


def write_knotpng(stream: BinaryIO, knot_map: KnotMap) -> None:
    """Write the map: palette entry i is yarn i, one further transparent entry is NO_KNOT.

    The picture's top is the last woven row; pHYs gives knots per metre in x with y; an iTXt chunk
    ``chartmaker`` holds the rug, the workshop, the yarns, the map's SHA-256.
    """
    from PIL import Image, PngImagePlugin

    outside = len(knot_map.yarns)
    pixels = np.empty(knot_map.knots.shape, dtype=np.uint8)
    np.copyto(pixels, knot_map.knots[::-1], casting="unsafe")
    pixels[knot_map.knots[::-1] == NO_KNOT] = outside
    picture = Image.fromarray(pixels)
    palette = [byte for yarn in knot_map.yarns for byte in yarn.srgb] + [255, 255, 255]
    picture.putpalette(palette, "RGB")
    text = PngImagePlugin.PngInfo()
    text.add_itxt(KEYWORD, _describe(knot_map))
    density = knot_map.rug.density
    per_metre = (density.across_per_dm * 10, density.along_per_dm * 10)
    picture.save(
        stream,
        format="PNG",
        bits=8,
        pnginfo=text,
        dpi=tuple(float(knots) * 0.0254 for knots in per_metre),
        transparency=bytes([255] * outside + [0]),
    )


def _description(picture: Image.Image, where: str) -> tuple[Rug, Workshop, tuple[Yarn, ...]] | None:
    """Return what the text chunk says, or None if an editor dropped it."""
    text = getattr(picture, "text", {}).get(KEYWORD)
    if text is None:
        return None
    try:
        said = json.loads(text)
        if said["format"] != FORMAT:
            raise KnotFileError(f"written in format {inert(said['format'])}; this version reads {FORMAT}", where=where)
        rugfile = from_tables(said["tables"], where=where)
        return rugfile.rug, rugfile.workshop, tuple(_yarn_of(table) for table in said["yarns"])
    except KnotFileError:
        raise
    except (ChartmakerError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise KnotFileError(f"what the knot map says of its rug is damaged: {inert(error)}", where=where) from error


def _by_index(picture: Image.Image, yarns: tuple[Yarn, ...]) -> KnotArray | None:
    """Return the knots by palette index, if the palette still is the yarns in their order."""
    if picture.mode != "P":
        return None
    wanted = [byte for yarn in yarns for byte in yarn.srgb]
    clear = picture.info.get("transparency", b"")
    if (picture.getpalette("RGB") or [])[: len(wanted)] != wanted or not isinstance(clear, bytes):
        return None
    if any(alpha != 255 for alpha in clear[: len(yarns)]):
        return None
    pixels = np.asarray(picture)
    clear_indices = [index for index, alpha in enumerate(clear) if alpha == 0]
    if (np.isin(pixels, clear_indices, invert=True) & (pixels >= len(yarns))).any():
        return None
    lookup = np.full(256, NO_KNOT, dtype=np.uint16)
    lookup[: len(yarns)] = np.arange(len(yarns))
    return np.asarray(lookup[pixels])


def _by_colour(picture: Image.Image, yarns: tuple[Yarn, ...], where: str) -> KnotArray:
    """Return the knots by colour; a colour that is no yarn is an error that says where it stands."""
    rgba = np.asarray(picture.convert("RGBA"))
    packed = rgba[..., 0].astype(np.uint32) << 16 | rgba[..., 1].astype(np.uint32) << 8 | rgba[..., 2]
    colours, inverse = np.unique(packed, return_inverse=True)
    index_of = {}
    for index, yarn in reversed(list(enumerate(yarns))):
        index_of[int.from_bytes(bytes(yarn.srgb), "big")] = index
    lookup = np.array([index_of.get(int(colour), NO_KNOT) for colour in colours], dtype=np.uint16)
    knots = lookup[inverse.reshape(packed.shape)]
    alpha = rgba[..., 3]
    if ((alpha != 0) & (alpha != 255)).any():
        row, column = np.argwhere((alpha != 0) & (alpha != 255))[0]
        raise KnotFileError(
            f"{int(((alpha != 0) & (alpha != 255)).sum()):,} pixels are half transparent, the first in row "
            f"{picture.height - row}, column {column + 1}; draw with a hard pencil, without smoothing",
            where=where,
        )
    strangers = (knots == NO_KNOT) & (alpha == 255)
    if strangers.any():
        names = []
        for colour in np.unique(packed[strangers])[:MOST_NAMED]:
            places = np.argwhere((packed == colour) & strangers)
            row, column = places[-1]
            names.append(
                f"#{int(colour):06x} ({len(places):,} knots, first in row {picture.height - row}, column {column + 1})"
            )
        raise KnotFileError(
            f"{int(strangers.sum()):,} knots have a colour that is no yarn of the map: {'; '.join(names)}", where=where
        )
    return np.where(alpha == 0, np.uint16(NO_KNOT), knots)


def read_knotpng(path: Path) -> KnotMap:
    """Return the knot map in the file at `path`, as written or as edited since.

    An editor may have reordered the palette or saved RGB or RGBA: the colours decide then.

    Raises
    ------
    KnotFileError
        If it cannot be read, holds no rug, has another size than its rug, or colours that are no yarn.
    """
    where = inert(path)
    picture = open_raster(path, ("PNG",), KnotFileError, "knot map")
    described = _description(picture, where)
    if described is None:
        raise KnotFileError("this picture holds no rug: it was not written by chartmaker knot or make", where=where)
    rug, workshop, yarns = described
    if (picture.width, picture.height) != (rug.columns, rug.rows):
        raise KnotFileError(
            f"the picture is {picture.width} x {picture.height} pixels, but its rug has {rug.columns} x {rug.rows} "
            "knots; a knot map must not be scaled or cropped",
            where=where,
        )
    knots = _by_index(picture, yarns)
    if knots is None:
        knots = _by_colour(picture, yarns, where)
    try:
        return without_unused(KnotMap(np.ascontiguousarray(knots[::-1]), yarns, rug, workshop))
    except KnotFileError as error:
        raise KnotFileError(error.message, where=where) from error
