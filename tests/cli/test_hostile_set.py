"""Words that look like markup, scripts, formulas or paths pass through every command into every file as mere words."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image
from support.browsing import Tabs, browser, tabs, visited
from support.watching import Deeds, watched
from test_hostile import SEEN, is_inert, toml, tree

from chartmaker.cli.app import LazyGroup
from chartmaker.cli.faults import run
from chartmaker.jobs.outputs import SET_NAMES

__all__ = ["browser", "tabs"]

RUG_NAME = SEEN["script"]
NAMES = {"R1": SEEN["markup"], "B1": SEEN["paragraph"], "W1": SEEN["page"], "G1": SEEN["template"]}
FIBRES = {"R1": "[bold]wool[/]", "B1": "<i>silk</i>", "W1": SEEN["path"], "G1": SEEN["formula"]}
COLOURS = {"R1": "#a02820", "B1": "#202c60", "W1": "#f0e8d8", "G1": "#707030"}
FOLDER, PICTURE, CARD = "[red]x[[] $(touch owned) <b> \u202e\n", "-a\x1b[31m=1+1'\".png", "'; touch owned.csv"
#: What a PDF must not hold if it is to be no more than paper (ISO 32000-1: 12.6 actions, 12.7 forms, 7.11.4 embedded
#: files).
ACTS = {
    *("/JavaScript", "/JS", "/OpenAction", "/AA", "/A", "/URI", "/Launch", "/SubmitForm", "/GoToR", "/Annots"),
    *("/EmbeddedFile", "/EmbeddedFiles", "/AcroForm", "/RichMedia", "/Movie", "/Sound"),
}
COMMANDS = (
    ("make", "rug.toml", "--out", "set"),
    ("plan", "rug.toml"),
    ("knot", "rug.toml", "--out", "knots.png"),
    ("chart", "knots.png", "--out", "chart.pdf"),
    ("rows", "knots.png", "--out", "rows.pdf"),
    ("rows", "knots.png", "--out", "rows.txt"),
    ("loom", "knots.png", "--out", "loom.html"),
    ("pattern", "rug.toml", "--out", "pattern.pdf", "--roll", "24 in"),
    ("figures", "knots.png"),
    ("figures", "knots.png", "--issue"),
    ("figures", "knots.png", "--finished-row", "5"),
    ("figures", "knots.png", "--out", "figures.pdf"),
    ("figures", "knots.png", "--out", "dye.pdf", "--sheet", "dye"),
    ("figures", "knots.png", "--out", "issue.pdf", "--sheet", "issue"),
    ("calibrate", "knots.png", "--total", "60 g"),
    ("proof", "knots.png", "--out", "proof.html"),
    ("touchup", "knots.png", "--rug", "rug.toml", "--out", "again.png"),
    ("swap", "knots.png", "--merge", "R1:B1", "--out", "swapped.png"),
    ("compare", "knots.png", "swapped.png", "--picture", "changes.png", "--places", "places.csv"),
    ("chart", "swapped.png", "--since", "knots.png", "--out", "since.pdf"),
    ("check", "rug.toml"),
    ("verify", "set"),
    ("card", CARD),
    ("card", CARD, "--out", "card.pdf"),
    ("carving", "knots.png", "--out", "carving.pdf", "--groove", "R1 | B1", "--depth", "3 mm", "--width", "3 mm"),
    ("layout", "rug.toml", "--out", "parts.png"),
    ("sizes", "rug.toml", "--out", "sizes"),
    ("collection", "season.toml", "--out", "season"),
)
PDFS = (
    *("set/chart.pdf", "set/rows.pdf", "chart.pdf", "rows.pdf", "figures.pdf", "dye.pdf", "issue.pdf", "since.pdf"),
    *("pattern.pdf", "guide.pdf", "card.pdf", "carving.pdf"),
)


@dataclass
class Done:
    """What all commands did in `folder`, and what they printed: plainly, on a colour terminal, and as JSON."""

    folder: Path
    deeds: Deeds
    plain: dict[tuple[str, ...], str] = field(default_factory=dict)
    coloured: dict[tuple[str, ...], str] = field(default_factory=dict)
    data: dict[tuple[str, ...], Any] = field(default_factory=dict)


def quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def lay_out(folder: Path) -> None:
    """Write a rug file in which every free word is hostile, with files whose names are hostile too."""
    folder.mkdir()
    pixels = np.empty((64, 48, 3), np.uint8)
    for number, colour in enumerate(COLOURS.values()):
        pixels[number * 16 : number * 16 + 16] = list(bytes.fromhex(colour[1:]))
    Image.fromarray(pixels).save(folder / PICTURE)
    lines = [f"{code},{quoted(NAMES[code])},{COLOURS[code]},{quoted(FIBRES[code])}" for code in COLOURS]
    (folder / CARD).write_text("\n".join(["code,name,colour,fibre", *lines, ""]), encoding="utf-8")
    tables = {
        "rug": f"name = {toml(RUG_NAME)}\nsize = '12x16 cm'\ndensity = '40x40 per dm'",
        "design": f"artwork = {toml(PICTURE)}",
        "yarns": f"card = {toml(CARD)}",
        "dye": f"vessels = [{{ name = {toml(SEEN['table'])}, holds = '9 kg' }}]",
        "cost": "currency = '<b>[/]'\npile_per_kg = 9",
        "loom": "weavers = 2",
        "sizes": "of = ['12x16 cm']",
    }
    season = f"[collection]\nname = {toml(RUG_NAME)}\nrugs = ['rug.toml']\n"
    (folder / "season.toml").write_text(season, encoding="utf-8")
    (folder / "rug.toml").write_text("".join(f"[{name}]\n{keys}\n" for name, keys in tables.items()), encoding="utf-8")


def say(*words: str) -> str:
    """Run a command that succeeds, and return what it prints."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(list(words))
    assert code == 0, f"{words}: {err.getvalue()}"
    assert err.getvalue() == ""
    return out.getvalue()


@contextlib.contextmanager
def on_one_core() -> Iterator[None]:
    """Keep to one core, where no command starts a second process, so that any process that is started is noticed."""
    mine = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(mine)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, mine)  # else all later tests of this process would share the core with their programs


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Done]:
    place = tmp_path_factory.mktemp("hostile") / FOLDER
    lay_out(place)
    home = Path.cwd()
    os.chdir(place)
    with on_one_core(), watched() as deeds, pytest.MonkeyPatch.context() as patch:
        result = Done(place, deeds)
        for words in COMMANDS:
            result.plain[words] = say(*words)
            if words[0] == "make":
                continue  # the JSON that it prints is the summary that it wrote
            writes = words[0] not in ("collection", "sizes") and ("--out" in words or "--places" in words)
            again = (*words, "--replace") if writes else words
            result.data[words] = json.loads(say(*again, "--json"), parse_constant=pytest.fail)
            if "--out" not in words:
                patch.setenv("FORCE_COLOR", "1")
                patch.setenv("TERM", "xterm-256color")
                result.coloured[words] = say(*again)
                patch.undo()
    yield result
    os.chdir(home)


def test_every_command_was_run() -> None:
    assert {words[0] for words in COMMANDS} == set(LazyGroup.summaries) - {"manual"}  # the manual takes no words


def test_nothing_is_written_elsewhere_and_nothing_is_sent(done: Done) -> None:
    # The sets of a season are made in processes of our own, which are started without any word from outside.
    ours = [deed for deed in done.deeds.forbidden if "from chartmaker.ground.mate import serve" in deed]
    assert done.deeds.forbidden == ours
    assert not any(word in deed for deed in ours for word in (*NAMES.values(), RUG_NAME, PICTURE, CARD))
    devices = {Path(os.devnull), Path("/dev/urandom")}
    outside = {path for path in done.deeds.written - devices if not path.is_relative_to(done.folder)}
    assert {path for path in outside if path.name != "__pycache__" and path.suffix != ".pyc"} == set()
    outputs = {
        words[words.index(name) + 1]
        for words in COMMANDS
        for name in ("--out", "--picture", "--places")
        if name in words
    }
    season = {name for name in tree(done.folder) if name.startswith(("season/", "sizes/"))}
    assert {"season/collection.html", "season/collection.csv"} <= season
    assert all(re.fullmatch(r"[a-z0-9./_-]+", name) for name in season)
    beside = {"guide.pdf", "pattern.svg"}
    made = (
        {"rug.toml", "season.toml", PICTURE, CARD} | beside | season | outputs | {f"set/{name}" for name in SET_NAMES}
    )
    assert tree(done.folder) == made
    assert tree(done.folder.parent) == {FOLDER, *(f"{FOLDER}/{name}" for name in made)}


def test_the_terminal_is_sent_visible_letters_only(done: Done) -> None:
    for words, text in done.plain.items():
        assert is_inert(text), words
    table = done.plain["card", CARD]
    for text in (*NAMES.values(), *FIBRES.values()):
        assert text in table


def test_a_terminal_is_sent_no_codes_but_colours(done: Done) -> None:
    colour = re.compile(r"\x1b\[[0-9;]*m")  # these sequences only select colours and weights (ECMA-48, 8.3.117)
    assert colour.search(done.coloured["card", CARD])
    for words, text in done.coloured.items():
        assert is_inert(colour.sub("", text)), words
    for text in NAMES.values():
        assert text in colour.sub("", done.coloured["card", CARD])


def test_json_holds_the_words_as_they_are(done: Done) -> None:
    summary = json.loads((done.folder / "set" / "summary.json").read_bytes(), parse_constant=pytest.fail)
    assert summary["rug"]["name"] == RUG_NAME
    assert {yarn["code"]: yarn["name"] for yarn in summary["yarns"]} == NAMES
    assert {yarn["code"]: yarn["fibre"] for yarn in done.data["card", CARD]["yarns"]} == FIBRES


def test_csv_fields_are_no_formulas(done: Done) -> None:
    for name in ("set/yarns.csv", "set/rows.csv", "places.csv"):
        with (done.folder / name).open(encoding="utf-8", newline="") as stream:
            header, *rows = csv.reader(stream, strict=True)
        assert rows, name
        for row in rows:
            assert len(row) == len(header)
            for cell in row:
                assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r"), cell
        if "name" in header:
            assert {row[header.index("code")]: row[header.index("name")] for row in rows} == NAMES


def walk(value: Any) -> Iterator[str]:
    """Yield the names in a PDF object as qpdf prints it: keys and values with a slash, but text with u: or b:."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from walk(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from walk(inner)
    elif isinstance(value, str) and value.startswith("/"):
        yield value


@pytest.mark.parametrize("name", PDFS)
def test_a_pdf_is_no_more_than_paper(done: Done, name: str) -> None:
    command = ["qpdf", "--json=2", "--json-key=qpdf", name]
    read = subprocess.run(command, cwd=done.folder, capture_output=True, text=True, check=True)
    names = set(walk(json.loads(read.stdout)))
    assert "/Page" in names
    assert not names & ACTS


@pytest.mark.parametrize("name", PDFS)
def test_a_pdf_shows_the_words_as_words(done: Done, name: str) -> None:
    document = pdfium.PdfDocument((done.folder / name).read_bytes())
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    if name == "card.pdf":  # a card belongs to no rug
        assert all(said[:12] in text for said in NAMES.values())
        return
    assert RUG_NAME[:12] in text  # a long name ends in an ellipsis where a line is short
    assert document.get_metadata_value("Title").find(RUG_NAME) >= 0
    if name == "figures.pdf":
        for said in (*NAMES.values(), SEEN["table"]):
            assert said[:8] in text


class Scripts(HTMLParser):
    """Notes the elements that could act, with every attribute that could."""

    def __init__(self) -> None:
        super().__init__()
        self.active: list[tuple[str, tuple[str, ...]]] = []
        self.names: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        if tag == "script":
            self.active.append((tag, tuple(value or "" for key, value in attrs if key == "type")))
        for key, value in attrs:
            assert not key.startswith("on"), f"{tag} {key}"
            assert key not in ("src", "srcset", "action", "formaction", "ping"), f"{tag} {key}"
            assert key != "href" or str(value).startswith("#")


@pytest.mark.parametrize("name", ["set/proof.html", "proof.html", "set/loom.html", "season/collection.html"])
def test_the_page_holds_no_markup_from_outside(done: Done, name: str) -> None:
    """The page is taken apart by an independent parser, that of the standard library."""
    page = Scripts()
    page.feed((done.folder / name).read_text(encoding="utf-8"))
    assert not page.names & {"img", "iframe", "object", "embed", "link", "base"}
    kinds = [kinds for _, kinds in page.active]
    assert kinds.count(()) + kinds.count(("module",)) == 1
    assert set(kinds) <= {(), ("module",), ("application/json",), ("text/plain",)}


def test_the_page_runs_no_script_from_outside(done: Done, browser: Tabs) -> None:
    with visited(browser.new_context(), done.folder / "set" / "proof.html") as seen:
        assert seen.page.title() == RUG_NAME
        listed = seen.page.locator("#yarns").inner_text()
        for text in NAMES.values():
            assert text in listed
        assert seen.page.locator("img").count() == 0
