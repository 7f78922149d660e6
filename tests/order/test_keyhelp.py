"""Every key of the rug file is explained from the model that checks it."""

from __future__ import annotations

import tomllib

import pytest

from chartmaker.order.keyhelp import KeyHelp, tables_explained
from chartmaker.order.rugfile import LISTED, from_tables, keys

NEEDED = {"rug": {"size": "120x180 cm", "density": "9/60 indian"}}
EVERY = [(table, key) for table, kept in tables_explained().items() for key in kept]


def test_every_key_that_the_checker_takes_has_its_meaning() -> None:
    explained = {table: [key.key for key in kept] for table, kept in tables_explained().items()}
    for table, names in keys().items():
        assert set(names) - {"size"} == set(explained[table])
    assert all(key.meaning and key.meaning[-1] != "." for _, key in EVERY)


@pytest.mark.parametrize(("table", "key"), EVERY, ids=lambda value: getattr(value, "key", value))
def test_a_default_that_is_written_out_changes_nothing(table: str, key: KeyHelp) -> None:
    """What the manual gives as a default may be written into the rug file, and the order stays the same."""
    if not key.default or table == "dye.vessels":
        return
    said = tomllib.loads(f"[{table}]\n{key.key} = {key.default}")
    tables = {name: NEEDED.get(name, {}) | said.get(name, {}) for name in {*NEEDED, *said}}
    order, plain = from_tables(tables, where="here"), from_tables(NEEDED, where="here")
    assert (order.rug, order.design, order.yarns, order.workshop) == (
        plain.rug,
        plain.design,
        plain.yarns,
        plain.workshop,
    )


@pytest.mark.parametrize(("table", "key"), EVERY, ids=lambda value: getattr(value, "key", value))
def test_examples_and_words_can_be_written(table: str, key: KeyHelp) -> None:
    for value in (*key.words, *filter(None, [key.example])):
        text = value if value == key.example or value.isdigit() else f'"{value}"'
        if value != key.example and key.example.startswith("["):  # this is one of the words of a list
            text = f"[{text}]"
        if table in LISTED:  # a region must lie somewhere
            where = "" if key.key in ("box", "mask") else "box = [0, 0, 9, 9]"
            said = tomllib.loads(f"[[{table}]]\n{where}\n{key.key} = {text}")
        else:
            said = tomllib.loads(f"[{table}]\n{key.key} = {text}")
        rest = {"size": "120x180 cm"} if key.key != "width" else {"length": "2 m"}
        tables = {name: part | said.get(name, {}) for name, part in {"rug": rest | {"density": "100 kpsi"}}.items()}
        from_tables(tables | {name: part for name, part in said.items() if name != "rug"}, where="here")
