"""The proofs of a set are read back: the picture by its colours, the page by its words and by the data within it."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
import zlib
from collections.abc import Collection, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import LINEAR_OF_BYTE, FloatArray, ciede2000, hex_of, lab_from_linear
from chartmaker.ground.findings import place_words
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.order.carve import Carve, groove_codes
from chartmaker.order.rug import MOST_KNOTS
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import feet, near, whole
from chartmaker.verify.tables import same_knots, unlike

#: How the page writes a place without a knot, and a knot that could not be compared.
NOTHING = 255
#: An area of the picture is compared by its mean, and is at least this many pixels wide so that its edges weigh little.
AREA_PX = 24
#: Knots of at least this many pixels count as large.
LARGE_PX = 6
#: The shading of the pile and the edges of areas may shift a mean by this much (CIEDE2000).
MOST_DE00 = 6.0
#: Slopes of a carved pile are lighter or darker than level pile by no more than this share.
RELIEF = 0.45
#: So many lights from the darkest to the lightest stand for all that a slope can have.
_LIGHTS = 19
#: Shares and masses are rounded so that their columns add up, and so may be off by this much.
SHARE_OFF, GRAMS_OFF = 0.011, 1.01
_SCRIPT = re.compile(r"<script(?: id=\"([a-z-]{1,40})\" type=\"([a-z/]{1,40})\")?>", re.IGNORECASE)
DATA = {"page-facts", "proof-knots", "proof-difference", "proof-artwork"}
#: A page that needs no network has none of this outside its scripts.
_REACHING = re.compile(
    r"<(?:iframe|object|embed|link|base|img|frame|applet)\b|\son[a-z]+\s*=|https?:|javascript:", re.IGNORECASE
)


#: Reading a damaged page may raise one of these.
UNREADABLE = (ValueError, LookupError, TypeError, AttributeError, zlib.error, OverflowError, RecursionError)


def scripts_of(page: str, data: Collection[str]) -> tuple[dict[str, str], str]:
    """Return the text of each element that holds some of the `data`, by its id, and the page without them.

    Raises
    ------
    ValueError
        If the page has a script that such a page does not have, or that its policy does not name.
    """
    texts: dict[str, str] = {}
    rest: list[str] = []
    place = 0
    while (found := _SCRIPT.search(page, place)) is not None:
        end = page.find("</script>", found.end())
        name = found[1] or ""
        if end < 0 or name in texts or (name and name not in data):
            raise ValueError(say("it has a script that such a page does not have"))
        texts[name] = page[found.end() : end]
        rest.append(page[place : found.start()])
        place = end + len("</script>")
    rest.append(page[place:])
    outside = "".join(rest)
    digest = base64.b64encode(hashlib.sha256(texts.get("", "").encode()).digest()).decode("ascii")
    if re.search(r"</?script", outside, re.IGNORECASE) or f"script-src 'sha256-{digest}'" not in outside:
        raise ValueError(say("it has a script that such a page does not have"))
    plain = re.sub(r"<style>.*?</style>|<title>.*?</title>|<bdi .*?</bdi>", "", outside, flags=re.DOTALL)
    if _REACHING.search(plain) or "default-src 'none'" not in outside:
        raise ValueError(say("it holds more than a page that needs no network"))
    return texts, outside


def page_differences(data: bytes, expected: Expected, findings: Any = None) -> list[str]:
    """Return how proof.html differs from the map, and from the `findings` that the summary has."""
    try:
        texts, outside = scripts_of(data.decode("utf-8"), DATA)
        facts = json.loads(texts["page-facts"])
        if min(facts["rows"], facts["columns"]) < 1:  # numpy would guess a size that is -1
            raise ValueError(say("rows and columns must be above zero"))
        if len(facts["yarns"]) != len(expected.yarns):
            raise ValueError(say("it has other yarns than the map"))
        knots = _cells(texts["proof-knots"], facts["rows"], facts["columns"]).astype(np.uint16)
        found = list(_facts(facts, expected, outside))
        found += _findings(facts["findings"], findings)
        if facts["difference"] is not None and knots.shape == expected.knots.shape:
            found += _middles(facts, _cells(texts["proof-difference"], facts["rows"], facts["columns"]), expected)
    except UNREADABLE as error:
        return [say("does not hold a rug that can be read: {error}", error=repr(error))]
    knots[knots == NOTHING] = NO_KNOT
    return found + ([words] if (words := same_knots(knots, expected.knots)) else [])


def _cells(packed: str, rows: int, columns: int) -> NDArray[np.uint8]:
    """Return one byte for each cell, shape (rows, columns)."""
    unpacking = zlib.decompressobj()
    cells = unpacking.decompress(base64.b64decode(packed), MOST_KNOTS)
    if unpacking.unconsumed_tail or not unpacking.eof:
        raise ValueError(say("it holds more than any rug"))
    return np.frombuffer(cells, dtype=np.uint8).reshape(rows, columns)


def _facts(facts: dict[str, Any], expected: Expected, outside: str) -> Iterator[str]:
    """Yield which names and numbers of the page are not the map's."""
    rug, density = expected.rug, expected.rug.density
    exact = {
        "name": inert(rug.name),
        "sha256": expected.sha256,
        "empty": expected.knots.size - expected.tied,
        "knotWidthMm": float(density.knot_width_mm),
        "knotHeightMm": float(density.knot_height_mm),
        "yarns": [
            {"code": inert(yarn.code), "name": inert(yarn.name), "srgb": hex_of(yarn.srgb), "knots": int(knots)}
            for yarn, knots in zip(expected.yarns, expected.counts, strict=True)
        ],
    }
    yield from unlike(facts, exact, "")
    titles = [html.unescape(each) for each in re.findall(r"<(?:title|bdi id=\"name\")>(.*?)</", outside, re.DOTALL)]
    if titles != [exact["name"]] * 2:
        yield say("its title is not the rug's name")
    said: dict[str, str] = {}
    for words, fields in zip(facts["facts"], facts["factFields"], strict=True):
        for start, end, name in fields:
            if name in said:
                yield say("it says {name} twice", name=name)
            said[name] = words[start:end]
    numbers = {"knots": expected.tied, "columns": expected.columns, "rows": expected.rows, "yarns": len(expected.yarns)}
    measures = {
        "width_cm": (float(rug.woven_width_mm) / 10, 0.0501),
        "length_cm": (float(rug.woven_length_mm) / 10, 0.0501),
        "across_per_dm": (float(density.across_per_dm), 0.0),
        "along_per_dm": (float(density.along_per_dm), 0.0),
        "across_per_inch": (float(density.across_per_dm) * 0.254, 0.0),
        "along_per_inch": (float(density.along_per_dm) * 0.254, 0.0),
    }
    texts = {"map": expected.code, "width_feet": feet(rug.woven_width_mm), "length_feet": feet(rug.woven_length_mm)}
    wrong = [name for name, number in numbers.items() if whole(said.get(name, "")) != number]
    wrong += [name for name, (value, off) in measures.items() if not near(said.get(name, ""), value, off)]
    wrong += [name for name, text in texts.items() if said.get(name) != text]
    yield from (say("its {name} is {words!r}, not the map's", name=name, words=said.get(name, "")) for name in wrong)
    yield from _yarns(facts["yarns"], expected)
    if expected.carve is not None and facts["carved"] != (wanted_carved := _carved(expected, expected.carve)):
        yield say("it says {found} of what is carved, not {wanted}", found=facts["carved"], wanted=wanted_carved)


def _carved(expected: Expected, carve: Carve) -> dict[str, Any] | None:
    """Return what the page must say of heights and grooves, None if the whole pile is level."""
    codes = [yarn.code for yarn in expected.yarns]
    asked = [groove_codes(name) for name in carve.grooves]
    grooves = [(codes.index(one), other) for one, other in asked if one in codes and (other is None or other in codes)]
    uneven = len(set(expected.finished_mm)) > 1
    if not uneven and not grooves:
        return None
    return {
        "heights": [f"{height:g}" for height in expected.finished_mm] if uneven else [],
        "grooves": [[one, None if other is None else codes.index(other)] for one, other in grooves],
        "depth": f"{float(carve.depth_mm or 0):g}",
        "width": f"{float(carve.width_mm or 0):g}",
    }


def _yarns(yarns: list[dict[str, Any]], expected: Expected) -> Iterator[str]:
    """Yield which shares and masses of the page's legend are not those of the yarns."""
    for index, yarn in enumerate(yarns):
        code = expected.yarns[index].code
        share = 100 * int(expected.counts[index]) / max(expected.tied, 1)
        if not near(yarn["share"], share, SHARE_OFF):
            yield say("its share of {code} is {printed!r}", code=code, printed=yarn["share"])
        fields = {name: yarn["figures"][start:end] for start, end, name in yarn["figureFields"]}
        if expected.grams and abs(whole(fields.get("grams", "")) - expected.grams[index]) > GRAMS_OFF:
            yield say("it gives {code} {printed!r}", code=code, printed=yarn["figures"])


def _findings(found: list[dict[str, Any]], wanted: Any) -> Iterator[str]:
    """Yield a fault if the page does not have the summary's findings with their places."""
    if not isinstance(wanted, list):
        return
    told = [
        {
            "what": inert(each["what"], longest=2000),
            "where": inert(each["where"]),
            "severity": each["severity"],
            "places": [
                [p["first_row"] - 1, p["last_row"], p["first_column"] - 1, p["last_column"]] for p in each["places"]
            ],
        }
        for each in wanted
    ]
    known = [each["what"] for each in told]
    if not any(each["what"] in known for each in found):  # the page is in another language than the summary
        told = [{key: each[key] for key in ("severity", "places")} for each in told]
    yield from unlike(found, told, "findings")


def _middles(facts: dict[str, Any], steps: NDArray[np.uint8], expected: Expected) -> Iterator[str]:
    """Yield the yarns whose median difference does not follow from the differences that the page itself holds."""
    step = float(facts["difference"]["step"])
    for index, yarn in enumerate(facts["yarns"]):
        values = np.sort(steps[(expected.knots == index) & (steps != NOTHING)])
        middle = None if not values.size else round(float(values[(values.size - 1) // 2]) * step, 1)
        if yarn["difference"] != middle:
            found, wanted = (say("nothing") if each is None else each for each in (yarn["difference"], middle))
            said = {"code": expected.yarns[index].code, "found": found, "wanted": wanted}
            yield say("its difference of {code} is {found}, and its knots give {wanted}", **said)


def _areas(cells: int, pixels: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the edges of areas in cells and in pixels, both rising."""
    number = max(1, min(cells, pixels // AREA_PX))
    edges = np.round(np.arange(number + 1) * cells / number).astype(np.intp)
    return edges, np.round(edges * pixels / cells).astype(np.intp)


def _covered(edges: NDArray[np.intp], trim: int, cells: int, pixels: int) -> FloatArray:
    """Return how much of each cell lies in each area of pixels, `trim` within its edges, shape (areas, cells)."""
    cell = np.arange(cells + 1) * pixels / cells
    ends = np.minimum(edges[1:, None] - trim, cell[1:]) - np.maximum(edges[:-1, None] + trim, cell[:-1])
    return np.asarray(np.maximum(ends, 0.0))


def _means(light: FloatArray, edges: NDArray[np.intp], trim: int) -> FloatArray:
    """Return the mean of `light`, shape (height, width, 3), between the column edges, `trim` columns within them."""
    inner = np.stack([edges[:-1] + trim, edges[1:] - trim], axis=1)
    ends = inner.ravel()[: -1 if inner[-1, 1] == light.shape[1] else None]
    total = np.add.reduceat(light.mean(axis=0), ends, axis=0)[::2]
    return np.asarray(total / np.diff(inner, axis=1))


def picture_differences(picture: NDArray[np.uint8], place: str, expected: Expected) -> list[str]:
    """Return how the rug in proof.png differs from the map, area by area.

    Parameters
    ----------
    picture : ndarray of uint8, shape (height, width, 3)
    place : str
        Where the file says the rug lies: left, top, width and height in pixels.
    expected : Expected
    """
    numbers = [int(each) for each in place.split()] if re.fullmatch(r"\d{1,5}( \d{1,5}){3}", place) else []
    if len(numbers) != 4:
        return [say("does not say where the rug lies in the picture")]
    left, top, width, height = numbers
    inside = left + width <= picture.shape[1] and top + height <= picture.shape[0] and width > 0 and height > 0
    ratio = float(expected.rug.woven_width_mm / expected.rug.woven_length_mm)
    if not inside or abs(width - height * ratio) > 1 + ratio:
        return [say("shows a rug of other proportions")]
    panel = picture[top : top + height, left : left + width][::-1]
    if not (wrong := _wrong_areas(panel, expected)):
        return []
    return [
        say_n(
            "{n} area does not have the map's colour, the first {place}",
            "{n:,} areas do not have the map's colour, the first {place}",
            len(wrong),
            place=place_words(wrong[0]),
        )
    ]


def _is_lit(cells: KnotArray, weights: FloatArray, yarn_light: FloatArray, shown: FloatArray) -> bool:
    """Return whether an area has the colours of its yarns, each of them lit by the relief in its own way.

    Its mean is then one of many lights on each yarn, none of which is lighter than white.
    """
    from scipy.optimize import nnls

    yarns, place = np.unique(cells, return_inverse=True)
    knots = np.bincount(place.ravel(), weights.ravel())
    light = np.linspace(1 - RELIEF, 1 + RELIEF, _LIGHTS)[:, None, None] * yarn_light[yarns]
    lights = (np.minimum(light, 1.0) * (knots / knots.sum())[:, None]).reshape(-1, 3).T
    each_whole = np.tile(np.eye(len(yarns)), _LIGHTS)
    shares, _ = nnls(np.vstack([lights, 100 * each_whole]), np.append(shown, np.full(len(yarns), 100.0)))
    lit = (lights @ shares)[None]
    return bool(ciede2000(lab_from_linear(lit), lab_from_linear(shown[None]))[0] <= MOST_DE00)


def _wrong_areas(panel: NDArray[np.uint8], expected: Expected) -> list[tuple[int, int, int, int]]:
    """Return the areas that do not have the map's colour, as (first row, end, first column, end), from the foot up."""
    height, width = panel.shape[:2]
    rows, pixel_rows = _areas(expected.rows, height)
    columns, pixel_columns = _areas(expected.columns, width)
    srgb = np.array([yarn.srgb for yarn in expected.yarns], dtype=np.uint8)
    yarn_light = np.vstack([LINEAR_OF_BYTE[srgb], np.zeros((1, 3))])
    wrong = []
    # Edges of knots may lie between pixels, so where knots are large, a pixel at each edge is left out.
    trim = int(min(height / expected.rows, width / expected.columns) >= LARGE_PX)
    along = _covered(pixel_rows, trim, expected.rows, height)
    across = _covered(pixel_columns, trim, expected.columns, width)
    for index in range(len(rows) - 1):
        shown_rows = np.flatnonzero(along[index])
        cells, high = expected.knots[shown_rows], along[index, shown_rows]
        woven = np.einsum("r,rcl->cl", high, yarn_light[np.minimum(cells, len(expected.yarns))])
        wanted = across @ woven / (across.sum(axis=1, keepdims=True) * high.sum())
        seen = LINEAR_OF_BYTE[panel[pixel_rows[index] + trim : pixel_rows[index + 1] - trim]]
        shown = _means(seen, pixel_columns, trim)
        known = across @ (cells == NO_KNOT).any(axis=0) == 0
        away = ciede2000(lab_from_linear(wanted[known]), lab_from_linear(shown[known]))
        for column in np.flatnonzero(known)[away > MOST_DE00].tolist():
            wide = np.flatnonzero(across[column])
            weights = np.outer(high, across[column, wide])
            if not (expected.relief and _is_lit(cells[:, wide], weights, yarn_light, shown[column])):
                wrong.append((index, column))
    edges = rows.tolist(), columns.tolist()
    return [(edges[0][i], edges[0][i + 1], edges[1][j], edges[1][j + 1]) for i, j in wrong]
