"""The proof page in a real Chromium: what is seen, by mouse and by keyboard alone, without any request to outside."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import colour
import numpy as np
import pytest
from support.browsing import Tabs, Visit, browser, tabs, visited
from support.making import SettledMap, make_rug, make_yarn
from support.pseudo import Pseudo

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import speaking
from chartmaker.ground.textsafe import inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.pages.proof.page import proof_page
from chartmaker.pages.proof.pagedata import differences

__all__ = ["browser", "tabs"]

ROWS, COLUMNS = 240, 200
HOSTILE = "</script><img src=x onerror=\"document.title='broken'\"> ${1} {{data}} '\"&amp;"
RTL = "Rose \u202edneddih"
COLOURS = [(140, 40, 36), (32, 48, 92), (230, 218, 190), (96, 112, 66)]
FINDINGS = [
    Finding(f"Two stray knots {HOSTILE}", f"rows 31, 201 {RTL}", "warning", ((30, 31, 20, 21), (200, 201, 150, 151))),
    Finding("The border is one knot wider on the left.", "columns 1 to 12", "error", ((0, ROWS, 0, 12),)),
    Finding("The artwork is coarse.", "whole rug", "note"),
]


def sample() -> tuple[KnotMap, Artwork]:
    """Return a rug with one corner left out, and an artwork of two pixels a knot whose colours differ a little."""
    rng = np.random.default_rng(11)
    cells = rng.integers(0, 4, (ROWS // 8, COLUMNS // 8)).repeat(8, axis=0).repeat(8, axis=1).astype(np.uint16)
    art = np.array(COLOURS, dtype=np.int16)[cells[::-1]] + rng.integers(-20, 21, (ROWS, COLUMNS, 3))
    cells[:10, :10] = NO_KNOT
    names = [HOSTILE, RTL, "Ivory", "Moss"]
    yarns = tuple(make_yarn(number, srgb) for number, srgb in enumerate(COLOURS))
    yarns = tuple(type(yarn)(yarn.code, name, yarn.srgb, yarn.lab) for yarn, name in zip(yarns, names, strict=True))
    knot_map = SettledMap(cells, yarns, make_rug(COLUMNS, ROWS, "40x50 per dm", name=HOSTILE), Workshop())
    pixels = np.clip(art, 0, 255).astype(np.uint8).repeat(2, axis=0).repeat(2, axis=1)
    return knot_map, Artwork(pixels)


@dataclass
class Opened(Visit):
    """The page in a browser, with the map and the artwork that it shows."""

    knot_map: KnotMap = field(kw_only=True)
    artwork: Artwork = field(kw_only=True)

    def go(self, row: int, column: int) -> None:
        """Go to a knot, numbered from 1, with nothing but the rug in view."""
        self.page.fill("#wipe", "0")
        self.page.fill("#go-row", str(row))
        self.page.fill("#go-column", str(column))
        self.page.click("#go button")
        self.settle()

    def settle(self) -> None:
        """Wait until everything that was asked for is drawn."""
        self.page.evaluate("() => new Promise(f => requestAnimationFrame(() => requestAnimationFrame(() => f())))")

    def middle(self) -> tuple[float, float]:
        box = self.page.locator("#rug").bounding_box()
        assert box is not None
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def pixel(self, share_x: float = 0.5, share_y: float = 0.5) -> tuple[int, ...]:
        """Return the colour that the canvas holds at a share of its width and height."""
        self.settle()
        found = self.page.evaluate(
            """([x, y]) => { const c = document.getElementById("rug");
            const pen = c.getContext("2d");
            return [...pen.getImageData(Math.floor(c.width * x), Math.floor(c.height * y), 1, 1).data]; }""",
            [share_x, share_y],
        )
        return tuple(found[:3])

    def yarn_at(self, row: int, column: int) -> Any:
        return self.knot_map.yarns[self.knot_map.knots[row - 1, column - 1]]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, KnotMap, Artwork]:
    knot_map, artwork = sample()
    path = tmp_path_factory.mktemp("page") / "proof.html"
    path.write_text("".join(proof_page(knot_map, artwork, FINDINGS, {"Y000": f"1.2 kg {HOSTILE}"})), encoding="utf-8")
    return path, knot_map, artwork


def open_page(browser: Tabs, file: tuple[Path, KnotMap, Artwork], **options: Any) -> Iterator[Opened]:
    path, knot_map, artwork = file
    settings = {"viewport": {"width": 1280, "height": 860}, "reduced_motion": "reduce", **options}
    with visited(browser.new_context(**settings), path) as seen:
        yield Opened(seen.page, seen.requests, seen.faults, knot_map=knot_map, artwork=artwork)


@pytest.fixture
def opened(browser: Tabs, file: tuple[Path, KnotMap, Artwork]) -> Iterator[Opened]:
    yield from open_page(browser, file)


def test_no_knot_differs_after_the_way_through_the_browser(opened: Opened) -> None:
    """The data are decoded in the page by a reader written here from their description alone."""
    cells = opened.page.evaluate(
        """async () => {
        const text = atob(document.getElementById("proof-knots").textContent);
        const packed = Uint8Array.from(text, letter => letter.charCodeAt(0));
        const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
        return Array.from(new Uint8Array(await new Response(stream).arrayBuffer()));
        }"""
    )
    expected = np.where(opened.knot_map.knots == NO_KNOT, 255, opened.knot_map.knots)
    assert int((np.array(cells).reshape(ROWS, COLUMNS) != expected).sum()) == 0


def test_the_policy_forbids_what_the_page_does_not_need(opened: Opened) -> None:
    policy = opened.page.get_attribute("meta[http-equiv]", "content") or ""
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert "http" not in policy
    page = opened.page
    page.evaluate(
        """() => { const script = document.createElement("script"); script.textContent = "document.title = 'broken'";
        document.body.append(script);
        const picture = new Image();
        picture.src = "https://example.invalid/picture.png";
        document.body.append(picture); }"""
    )
    page.wait_for_function("window.violations.length >= 2")
    assert page.title() != "broken"
    # the policy refused these, as it should; the fixture checks that nothing else was refused or asked for
    page.evaluate("window.violations = []")
    opened.faults.clear()
    # they were asked for, but refused before they left
    assert opened.requests.pop() == "https://example.invalid/picture.png"


def test_text_from_outside_stays_text(opened: Opened) -> None:
    page = opened.page
    assert page.title() == HOSTILE
    assert opened.words("h1") == HOSTILE
    assert page.locator("img").count() == 0
    assert f"Two stray knots {HOSTILE}" in opened.words("#findings")
    assert HOSTILE in opened.words("#yarns li >> nth=0")
    everything = page.locator("body").inner_text()
    assert "\u202e" not in everything
    assert "Rose \\u202edneddih" in everything
    assert page.locator("#yarns li").count() == 4


def test_the_pointer_shows_row_column_and_yarn(opened: Opened) -> None:
    page = opened.page
    for row, column in ((77, 41), (1, 60), (ROWS, COLUMNS)):
        opened.go(row, column)
        page.mouse.move(*opened.middle())
        yarn = opened.yarn_at(row, column)
        told = opened.words("#readout")
        assert told.startswith(f"row {row}"), told
        assert re.search(rf"column {column}\b", told)
        assert yarn.code in told
    opened.go(5, 5)
    page.mouse.move(*opened.middle())
    assert "no knot" in opened.words("#readout")


def test_every_knot_is_seen_in_its_yarns_colour(browser: Tabs, file: tuple[Path, KnotMap, Artwork]) -> None:
    """The screen is so large that a knot has four pixels, before pile is drawn on it; the first row is at the foot."""
    for opened in open_page(browser, file, viewport={"width": 1700, "height": 1330}):
        opened.page.fill("#wipe", "0")
        opened.page.uncheck("#lines")
        opened.settle()
        wide, high, text = opened.page.evaluate(
            """() => { const c = document.getElementById("rug");
            const bytes = c.getContext("2d").getImageData(0, 0, c.width, c.height).data;
            let text = ""; for (let i = 0; i < bytes.length; i += 32768)
              text += String.fromCharCode(...bytes.subarray(i, i + 32768));
            return [c.width, c.height, btoa(text)]; }"""
        )
        pixels = np.frombuffer(base64.b64decode(text), dtype=np.uint8).reshape(high, wide, 4)[..., :3]
        is_yarn = (pixels[:, :, None] == np.array(COLOURS)).all(axis=-1).any(axis=-1)
        across, down = np.flatnonzero(is_yarn.sum(axis=0) > 9), np.flatnonzero(is_yarn.sum(axis=1) > 9)
        left, right, top, bottom = across[0], across[-1] + 1, down[0], down[-1] + 1
        assert 3 < (bottom - top) / ROWS < 6
        assert (right - left) / (bottom - top) == pytest.approx(COLUMNS / 40 / (ROWS / 50), rel=0.01)
        y = (top + (np.arange(ROWS) + 0.5) * (bottom - top) / ROWS).astype(int)
        x = (left + (np.arange(COLUMNS) + 0.5) * (right - left) / COLUMNS).astype(int)
        seen = pixels[y][:, x][::-1]
        there = opened.knot_map.knots != NO_KNOT
        assert (seen[there] == np.array(COLOURS)[opened.knot_map.knots[there]]).all()
        assert not is_yarn[y][:, x][::-1][~there].any()


def test_the_pile_leaves_a_yarns_colour_as_it_is_on_average(opened: Opened) -> None:
    """The mean in linear light of four by four knots of one yarn, seen large, is within 3 of 255 once coded as sRGB."""
    page = opened.page
    page.uncheck("#lines")
    for number, wanted in enumerate(COLOURS):
        blocks = opened.knot_map.knots[12::8, 12::8]
        row, column = (8 * place + 13 for place in map(int, np.argwhere(blocks == number)[20]))
        opened.go(row, column - 8)  # to keep the outline of the chosen knot out of the way
        wide, high = 22.5, 18  # the pixels of one knot
        values = page.evaluate(
            """([x, y, w, h]) => { const c = document.getElementById("rug");
            return [...c.getContext("2d").getImageData(c.width / 2 + x, c.height / 2 + y, w, h).data]; }""",
            [6 * wide, -2 * high, 4 * wide, 4 * high],
        )
        pixels = np.array(values).reshape(-1, 4)[:, :3] / 255
        assert pixels.std(axis=0).max() > 0.01  # the pile shows as a difference
        mean = colour.cctf_encoding(colour.cctf_decoding(pixels, "sRGB").mean(axis=0), "sRGB")
        np.testing.assert_allclose(255 * mean, wanted, rtol=0, atol=3)


def test_single_knots_can_be_made_as_large_as_a_fingertip(opened: Opened) -> None:
    page = opened.page
    opened.go(100, 100)
    x, y = opened.middle()
    page.mouse.move(x, y)
    page.mouse.move(x + 18, y)
    assert re.search(r"column 10[12]\b", opened.words("#readout"))
    page.mouse.wheel(0, -2000)
    opened.settle()
    page.click("#whole")
    opened.settle()
    page.mouse.move(*opened.middle())
    assert re.search(r"row 12[01]\s+column 10[01]", opened.words("#readout"))


def test_the_slider_wipes_between_artwork_and_rug(opened: Opened) -> None:
    page = opened.page
    page.uncheck("#lines")
    page.uncheck("#yarns li:nth-child(1) input")
    page.click("#none")
    page.fill("#wipe", "0")
    cloth = opened.pixel(0.5, 0.45)
    assert opened.pixel(0.47, 0.55) == cloth  # nothing of the rug is shown there, only the bare ground
    page.focus("#wipe")
    page.keyboard.press("End")
    assert page.input_value("#wipe") == "100"
    assert opened.pixel(0.5, 0.45) != cloth
    page.keyboard.press("Home")
    assert opened.pixel(0.5, 0.45) == cloth
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    assert page.input_value("#wipe") == "2"
    page.fill("#wipe", "50")
    assert opened.pixel(0.48, 0.45) != cloth
    assert opened.pixel(0.52, 0.45) == cloth
    x, y = opened.middle()
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 100, y, steps=4)
    page.mouse.up()
    assert int(page.input_value("#wipe")) > 55
    assert page.get_attribute("#wipe", "aria-valuetext")


def test_the_differences_have_the_colour_of_their_class(opened: Opened) -> None:
    """The class follows from colour-science's CIEDE2000 of the four pixels that a knot covers."""
    page = opened.page
    page.uncheck("#lines")
    page.check("input[value=difference]")
    legend = dict(
        page.locator("#scale span").evaluate_all(
            "all => all.map(s => [s.innerText, getComputedStyle(s.querySelector('i')).backgroundColor])"
        )
    )
    assert list(legend) == ["under 1", "1 to 2", "2 to 4", "4 to 8", "over 8"]
    seen = set()
    steps = differences(opened.knot_map, opened.artwork, 0.1)[40:]
    edges = [np.argwhere(steps == edge)[0] + (41, 1) for edge in (20, 40, 80)]  # on the boundary of two classes
    for row, column in [(61, 44), (100, 90), (120, 31), (33, 171), *(map(int, edge) for edge in edges)]:
        opened.go(row, column)
        page.mouse.move(*opened.middle())
        light = colour.cctf_decoding(opened.artwork.srgb[2 * (ROWS - row), 2 * (column - 1)] / 255, "sRGB")
        xyz = colour.RGB_to_XYZ(light, "sRGB", apply_cctf_decoding=False)
        white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
        expected = float(colour.delta_E(colour.XYZ_to_Lab(xyz, white), opened.yarn_at(row, column).lab))
        told = re.search(r"difference ([\d.]+)", opened.words("#readout"))
        assert told is not None
        assert abs(float(told[1]) - expected) < 0.11
        names = ["under 1", "1 to 2", "2 to 4", "4 to 8", "over 8"]
        name = names[int(np.searchsorted([1, 2, 4, 8], float(told[1]), side="right"))]
        assert legend[name] == "rgb({}, {}, {})".format(*opened.pixel()), (row, column, told[0])
        seen.add(name)
    assert len(seen) >= 3


def test_yarns_are_switched_off_and_on(opened: Opened) -> None:
    page = opened.page
    page.uncheck("#lines")
    opened.go(60, 60)
    page.check("input[value=difference]")  # no pile is drawn over the colours
    number = int(opened.knot_map.knots[59, 59])
    before = opened.pixel()
    box = page.locator("#yarns input").nth(number)
    box.focus()
    page.keyboard.press("Space")
    assert not box.is_checked()
    cloth = opened.pixel()
    assert cloth != before
    page.mouse.move(*opened.middle())
    assert "(hidden)" in opened.words("#readout")
    page.click("#all")
    assert opened.pixel() == before
    other = page.locator("#yarns button").nth((number + 1) % 4)
    other.click()
    assert other.get_attribute("aria-pressed") == "true"
    assert opened.pixel() == cloth
    assert [b.is_checked() for b in page.locator("#yarns input").all()].count(True) == 1
    other.click()
    assert opened.pixel() == before


def test_a_finding_is_shown_on_the_rug(opened: Opened) -> None:
    page = opened.page
    page.fill("#wipe", "0")
    buttons = page.locator("#findings button")
    assert buttons.count() == 2  # the third finding has no place
    buttons.nth(0).focus()
    page.keyboard.press("Enter")
    opened.settle()
    assert opened.words("#live") == "Place 1 of 2: row 31, column 21"
    page.mouse.move(*opened.middle())
    assert re.search(r"row 31\s+column 21\b", opened.words("#readout"))
    page.keyboard.press("Enter")
    opened.settle()
    assert opened.words("#live") == "Place 2 of 2: row 201, column 151"
    assert buttons.nth(0).get_attribute("aria-pressed") == "true"
    x, y = opened.middle()
    page.mouse.move(x + 1, y)
    assert re.search(r"row 201\s+column 151\b", opened.words("#readout"))
    outlined = page.locator("#rug").screenshot()
    page.click("#clear")
    opened.settle()
    assert page.locator("#rug").screenshot() != outlined
    assert buttons.nth(0).get_attribute("aria-pressed") == "false"
    buttons.nth(1).click()
    opened.settle()
    assert opened.words("#live") == "rows 1 to 240, columns 1 to 12"


def test_the_keyboard_alone_reaches_everything(opened: Opened) -> None:
    """Tab goes through all of it, with visible focus and a name at each stop; on the rug the arrows are announced."""
    page = opened.page
    stops = []
    for _ in range(40):
        page.keyboard.press("Tab")
        stop = page.evaluate(
            """() => { const e = document.activeElement, s = getComputedStyle(e);
            if (e === document.body) return null;
            const name = e.id || e.name || e.textContent.slice(0, 12) || e.type;
            return [name, s.outlineStyle, parseFloat(s.outlineWidth)]; }"""
        )
        if stop is None:
            break
        stops.append(stop)
        assert stop[1] == "solid", stop
        assert stop[2] >= 2, stop
    names = [stop[0] for stop in stops]
    for wanted in (
        "rug",
        "wipe",
        "lines",
        "single",
        "whole",
        "farther",
        "closer",
        "view",
        "go-row",
        "go-column",
        "all",
    ):
        assert wanted in names
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # this stop skips to the rug
    assert page.evaluate("document.activeElement.id") == "rug"
    page.keyboard.press("1")
    page.keyboard.press("Home")
    page.keyboard.press("End")
    found = re.match(r"row (\d+), column 200:", opened.words("#live"))
    assert found is not None
    row = int(found[1])
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert opened.words("#live").startswith(f"row {row + 1}, column 189: {opened.yarn_at(row + 1, 189).code}")
    page.keyboard.press("p")
    line = opened.knot_map.knots[row]
    change = max(c for c in range(188) if line[c] != line[188])
    assert opened.words("#live").startswith(f"row {row + 1}, column {change + 1}: ")
    page.keyboard.press("o")
    assert opened.words("#live").startswith("Only ")
    page.keyboard.press("o")
    assert opened.words("#live") == "All yarns shown"
    before = page.input_value("#wipe")
    page.keyboard.press(".")
    assert int(page.input_value("#wipe")) == int(before) + 5
    for _ in range(5):
        page.keyboard.press("PageDown")
    assert opened.words("#live").startswith("row 1, ")


def test_a_screen_reader_finds_names_for_everything(opened: Opened) -> None:
    page = opened.page
    for role, name in (
        ("heading", HOSTILE),
        ("heading", "Findings"),
        ("heading", "Yarns"),
        ("application", "The rug, knot by knot"),
        ("slider", "Artwork over the rug, from the left"),
        ("radio", "The rug as woven"),
        ("radio", "The difference in colour"),
        ("spinbutton", "Row"),
        ("spinbutton", "Column"),
        ("button", "Zoom in"),
        ("button", "Zoom out"),
        ("button", "Only Y002 Ivory"),
    ):
        assert page.get_by_role(role, name=name, exact=True).count() == 1, (role, name)  # type: ignore[arg-type]
    assert page.get_by_role("checkbox", name="Y002 Ivory").count() == 1
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("button, input, canvas")].filter(e => !(e.getAttribute("aria-label")
        || e.textContent.trim() || (e.labels && e.labels[0] && e.labels[0].textContent.trim()))).length"""
    )
    assert nameless == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_from_their_ground(
    browser: Tabs, file: tuple[Path, KnotMap, Artwork], scheme: str, tmp_path: Path
) -> None:
    """The contrast is at least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3, with its relative luminance)."""
    for opened in open_page(browser, file, color_scheme=scheme):
        opened.page.screenshot(path=tmp_path / f"{scheme}.png")
        opened.page.check("input[value=difference]")
        pairs = opened.page.evaluate(
            """() => { const found = [];
            const solid = e => { for (; e; e = e.parentElement) { const b = getComputedStyle(e).backgroundColor;
              if (!/, 0\\)$/.test(b)) return b; } return "rgb(255, 255, 255)"; };
            for (const e of document.querySelectorAll("main *")) {
              const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
              const words = e.textContent.slice(0, 30);
              if (own && e.offsetParent) found.push([words, getComputedStyle(e).color, solid(e)]); }
            return found; }"""
        )
        assert len(pairs) > 40

        def luminance(colour_words: str) -> float:
            channel = np.array([int(n) for n in re.findall(r"\d+", colour_words)[:3]]) / 255
            light = np.where(channel <= 0.04045, channel / 12.92, ((channel + 0.055) / 1.055) ** 2.4)
            return float(light @ [0.2126, 0.7152, 0.0722])

        for words, ink, ground in pairs:
            low, high = sorted((luminance(ink), luminance(ground)))
            assert (high + 0.05) / (low + 0.05) >= 4.5, (words, ink, ground)


def test_it_fits_a_telephone(browser: Tabs, file: tuple[Path, KnotMap, Artwork], tmp_path: Path) -> None:
    """Nothing scrolls sideways at 320 CSS pixels (WCAG 2.2, success criterion 1.4.10)."""
    for opened in open_page(browser, file, viewport={"width": 320, "height": 640}, has_touch=True):
        page = opened.page
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        page.locator("#rug").scroll_into_view_if_needed()
        page.touchscreen.tap(*opened.middle())
        page.screenshot(path=tmp_path / "narrow.png")
        assert re.match(r"row \d+, column \d+: ", opened.words("#live"))
        page.locator("#findings button").first.tap()
        opened.settle()
        assert page.locator("#rug").bounding_box()["y"] >= 0  # type: ignore[index]
        assert page.evaluate("document.getElementById('rug').getBoundingClientRect().bottom") <= 640


def test_without_artwork_there_is_nothing_to_compare(browser: Tabs, tmp_path: Path) -> None:
    knot_map, artwork = sample()
    path = tmp_path / "alone.html"
    path.write_text("".join(proof_page(knot_map)), encoding="utf-8")
    for opened in open_page(browser, (path, knot_map, artwork)):
        page = opened.page
        assert not page.is_visible("#wipe")
        assert not page.is_visible("#views")
        assert opened.words("#findings") == "There is nothing to remark on."
        page.fill("#go-row", "9")
        page.fill("#go-column", "60")
        page.click("#go button")
        assert opened.words("#live").startswith("row 9, column 60: ")
        assert "difference" not in opened.words("#live")


def test_it_prints_the_rug_with_its_lists(opened: Opened, tmp_path: Path) -> None:
    pdf = opened.page.pdf()
    path = tmp_path / "proof.pdf"
    path.write_bytes(pdf)
    import pypdfium2

    text = "".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(path))
    assert "Y002" in text
    assert "one knot wider" in text
    assert "Single knots" not in text


def test_no_word_of_the_page_is_outside_the_catalogue(browser: Tabs, tmp_path: Path) -> None:
    """In a pseudo-language the page shows no English, whatever one does; only names and keys stay as they are."""
    knot_map, artwork = sample()
    path = tmp_path / "proof.html"
    with speaking(Pseudo()):
        path.write_text("".join(proof_page(knot_map, artwork, FINDINGS)), encoding="utf-8")
    for opened in open_page(browser, (path, knot_map, artwork)):
        page = opened.page
        page.click("input[value=difference]")
        page.locator("#findings button").first.click()
        said = [opened.words("#live")]
        page.focus("#rug")
        for key in ("n", "o", "ArrowUp"):
            page.keyboard.press(key)
            said.append(opened.words("#live"))
        said.append(opened.words("#readout"))
        for place in page.locator("details").all():
            place.evaluate("e => { e.open = true; }")
        said += page.evaluate(
            """() => { for (const e of document.querySelectorAll("bdi, #readout")) e.remove();
            const all = (name) => [...document.querySelectorAll(`[${name}]`)].map(e => e.getAttribute(name));
            const seen = [document.querySelector("noscript").textContent, document.body.innerText];
            return [...seen, ...all("aria-label"), ...all("aria-valuetext")]; }"""
        )
        named = " ".join((HOSTILE, knot_map.map_code, *(f"{yarn.code} {inert(yarn.name)}" for yarn in knot_map.yarns)))
        left = set(re.findall(r"[A-Za-z]{2,}", " ".join(said))) - set(re.findall("[A-Za-z]+", named))
        assert [word for word in left if not re.fullmatch("(?i:zu)+", word)] == []


def test_two_fingers_zoom(browser: Tabs, file: tuple[Path, KnotMap, Artwork]) -> None:
    for opened in open_page(browser, file):
        before = opened.page.evaluate("document.getElementById('rug').toDataURL()")
        opened.page.evaluate(
            """() => { const rug = document.getElementById("rug"), box = rug.getBoundingClientRect();
            rug.setPointerCapture = () => {};
            const [clientX, clientY] = [box.left + box.width / 2, box.top + box.height / 2];
            const send = (type, pointerId, x) => rug.dispatchEvent(new PointerEvent(type,
              { pointerId, pointerType: "touch", clientX: clientX + x, clientY, bubbles: true }));
            send("pointerdown", 1, -20); send("pointerdown", 2, 20);
            send("pointermove", 1, -120); send("pointermove", 2, 120);
            send("pointerup", 1, -120); send("pointerup", 2, 120); }"""
        )
        opened.page.wait_for_function("before => document.getElementById('rug').toDataURL() !== before", arg=before)
