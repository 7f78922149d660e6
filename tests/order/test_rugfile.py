"""What the rug file takes, and what it refuses by the name of table and key."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.errors import RugError
from chartmaker.order.rugfile import from_tables, merge, read_rugfile, to_tables

RUG = '[rug]\nwidth = "120 cm"\nlength = "1.8 m"\ndensity = "9/60 indian"\n'


def said(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "rug.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_rug_file_gives_the_rug_its_workshop_and_its_yarns(tmp_path: Path) -> None:
    order = read_rugfile(said(tmp_path, RUG + '[loom]\nweavers = 2\n[yarns]\ncard = "wool.csv"\nkeep = ["A1"]\n'))
    assert (order.rug.width_mm, order.rug.length_mm) == (1200, 1800)
    assert order.workshop.loom.weavers == 2
    assert order.workshop.loom.model_fields_set == {"weavers"}
    assert order.yarns.keep == ("A1",)
    assert order.folder == tmp_path


def test_a_size_may_stand_for_width_and_length(tmp_path: Path) -> None:
    order = read_rugfile(said(tmp_path, '[rug]\nsize = "5x8ft"\ndensity = "100 kpsi"\n'))
    assert (order.rug.columns, order.rug.rows) == (600, 960)


def test_the_command_line_overrides_the_rug_file(tmp_path: Path) -> None:
    order = read_rugfile(said(tmp_path, RUG), {"rug": {"size": "10x20 cm"}, "loom": {"weavers": 1}})
    assert (order.rug.width_mm, order.rug.length_mm) == (100, 200)
    assert merge({"rug": {"width": "1 m"}}, {"rug": {"length": "2 m"}}) == {"rug": {"width": "1 m", "length": "2 m"}}


lengths = st.fractions(Fraction(50), Fraction(3000), max_denominator=1000)


@given(width=lengths, length=lengths, density=st.sampled_from(["9/60 indian", "50 raj (6.5 cm)", "40x45 per dm"]))
def test_an_order_comes_back_from_its_own_tables(width: Fraction, length: Fraction, density: str) -> None:
    tables = {
        "rug": {"width": f"{width} mm", "length": f"{length} mm", "density": density},
        "pile": {"cut": "9.5 mm", "waste": "12%"},
        "chart": {"strips": [1, 3]},
    }
    order = from_tables(tables, where="here")
    assert order.rug.width_mm == width
    again = from_tables(to_tables(order.rug, order.workshop), where="here")
    assert (again.rug, again.workshop) == (order.rug, order.workshop)
    assert again.workshop.pile.model_fields_set == {"cut_mm", "waste"}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"\[rug\]: the size and the density are missing"),
        ("[rug]\n", r"\[rug\] .*missing"),
        ("rug = 3\n", r"\[rug\]"),
        ("[rug\n", "not a TOML file.*line 1"),
        ("[rug]\nsize = 30x40 cm\n", "not a TOML file.*words and sizes stand in quotes"),
        ('[rug]\nsize = "30x40 cm"\ndensty = "9/60 indian"\n', "densty; did you mean density.*1 more to mend"),
        (RUG + "[loom]\nweevers = 2\n", r"\[loom\] weevers: unknown key weevers; did you mean weavers\?"),
        (RUG + "[lom]\n", r"\[lom\]: unknown table lom; did you mean loom\?"),
        (RUG + "[zzz]\n", "unknown table zzz; known: .*loom"),
        (RUG + '[loom]\nweavers = "two"\n', r"\[loom\] weavers: 'two' is not a whole number$"),
        (RUG + "[loom]\nweavers = 0\n", r"\[loom\] weavers: 0 is too small; the least is 1$"),
        (RUG + '[rug2]\nwidth = "1 m"\n', "did you mean rug"),
        (RUG + 'knot = "assymetric"\n', r"\[rug\] knot: 'assymetric' is not one of .*; did you mean asymmetric"),
        (RUG + "[pile]\ncut = 9\n", r"\[pile\] cut: 9 is not in quotes; write a length with its unit"),
        (RUG + '[pile]\ncut = "-9 mm"\n', "not a length"),
        (RUG + "[pile]\nwaste = 1.5\n", "not a share"),
        (RUG + "[pile]\nwaste = nan\n", "not a share"),
        (RUG + "[pile]\ngrams_per_1000_knots = inf\n", "inf is not a number that can be used"),
        (RUG + '[pile]\nyarn = "6/2"\n', r"\[pile\] yarn: '6/2' can be read two ways"),
        (RUG + 'size = "1x2 m"\n', "either size, or width and length"),
        ('[rug]\nsize = "5x8"\ndensity = "9/60 indian"\n', "'5x8' needs its unit"),
        ('[rug]\nsize = "0x8 ft"\ndensity = "9/60 indian"\n', "not a length above zero"),
        ('[rug]\nsize = "-5x8 ft"\ndensity = "9/60 indian"\n', "not a length"),
        ('[rug]\nsize = "5x8 km"\ndensity = "9/60 indian"\n', "not a length"),
        ('[rug]\nsize = "5x800 m"\ndensity = "9/60 indian"\n', "length 80000 cm cannot be right for a rug"),
        ('[rug]\nsize = "5x8 ft"\ndensity = "9/60"\n', "two ways: '9/60 indian' = 10 x 13.33"),
        ('[rug]\nsize = "5x8 ft"\ndensity = "50 raj"\n', "needs its gereh"),
        ('[rug]\nsize = "5x8 ft"\ndensity = "0 kpsi"\n', "above zero"),
        ('[rug]\nsize = "5x8 ft"\ndensity = "99999 kpsi"\n', "rugs have"),
        ('[rug]\nsize = "49x49 m"\ndensity = "12/60 indian"\n', "the most is 150,000,000"),
        (RUG + 'name = "a\\u001bb"\n', "printable text"),
    ],
)
def test_a_message_names_the_table_and_the_key(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(RugError, match=message) as caught:
        read_rugfile(said(tmp_path, text))
    assert "rug.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_key_laid_over_what_is_no_table_is_refused_by_the_checker(tmp_path: Path) -> None:
    with pytest.raises(RugError, match=r"\[rug\]"):
        read_rugfile(said(tmp_path, "rug = 3\n"), {"rug": {"name": "x"}})


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "cannot read the rug file"),
        (b"[rug]\nname = '\xff'\n", "line 2: not UTF-8"),
        (b"a = " + b"[" * 9000, "nested too deeply|not a TOML"),
        (b"#" * 1_000_001, "larger than 1 MB"),
    ],
)
def test_a_file_that_is_no_rug_file_is_refused(tmp_path: Path, content: bytes | None, message: str) -> None:
    path = tmp_path / "rug.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(RugError, match=message) as caught:
        read_rugfile(path)
    assert "rug.toml" in str(caught.value)
