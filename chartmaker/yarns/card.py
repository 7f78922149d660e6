"""The yarn card, in CSV, checked and turned into yarns."""

from __future__ import annotations

import csv
import difflib
import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import numpy as np

from chartmaker.ground.colour import WHITE_XYZ, FloatArray, lab_from_srgb8, lab_from_xyz, srgb8_from_lab, xyz_from_lab
from chartmaker.ground.errors import CardError, RugError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textfile import text_of
from chartmaker.ground.textsafe import inert
from chartmaker.ground.units import parse_yarn_count
from chartmaker.yarns.yarn import MOST_AMOUNT, MOST_LAB, MOST_SYMBOL, Yarn, fault_of

MOST_BYTES = 10_000_000
MOST_CARD_YARNS = 20_000
COLUMNS = ("code", "name", "colour", "fibre", "count", "stock_g", "price_per_kg", "call", "symbol")
#: A column is taken for a slip of the pen for one of ours if it is this similar, or if it is more than this many
#: letters long and one of ours begins with it.
SLIP, LEAST_BEGUN = 0.75, 3
_HEX = re.compile(r"#([0-9a-fA-F]{6})$")
_BAND = re.compile(r"(\d{3})\s*nm$")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$")
#: Two- and ten-degree illuminants that the colour library converts rightly (it gets the F series wrong).
_ILLUMINANTS = {"2": ("A", "C", "D50", "D55", "D65", "D75"), "10": ("D50", "D55", "D65", "D75")}
_SPECTRAL_BANDS = range(340, 831, 10)
#: What may separate the columns: the one that the header has most of, commas before the others.
_PARTINGS = (",", ";", "\t")
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")


def _line_words(where: str, number: int) -> str:
    """Return the place of a line of the card, for a message."""
    return say("{file}, line {number}", file=where, number=number)


class _Line:
    """One line of the card while it is read: its place and what its columns say."""

    def __init__(self, where: str, number: int, values: dict[str, str], parted_by: str) -> None:
        self.where, self.number, self.values, self.parted_by = where, number, values, parted_by

    def fail(self, message: str) -> NoReturn:
        raise CardError(message, where=_line_words(self.where, self.number))

    def get(self, column: str) -> str | None:
        return self.values.get(column) or None

    def numeric(self, column: str) -> str | None:
        """Return what the column says, with a decimal point where a spreadsheet saved a decimal comma."""
        text = self.get(column)
        return text if text is None or self.parted_by == "," else _DECIMAL_COMMA.sub(".", text)

    def amount(self, column: str) -> float | None:
        text = self.numeric(column)
        if text is None:
            return None
        if not _NUMBER.match(text) or not 0 <= float(text) < MOST_AMOUNT:
            said = inert(self.get(column) or "")
            self.fail(say("{column} {text!r} is not a number of zero or more", column=column, text=said))
        return float(text)

    def symbol(self) -> int | None:
        text = self.get("symbol")
        if text is None:
            return None
        if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= MOST_SYMBOL:
            message = "symbol {text!r} is not the number of a symbol, from 1 to {most}"
            self.fail(say(message, text=inert(text), most=MOST_SYMBOL))
        return int(text)


def _lab_in_space(space: str, numbers: list[float], illuminant: str, observer: str) -> FloatArray:
    """Return Lab (D65, 2 degrees) of a colour in another notation (CIE 15), adapted from its white by Bradford.

    The library's own conversion between spaces loads another one that takes as long as reading a hundred cards.
    """
    from colormath.chromatic_adaptation import apply_chromatic_adaptation
    from colormath.color_constants import ILLUMINANTS

    white = ILLUMINANTS[observer][illuminant.lower()]
    one, two, three = numbers
    if space == "xyY":
        xyz: FloatArray = np.array([one, two, 1 - one - two]) * (three / 100 / two)
    elif space == "LCh":
        hue = np.radians(three)
        xyz = xyz_from_lab([one, two * np.cos(hue), two * np.sin(hue)], white)
    else:
        xyz = xyz_from_lab(numbers, white)
    # The library adapts only between whites of one observer, so both whites are given to it outright.
    return lab_from_xyz(apply_chromatic_adaptation(*xyz, white, WHITE_XYZ))


_READERS_NUMBERS = {"Lab": "L a b", "LCh": "L C h", "xyY": "x y Y"}


def _colour_in_space(line: _Line, text: str) -> FloatArray:
    """Return Lab (D65, 2 degrees) of ``Lab L a b``, ``LCh L C h`` or ``xyY x y Y``, illuminant optional."""
    space, *words = text.split()
    illuminant, observer = "D65", "2"
    if len(words) == 4:
        illuminant, _, observer = words.pop().partition("/")
        observer = observer or "2"
    if len(words) != 3 or not all(map(_NUMBER.match, words)):
        message = "colour {text!r} cannot be read; write {space} {numbers}, and if need be D65/10 after it"
        line.fail(say(message, text=inert(text), space=space, numbers=_READERS_NUMBERS[space]))
    if illuminant not in _ILLUMINANTS.get(observer, ()):
        known = ", ".join(f"{name}/{o}" for o, names in _ILLUMINANTS.items() for name in names)
        message = "colour {text!r} has an unknown illuminant or observer; they must be one of {known}"
        line.fail(say(message, text=inert(text), known=known))
    numbers = [float(word) for word in words]
    lightness = numbers[2] if space == "xyY" else numbers[0]
    if not 0 <= lightness <= 100 or (space == "LCh" and not (0 <= numbers[1] <= 200 and -360 <= numbers[2] <= 360)):
        message = "colour {text!r} is out of range: lightness is 0 to 100, chroma 0 to 200, and hue is in degrees"
        line.fail(say(message, text=inert(text)))
    if space == "Lab" and max(map(abs, numbers[1:])) > MOST_LAB:
        message = "colour {text!r} is out of range: a and b lie between -{most} and {most}"
        line.fail(say(message, text=inert(text), most=MOST_LAB))
    if space == "xyY" and not (0 < numbers[0] < 1 and 0 < numbers[1] < 1 and numbers[0] + numbers[1] <= 1):
        message = "colour {text!r} is out of range: x and y lie between 0 and 1, and Y is 0 to 100"
        line.fail(say(message, text=inert(text)))
    return _lab_in_space(space, numbers, illuminant, observer)


def _colour_of_reflectance(line: _Line, bands: dict[int, str]) -> FloatArray:
    """Return Lab (D65, 2 degrees) of a line whose columns are reflectances 0..1, one a wavelength."""
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, SpectralColor

    values: dict[str, float] = {}
    for band, column in bands.items():
        amount = line.amount(column)
        if amount is None or amount > 1.5:
            text = inert(line.get(column) or say("nothing"))
            line.fail(say("{column} needs a reflectance from 0 to 1, not {text!r}", column=column, text=text))
        values[f"spec_{band}nm"] = amount
    # Beyond the measured range the eye sees next to nothing; the end values go on instead of dropping to zero.
    for band in _SPECTRAL_BANDS:
        nearest = min(bands, key=lambda known, band=band: abs(known - band))  # type: ignore[misc]
        values.setdefault(f"spec_{band}nm", values[f"spec_{nearest}nm"])
    lab = convert_color(SpectralColor(observer="2", illuminant="d65", **values), LabColor)
    return np.array(lab.get_value_tuple())


def _colour(line: _Line, bands: dict[int, str]) -> tuple[tuple[int, int, int], tuple[float, float, float]]:
    """Return (sRGB bytes, Lab under D65 at 2 degrees) of the line's colour."""
    text = line.numeric("colour")
    if text is None:
        if not bands:
            line.fail(say("the colour is missing"))
        lab = _colour_of_reflectance(line, bands)
    elif found := _HEX.match(text):
        srgb = tuple(bytes.fromhex(found[1]))
        lab = lab_from_srgb8(np.array(srgb))
        return (srgb[0], srgb[1], srgb[2]), (float(lab[0]), float(lab[1]), float(lab[2]))
    elif text.split()[0] in _READERS_NUMBERS:
        lab = _colour_in_space(line, text)
    else:
        message = "colour {text!r} cannot be read; write #rrggbb, Lab L a b, LCh L C h or xyY x y Y"
        line.fail(say(message, text=inert(text)))
    if not (np.abs(lab) <= MOST_LAB).all():
        line.fail(say("no yarn can have this colour; check its numbers"))
    red, green, blue = (int(byte) for byte in srgb8_from_lab(lab))
    return (red, green, blue), (float(lab[0]), float(lab[1]), float(lab[2]))


def _yarn(line: _Line, bands: dict[int, str]) -> Yarn:
    code = line.get("code") or ""
    name = line.get("name") or code
    fibre = line.get("fibre")
    call = line.get("call")
    fault = fault_of(code, name, fibre, call)
    if fault is not None:
        line.fail(fault)
    srgb, lab = _colour(line, bands)
    count = line.numeric("count")
    try:
        yarn_count = parse_yarn_count(count) if count else None
    except RugError as error:
        where = _line_words(line.where, line.number)
        raise CardError(say("count: {fault}", fault=error.message), where=where) from error
    stock_g, price_per_kg = line.amount("stock_g"), line.amount("price_per_kg")
    return Yarn(code, name, srgb, lab, fibre, yarn_count, stock_g, price_per_kg, call, line.symbol())


def _bands(where: str, header: list[str]) -> dict[int, str]:
    """Return the reflectance columns by wavelength, which must cover 400 to 700 nm without a gap."""
    bands = {int(found[1]): column for column in header if (found := _BAND.match(column))}
    unusable = [column for wavelength, column in bands.items() if wavelength not in _SPECTRAL_BANDS]
    if unusable:
        message = "column {column} cannot be used; wavelengths go in steps of 10 nm, from 340 to 830"
        raise CardError(say(message, column=unusable[0]), where=_line_words(where, 1))
    missing = [wavelength for wavelength in range(400, 701, 10) if wavelength not in bands] if bands else []
    if missing:
        message = "reflectances are needed every 10 nm from 400nm to 700nm, and {wavelength}nm is missing"
        raise CardError(say(message, wavelength=missing[0]), where=_line_words(where, 1))
    return bands


@dataclass(frozen=True, slots=True)
class Card:
    """A yarn card: its yarns in their order, and the names of columns that are not ours and are left alone."""

    yarns: tuple[Yarn, ...]
    others: tuple[str, ...] = ()


def _parted_by(text: str) -> str:
    """Return what separates the columns of the table `text`."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return max(_PARTINGS, key=header.count)


def card_in(text: str, *, where: str) -> Card:
    """Return the card `text`, a table with a header line and columns separated by commas, semicolons or tabs.

    Where the columns are not separated by commas, a number may have a decimal comma, as spreadsheets in many
    countries save it.

    Raises
    ------
    CardError
        If columns, codes or colours are wrong; the message names the line.
    """
    parted_by = _parted_by(text)
    reader = csv.reader(io.StringIO(text), strict=True, delimiter=parted_by)
    yarns: list[Yarn] = []
    seen: dict[str, int] = {}
    symbols: dict[int, int] = {}
    header: list[str] = []
    try:
        for values in reader:
            if not header:
                if not any(value.strip() for value in values):
                    continue
                header = [_column(value.strip()) for value in values]
                _check_header(where, header)
                bands = _bands(where, header)
                continue
            if not any(value.strip() for value in values):
                continue
            said = dict(zip(header, (v.strip() for v in values), strict=False))
            line = _Line(where, reader.line_num, said, parted_by)
            if len(values) != len(header):
                one = "the line has {n} value, where the header has {columns} columns"
                many = "the line has {n} values, where the header has {columns} columns"
                line.fail(say_n(one, many, len(values), columns=len(header)))
            yarn = _yarn(line, bands)
            if yarn.code in seen:
                message = "code {code} is already on line {number}; give each yarn its own"
                line.fail(say(message, code=yarn.code, number=seen[yarn.code]))
            seen[yarn.code] = line.number
            if yarn.symbol is not None and (other := symbols.setdefault(yarn.symbol, line.number)) != line.number:
                message = "symbol {symbol} is already on line {number}; give each yarn its own"
                line.fail(say(message, symbol=yarn.symbol, number=other))
            yarns.append(yarn)
            if len(yarns) > MOST_CARD_YARNS:
                line.fail(say("a card holds at most {most:,} yarns", most=MOST_CARD_YARNS))
    except csv.Error as error:
        message = say("this is not CSV: {fault}", fault=inert(error))
        raise CardError(message, where=_line_words(where, reader.line_num)) from error
    if not yarns:
        raise CardError(say("the card has no yarns; it needs a header line, and a line for each yarn"), where=where)
    return Card(tuple(yarns), tuple(inert(column) for column in header if column and not _known(column)))


def _column(name: str) -> str:
    """Return a column's name as we write it; capitals make no difference."""
    return name.lower() if name.lower() in COLUMNS else name


def _known(column: str) -> bool:
    return column in COLUMNS or _BAND.match(column) is not None


def _slip_for(column: str) -> str | None:
    """Return the column of ours that `column` seems to misspell, if there is one."""
    if not column or _known(column):
        return None
    word = column.lower()
    begun = [each for each in COLUMNS if len(word) > LEAST_BEGUN and each.startswith(word)]
    near = begun or difflib.get_close_matches(word, COLUMNS, n=1, cutoff=SLIP)
    return near[0] if near else None


def _check_header(where: str, header: list[str]) -> None:
    """Refuse a header that lacks a column, has one twice, or has one that looks like a misspelling of ours."""
    line = _line_words(where, 1)
    bands = [column for column in header if _BAND.match(column)]
    for column in header:
        near = _slip_for(column)
        if near is not None:
            message = (
                "unknown column {column!r}; did you mean {near}? If it is a column of your own, give it another name"
            )
            raise CardError(say(message, column=inert(column), near=near), where=line)
        if column and header.count(column) > 1:
            raise CardError(say("column {column!r} is there twice", column=inert(column)), where=line)
    if "code" not in header or ("colour" not in header and not bands):
        message = say("the header needs at least the columns code and colour (or reflectances, 400nm...)")
        raise CardError(message, where=line)


def read_card(path: Path | str) -> tuple[Yarn, ...]:
    """Return the yarns of the card at `path`.

    Parameters
    ----------
    path : Path or str
        A table in CSV.

    Returns
    -------
    tuple of Yarn
        In the order of the card.

    Raises
    ------
    CardError
        If the file cannot be read or is not a yarn card.

    Examples
    --------
    >>> [(yarn.code, yarn.name) for yarn in read_card("wool.csv")][:2]
    [('R1', 'Madder'), ('B1', 'Indigo')]
    """
    return read_whole_card(path).yarns


def read_whole_card(path: Path | str) -> Card:
    """Return the card at `path`, with the names of the columns that are left alone.

    Parameters
    ----------
    path : Path or str
        A table with columns separated by commas, semicolons or tabs.

    Returns
    -------
    Card
        The yarns in the order of the card, and the columns that are not ours.

    Raises
    ------
    CardError
        If the file cannot be read or is not a yarn card.

    Examples
    --------
    >>> read_whole_card("wool.csv").others
    ()
    """
    path = Path(path)
    return whole_card(card_bytes(path), path)


def card_bytes(path: Path) -> bytes:
    """Return the content of the yarn card at `path`.

    Raises
    ------
    CardError
        If it is not a regular file, is larger than the limit, or cannot be read.
    """
    return read_whole(path, MOST_BYTES, CardError, say("yarn card"))


def card_of(data: bytes, path: Path) -> tuple[Yarn, ...]:
    """Return the yarns of the card that the file at `path` holds as `data`, as `read_card` does."""
    return whole_card(data, path).yarns


def whole_card(data: bytes, path: Path) -> Card:
    """Return the card that the file at `path` holds as `data`, with the names of its other columns."""
    where = inert(path)
    return card_in(text_of(data, CardError, say("yarn card"), where), where=where)
