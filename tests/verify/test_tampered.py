"""Sets that were tampered with, even with new hashes, or damaged always differ, and reading them never hangs."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support.repacking import repacked

from chartmaker.cli.faults import run
from chartmaker.jobs.outputs import seal
from chartmaker.verify.folder import verify_folder

Change = Callable[[Path], None]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A set as `make` writes it, on several sheets, of a rug that mirrors along its length."""
    folder = tmp_path_factory.mktemp("tampered")
    art = np.full((160, 120, 3), (160, 40, 32), np.uint8)
    art[10:-10, 10:-10] = (32, 44, 96)
    art[30:50, 20:50] = art[-50:-30, 20:50] = (240, 232, 216)
    Image.fromarray(art).save(folder / "art.png")
    (folder / "wool.csv").write_text("code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\n")
    (folder / "rug.toml").write_text(
        '[rug]\nname = "Small"\nwidth = "12 cm"\nlength = "32 cm"\ndensity = "40x50 per dm"\n'
        '[design]\nartwork = "art.png"\nfit = "stretch"\nmirror = "along"\n'
        '[yarns]\ncard = "wool.csv"\n[chart]\npaper = "A5"\n'
    )
    assert run(["make", str(folder / "rug.toml"), "--out", str(folder / "set"), "--quiet"]) == 0
    assert verify_folder(folder / "set").differences == ()
    return folder / "set"


def sealed_anew(folder: Path) -> None:
    """Make every hash of the set again, including the seal."""
    summary = json.loads((folder / "summary.json").read_text())
    for name in summary["files"]["written"]:
        summary["files"]["written"][name] = hashlib.sha256((folder / name).read_bytes()).hexdigest()
    seal(summary)
    (folder / "summary.json").write_text(json.dumps(summary, indent=2) + "\n")


def page(name: str, pattern: str, new: str | Callable[[re.Match[str]], str], one: bool = True) -> Change:
    """Return a function that changes the first match of a pattern in the contents of a PDF."""

    def tamper(folder: Path) -> None:
        change = lambda text: re.sub(pattern, new, text, count=1, flags=re.DOTALL)  # noqa: E731
        (folder / name).write_bytes(repacked((folder / name).read_bytes(), change, one))

    return tamper


def digit(found: re.Match[str]) -> str:
    """Return the match with another first figure in its last string, in glyphs of the base font."""
    text = found[0]
    place = text.rindex("<") + 1
    glyph = int(text[place : place + 4], 16)
    other = 0x13 + (glyph - 0x13 + 1) % 10 if 0x13 <= glyph <= 0x1C else glyph + 1
    return f"{text[:place]}{other:04x}{text[place + 4 :]}"


def moved(found: re.Match[str]) -> str:
    return f"{found[1]}{float(found[2]) + 9:g}"


def next_swatch(found: re.Match[str]) -> str:
    return f"{found[1]}/Y{(int(found[2]) + 1) % 3}"


def symbol(found: re.Match[str]) -> str:
    """Return the match with another last symbol."""
    return found[0][:-1] + ("3" if found[0][-1] != "3" else "1")


def span(tag: str) -> str:
    """Return a pattern for a span up to the end of its first string."""
    return rf"/kn-{tag} BMC.*?<[0-9a-f]+"


def field_digit(tag: str, name: str) -> Callable[[re.Match[str]], str]:
    """Return a function that changes the first figure of a field where the tag says that it stands."""

    def change(found: re.Match[str]) -> str:
        text = found[0]
        start = int(re.search(rf"/{name} \[(\d+)", text)[1])  # type: ignore[index]
        place = text.rindex("<") + 1 + 4 * start
        return text[:place] + f"{0x13 + (int(text[place : place + 4], 16) - 0x13 + 1) % 10:04x}" + text[place + 4 :]

    return change


def field(tag: str, name: str, one: bool = True) -> Change:
    words = rf"/kn-{tag} BMC BT [^\n]*?/kn-words <<[^>]*/{name} \[[^>]*>> BDC <[0-9a-f]+"
    return page("chart.pdf", words, field_digit(tag, name), one)


def script_field(tag: str, name: str) -> Change:
    words = rf"/kn-{tag} BMC BT [^\n]*?/kn-words <<[^>]*/{name} \[[^>]*>> BDC <[0-9a-f]+"
    return page("rows.pdf", words, field_digit(tag, name))


CHART: dict[str, Change] = {
    "a row number": page("chart.pdf", span("row"), digit),
    "a mirrored row number": page("chart.pdf", span("turned-row"), digit),
    "a column number": page("chart.pdf", span("column"), digit),
    "a length": page("chart.pdf", r"/kn-length BMC.*?BDC <[0-9a-f]+", digit),
    "a mirrored length": page("chart.pdf", r"/kn-turned-length BMC.*?BDC <[0-9a-f]+", digit),
    "a symbol": page("chart.pdf", r"/kn-cells .*?<(?!0000)[0-9a-f]{4}", symbol),
    "a colour": page("chart.pdf", r"(/kn-cells [^\n]*\nq [^\n]*\n)[\d.]+", r"\g<1>0.5"),
    "a symbol of the join": page("chart.pdf", r"/kn-join .*?<(?!0000)[0-9a-f]{4}", symbol),
    "the join left out": page("chart.pdf", r"/kn-join (.*?) BDC.*?\nEMC\n", ""),
    "the sheet's number": field("identity", "sheet"),
    "how many sheets there are": field("identity", "sheets"),
    "the map code": field("identity", "map"),
    "the first row": field("extent", "first_row"),
    "the last column": field("extent", "last_column"),
    "the strip": field("strip", "strip"),
    "the step": field("strip", "steps"),
    "the neighbour above": field("beside", "above"),
    "the row that is like another": field("turning", "like"),
    "the knots of the cover's legend": page("chart.pdf", span("knots"), digit),
    "a code of the legend": page("chart.pdf", span("code"), digit),
    "a name of the legend": page("chart.pdf", span("name"), digit),
    "a mass": page("chart.pdf", span("grams"), digit),
    "the grid on the cover": field("fact", "columns"),
    "the days on the cover": field("fact", "days"),
    "the place on the rug": page("chart.pdf", r"(/kn-place .*?\n0 g )([\d.]+)", lambda m: f"{m[1]}{float(m[2]) - 2:g}"),
    "a white box over the numbers": page("chart.pdf", r"\n$", "\n1 g 5 60 12 100 re f\n", one=False),
    "the rug's name": page("chart.pdf", r"/kn-heading BMC[^\n]*?BDC <[0-9a-f]+", digit),
    "a number moved away": page("chart.pdf", r"(/kn-row BMC\nBT [^\n]*\n[\d.]+ )([\d.]+)", moved),
}


def text_change(name: str, old: str, new: str | Callable[[re.Match[str]], str]) -> Change:
    def tamper(folder: Path) -> None:
        text = (folder / name).read_text()
        assert re.search(old, text), old
        (folder / name).write_text(re.sub(old, new, text, count=1))

    return tamper


def in_its_policy(name: str, old: str, new: str) -> Change:
    """Return a function that alters a page, and names the script and the style that it then has in its policy."""

    def tamper(folder: Path) -> None:
        text_change(name, old, new)(folder)
        text = (folder / name).read_text()
        for kind, tag in (("script", "script"), ("style", "style")):
            (part,) = re.findall(f"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
            digest = base64.b64encode(hashlib.sha256(part.encode()).digest()).decode()
            text = re.sub(f"{kind}-src 'sha256-[^']*'", f"{kind}-src 'sha256-{digest}'", text)
        (folder / name).write_text(text)

    return tamper


def loom_rows(found: re.Match[str]) -> str:
    """Return the rows of a loom page with one knot in another yarn, packed again."""
    head, _, lines = found[0].partition(">")
    first, *rest = lines.split("\n")
    cells = bytearray(zlib.decompress(base64.b64decode(first)))
    cells[100] = (cells[100] + 1) % 3
    return head + ">" + "\n".join([base64.b64encode(zlib.compress(bytes(cells))).decode(), *rest])


OTHERS: dict[str, Change] = {
    "the script's knots of a run": page("rows.pdf", r"/kn-run BMC.*?/kn-knots BMC[^<]*<[0-9a-f]+", digit),
    "the script's code of a run": page("rows.pdf", r"/kn-run BMC.*?/kn-code BMC[^<]*<[0-9a-f]+", digit),
    "the script's row number": page("rows.pdf", span("row"), digit),
    "the script's total": script_field("total", "total"),
    "the script's swatch": page("rows.pdf", r"(/kn-legend BMC\s*q [^/]*)/Y(\d)", next_swatch),
    "the script's last row back": script_field("extent", "last_back"),
    "the page's rug": text_change("proof.html", '"name":"Small"', '"name":"Smale"'),
    "the page's knots": text_change("proof.html", r'"knots":\d', '"knots":9'),
    "the page's words": text_change("proof.html", r'"facts":\["\d', '"facts":["9'),
    "the page's masses": text_change("proof.html", r'"figures":"\d', '"figures":"9'),
    "the page's share": text_change("proof.html", r'"share":"\d', '"share":"0'),
    "the page's script": text_change("proof.html", '"use strict";', '"use strict";alert(1);'),
    "the loom page's rug": text_change("loom.html", '"name":"Small"', '"name":"Smale"'),
    "the loom page's call": text_change("loom.html", '"call":"Madder"', '"call":"Indigo"'),
    "the loom page's colour": text_change("loom.html", '"srgb":"#a0', '"srgb":"#b0'),
    "the loom page's masses": text_change("loom.html", r'"grams":\d', '"grams":9'),
    "the loom page's bundles": text_change("loom.html", r'"bundles":\[\[\d', '"bundles":[[9'),
    "the loom page's pile": text_change("loom.html", r'"cutMm":\d+', '"cutMm":3'),
    "the loom page's length": text_change("loom.html", r'"loomRowMm":\d', '"loomRowMm":9'),
    "the loom page's strips": text_change("loom.html", r'"strips":\[\[0', '"strips":[[1'),
    "the loom page's mirror": text_change("loom.html", r'"along":true', '"along":false'),
    "the loom page's rows": text_change("loom.html", r'id="loom-rows"[^>]*>[^<]*', loom_rows),
    "the loom page's marks": text_change("loom.html", r'(id="loom-marks"[^>]*>)....', r"\g<1>AAAA"),
    "the loom page's script": text_change("loom.html", '"use strict";', '"use strict";alert(1);'),
    "a run": text_change("rows.csv", "R1\n", "B1\n"),
    "a mass of yarns.csv": text_change("yarns.csv", r"(#a02820,\d+,[\d.]+,)\d", r"\g<1>9"),
    "the warp": text_change("summary.json", r'"warp_ends": \d', '"warp_ends": 7'),
    "the yarn issued": text_change("summary.json", r'"issued_g": \d', '"issued_g": 9'),
    "a weaver's columns": text_change("summary.json", r'("weavers": \[\s*\{[^}]*"last_column": )\d', r"\g<1>9"),
    "the mass as sheared": text_change("summary.json", r'("rug_mass_sheared_g": \{\s*"low": )\d', r"\g<1>99"),
    "the area": text_change("summary.json", r'"area_m2": 0\.\d', '"area_m2": 0.9'),
    "the days": text_change("summary.json", r'"days": \d', '"days": 7'),
    "the base yarn": text_change("summary.json", r'"base": "wool', '"base": "silk'),
    "the hanks": text_change("summary.json", r'("wanted_g": [\d.]+,[^}]*?"order_g": )\d', r"\g<1>7"),
    "the weft of the ends": text_change("summary.json", r'"kilim_weft_length_m": \d', '"kilim_weft_length_m": 77'),
    "the knots of a section": text_change("summary.json", r'("sections": \[\s*\{[^}]*"knots": )\d', r"\g<1>9"),
    "a finding of the map": text_change("summary.json", r'("findings": \[\s*\{\s*"what": ")', r"\g<1>No: "),
    "how severe a finding is": text_change("summary.json", r'"severity": "[a-z]+"', '"severity": "error"'),
    "the mean of the match": text_change("summary.json", r'("match": \{\s*"mean_de00": )[\d.]+', r"\g<1>0.9"),
    "the percentile of the match": text_change("summary.json", r'("p95_de00": )[\d.]+', r"\g<1>0.9"),
    "the greatest miss of the match": text_change("summary.json", r'("max_de00": )[\d.]+', r"\g<1>90.5"),
    "a column more of yarns.csv": text_change("yarns.csv", r"code,", "code,order_note,"),
    "a key twice": text_change("summary.json", r'"rug": \{', '"rug": {"name": "Other", '),
}

#: What a page does, altered together with the policy that would stop it.
PAGES: dict[str, Change] = {
    f"{what} of {name}": in_its_policy(name, old, new)
    for name in ("proof.html", "loom.html")
    for what, old, new in (
        ("a line more in the script", '"use strict";', '"use strict";document.title="";'),
        ("a figure in the script", r"(\W)1(\W)(?=[^<]*</script>\s*</body>)", r"\g<1>2\g<2>"),
        ("a rule more in the style", "</style>", "canvas{transform:scaleX(-1)}</style>"),
        ("a button more in the markup", "</main>", "<button>1</button></main>"),
        ("an id in the markup", '<canvas id="[a-z]+"', '<canvas id="other"'),
        ("a source more in the policy", "base-uri 'none'", "connect-src *; base-uri 'none'"),
    )
}


@pytest.mark.parametrize("what", PAGES)
def test_a_page_that_does_something_else_is_found_whatever_its_policy_says(
    made: Path, tmp_path: Path, what: str
) -> None:
    """The reader of the page finds nothing in most of these, since the page still says what it said."""
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    PAGES[what](folder)
    sealed_anew(folder)
    name = what.rpartition(" of ")[2]
    found = verify_folder(folder).differences
    assert [(each.file, "not those of a page of this chartmaker" in each.what) for each in found] == [(name, True)]


def test_a_page_of_another_version_is_not_called_forged(made: Path, tmp_path: Path) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    text_change("summary.json", r'("chartmaker": ")[^"]*', r"\g<1>0.0.7")(folder)
    sealed_anew(folder)
    assert verify_folder(folder).differences == (), "its pages are the same as now"
    PAGES["a line more in the script of loom.html"](folder)
    sealed_anew(folder)
    (found,) = verify_folder(folder).differences
    assert found.file == "loom.html"
    assert "chartmaker 0.0.7 made it" in found.what and "verify it with that version" in found.what


@pytest.mark.parametrize("what", [*CHART, *OTHERS])
def test_a_set_that_was_tampered_with_differs(made: Path, tmp_path: Path, what: str) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    (CHART | OTHERS)[what](folder)
    if what != "a key twice":
        sealed_anew(folder)
    found = verify_folder(folder).differences
    assert found, what
    if what not in ("a key twice", "the page's script", "the loom page's script"):
        assert any(not each.what.startswith("cannot be read") for each in found), found


def test_the_list_of_tamperings_is_long_enough() -> None:
    assert len(CHART) >= 25 and len(CHART) + len(OTHERS) >= 40


def test_a_chart_that_is_only_packed_again_differs_in_nothing(made: Path, tmp_path: Path) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    for name in ("chart.pdf", "rows.pdf"):
        (folder / name).write_bytes(repacked((folder / name).read_bytes(), lambda text: text + "\n"))
    sealed_anew(folder)
    assert verify_folder(folder).differences == ()


def test_the_seal_covers_what_does_not_follow_from_the_map(made: Path, tmp_path: Path) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    kept = verify_folder(folder).seal
    assert run(["verify", str(folder), "--seal", kept]) == 0
    text_change("summary.json", r'"style": "flat"', '"style": "shaded"')(folder)
    assert [each.file for each in verify_folder(folder).differences] == ["summary.json"]
    sealed_anew(folder)
    assert verify_folder(folder).differences == ()
    assert run(["verify", str(folder), "--seal", kept]) == 9
    (folder / "more.pdf").write_bytes(b"")
    assert [each.file for each in verify_folder(folder).differences] == ["more.pdf"]


def test_sheets_are_not_left_unread_because_the_summary_says_that_only_figures_were_asked_for(
    made: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    (folder / "chart.pdf").write_bytes((folder / "rows.pdf").read_bytes())
    summary = json.loads((folder / "summary.json").read_text())
    written = summary["files"]["written"]
    summary["files"]["written"] = {name: written[name] for name in ("knots.png", "yarns.csv")}
    summary["collection"] = {"set": "figures"}
    (folder / "summary.json").write_text(json.dumps(summary))
    sealed_anew(folder)
    said = {each.file: each.what for each in verify_folder(folder).differences}
    assert said["chart.pdf"] == said["rows.csv"] == "is not a file of the set"


def enlarged(data: bytes) -> bytes:
    return re.sub(rb"/MediaBox \[[^\]]*\]", b"/MediaBox [0 0 1000000 1000000]", data)


def active(data: bytes) -> bytes:
    return data.replace(b"/Type /Catalog", b"/Type /Catalog /OpenAction [null]").replace(b"/Count", b"/Count", 1)


DAMAGED: dict[str, tuple[str, Callable[[bytes], bytes]]] = {
    "a loom page without end": ("loom.html", lambda data: data + b"<script>" * 200_000),
    "half a loom page": ("loom.html", lambda data: data[: len(data) // 2]),
    "declarations in declarations": ("proof.html", lambda _: b"<![<![" * 100_000),
    "scripts without end": ("proof.html", lambda data: data + b"<script>" * 200_000),
    "a page of a million points": ("chart.pdf", enlarged),
    "an action": ("chart.pdf", active),
    "half a chart": ("chart.pdf", lambda data: data[: len(data) // 2]),
    "a chart of noise": ("chart.pdf", lambda data: b"%PDF-1.6\n" + bytes(range(256)) * 4000),
    "two million operators": (
        "chart.pdf",
        lambda data: repacked(data, lambda text: text + "q\nQ\n" * 1_000_000, one=True),
    ),
    "deep objects": ("summary.json", lambda _: b'{"a":' * 200_000),
    "no number": ("summary.json", lambda data: data.replace(b'"match"', b'"not": NaN, "match"', 1)),
    "a total without a name": ("rows.pdf", lambda data: repacked(data, lambda text: text.replace("/total [", "/x ["))),
    "a script of nothing": ("rows.pdf", lambda _: b""),
    "lines without end": ("rows.csv", lambda data: data + b"," * 1_000_000),
    "a table of nulls": ("yarns.csv", lambda _: b"\x00" * 1_000_000),
    "no picture": ("proof.png", lambda data: data[:200]),
}


@pytest.mark.parametrize("what", DAMAGED)
def test_a_damaged_set_differs_and_never_hangs(made: Path, tmp_path: Path, what: str) -> None:
    folder = tmp_path / "set"
    shutil.copytree(made, folder)
    name, change = DAMAGED[what]
    data = (folder / name).read_bytes()
    (folder / name).write_bytes(changed := change(data))
    assert changed != data
    began = time.process_time()
    assert run(["verify", str(folder), "--quiet"]) == 9
    assert time.process_time() - began < 60
