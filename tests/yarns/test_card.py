"""The colours of the yarn card agree with an independent library, and its faults are named by line."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import colour as colour_science
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.colour import ciede2000, hex_of
from chartmaker.ground.errors import CardError
from chartmaker.yarns.card import card_in, read_card, read_whole_card

OBSERVERS = {"2": "CIE 1931 2 Degree Standard Observer", "10": "CIE 1964 10 Degree Standard Observer"}
WHITE = colour_science.CCS_ILLUMINANTS[OBSERVERS["2"]]["D65"]


def one(colour: str) -> np.ndarray:
    (yarn,) = card_in(f"code,colour\nA,{colour}\n", where="card.csv").yarns
    return np.array(yarn.lab)


def adapted(xyz: np.ndarray, illuminant: str, observer: str) -> np.ndarray:
    """Return Lab under D65 at 2 degrees, adapted by Bradford, all by colour-science."""
    source = colour_science.xy_to_XYZ(colour_science.CCS_ILLUMINANTS[OBSERVERS[observer]][illuminant])
    moved = colour_science.adaptation.chromatic_adaptation_VonKries(
        xyz, source, colour_science.xy_to_XYZ(WHITE), transform="Bradford"
    )
    return np.asarray(colour_science.XYZ_to_Lab(moved, WHITE))


WHITES = [("D65", "2"), ("D50", "2"), ("D55", "2"), ("D75", "2"), ("A", "2"), ("C", "2")]
WHITES += [("D65", "10"), ("D50", "10"), ("D55", "10"), ("D75", "10")]


@pytest.mark.parametrize(("illuminant", "observer"), WHITES)
def test_every_notation_agrees_with_colour_science(illuminant: str, observer: str) -> None:
    white = colour_science.CCS_ILLUMINANTS[OBSERVERS[observer]][illuminant]
    for lab in ([50, 40, 20], [30, -20, -30], [80, 5, 60], [15, 10, -10]):
        xyz = colour_science.Lab_to_XYZ(lab, white)
        expected = adapted(xyz, illuminant, observer)
        lch = colour_science.Lab_to_LCHab(lab)
        xyy = colour_science.XYZ_to_xyY(xyz)
        suffix = f" {illuminant}/{observer}"
        assert ciede2000(one(f"Lab {lab[0]} {lab[1]} {lab[2]}{suffix}"), expected) < 0.01
        assert ciede2000(one(f"LCh {lch[0]:.6f} {lch[1]:.6f} {lch[2]:.6f}{suffix}"), expected) < 0.01
        assert ciede2000(one(f"xyY {xyy[0]:.8f} {xyy[1]:.8f} {xyy[2] * 100:.6f}{suffix}"), expected) < 0.01


@pytest.mark.filterwarnings("ignore:Aligning")
def test_reflectances_agree_with_colour_science() -> None:
    # These are the average ColorChecker reflectances that colour-science publishes, from 380 to 730 nm, under D65.
    spectra = colour_science.SDS_COLOURCHECKERS["ISO 17321-1"]
    bands = range(400, 701, 10)
    lines = ["code," + ",".join(f"{band}nm" for band in bands)]
    expected = []
    cmfs = colour_science.MSDS_CMFS[OBSERVERS["2"]]
    for index, spectrum in enumerate(spectra.values()):
        lines.append(f"P{index}," + ",".join(f"{spectrum[float(band)]:.5f}" for band in bands))
        xyz = colour_science.sd_to_XYZ(spectrum, cmfs, colour_science.SDS_ILLUMINANTS["D65"]) / 100
        expected.append(colour_science.XYZ_to_Lab(xyz, WHITE))
    yarns = card_in("\n".join(lines), where="card.csv").yarns
    difference = ciede2000(np.array([yarn.lab for yarn in yarns]), np.array(expected))
    assert len(yarns) == 24
    assert difference.max() < 0.35  # the narrower range differs a little from that of 380 to 730 nm
    assert difference.mean() < 0.1


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_a_hex_colour_is_kept_exactly(srgb: tuple[int, int, int]) -> None:
    (yarn,) = card_in(f"code,name,colour\nA,Madder,{hex_of(srgb).upper()}\n", where="card.csv").yarns
    assert yarn.srgb == srgb


def test_every_optional_column_is_read() -> None:
    header = "code,name,colour,fibre,count,stock_g,price_per_kg"
    lines = [header, 'A-1,"Rose, deep",#aa2030,wool,Nm 5 x2,1500,12.5', "", "B,,#000000,,,,", ""]
    first, second = card_in("\r\n".join(lines), where="card.csv").yarns
    assert (first.name, first.fibre, first.stock_g, first.price_per_kg) == ("Rose, deep", "wool", 1500.0, 12.5)
    assert first.count is not None
    assert first.count.tex == 400
    assert (second.name, second.fibre, second.count, second.stock_g) == ("B", None, None, None)


HEAD = "code,name,colour,count,stock_g\n"


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("", None, "no yarns"),
        ("code,colour\n", None, "no yarns"),
        ("code,name\nA,x\n", 1, "code and colour"),
        ("code,color\nA,#000000\n", 1, "did you mean colour"),
        ("code,code,colour\nA,A,#000000\n", 1, "is there twice"),
        (HEAD + "A,x,#00000,,\n", 2, "write #rrggbb"),
        (HEAD + "A,x,red,,\n", 2, "write #rrggbb"),
        (HEAD + "A,x,,,\n", 2, "colour is missing"),
        (HEAD + "A,x,Lab 50 10,,\n", 2, "write Lab L a b"),
        (HEAD + "A,x,Lab 50 nan 0,,\n", 2, "write Lab L a b"),
        (HEAD + "A,x,Lab 150 0 0,,\n", 2, "out of range"),
        (HEAD + "A,x,Lab 50 300 0,,\n", 2, "out of range"),
        (HEAD + "A,x,xyY 0 0.3 50,,\n", 2, "out of range"),
        (HEAD + "A,x,xyY 0.3 1e-300 50,,\n", 2, "no yarn can have this colour"),
        (HEAD + "A,x,xyY 0.1 0.001 50,,\n", 2, "no yarn can have this colour"),
        ("code,colour\n" + "".join(f"{n},#000000\n" for n in range(20_001)), 20_002, "at most 20,000 yarns"),
        ("code,colour,fibre\nA,#000000,x\x1b\n", 2, "fibre"),
        (HEAD + "A,x,Lab 50 0 0 F11/2,,\n", 2, "must be one of"),
        (HEAD + "A,x,Lab 50 0 0 A/10,,\n", 2, "must be one of"),
        (HEAD + "a,x,#000000,,\n", 2, "A-Z, 0-9"),
        (HEAD + "ABCDEFG,x,#000000,,\n", 2, "1 to 6"),
        (HEAD + "-1,x,#000000,,\n", 2, "spreadsheet"),
        (HEAD + "A,=1+1,#000000,,\n", 2, "spreadsheet formula"),
        (HEAD + "A,x\x1b[31m,#000000,,\n", 2, "printable"),
        (HEAD + "A,x\u202e,#000000,,\n", 2, "printable"),
        (HEAD + "A,x,#000000,6/2,\n", 2, "two ways"),
        (HEAD + "A,x,#000000,,-3\n", 2, "zero or more"),
        (HEAD + "A,x,#000000,,inf\n", 2, "zero or more"),
        (HEAD + "A,x,#000000,\n", 2, "the line has 4 values, where the header has 5"),
        (HEAD + "A,x,#000000,,\nB,y,#111111,,\nA,z,#222222,,\n", 4, "already on line 2"),
        (HEAD + 'A,"x,#000000,,\n', 2, "not CSV"),
        ("code,400nm,410nm\nA,0.1,0.1\n", 1, "420nm is missing"),
        ("code,colour,405nm\nA,#000000,1\n", 1, "steps of 10 nm"),
    ],
)
def test_a_fault_is_named_by_its_line(text: str, line: int | None, message: str) -> None:
    with pytest.raises(CardError, match=message) as caught:
        card_in(text, where="card.csv")
    assert str(caught.value).startswith(f"card.csv, line {line}: " if line else "card.csv: ")


def test_a_reflectance_that_is_missing_is_an_error() -> None:
    head = "code," + ",".join(f"{band}nm" for band in range(400, 701, 10))
    with pytest.raises(CardError, match="line 2: 410nm needs a reflectance"):
        card_in(head + "\nA,0.2," + ",".join("0.1" if band else "" for band in range(30)), where="c")


@pytest.mark.parametrize(
    ("content", "message"),
    [(None, "cannot read"), (b"code,colour\nA,#00\xff0000\n", "line 2: not UTF-8"), (b" " * 10_000_001, "larger than")],
)
def test_a_file_that_is_no_card_is_refused(tmp_path: Path, content: bytes | None, message: str) -> None:
    path = tmp_path / "wool.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CardError, match=message) as caught:
        read_card(path)
    assert "wool.csv" in str(caught.value)


def test_a_card_from_a_spreadsheet_with_its_byte_order_mark(tmp_path: Path) -> None:
    (tmp_path / "c.csv").write_bytes(b"\xef\xbb\xbfcode,colour\r\nA,#010203\r\n")
    assert read_card(tmp_path / "c.csv")[0].srgb == (1, 2, 3)


HEADER = ["code", "name", "colour", "fibre", "count", "stock_g", "price_per_kg", "supplier", "Regal"]


@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("parting", [";", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_a_card_reads_as_spreadsheets_save_it(
    parting: str, decimal: str, mark: str, ending: str, tmp_path: Path
) -> None:
    """Semicolons with decimal commas, tabs, a byte-order mark, columns of one's own (common practice of spreadsheets
    where the comma is the decimal sign)."""
    lab = f"Lab 45{decimal}5 12{decimal}25 -8"
    lines = [
        ["M-1", "Rose, deep", lab, "wool", f"Nm 5{decimal}5 x2", f"1500{decimal}5", f"12{decimal}50", "", "A 3"],
        ["B-2", "Blue", "#203080", "", "", "", "", "", ""],
    ]
    text = ending.join(parting.join(line) for line in [HEADER, *lines]) + ending
    path = tmp_path / "card.csv"
    path.write_bytes((mark + text).encode())
    card = read_whole_card(path)
    plain = "code,name,colour,fibre,count,stock_g,price_per_kg\n"
    plain += 'M-1,"Rose, deep",Lab 45.5 12.25 -8,wool,Nm 5.5 x2,1500.5,12.50\nB-2,Blue,#203080,,,,\n'
    expected = card_in(plain, where="plain.csv").yarns
    assert [replace(yarn, count=None) for yarn in card.yarns] == [replace(yarn, count=None) for yarn in expected]
    counts = [yarn.count and yarn.count.tex for yarn in card.yarns]
    assert counts == [yarn.count and yarn.count.tex for yarn in expected]
    assert card.others == ("supplier", "Regal")


@pytest.mark.parametrize("slip", ["stok_g", "stock", "price", "Colours", "cod"])
def test_a_misspelt_column_is_not_taken_for_one_of_the_workshop_s_own(slip: str) -> None:
    """A stock that is ignored would stop a loom, so the message says how to name a column of one's own."""
    with pytest.raises(CardError, match=r"line 1: unknown column .*did you mean"):
        card_in(f"code,colour,{slip}\nA,#102030,1\n", where="card.csv")


def test_a_number_with_both_signs_is_refused() -> None:
    """1.200,5 may be meant as 1200.5, but nobody should guess at a weight."""
    with pytest.raises(CardError, match=r"line 2: stock_g '1\.200,5' is not a number"):
        card_in("code;colour;stock_g\nA;#102030;1.200,5\n", where="card.csv")


def test_a_symbol_is_a_number_that_no_other_yarn_has() -> None:
    card = card_in("code,colour,symbol\nA,#000000,17\nB,#ffffff,\n", where="wool.csv").yarns
    assert [yarn.symbol for yarn in card] == [17, None]
    for symbol, fault in (
        ("0", "from 1 to 255"),
        ("256", "from 1 to 255"),
        ("star", "from 1 to 255"),
        ("17", "line 2"),
    ):
        with pytest.raises(CardError, match=fault) as caught:
            card_in(f"code,colour,symbol\nA,#000000,17\nB,#ffffff,{symbol}\n", where="wool.csv")
        assert "line 3" in str(caught.value)
