"""The command `swap` merges, exchanges and recolours yarns."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.editing import said_json, write_card
from support.making import SettledMap, make_yarn, opened

from chartmaker.cli.faults import run


def test_swap_writes_a_new_map_with_its_counts(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    swaps = ["--merge", "Y001:Y000", "--exchange", "Y002:Y003", "--recolour", "Y004:Y050", "--card", "card.csv"]
    assert run(["swap", "old.png", *swaps, "--out", "new.png", "--json"]) == 0
    said = said_json(capsys)
    assert {(swap["before"], swap["after"]) for swap in said["swaps"]} == {
        ("Y001", "Y000"),
        ("Y002", "Y003"),
        ("Y003", "Y002"),
        ("Y004", "Y050"),
    }
    back = opened(Path("new.png"))
    assert said["map"]["sha256"] == back.sha256
    counts = dict(zip((yarn.code for yarn in old.yarns), old.counts.tolist(), strict=True))
    assert dict(zip((yarn.code for yarn in back.yarns), back.counts.tolist(), strict=True)) == {
        "Y000": counts["Y000"] + counts["Y001"],
        "Y002": counts["Y003"],
        "Y003": counts["Y002"],
        "Y050": counts["Y004"],
    }


def test_swap_says_when_two_yarns_become_one(old: SettledMap, capsys: pytest.CaptureFixture[str]) -> None:
    write_card("two.csv", (make_yarn(60, (0, 0, 0)), make_yarn(61, (255, 255, 255))))
    assert run(["swap", "old.png", "--card", "two.csv", "--by", "nearest", "--out", "new.png"]) == 0
    assert "what was drawn between them is lost" in capsys.readouterr().out
    assert run(["swap", "old.png", "--card", "two.csv", "--by", "distinct", "--out", "n.png"]) == 4
    assert run(["swap", "old.png", "--card", "two.csv", "--by", "code", "--out", "n.png"]) == 4


def test_swap_takes_the_card_of_the_rug_file(old: SettledMap) -> None:
    rug = '[rug]\nname = "Test rug"\nsize = "6x4 cm"\ndensity = "40x50 per dm"\n[yarns]\ncard = "card.csv"\n'
    Path("rug.toml").write_text(rug)
    given = ["swap", "old.png", "--recolour", "Y004:Y050", "--rug", "rug.toml", "--out", "new.png", "--quiet"]
    assert run(given) == 0
    assert "Y050" in {yarn.code for yarn in opened(Path("new.png")).yarns}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "there is nothing to do"),
        (["--merge", "Y001"], "two yarn codes like A:B"),
        (["--merge", "a:b:c"], "two yarn codes like A:B"),
        (["--recolour", "Y001:Y050"], "a card is needed with --recolour and --by"),
        (["--merge", "Y001:Y000", "--card", "card.csv"], "a card is needed with --recolour and --by"),
    ],
)
def test_swap_asks_for_what_is_missing(
    old: SettledMap, capsys: pytest.CaptureFixture[str], arguments: list[str], message: str
) -> None:
    assert run(["swap", "old.png", *arguments, "--out", "new.png"]) == 2
    assert message in capsys.readouterr().err
    assert not Path("new.png").exists()
