"""A collection asks for all combinations of its lists, each set under one name, cut down by skip and only."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.collection.combining import wanted_of
from chartmaker.ground.errors import RugError
from chartmaker.order.collectionfile import read_collectionfile

FILES = [Path("harbour.toml"), Path("meadow.toml")]


def asked(folder: Path, collection: str = "", rest: str = "") -> list[str]:
    path = folder / "season.toml"
    path.write_text(f'[collection]\nrugs = ["*.toml"]\n{collection}\n{rest}', encoding="utf-8")
    return [each.name for each in wanted_of(read_collectionfile(path), FILES)]


ALL = """[sizes]
of = ["5x8ft", "5'3\\" x 7'10\\""]
[colourways.dawn]
[colourways.dusk]
A = "B"
[qualities.fine]
density = "12/60 indian"
pile = "9 mm"
"""


def test_there_is_a_set_for_each_combination_in_the_order_of_the_file(tmp_path: Path) -> None:
    sizes = ["5x8ft", "5ft3in-x-7ft10in"]
    product = itertools.product(["harbour", "meadow"], sizes, ["fine"], ["dawn", "dusk"])
    names = [f"{design}-{size}-{way}-{quality}" for design, size, quality, way in product]
    assert asked(tmp_path, rest=ALL) == names
    assert asked(tmp_path) == ["harbour", "meadow"]


def test_a_quality_lays_tables_over_the_rug_file_and_a_size_replaces_width_and_length(tmp_path: Path) -> None:
    path = tmp_path / "season.toml"
    every = '[every.rug]\nwidth = "1 m"\nlength = "2 m"\n[every.chart]\npaper = "A3"\n'
    path.write_text(f'[collection]\nrugs = ["*.toml"]\n{ALL}{every}', encoding="utf-8")
    first = wanted_of(read_collectionfile(path), FILES)[0]
    assert first.over == {
        "rug": {"density": "12/60 indian", "pile": "9 mm", "size": "5x8ft"},
        "chart": {"paper": "A3"},
    }
    assert first.title == "{name}, dawn, fine"


def test_skip_and_only_cut_it_down_and_must_name_something(tmp_path: Path) -> None:
    left = asked(tmp_path, 'skip = ["*-dusk-*"]\nonly = ["harbour-*"]', ALL)
    assert left == ["harbour-5x8ft-dawn-fine", "harbour-5ft3in-x-7ft10in-dawn-fine"]
    with pytest.raises(RugError, match="no set is named harbor; did you mean harbour"):
        asked(tmp_path, 'skip = ["harbor"]')
    with pytest.raises(RugError, match="leave no set"):
        asked(tmp_path, 'skip = ["*"]')


def test_two_sets_of_one_name_are_refused_with_both(tmp_path: Path) -> None:
    with pytest.raises(RugError, match=r"called harbour \(of harbour.toml and harbour.toml\).*\{colourway\}"):
        asked(tmp_path, 'names = "{design}"', ALL)
    with pytest.raises(RugError, match="cannot be the name of a set's folder"):
        asked(tmp_path, 'names = "..."')


def test_a_wrong_file_is_refused_in_one_message(tmp_path: Path) -> None:
    for text, said in (
        ('names = "{desing}"', r"\{desing\} is not one of the names.*did you mean .design"),
        ('names = "{design"', "without its partner"),
        ('rug = ["x"]', "unknown key rug; did you mean rugs"),
    ):
        with pytest.raises(RugError, match=said):
            asked(tmp_path, text)
    for rest, said in (
        ('[looms.north]\nwidth = "3 m"\nweavers = 2\nstart = "soon"', r"\[looms\] north.*is not a day"),
        ('[qualities.fine]\ndensty = "9/60 indian"', r"\[qualities.fine\].*did you mean density"),
        ("[every.lom]\npicks = 2", r"lom is neither a table.*did you mean loom"),
        ("[colorways.dawn]", "unknown table colorways; did you mean colourways"),
        ('[calendar]\nrest = ["sun"]', "is not one of"),
    ):
        with pytest.raises(RugError, match=said):
            asked(tmp_path, rest=rest)


@given(st.text(min_size=1, max_size=30), st.text(min_size=1, max_size=30))
def test_a_name_never_leaves_its_folder(way: str, quality: str) -> None:
    import tempfile
    import tomllib

    with tempfile.TemporaryDirectory() as name:
        quoted = ['"' + "".join(f"\\U{ord(c):08x}" for c in word) + '"' for word in (way, quality)]
        try:
            tomllib.loads(f"x = {quoted[0]}\ny = {quoted[1]}")
            names = asked(Path(name), rest=f"[colourways.{quoted[0]}]\n[qualities.{quoted[1]}]\npile = '9 mm'")
        except (RugError, tomllib.TOMLDecodeError):
            return
        for each in names:
            assert Path(each).name == each and not each.startswith(".") and (Path(name) / each).parent == Path(name)
