"""Nothing is found in true papers of a tufter, however crowded they are, and every kind of fault is found."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageDraw
from support.alike import named_alike

from chartmaker.artwork.artwork import Artwork
from chartmaker.figures.reckoning import figures_of
from chartmaker.jobs.drawn import drawing_of, pattern_record, pattern_writers
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.pattern import Pattern
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.sheets.pattern import guide, patternsheets
from chartmaker.sheets.pattern.drawing import Drawing, turned_over
from chartmaker.sheets.pattern.tiling import Tile
from chartmaker.verify import patterns
from chartmaker.verify.artworks import Judged, Shown, judged_artwork
from chartmaker.verify.guides import guide_differences
from chartmaker.verify.svgpatterns import svg_differences
from chartmaker.yarns.yarn import Yarn

YARNS = (
    Yarn("W1", "Ivory", (240, 232, 216), (92.1, 0.7, 8.6)),
    Yarn("R1", "Madder", (160, 40, 32), (35.3, 48.0, 33.5)),
    Yarn("B1", "Indigo", (32, 44, 96), (19.4, 12.7, -33.1)),
    Yarn("G1", "Olive", (112, 112, 48), (46.2, -9.4, 35.0)),
)
#: The side of a knot of the map in pixels of the artwork, each of which is a millimetre.
KNOT = 4


@dataclass(frozen=True)
class Heron:
    """A drawing of 300 x 400 mm without any symmetry, its map, and what its pattern is held against."""

    labels: np.ndarray
    knot_map: KnotMap
    drawing: Drawing
    workshop: Workshop

    def expected(self, labels: np.ndarray | None = None) -> patterns.ExpectedPattern:
        srgb = np.array([yarn.srgb for yarn in YARNS], np.uint8)[self.labels if labels is None else labels]
        said = {"conversion": {"style": "flat"}, "pattern": pattern_record(self.drawing)}
        judged = judged_artwork(Shown(Artwork(srgb), {}), self.knot_map, said)
        return patterns.expected_pattern(self.knot_map, self.workshop, judged)

    def written(self, name: str, drawing: Drawing | None = None) -> bytes:
        stream = io.BytesIO()
        figures = figures_of(self.knot_map, self.workshop)
        pattern_writers(drawing or self.drawing, figures, None)[name](stream)
        return stream.getvalue()

    def faults(self, name: str, drawing: Drawing | None = None, labels: np.ndarray | None = None) -> list[str]:
        return list(READERS[name](self.written(name, drawing), self.expected(labels)))


READERS: dict[str, Callable[..., Any]] = {
    "pattern.pdf": patterns.pattern_differences,
    "pattern.svg": svg_differences,
    "guide.pdf": guide_differences,
}


@pytest.fixture(scope="module")
def heron() -> Heron:
    picture = Image.new("L", (300, 400), 0)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((12, 12, 287, 387), outline=1, width=13)
    pen.ellipse((45, 60, 165, 210), fill=2)
    pen.polygon(((150, 125), (260, 100), (165, 165)), fill=3)
    pen.line((100, 210, 130, 350), fill=1, width=9)
    pen.rectangle((200, 250, 215, 265), fill=2)
    labels = np.asarray(picture).astype(np.int16)
    rug = Rug.model_validate({"size": "30x40 cm", "density": "25x25 per dm", "technique": "tufted", "name": "Heron"})
    knots = labels[KNOT // 2 :: KNOT, KNOT // 2 :: KNOT][::-1].astype(np.uint16)
    knot_map, workshop = KnotMap(knots, YARNS, rug), Workshop(pattern=Pattern(paper="A4"))
    return Heron(labels, knot_map, drawing_of(knot_map, workshop, labels), workshop)


@pytest.mark.parametrize("number", [201, 250, 443, 446, 207, 95])
def test_a_true_pattern_raises_no_alarm_however_crowded_it_is(number: int) -> None:
    """Rugs the size of a stamp, with each knot in another yarn, have numbers beside fields and outside the rug."""
    given, workshop = named_alike(number), Workshop()
    knot_map = KnotMap(given.knots, given.yarns, given.rug.model_copy(update={"technique": "tufted"}))
    labels = knot_map.knots[::-1].astype(np.int32)
    labels[labels == NO_KNOT] = -1
    drawing = drawing_of(knot_map, workshop, labels.astype(np.int16).repeat(3, axis=0).repeat(3, axis=1))
    writers = pattern_writers(drawing, figures_of(knot_map, workshop), None)
    expected = patterns.expected_pattern(knot_map, workshop)
    for name in ("pattern.pdf", "pattern.svg"):
        stream = io.BytesIO()
        writers[name](stream)
        assert list(READERS[name](stream.getvalue(), expected)) == []


@pytest.mark.parametrize("name", READERS)
def test_a_true_paper_agrees_with_map_and_artwork(heron: Heron, name: str) -> None:
    assert heron.faults(name) == []


@pytest.mark.parametrize(
    ("pile", "loops", "said"),
    # What a pattern that was drawn for these heights does not say of Ivory at 14 mm, Madder at 9 mm in loops.
    [
        ({"heights": {"W1": "14 mm", "R1": "9 mm"}}, ("R1",), ""),
        ({"heights": {"W1": "11 mm", "R1": "9 mm"}}, ("R1",), "marks a number 1 "),
        ({"heights": {"W1": "14 mm", "R1": "12 mm"}}, ("R1",), "marks a number 2 "),
        ({"heights": {"W1": "14 mm", "R1": "9 mm"}}, (), "marks a number 2 "),
        ({"heights": {"W1": "14 mm", "R1": "9 mm", "B1": "13 mm"}}, ("R1",), "marks a number 3 "),
    ],
)
def test_the_pattern_marks_what_is_tufted_at_another_height(
    heron: Heron, pile: dict[str, Any], loops: tuple[str, ...], said: str
) -> None:
    def workshop(pile: dict[str, Any], loops: tuple[str, ...]) -> Workshop:
        tables = {"pile": {"cut": "12 mm", **pile}, "pattern": {"paper": "A4", "loops": loops}}
        return Workshop.model_validate(tables)

    asked = workshop({"heights": {"W1": "14 mm", "R1": "9 mm"}}, ("R1",))
    stream = io.BytesIO()
    pattern_writers(heron.drawing, figures_of(heron.knot_map, asked), None)["pattern.pdf"](stream)
    expected = patterns.expected_pattern(heron.knot_map, workshop(pile, loops))
    faults = list(patterns.pattern_differences(stream.getvalue(), expected))
    assert bool(faults) == bool(said) and all(said in fault for fault in faults)
    words = pdfium.PdfDocument(stream.getvalue())[1].get_textpage().get_text_range()
    told = "Tool at 12 mm. A bar over the number, higher: 1 at 14 mm. A bar under it, lower: 2 at 9 mm. "
    assert f"{told}A ring beside it, loops: 2." in " ".join(words.split())


def turned(drawing: Drawing) -> Drawing:
    return replace(drawing, outlines=turned_over(drawing.outlines))


def shrunk(drawing: Drawing) -> Drawing:
    """Draw everything at 99 % of its size."""
    outlines = drawing.outlines
    rings = tuple((label, tuple(ring * 0.99 for ring in rings)) for label, rings in outlines.rings)
    return replace(drawing, outlines=replace(outlines, rings=rings))


def renumbered(drawing: Drawing) -> Drawing:
    """Give the smallest field its neighbour's number."""
    outlines = drawing.outlines
    small = min(range(len(outlines.rings)), key=lambda field: np.ptp(outlines.rings[field][1][0], axis=0).prod())
    rings = tuple((3 if field == small else label, ring) for field, (label, ring) in enumerate(outlines.rings))
    return replace(drawing, outlines=replace(outlines, rings=rings))


def unnumbered(drawing: Drawing) -> Drawing:
    return replace(drawing, outlines=replace(drawing.outlines, numbers=drawing.outlines.numbers[1:]))


def test_a_height_that_the_guide_prints_otherwise_is_found(heron: Heron, monkeypatch: pytest.MonkeyPatch) -> None:
    for name, text in (("cut_mm", "10 mm tufted"), ("pile_mm", "8.5 mm finished")):  # the usual heights
        plain, seen = guide.told, []

        def told(words: str, plain: Any = plain, name: str = name, seen: list[str] = seen, **fields: Any) -> Any:
            if name in fields:
                seen.append(str(plain(words, **fields)))
                fields[name] += 1
            return plain(words, **fields)

        monkeypatch.setattr(guide, "told", told)
        faults = heron.faults("guide.pdf")
        monkeypatch.undo()
        assert seen[0] == text and len(faults) == len(seen) and "a height of" in faults[0]


def test_shares_and_grams_that_the_guide_prints_otherwise_are_found(
    heron: Heron, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, off, sums, said in (
        ("percents", 1.0, "the shares of the guide", "a share of"),
        ("whole_grams", 40.0, "the grams of the guide", " g, not "),
    ):
        plain = getattr(guide, name)
        monkeypatch.setattr(guide, name, lambda given, plain=plain, off=off: [plain(given)[0] + off, *plain(given)[1:]])
        faults = heron.faults("guide.pdf")
        monkeypatch.undo()
        assert len(faults) == 2 and faults[0] == f"{sums} do not add up" and said in faults[1]


@pytest.mark.parametrize(
    ("change", "name", "said"),
    [
        (turned, "pattern.pdf", "have another yarn than the map"),
        (turned, "pattern.svg", "is not in the artwork's yarn"),
        (renumbered, "pattern.pdf", "a field is G1, and the map has B1 there"),
        (renumbered, "pattern.svg", "a field is G1 where the artwork is B1"),
        (unnumbered, "pattern.pdf", "has no number"),
        (shrunk, "pattern.pdf", "the drawing measures 397"),
        (lambda drawing: replace(drawing, yarns=drawing.yarns[::-1]), "guide.pdf", "number 1 is G1, not W1"),
    ],
)
def test_a_fault_in_a_paper_is_found(
    heron: Heron,
    change: Callable[[Drawing], Drawing],
    name: str,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(patternsheets, "further_numbers", lambda _drawing, tiles, _words: dict.fromkeys(tiles, ()))
    assert any(said in fault for fault in heron.faults(name, change(heron.drawing)))


def test_an_artwork_drawn_otherwise_than_its_map_is_found(heron: Heron) -> None:
    """Detail finer than a knot shows in the artwork alone: here the stem is half as wide and the beak is shifted."""
    labels = heron.labels.copy()
    labels[240:340, 30:90][labels[240:340, 30:90] == 0] = 1
    found = heron.faults("pattern.pdf", labels=labels)
    assert found == []  # the map shows nothing of it, since the order may have asked for that
    labels = np.roll(heron.labels, 5, axis=1)
    assert any("is not in the artwork's yarn" in fault for fault in heron.faults("pattern.svg", labels=labels))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("pattern.pdf", ["sheet 1 does not name its map", "sheet 2 does not name its map"]),
        ("guide.pdf", ["the guide is not that of map "]),
    ],
)
def test_a_paper_that_names_another_map_is_found(heron: Heron, name: str, said: list[str]) -> None:
    found = heron.faults(name, replace(heron.drawing, code="0f0f0f0f"))
    assert [words for words in said if not any(words in fault for fault in found)] == []


@pytest.mark.parametrize(("merged_share", "kept", "found"), [(0.0, 0.2, True), (0.01, 0.2, False), (0.01, 0.0, True)])
def test_where_much_was_merged_a_field_keeps_a_part_of_itself(
    heron: Heron, merged_share: float, kept: float, found: bool
) -> None:
    """The square of 16 mm has taken in specks if a fifth of it is its own, and is another yarn's if nothing is."""
    labels = heron.labels.copy()
    labels[250 + round(16 * kept) : 266, 200:216] = 3
    expected = heron.expected(labels)
    assert expected.artwork is not None
    knots = labels[KNOT // 2 :: KNOT, KNOT // 2 :: KNOT][::-1].astype(np.uint16)
    judged = replace(expected.artwork, merged_share=merged_share, knot_map=replace(heron.knot_map, knots=knots))
    said = list(svg_differences(heron.written("pattern.svg"), replace(expected, artwork=judged)))
    assert any("a field is B1 where the artwork is G1" in each for each in said) == found


def test_sheets_that_do_not_join_are_found(heron: Heron, monkeypatch: pytest.MonkeyPatch) -> None:
    """The right column of sheets shows the drawing 3 mm to one side."""
    plain = Tile.origin_mm.fget  # type: ignore[attr-defined]
    aside = property(lambda tile: (plain(tile)[0] + 3 * tile.column, plain(tile)[1]))
    monkeypatch.setattr(Tile, "origin_mm", aside)
    assert any("other edges than its neighbours" in fault for fault in heron.faults("pattern.pdf"))


def test_another_renderer_shows_the_artwork_as_well(heron: Heron, tmp_path: Path) -> None:
    """Poppler renders a roll with the places of its numbers; filled by them, the fields are the mirrored artwork."""
    from scipy.ndimage import distance_transform_edt
    from skimage.measure import label

    stream = io.BytesIO()
    rolled = Workshop(pattern=Pattern(roll="24 in"))
    pattern_writers(heron.drawing, figures_of(heron.knot_map, rolled), None)["pattern.pdf"](stream)
    (tmp_path / "pattern.pdf").write_bytes(stream.getvalue())
    fine = 4  # pixels in a millimetre
    subprocess.run(
        ["pdftoppm", "-r", str(25.4 * fine), "-png", "-singlefile", "pattern.pdf", "page"], cwd=tmp_path, check=True
    )
    page = np.asarray(Image.open(tmp_path / "page.png").convert("RGB"))
    left, low = 18, 30  # the room round the drawing, in millimetres
    top = page.shape[0] - fine * (low + 400)
    # everything is full of blue but the edges
    edges = page[top : top + 400 * fine, left * fine : (left + 300) * fine, 2] < 200
    rows, columns = np.flatnonzero(edges.any(1)), np.flatnonzero(edges.any(0))
    assert rows[-1] - rows[0] >= 400 * fine - 2 and columns[-1] - columns[0] >= 300 * fine - 2
    areas = np.asarray(label(~edges, connectivity=1))
    words = subprocess.run(
        ["pdftotext", "-bbox", "pattern.pdf", "-"], cwd=tmp_path, check=True, capture_output=True, text=True
    ).stdout
    yarn_of = np.full(areas.max() + 1, -1)
    box = r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(\d)</word>'
    for x, y, x1, y1, number in re.findall(box, words):
        column = int(((float(x) + float(x1)) / 2 * 25.4 / 72 - left) * fine)
        row = int((float(y) + float(y1)) / 2 * 25.4 / 72 * fine - top)
        if 0 <= row < edges.shape[0] and 0 <= column < edges.shape[1]:
            assert yarn_of[areas[row, column]] in (-1, int(number) - 1)
            yarn_of[areas[row, column]] = int(number) - 1
    nearest = distance_transform_edt(edges, return_distances=False, return_indices=True)
    shown = yarn_of[areas[tuple(nearest)]]
    due = heron.labels[:, ::-1].repeat(fine, axis=0).repeat(fine, axis=1)
    assert (shown == due).mean() >= 0.995
    changes = np.zeros(due.shape, dtype=bool)
    changes[1:] |= due[1:] != due[:-1]
    changes[:, 1:] |= due[:, 1:] != due[:, :-1]
    most = (1.5 + 0.5) * fine  # the tolerance, and half the width of an edge
    assert distance_transform_edt(~edges)[changes].max() <= most
    changes[[0, -1]] = changes[:, [0, -1]] = True
    assert distance_transform_edt(~changes)[edges].max() <= most


def test_shaded_artwork_is_judged_by_what_is_nearest(heron: Heron) -> None:
    """Noise of a few steps in each pixel changes nothing, while another picture is found."""
    srgb = np.array([yarn.srgb for yarn in YARNS], np.float64)[heron.labels]
    noisy = (srgb + np.random.default_rng(1).normal(0, 12, srgb.shape)).clip(0, 255).astype(np.uint8)
    data = heron.written("pattern.svg")

    def found(picture: np.ndarray) -> list[str]:
        judged = Judged(Artwork(picture), heron.knot_map, flat=False, merged_share=0.0)
        return list(svg_differences(data, replace(heron.expected(), artwork=judged)))

    assert found(noisy) == []
    assert any("is not in the artwork's yarn" in fault for fault in found(np.roll(noisy, 6, axis=0)))
