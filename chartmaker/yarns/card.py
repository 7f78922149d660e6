"""The CSV yarn card, checked, turned into yarns."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import NoReturn

import numpy as np

from chartmaker.ground.colour import WHITE_XYZ, FloatArray, lab_from_srgb8, lab_from_xyz, srgb8_from_lab
from chartmaker.ground.errors import CardError, RugError
from chartmaker.ground.textfile import read_utf8
from chartmaker.ground.textsafe import guess, inert
from chartmaker.ground.units import parse_yarn_count
from chartmaker.yarns.yarn import MOST_AMOUNT, MOST_LAB, Yarn, fault_of

MOST_BYTES = 10_000_000
MOST_CARD_YARNS = 20_000
COLUMNS = ("code", "name", "colour", "fibre", "count", "stock_g", "price_per_kg")
_HEX = re.compile(r"#([0-9a-fA-F]{6})$")
_BAND = re.compile(r"(\d{3})\s*nm$")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$")
#: Two- and ten-degree illuminants that the colour library converts rightly (its F series is wrong).
_ILLUMINANTS = {"2": ("A", "C", "D50", "D55", "D65", "D75"), "10": ("D50", "D55", "D65", "D75")}
_SPECTRAL_BANDS = range(340, 831, 10)


class _Line:
    """One line of the card while it is read: where it stands, what its columns say."""

    def __init__(self, where: str, number: int, values: dict[str, str]) -> None:
        self.where, self.number, self.values = where, number, values

    def fail(self, message: str) -> NoReturn:
        raise CardError(message, where=f"{self.where}, line {self.number}")

    def get(self, column: str) -> str | None:
        return self.values.get(column) or None

    def amount(self, column: str) -> float | None:
        text = self.get(column)
        if text is None:
            return None
        if not _NUMBER.match(text) or not 0 <= float(text) < MOST_AMOUNT:
            self.fail(f"{column} {inert(text)!r} is not a number of zero or more")
        return float(text)


def _via_library(space: str, numbers: list[float], illuminant: str, observer: str) -> FloatArray:
    """Return Lab (D65, 2 degrees) of a colour in another notation, adapted from its white by Bradford."""
    from colormath.chromatic_adaptation import apply_chromatic_adaptation
    from colormath.color_constants import ILLUMINANTS
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, LCHabColor, XYZColor, xyYColor

    entry = {"Lab": LabColor, "LCh": LCHabColor, "xyY": xyYColor}[space]
    scaled = [numbers[0], numbers[1], numbers[2] / 100] if space == "xyY" else numbers
    xyz = convert_color(entry(*scaled, observer=observer, illuminant=illuminant.lower()), XYZColor)
    # The library adapts only between whites of one observer; the two whites given outright cover both.
    white = ILLUMINANTS[observer][illuminant.lower()]
    return lab_from_xyz(apply_chromatic_adaptation(*xyz.get_value_tuple(), white, WHITE_XYZ))


_READERS_NUMBERS = {"Lab": "L a b", "LCh": "L C h", "xyY": "x y Y"}


def _colour_in_space(line: _Line, text: str) -> FloatArray:
    """Return Lab (D65, 2 degrees) of ``Lab L a b``, ``LCh L C h`` or ``xyY x y Y``, illuminant optional."""
    space, *words = text.split()
    illuminant, observer = "D65", "2"
    if len(words) == 4:
        illuminant, _, observer = words.pop().partition("/")
        observer = observer or "2"
    if len(words) != 3 or not all(map(_NUMBER.match, words)):
        line.fail(f"colour {inert(text)!r}: write {space} {_READERS_NUMBERS[space]}, perhaps with D65/10 behind it")
    if illuminant not in _ILLUMINANTS.get(observer, ()):
        known = ", ".join(f"{name}/{o}" for o, names in _ILLUMINANTS.items() for name in names)
        line.fail(f"colour {inert(text)!r}: illuminant and observer must be one of {known}")
    numbers = [float(word) for word in words]
    lightness = numbers[2] if space == "xyY" else numbers[0]
    if not 0 <= lightness <= 100 or (space == "LCh" and not (0 <= numbers[1] <= 200 and -360 <= numbers[2] <= 360)):
        line.fail(f"colour {inert(text)!r} is out of range: lightness is 0 to 100, chroma 0 to 200, hue in degrees")
    if space == "Lab" and max(map(abs, numbers[1:])) > MOST_LAB:
        line.fail(f"colour {inert(text)!r} is out of range: a and b lie within -{MOST_LAB} to {MOST_LAB}")
    if space == "xyY" and not (0 < numbers[0] < 1 and 0 < numbers[1] < 1 and numbers[0] + numbers[1] <= 1):
        line.fail(f"colour {inert(text)!r} is out of range: x and y lie between 0 and 1; Y is 0 to 100")
    return _via_library(space, numbers, illuminant, observer)


def _colour_of_reflectance(line: _Line, bands: dict[int, str]) -> FloatArray:
    """Return Lab (D65, 2 degrees) of a line whose columns are reflectances 0..1, one a wavelength."""
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, SpectralColor

    values: dict[str, float] = {}
    for band, column in bands.items():
        amount = line.amount(column)
        if amount is None or amount > 1.5:
            line.fail(f"{column}: a reflectance from 0 to 1 is needed, not {inert(line.get(column) or 'nothing')!r}")
        values[f"spec_{band}nm"] = amount
    # Beyond the measured range the eye sees next to nothing; the end values go on rather than dropping to zero.
    for band in _SPECTRAL_BANDS:
        nearest = min(bands, key=lambda known, band=band: abs(known - band))  # type: ignore[misc]
        values.setdefault(f"spec_{band}nm", values[f"spec_{nearest}nm"])
    lab = convert_color(SpectralColor(observer="2", illuminant="d65", **values), LabColor)
    return np.array(lab.get_value_tuple())


def _colour(line: _Line, bands: dict[int, str]) -> tuple[tuple[int, int, int], tuple[float, float, float]]:
    """Return (sRGB bytes, Lab under D65 at 2 degrees) of the line's colour."""
    text = line.get("colour")
    if text is None:
        if not bands:
            line.fail("the colour is missing")
        lab = _colour_of_reflectance(line, bands)
    elif found := _HEX.match(text):
        srgb = tuple(bytes.fromhex(found[1]))
        lab = lab_from_srgb8(np.array(srgb))
        return (srgb[0], srgb[1], srgb[2]), (float(lab[0]), float(lab[1]), float(lab[2]))
    elif text.split()[0] in _READERS_NUMBERS:
        lab = _colour_in_space(line, text)
    else:
        line.fail(f"colour {inert(text)!r}: write #rrggbb, Lab L a b, LCh L C h or xyY x y Y")
    if not (np.abs(lab) <= MOST_LAB).all():
        line.fail("the colour is none that a yarn could have; check its numbers")
    red, green, blue = (int(byte) for byte in srgb8_from_lab(lab))
    return (red, green, blue), (float(lab[0]), float(lab[1]), float(lab[2]))


def _yarn(line: _Line, bands: dict[int, str]) -> Yarn:
    code = line.get("code") or ""
    name = line.get("name") or code
    fibre = line.get("fibre")
    fault = fault_of(code, name, fibre)
    if fault is not None:
        line.fail(fault)
    srgb, lab = _colour(line, bands)
    count = line.get("count")
    try:
        yarn_count = parse_yarn_count(count) if count else None
    except RugError as error:
        raise CardError(f"count: {error.message}", where=f"{line.where}, line {line.number}") from error
    return Yarn(code, name, srgb, lab, fibre, yarn_count, line.amount("stock_g"), line.amount("price_per_kg"))


def _bands(where: str, header: list[str]) -> dict[int, str]:
    """Return the reflectance columns by wavelength, checked to cover 400 to 700 nm without a gap."""
    bands = {int(found[1]): column for column in header if (found := _BAND.match(column))}
    unusable = [column for wavelength, column in bands.items() if wavelength not in _SPECTRAL_BANDS]
    if unusable:
        raise CardError(f"column {unusable[0]}: wavelengths go in steps of 10 nm, 340 to 830", where=f"{where}, line 1")
    missing = [wavelength for wavelength in range(400, 701, 10) if wavelength not in bands] if bands else []
    if missing:
        raise CardError(
            f"reflectance needs every 10 nm from 400nm to 700nm; {missing[0]}nm is missing", where=f"{where}, line 1"
        )
    return bands


def parse_card(text: str, *, where: str) -> tuple[Yarn, ...]:
    """Return the yarns of the card `text` (CSV with a header line), in its order.

    Raises
    ------
    CardError
        Naming the line, with what is wrong: columns, codes that are malformed or double, colours.
    """
    reader = csv.reader(io.StringIO(text), strict=True)
    yarns: list[Yarn] = []
    seen: dict[str, int] = {}
    header: list[str] = []
    try:
        for values in reader:
            if not header:
                header = [value.strip() for value in values]
                _check_header(where, header)
                bands = _bands(where, header)
                continue
            if not any(value.strip() for value in values):
                continue
            line = _Line(where, reader.line_num, dict(zip(header, (v.strip() for v in values), strict=False)))
            if len(values) != len(header):
                line.fail(f"{len(values)} values where the header has {len(header)} columns")
            yarn = _yarn(line, bands)
            if yarn.code in seen:
                line.fail(f"code {yarn.code} is already on line {seen[yarn.code]}; give each yarn its own")
            seen[yarn.code] = line.number
            yarns.append(yarn)
            if len(yarns) > MOST_CARD_YARNS:
                line.fail(f"a card holds at most {MOST_CARD_YARNS:,} yarns")
    except csv.Error as error:
        raise CardError(f"not CSV: {inert(error)}", where=f"{where}, line {reader.line_num}") from error
    if not yarns:
        raise CardError("the card has no yarns; it needs a header line and a line a yarn", where=where)
    return tuple(yarns)


def _check_header(where: str, header: list[str]) -> None:
    line = f"{where}, line 1"
    bands = [column for column in header if _BAND.match(column)]
    for column in header:
        if column not in COLUMNS and column not in bands:
            raise CardError(
                f"unknown column {inert(column)!r}{guess(column, list(COLUMNS)) or '; known: ' + ', '.join(COLUMNS)}",
                where=line,
            )
        if header.count(column) > 1:
            raise CardError(f"column {inert(column)!r} stands twice", where=line)
    if "code" not in header or ("colour" not in header and not bands):
        raise CardError("the header needs at least the columns code and colour (or reflectances, 400nm...)", where=line)


def read_card(path: Path) -> tuple[Yarn, ...]:
    """Return the yarns of the card at `path`.

    Raises
    ------
    CardError
        If the file cannot be read or is not a yarn card.
    """
    return parse_card(read_utf8(path, MOST_BYTES, CardError, "yarn card"), where=inert(path))
