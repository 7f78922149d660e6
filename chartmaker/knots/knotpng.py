"""The knot map's file: an indexed PNG in which one pixel is one knot."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

from chartmaker.artwork.raster import open_raster
from chartmaker.ground.colour import hex_of
from chartmaker.ground.errors import ChartmakerError, KnotFileError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.ground.units import parse_yarn_count
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap, tied_only
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.touchup import Snapped, knots_of_pixels
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import from_tables, to_tables
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import Yarn, fault_of, number_fault_of

if TYPE_CHECKING:
    from PIL import Image

#: Keyword of the text chunk.
KEYWORD = "chartmaker"
FORMAT = 1
#: What the file says of the workshop: what the loom and the dyer need. It goes from hand to hand, so no price, wage
#: or stock is in it.
_TECHNICAL = ("rug", "pile", "loom", "dye", "chart", "pattern", "carve")


@dataclass(frozen=True)
class Description:
    """What is said of a knot map besides its knots: rug, workshop, yarns, how many cells lie outside the outline.

    `empty` is None where that is not known. `yarns` may hold more than are tied, or none where no card is named.
    """

    rug: Rug
    workshop: Workshop
    yarns: tuple[Yarn, ...]
    empty: int | None = None


def _yarn_table(yarn: Yarn) -> dict[str, Any]:
    table: dict[str, Any] = {"code": yarn.code, "name": yarn.name, "srgb": hex_of(yarn.srgb), "lab": list(yarn.lab)}
    if yarn.count is not None:
        table["count"] = yarn.count.notation
    if yarn.fibre is not None:
        table["fibre"] = yarn.fibre
    if yarn.call is not None:
        table["call"] = yarn.call
    if yarn.symbol is not None:
        table["symbol"] = yarn.symbol
    return table


def _yarn_of(table: dict[str, Any]) -> Yarn:
    red, green, blue = bytes.fromhex(table["srgb"].removeprefix("#"))
    lightness, a, b = map(float, table["lab"])
    count = table.get("count")
    code, name, fibre, call = table["code"], table["name"], table.get("fibre"), table.get("call")
    stock_g, price_per_kg = table.get("stock_g"), table.get("price_per_kg")
    symbol = table.get("symbol")
    fault = fault_of(code, name, fibre, call) or number_fault_of((lightness, a, b), stock_g, price_per_kg, symbol)
    if fault is not None:
        raise ValueError(fault)
    return Yarn(
        code,
        name,
        (red, green, blue),
        (lightness, a, b),
        fibre,
        None if count is None else parse_yarn_count(count),
        stock_g,
        price_per_kg,
        call,
        symbol,
    )


def _technical(rug: Rug, workshop: Workshop) -> dict[str, Any]:
    """Return the tables that a map carries; a file on the maker's disk is not named in them."""
    tables = {name: table for name, table in to_tables(rug, workshop).items() if name in _TECHNICAL}
    if "chart" in tables:
        tables["chart"] = {key: value for key, value in tables["chart"].items() if key != "font"}
    return {name: table for name, table in tables.items() if table}


def _describe(knot_map: KnotMap, workshop: Workshop) -> str:
    return json.dumps(
        {
            "format": FORMAT,
            "tables": _technical(knot_map.rug, workshop),
            "yarns": [_yarn_table(yarn) for yarn in knot_map.yarns],
            "sha256": knot_map.sha256,
            "empty": knot_map.empty,
        },
        ensure_ascii=True,  # a file's name need not be text
        allow_nan=False,
        sort_keys=True,
    )


def write_knotpng(stream: BinaryIO, knot_map: KnotMap, workshop: Workshop) -> None:
    """Write the map: palette entry i is yarn i, one further transparent entry is NO_KNOT.

    The picture's top is the last woven row; pHYs gives knots per metre in x and in y; an iTXt chunk
    ``chartmaker`` holds the rug, the yarns, the map's SHA-256, and of the workshop the tables pile, loom, dye, chart
    and pattern. Neither prices nor stock are written, nor the name of any other file.
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
    text.add_itxt(KEYWORD, _describe(knot_map, workshop))
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


def _description(picture: Image.Image, where: str) -> Description | None:
    """Return what the text chunk says, or None if an editor dropped it."""
    text = getattr(picture, "text", {}).get(KEYWORD)
    if text is None:
        return None
    try:
        said = json.loads(text)
        if said["format"] != FORMAT:
            raise KnotFileError(
                say(
                    "it was written in format {written}; this version reads format {read}",
                    written=inert(said["format"]),
                    read=FORMAT,
                ),
                where=where,
            )
        tables = {str(name): table for name, table in said["tables"].items()}
        if isinstance(chart := tables.get("chart"), dict):  # older maps name a font; no file is read at a map's word
            tables["chart"] = {key: value for key, value in chart.items() if key != "font"}
        rugfile = from_tables(tables, where=where)
        yarns = tuple(_yarn_of(table) for table in said["yarns"])
        if not yarns:
            raise KnotFileError(say("the knot map names no yarn"), where=where)
        empty = said.get("empty")
        return Description(rugfile.rug, rugfile.workshop, yarns, None if empty is None else int(empty))
    except KnotFileError:
        raise
    except (ChartmakerError, ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError) as error:
        raise KnotFileError(
            say("what the knot map says of its rug is damaged: {error}", error=inert(error)), where=where
        ) from error


def read_description(path: Path) -> Description:
    """Return what the knot map at `path` says besides its knots.

    Raises
    ------
    KnotFileError
        If it cannot be read or holds no rug.
    """
    described = _description(open_raster(path, ("PNG",), KnotFileError, say("knot map")), inert(path))
    if described is None:
        raise KnotFileError(say("this picture holds no rug: it was not written by chartmaker"), where=inert(path))
    return described


def _completed(said: Description | None, rest: Description | None, where: str) -> Description:
    """Return what the file says of itself, with further yarns from `rest`, or `rest` where it says nothing."""
    if said is None and rest is None:
        raise KnotFileError(
            say(
                "this picture holds no rug: chartmaker did not write it, or an editor dropped the text "
                "in it; name the rug file, or the knot map as it was before the edit (--rug RUG.toml, "
                "--rug KNOTS.png)"
            ),
            where=where,
        )
    if said is None or rest is None:
        described = said or rest
        assert described is not None
        if not described.yarns:
            raise KnotFileError(
                say(
                    "the rug file names no yarn card, so it does not say the yarns of a knot map; name the "
                    "knot map as it was before the edit instead (--rug KNOTS.png)"
                )
            )
        return described
    codes, colours = {yarn.code for yarn in said.yarns}, {yarn.srgb for yarn in said.yarns}
    further = tuple(yarn for yarn in rest.yarns if yarn.code not in codes and yarn.srgb not in colours)
    return Description(said.rug, said.workshop, said.yarns + further, said.empty)


def _by_index(picture: Image.Image, yarns: tuple[Yarn, ...]) -> KnotArray | None:
    """Return the knots by palette index, if the palette still is the yarns in their order."""
    if picture.mode != "P":
        return None
    wanted = [byte for yarn in yarns for byte in yarn.srgb]
    alphas = picture.info.get("transparency", b"")
    if isinstance(alphas, int):  # Pillow's short form of one clear entry
        alphas = bytes([255] * alphas + [0])
    if (picture.getpalette("RGB") or [])[: len(wanted)] != wanted or set(alphas[: len(yarns)]) - {255}:
        return None
    pixels = np.asarray(picture)
    lookup = np.full(256, NO_KNOT, dtype=np.uint16)
    lookup[: len(yarns)] = np.arange(len(yarns))
    known = lookup != NO_KNOT
    known[[index for index, alpha in enumerate(alphas) if alpha == 0]] = True
    if not known[pixels].all():
        return None
    return np.ascontiguousarray(lookup[pixels][::-1])


def _rgba(picture: Image.Image) -> Any:
    """Return the picture's pixels, shape (height, width, 4), whatever an editor saved."""
    if picture.mode.startswith("I"):  # 16-bit grey: Pillow's own conversion clips instead of scaling
        grey = (np.asarray(picture) >> 8).astype(np.uint8)
        return np.stack([grey, grey, grey, np.full_like(grey, 255)], axis=-1)
    return np.asarray(picture.convert("RGBA"))


def _check_size(picture: Image.Image, rug: Rug, where: str) -> None:
    if (picture.width, picture.height) != (rug.columns, rug.rows):
        raise KnotFileError(
            say(
                "the picture is {width} x {height} pixels, but its rug has {columns} x {rows} knots; a "
                "knot map must not be scaled or cropped",
                width=picture.width,
                height=picture.height,
                columns=rug.columns,
                rows=rug.rows,
            ),
            where=where,
        )


def _check_outline(knots: KnotArray, described: Description, where: str) -> None:
    """Refuse a map in which an editor filled what lies outside the outline, though it may be a yarn's colour."""
    outlined = described.empty or described.rug.shape in ("ellipse", "octagon")
    if outlined and not (knots == NO_KNOT).any():
        raise KnotFileError(
            say("the editor filled what lies outside the rug's outline; save the picture with its transparency (RGBA)"),
            where=where,
        )


def read_knotpng(path: Path, rest: Description | None = None, *, snap: bool = False) -> MapFile:
    """Return the knot map in the file at `path`, as written or as edited since, and what it says of the workshop.

    An editor may have dropped the text chunk, reordered the palette, or saved grey, RGB or RGBA: the colours
    decide then.

    Parameters
    ----------
    path : Path
    rest : Description, optional
        Says what the file does not: all of it when the text chunk is gone, else further yarns.
    snap : bool
        Whether colours that no yarn has take the nearest yarn by CIEDE2000.

    Raises
    ------
    KnotFileError
        If it cannot be read, holds no rug, has another size than its rug, or colours that no yarn has.
    """
    where = inert(path)
    picture = open_raster(path, ("PNG",), KnotFileError, say("knot map"))
    said = _description(picture, where)
    described = _completed(said, rest, where)
    _check_size(picture, described.rug, where)
    knots = None if said is None else _by_index(picture, said.yarns)
    snapped: tuple[Snapped, ...] = ()
    try:
        if knots is None:
            knots, snapped = knots_of_pixels(_rgba(picture), described.yarns, snap=snap)
        _check_outline(knots, described, where)
        return MapFile(KnotMap(*tied_only(knots, described.yarns), described.rug), described.workshop, snapped)
    except KnotFileError as error:
        raise KnotFileError(error.message, where=where) from error
