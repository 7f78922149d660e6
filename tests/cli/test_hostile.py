"""Hostile words, wherever they come in, are refused in one harmless message or carried along as mere words."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, PngImagePlugin
from support.making import make_map, settled
from support.watching import watched

from chartmaker.cli.faults import exit_codes
from chartmaker.knots.knotpng import write_knotpng

#: A name that holds any of these would mislead the terminal or the eye.
UNSEEN = {
    "escape": "Red\x1b[31m\x1b]0;owned\x07",
    "c1 control": "Red\x9b31m",
    "new line": "Red\nchartmaker: all is well",
    "carriage return": "Red\rchartmaker: all is well",
    "backspace": "Red\x08\x08\x08Blue",
    "nul": "Red\0.png",
    "delete": "Red\x7f",
    "override": "Rose \u202enep\u202c",
    "isolate": "\u2066Rose\u2069",
    "mark": "Rose\u200f",
    "line separator": "Rose\u2028Pen",
    "tag": "Rose\U000e0041\U000e0042",
    "byte-order mark": "Ro\ufeffse",
    "hidden joiner": "Ro\u200dse",
    "private use": "Rose\ue000",
    "no character": "Rose\ufffe",
}
#: These are ordinary letters to everything that cannot be fooled by them.
SEEN = {
    "markup": "[red]x[/] [link=http://example.invalid]y[/link] [/]",
    "paragraph": '<b>x</b><img src="http://example.invalid/a.png"/><a href="javascript:z">y</a>',
    "script": "</script><script>document.title='broken'</script><img src=x onerror=z>",
    "template": "%s %n {0} {{data}} ${1} $(touch owned) `touch owned` ;touch owned",
    "page": ") Tj ET /S /JavaScript /JS (app.z) >> endobj \\( \\",
    "path": "../../../../owned",
    "table": "x\",\"y','z;|&",
    "formula": "x=HYPERLINK(1)",
}
FORMULAS = ("=1+1", "+1", "-1", "@SUM(1)", '=HYPERLINK("http://example.invalid")')
#: Other odd values for a field; no name has so many letters, and no file system takes such a path.
ODD = {"long": "x" * 100_000, "rather long": "x" * 500, "bytes": "R\udcffd", "empty": "", "spaces": " \t "}
ANY = UNSEEN | SEEN | ODD | dict(zip(FORMULAS, FORMULAS, strict=True))


def toml(text: str) -> str:
    """Return a TOML string of `text`."""
    return json.dumps(text, ensure_ascii=False)


def with_key(order: Path, table: str, line: str) -> Path:
    """Add a line to a table of the rug file; the bytes are those that `line` stands for."""
    text = order.read_text(encoding="utf-8")
    head = f"[{table}]\n"
    text = text.replace(head, head + line + "\n") if head in text else f"{text}\n{head}{line}\n"
    order.write_bytes(text.encode("utf-8", "surrogateescape"))
    return order


def with_name(order: Path, text: str) -> Path:
    order.write_text(order.read_text(encoding="utf-8").replace('name = "Small rug"\n', ""), encoding="utf-8")
    return with_key(order, "rug", f"name = {toml(text)}")


def with_card(order: Path, **fields: str) -> Path:
    """Write a card whose first yarn has the given fields."""
    row = {"code": "R1", "name": "Madder", "colour": "#a02820", "fibre": "wool", "count": "Nm 8 x3"} | fields
    quoted = ",".join('"' + value.replace('"', '""') + '"' for value in row.values())
    lines = [",".join(row), quoted, "B1,Indigo,#202c60,,", "W1,Ivory,#f0e8d8,,", "G1,Olive,#707030,,"]
    card = order.parent / "wool.csv"
    card.write_bytes(("\n".join(lines) + "\n").encode("utf-8", "surrogateescape"))
    return card


def with_description(knots: Path, change: Callable[[dict[str, Any]], None]) -> Path:
    """Write the knot map with its text chunk changed, as somebody with ill intent would."""
    with Image.open(knots) as picture:
        picture.load()
        said = json.loads(picture.text["chartmaker"])  # type: ignore[attr-defined]
        change(said)
        text = PngImagePlugin.PngInfo()
        text.add_itxt("chartmaker", json.dumps(said))
        transparency = picture.info["transparency"]
        picture.save(knots.parent / "changed.png", pnginfo=text, transparency=transparency, bits=8)
    return knots.parent / "changed.png"


def is_inert(text: str) -> bool:
    """Return whether a terminal shows `text` as it stands, with every character visible."""
    return all(
        unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") for c in text.replace("\n", "")
    )


def tree(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


@pytest.fixture
def harmless(order: Path, chartmaker: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Run a command that may refuse: it must print only inert words, write nothing if it fails, and send nothing."""
    monkeypatch.chdir(order.parent)

    def call(*arguments: object) -> Any:
        before = tree(order.parent)
        with watched() as deeds:
            result = chartmaker(*arguments)
        assert result.code in exit_codes()
        assert is_inert(result.err), ascii(result.err)
        assert is_inert(result.out), ascii(result.out)
        assert (result.code == 0) == (result.err == "")
        assert len(result.err) < 6_000
        assert all(line.startswith("  see: ") for line in result.err.splitlines()[1:]), result.err
        assert deeds.forbidden == []
        if result.code:
            assert result.out == ""
            assert tree(order.parent) == before
        return result

    return call


@pytest.fixture(scope="module")
def map_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small knot map for the tests to change."""
    path = tmp_path_factory.mktemp("map") / "knots.png"
    with path.open("wb") as stream:
        write_knotpng(stream, *settled(make_map(np.arange(16 * 20).reshape(20, 16) % 3)))
    return path


@pytest.mark.parametrize("what", ANY)
def test_hostile_words_in_the_rug_file_are_harmless(order: Path, harmless: Callable[..., Any], what: str) -> None:
    text = ANY[what]
    kept = order.read_bytes()
    named = harmless("plan", with_name(order, text), "--json")
    assert (named.code == 0) == (what in SEEN or what in FORMULAS)
    if named.code == 0:
        assert json.loads(named.out)["rug"]["name"] == text
    for table, line in (
        ("rug", f"{toml(text)} = 1"),
        (toml(text), "x = 1"),
        ("rug", f"knot = {toml(text)}"),
        ("rug", f"pile = {toml(text)}"),
        ("loom", f"warp = {toml(text)}"),
        ("chart", f"paper = {toml(text)}"),
        ("chart", f"cell = {toml(text)}"),
        ("pile", f"heights = {{ {toml(text)} = '9 mm' }}"),
        ("dye", f"vessels = [{{ name = {toml(text)}, holds = '9 kg' }}]"),
        ("dye", f"undyed = [{toml(text)}]"),
        ("cost", f"currency = {toml(text)}"),
    ):
        order.write_bytes(kept)
        told = harmless("plan", with_key(order, table, line))
        assert what not in UNSEEN or told.code == 3, line


@pytest.mark.parametrize("what", ANY)
def test_hostile_paths_in_the_rug_file_are_harmless(order: Path, harmless: Callable[..., Any], what: str) -> None:
    kept = order.read_text(encoding="utf-8")
    for table, key, old in (("design", "artwork", 'artwork = "art.png"\n'), ("yarns", "card", 'card = "wool.csv"\n')):
        order.write_text(kept.replace(old, ""), encoding="utf-8")
        told = harmless("make", with_key(order, table, f"{key} = {toml(ANY[what])}"), "--out", "set")
        assert told.code in (3, 4, 5)


#: One word of each kind, for places that are too many to try them all.
KINDS = ("escape", "new line", "override", "line separator", "tag", "markup", "template", "+1", *ODD)


@pytest.mark.parametrize("what", KINDS)
def test_hostile_words_on_the_command_line_are_harmless(order: Path, harmless: Callable[..., Any], what: str) -> None:
    text = ANY[what]
    for words in (
        (text,),
        (text, "--help"),
        ("plan", f"--{text}"),
        ("plan", text),
        ("plan", order, "--name", text),
        ("plan", order, "--density", text),
        ("plan", order, "--size", text),
        ("plan", order, "--weavers", text),
        ("plan", order, "--set", text),
        ("plan", order, "--set", f"rug.name={text}"),
        ("plan", order, "--set", f"{text}.x=1"),
        ("make", order, "--out", "set", "--card", text + "/x"),
        ("make", order, "--out", "set", "--keep", text + "!"),
        ("make", text + ".toml", "--out", "set"),
        ("make", text + "/art.png", "--out", "set"),
        ("knot", order, "--out", text + "/x.png"),
        ("figures", text),
        ("card", text),
        ("verify", text),
        ("check", text),
        ("rows", "knots.png", "--out", text),
        ("swap", "knots.png", "--merge", f"{text}:R1", "--out", "new.png"),
    ):
        told = harmless(*words)
        assert told.code or what not in UNSEEN, words


@pytest.mark.parametrize("what", ANY)
def test_hostile_words_on_the_card_are_harmless(order: Path, harmless: Callable[..., Any], what: str) -> None:
    text = ANY[what]
    for column in ("name", "fibre", "code", "colour", "count"):
        told = harmless("card", with_card(order, **{column: text}), "--json")
        assert what not in UNSEEN or told.code == 4, column
        assert text not in FORMULAS or told.code == 4, column
        if told.code == 0 and column in ("name", "fibre") and text.strip():
            assert json.loads(told.out)["yarns"][0][column] == text
    card = with_card(order)
    card.write_bytes(card.read_bytes().replace(b"fibre", text.encode("utf-8", "surrogateescape"), 1))
    # A column of the designer's own is ignored, unless its name breaks the line or is not text.
    broken = what in ("bytes", "table", "new line", "carriage return")
    assert harmless("card", card).code == (4 if broken else 0)


@pytest.mark.parametrize("what", ANY)
def test_hostile_words_in_a_knot_map_are_harmless(map_file: Path, harmless: Callable[..., Any], what: str) -> None:
    """A knot map may come from outside too, and what it says of its yarns reaches CSV files, sheets and screens."""
    text = ANY[what]

    def yarn(key: str) -> Callable[[dict[str, Any]], None]:
        return lambda said: said["yarns"][0].update({key: text})

    for column in ("name", "fibre", "code", "count"):
        told = harmless("figures", with_description(map_file, yarn(column)))
        assert told.code == 6 or what in SEEN or what in ("empty", "spaces"), column
    for change in (
        lambda said: said["tables"]["rug"].update({"name": text}),
        lambda said: said["tables"]["rug"].update({text: 1}),
        lambda said: said.update({"format": text}),
    ):
        told = harmless("figures", with_description(map_file, change))
        assert told.code == 6 or what in SEEN or what in FORMULAS
