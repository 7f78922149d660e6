"""Whatever fault the checker finds in an order, the message is in the words of the trade."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from chartmaker.ground.errors import RugError
from chartmaker.order import rugfile
from chartmaker.order.complaints import SENTENCES
from chartmaker.order.rugfile import from_tables, keys

RUG = {"size": "5x8ft", "density": "9/60 indian"}
#: Each fault is listed with the type that the checker gives it, the place that is named, and the words.
FAULTS: tuple[tuple[str, dict[str, Any], str, str], ...] = (
    ("int_type", {"loom": {"picks": [2]}}, "[loom] picks", "[2] is not a whole number"),
    ("int_parsing", {"loom": {"picks": "two"}}, "[loom] picks", "'two' is not a whole number"),
    ("int_from_float", {"loom": {"picks": 2.5}}, "[loom] picks", "2.5 is not a whole number"),
    ("int_parsing_size", {"loom": {"picks": "9" * 5000}}, "[loom] picks", "is not a whole number"),
    ("value_error", {"loom": {"picks": True}}, "[loom] picks", "true is not a number"),
    ("greater_than_equal", {"loom": {"weavers": 0}}, "[loom] weavers", "0 is too small; the least is 1"),
    ("less_than_equal", {"loom": {"weavers": 31}}, "[loom] weavers", "31 is too large; the most is 30"),
    ("less_than_equal", {"loom": {"knots_per_weaver_day": 10**6}}, "[loom] knots_per_weaver_day", "is 86,400"),
    ("greater_than", {"loom": {"hours_per_day": 0}}, "[loom] hours_per_day", "0 is too small; it must be above 0"),
    ("float_type", {"cost": {"weft_per_kg": [9]}}, "[cost] weft_per_kg", "[9] is not a number; write it like 12 or"),
    ("float_parsing", {"cost": {"weft_per_kg": "9 EUR"}}, "[cost] weft_per_kg", "'9 EUR' is not a number; write"),
    ("finite_number", {"cost": {"weft_per_kg": float("nan")}}, "[cost] weft_per_kg", "nan is not a number that can"),
    ("finite_number", {"cost": {"weft_per_kg": float("inf")}}, "[cost] weft_per_kg", "inf is not a number that can"),
    ("bool_type", {"chart": {"whole": []}}, "[chart] whole", "[] is neither true nor false"),
    ("bool_parsing", {"chart": {"whole": "perhaps"}}, "[chart] whole", "'perhaps' is neither true nor false"),
    ("too_long", {"cost": {"currency": "silver coin"}}, "[cost] currency", "it may have at most 8 letters"),
    (
        "tuple_type",
        {"yarns": {"keep": "M-11"}},
        "[yarns] keep",
        "'M-11' is not a list; write the values in brackets, such as ['M-11']",
    ),
    ("dict_type", {"pile": {"heights": "9 mm"}}, "[pile] heights", "'9 mm' is not a table; write it in braces"),
    ("model_type", {"loom": 3}, "[loom]", "3 is not a table; write its keys below [loom], one on each line"),
    ("literal_error", {"design": {"turn": 45}}, "[design] turn", "45 is not one of 0, 90, 180 or 270"),
    (
        "literal_error",
        {"design": {"fit": "crob"}},
        "[design] fit",
        "'crob' is not one of 'stretch', 'crop', 'pad' or 'relay'",
    ),
    ("literal_error", {"design": {"fit": ["crop"]}}, "[design] fit", "['crop'] is not one of"),
    ("extra_forbidden", {"loom": {"weevers": 2}}, "[loom] weevers", "unknown key weevers; did you mean weavers?"),
    ("extra_forbidden", {"lom": {}}, "[lom]", "unknown table lom; did you mean loom?"),
    ("missing", {"rug": {"density": "100 kpsi"}}, "[rug] width", "the size is missing; give width and length in [rug]"),
    ("missing", {"rug": {"size": "5x8ft"}}, "[rug] density", "the density is missing; give it in [rug], or as --dens"),
    ("missing", {"dye": {"vessels": [{"name": "pot"}]}}, "[dye] vessels 1", "holds is missing"),
    ("value_error", {"pile": {"cut": 9}}, "[pile] cut", "9 is not in quotes; write a length with its unit"),
    ("value_error", {"pile": {"cut": "9"}}, "[pile] cut", "'9' is not a length; write it like 170 cm"),
    ("value_error", {"pile": {"heights": {"W-07": "9"}}}, "[pile] heights W-07", "'9' is not a length"),
    ("value_error", {"dye": {"hank": 3}}, "[dye] hank", "3 is not in quotes; write a mass with its unit"),
    ("value_error", {"loom": {"warp": 3}}, "[loom] warp", "3 is not in quotes; write a yarn count"),
    ("value_error", {"rug": {"size": "5x8ft", "density": 3}}, "[rug] density", "3 is not in quotes; write a density"),
    ("value_error", {"yarns": {"skip": [3]}}, "[yarns] skip 1", "3 is not in quotes; write it as text"),
    ("value_error", {"yarns": {"card": 3}}, "[yarns] card", "3 is not in quotes; write the name of a file"),
    ("value_error", {"region": [{"style": "flat"}]}, "[[region]] 1", "give either box or mask, which say where"),
    ("value_error", {"region": [{"box": [0, 9, 5]}]}, "[[region]] 1 box", "[0, 9, 5] is no box; write left, top,"),
    ("value_error", {"region": [{"box": [5, 0, 5, 9]}]}, "[[region]] 1 box", "[5, 0, 5, 9] is an empty box"),
    (
        "extra_forbidden",
        {"region": [{"mask": "a.png"}, {"box": [0, 0, 5, 9], "styl": "flat"}]},
        "[[region]] 2",
        "unknown key styl; did you mean style?",
    ),
    ("tuple_type", {"region": {"style": "flat"}}, "[region]", "write it in double brackets, [[region]], once for each"),
    ("too_long", {"region": [{"mask": "a.png"}] * 65}, "[region]", "there are 65 of them; the most is 64"),
    ("value_error", {"chart": {"strips": "3"}}, "[chart] strips", "'3' is neither a number of strips nor a list of"),
    ("value_error", {"chart": {"strips": 0}}, "[chart] strips", "0 is too small; strips and columns are counted from"),
    ("value_error", {"chart": {"strips": 61}}, "[chart] strips", "61 is too large; the most is 60 strips"),
    ("value_error", {"chart": {"strips": [1, 0]}}, "[chart] strips", "[1, 0] is too small"),
)


def refused(tables: dict[str, Any]) -> str:
    with pytest.raises(RugError) as caught:
        from_tables({"rug": RUG} | tables, where="rug.toml")
    return str(caught.value)


@pytest.mark.parametrize(("kind", "tables", "place", "words"), FAULTS, ids=[f"{f[0]} {f[2]}" for f in FAULTS])
def test_each_fault_is_named_where_it_stands(kind: str, tables: dict[str, Any], place: str, words: str) -> None:
    said = refused(tables)
    assert said.startswith(f"rug.toml, {place}: ")
    assert words in said
    with pytest.raises(ValidationError) as found:
        rugfile._Tables.model_validate({"rug": RUG} | tables)
    assert found.value.errors()[0]["type"] == kind


def test_every_sentence_is_used_by_some_fault() -> None:
    """No sentence is kept for a fault that cannot occur, except for those of other versions of the checker."""
    others = {"less_than", "model_attributes_type", "string_too_long"}
    assert set(SENTENCES) - others == {kind for kind, *_ in FAULTS} & set(SENTENCES)


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.dates() | st.times(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=4,
)
places = st.sampled_from([(table, key) for table, names in keys().items() for key in [*names, ""]])


@settings(max_examples=400)
@given(places, values)
def test_no_message_uses_the_checkers_own_words(place: tuple[str, str], value: Any) -> None:
    table, key = place
    part = {key: value} if key else value
    tables = {"rug": RUG} | {table: RUG | part if table == "rug" and isinstance(part, dict) else part}
    try:
        from_tables(tables, where="f")
    except RugError as error:
        said = error.message.replace(repr(value), "")
        assert not re.search(r"[Ii]nput|should|valid |validat|instance|pydantic|type=", said)
        assert str(error).startswith(f"f, [{table}]")


@given(values.filter(lambda value: not isinstance(value, dict)))
def test_a_value_without_tables_is_refused_as_a_rug_file(value: Any) -> None:
    with pytest.raises(RugError, match=r"is not a rug file; a rug file has tables"):
        from_tables(value, where="f")
