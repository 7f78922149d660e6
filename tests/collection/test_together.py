"""The report on a real season gives yarn, looms and purchases, both for all orders together and for each."""

from __future__ import annotations

import csv
import json
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest
from support.seasons import season

from chartmaker.collection.running import make_collection, read_collection
from chartmaker.ground.engines import Serial
from chartmaker.ground.errors import RugError

TAIL = """[orders.spring]
sets = ["*6x8*"]
pieces = 3
[orders.fair]
sets = ["d1-*-dusk"]
start = 2027-06-01
[looms.north]
width = "2 m"
weavers = 1
start = 2027-03-01
[dye]
hank = "10 g"
vessels = [{ name = "pot", holds = "200 g" }]
[store]
stock = "store.csv"
"""


def test_the_season_says_that_it_reckons_one_of_each_and_what_changes_a_weight(tmp_path: Path) -> None:
    """Without orders nobody saw of how many rugs the one dye order was; and warnings stayed with each set."""
    path = season(tmp_path, 'set = "figures"')
    for rug in tmp_path.glob("*-rug.toml"):
        rug.write_text(rug.read_text() + '[pile]\nyarn = "Nm 30"\n')
    make_collection(read_collection(path), tmp_path / "out", engine=Serial())
    record = json.loads((tmp_path / "out" / "collection.json").read_text())
    remarks = record["store"]["remarks"]
    assert remarks[0] == "One rug of each set is reckoned here, because the collection file has no [orders]."
    names = {each["name"] for each in record["sets"]}
    assert {name for name in names if any(r.startswith(f"{name}: ") and "would show" in r for r in remarks)} == names


def test_orders_are_calculated_together_and_one_by_one(tmp_path: Path) -> None:
    path = season(tmp_path, 'set = "figures"', TAIL)
    (tmp_path / "store.csv").write_text("code,stock_g\nW1,90\n")
    asked = read_collection(path)
    make_collection(asked, tmp_path / "out", engine=Serial())
    record = json.loads((tmp_path / "out" / "collection.json").read_text())
    sets = {each["name"]: each for each in record["sets"]}
    pieces = Counter({name: 3 for name in sets if "6x8" in name}) + Counter(
        {name: 1 for name in sets if name.startswith("d1") and name.endswith("dusk")}
    )
    assert record["store"]["pieces"] == sum(pieces.values()) == 14
    assert {shade["code"]: shade["stock_g"] for shade in record["store"]["shades"]}.items() >= {"W1": 90}.items()
    assert {shade["stock_g"] for shade in record["store"]["shades"] if shade["code"] != "W1"} == {None}
    for shade in record["store"]["shades"]:
        tenths = sum(
            number * round(yarn["mass_g"] * 10)
            for name, number in pieces.items()
            for yarn in sets[name]["yarns"]
            if yarn["code"] == shade["code"]
        )
        assert round(shade["mass_g"] * 10) == tenths
    assert [turn["set"] for turn in record["looms"]["turns"]] == [
        name for name in sets if "6x8" in name for _ in range(3)
    ] + [name for name in sets if name.startswith("d1") and name.endswith("dusk")]
    assert record["looms"]["turns"][-1]["start"] >= "2027-06-01"
    assert "Local labour law" in record["looms"]["honest"] and "acid" in " ".join(record["store"]["cautions"])
    for name, rows in (("dye-order", None), ("looms", 14), ("purchases", None)):
        with (tmp_path / "out" / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
            found = list(csv.DictReader(stream))
        assert found and (rows is None or len(found) == rows)
        if name == "purchases":  # of each kind, the amounts on all days add up to what is bought in all
            for each in found:
                kind = (each["what"], each["count"])
                sums = [Decimal(one["amount"]) for one in found if (one["what"], one["count"]) == kind]
                assert sum(sums) == Decimal(each["in_all"])
            assert any(each["amount"] != each["in_all"] for each in found)
    make_collection(asked, tmp_path / "out", engine=Serial(), orders=("fair",))
    assert json.loads((tmp_path / "out" / "collection.json").read_text())["store"]["pieces"] == 2
    with pytest.raises(RugError, match="there is no order autumn; there is spring, fair"):
        make_collection(asked, tmp_path / "out", orders=("autumn",))
    path.write_text(path.read_text().replace("d1-*-dusk", "d7-*"))
    with pytest.raises(RugError, match="no set is named d7-\\*"):
        read_collection(path)
