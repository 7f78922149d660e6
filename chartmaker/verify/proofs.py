"""The proofs of a set read back: the picture by its colours, the page by the data within it."""

from __future__ import annotations

import base64
import json
import zlib
from html.parser import HTMLParser

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import LINEAR_OF_BYTE, FloatArray, ciede2000, hex_of, lab_from_linear
from chartmaker.ground.findings import place_words
from chartmaker.ground.language import counted
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.rug import MOST_KNOTS
from chartmaker.pages.proof.pagedata import NOTHING
from chartmaker.pages.proof.prooflayout import Box, proof_layout
from chartmaker.verify.tables import same_knots
from chartmaker.yarns.yarn import srgb_of

#: An area of the picture is compared by its mean; it spans at least so many pixels, so that its edges weigh little.
AREA_PX = 24
#: Knots of so many pixels are large.
LARGE_PX = 6
#: What the shading of the pile and the areas' edges may shift a mean, by CIEDE2000.
MOST_DE00 = 6.0


class _Scripts(HTMLParser):
    """Gathers the texts of the script elements by their id."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: dict[str, list[str]] = {}
        self._inside: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "script":
            self._inside = dict(attrs).get("id") or ""
            self.texts.setdefault(self._inside, [])

    def handle_endtag(self, tag: str) -> None:
        if tag == "script":
            self._inside = None

    def handle_data(self, data: str) -> None:
        if self._inside is not None:
            self.texts[self._inside].append(data)


def page_differences(data: bytes, knot_map: KnotMap) -> list[str]:
    """Return how the data within proof.html differs from the map."""
    scripts = _Scripts()
    try:
        scripts.feed(data.decode("utf-8"))
        texts = {name: "".join(parts) for name, parts in scripts.texts.items()}
        facts = json.loads(texts["proof-facts"])
        packed = base64.b64decode(texts["proof-knots"])
        cells = np.frombuffer(zlib.decompressobj().decompress(packed, MOST_KNOTS), dtype=np.uint8)
        if min(facts["rows"], facts["columns"]) < 1:  # numpy would work out what is left open
            raise ValueError("rows and columns must be above zero")
        knots = cells.reshape(facts["rows"], facts["columns"]).astype(np.uint16)
        said = {
            "sha256": facts["sha256"],
            "empty": facts["empty"],
            "yarns": [(yarn["code"], yarn["srgb"], yarn["knots"]) for yarn in facts["yarns"]],
        }
    except (UnicodeDecodeError, ValueError, KeyError, TypeError, zlib.error, OverflowError, RecursionError) as error:
        return [f"holds no rug that can be read: {error!r}"]
    expected = {
        "sha256": knot_map.sha256,
        "empty": knot_map.empty,
        "yarns": [
            (yarn.code, hex_of(yarn.srgb), int(n)) for yarn, n in zip(knot_map.yarns, knot_map.counts, strict=True)
        ],
    }
    found = [f"its {key} is not the map's" for key, value in expected.items() if said[key] != value]
    knots[knots == NOTHING] = NO_KNOT
    return found + ([words] if (words := same_knots(knots, knot_map)) else [])


def _areas(cells: int, pixels: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return edges of areas in cells, and in pixels, both rising."""
    number = max(1, min(cells, pixels // AREA_PX))
    edges = np.round(np.arange(number + 1) * cells / number).astype(np.intp)
    return edges, np.round(edges * pixels / cells).astype(np.intp)


def _means(light: FloatArray, edges: NDArray[np.intp], trim: int = 0) -> FloatArray:
    """Return the mean of `light`, shape (height, width, 3), between the column edges, `trim` columns within them."""
    inner = np.stack([edges[:-1] + trim, edges[1:] - trim], axis=1)
    ends = inner.ravel()[: -1 if inner[-1, 1] == light.shape[1] else None]
    total = np.add.reduceat(light.mean(axis=0), ends, axis=0)[::2]
    return np.asarray(total / np.diff(inner, axis=1))


def _boxes_of(shape: tuple[int, ...], knot_map: KnotMap) -> list[Box]:
    """Return where the rug may lie in a proof picture of `shape`; small ones are as large with artwork as without."""
    layouts = [proof_layout(knot_map, artwork=artwork) for artwork in (True, False)]
    return [layout.woven for layout in layouts if shape[:2] == (layout.height, layout.width)]


def picture_differences(picture: NDArray[np.uint8], knot_map: KnotMap) -> list[str]:
    """Return how the rug in proof.png differs from the map, area by area.

    Parameters
    ----------
    picture : ndarray of uint8, shape (height, width, 3)
    knot_map : KnotMap
    """
    boxes = _boxes_of(picture.shape, knot_map)
    if not boxes:
        return [f"is {picture.shape[1]} x {picture.shape[0]} pixels, not the proof of this rug"]
    wrong = min((_wrong_areas(picture, knot_map, box) for box in boxes), key=len)
    if not wrong:
        return []
    return [f"{counted(len(wrong), 'area has', 'areas have')} not the map's colour, the first {place_words(wrong[0])}"]


def _wrong_areas(picture: NDArray[np.uint8], knot_map: KnotMap, box: Box) -> list[tuple[int, int, int, int]]:
    """Return the areas, (first row, end, first column, end), that do not have the map's colour, the rug in `box`."""
    rows, pixel_rows = _areas(knot_map.rows, box.height)
    columns, pixel_columns = _areas(knot_map.columns, box.width)
    yarn_light = np.vstack([LINEAR_OF_BYTE[srgb_of(knot_map.yarns)], np.full((1, 3), np.nan)])
    wrong = []
    panel = picture[box.top : box.top + box.height, box.left : box.left + box.width][::-1]
    # Edges of knots between pixels: where knots are large, a pixel of each edge is left out.
    trim = int(min(box.height / knot_map.rows, box.width / knot_map.columns) >= LARGE_PX)
    for index in range(len(rows) - 1):
        cells = knot_map.knots[rows[index] : rows[index + 1]]
        woven = yarn_light[np.minimum(cells, len(knot_map.yarns))]
        seen = LINEAR_OF_BYTE[panel[pixel_rows[index] + trim : pixel_rows[index + 1] - trim]]
        expected, shown = _means(woven, columns), _means(seen, pixel_columns, trim)
        whole = ~np.isnan(expected[:, 0])
        away = ciede2000(lab_from_linear(expected[whole]), lab_from_linear(shown[whole]))
        wrong += [(index, int(column)) for column in np.flatnonzero(whole)[away > MOST_DE00]]
    edges = rows.tolist(), columns.tolist()
    return [(edges[0][i], edges[0][i + 1], edges[1][j], edges[1][j + 1]) for i, j in wrong]
