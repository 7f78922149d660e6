"""A projector's picture is held against the map, and whatever is drawn or told otherwise in it is found."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo
from support.alike import named_alike
from support.standing import tufted

from chartmaker.jobs.drawn import drawing_of, drawing_of_map
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.pattern import Pattern
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.paper.lettering import base_font
from chartmaker.sheets.pattern.drawing import Drawing, turned_over
from chartmaker.sheets.pattern.projector import NUMBERS, projector_picture
from chartmaker.verify import projections
from chartmaker.verify.patterns import expected_pattern
from chartmaker.verify.projections import projection_differences
from chartmaker.yarns.yarn import Yarn

YARNS = tuple(Yarn(f"Y{n}", f"Yarn {n}", (60 * n, 40, 90), (20.0 * n, 0.0, 0.0)) for n in range(4))
RUG = Rug.model_validate({"size": "30x40 cm", "density": "25x25 per dm", "technique": "tufted", "name": "Heron"})


def heron(side: str = "back") -> tuple[KnotMap, Workshop, Drawing]:
    """Return the map, the workshop and the drawing of a design without any symmetry; a pixel is a millimetre."""
    picture = Image.new("L", (300, 400), 0)
    pen = ImageDraw.Draw(picture)
    pen.ellipse((45, 60, 165, 210), fill=2)
    pen.polygon(((170, 140), (270, 100), (185, 190)), fill=3)
    pen.rectangle((60, 250, 140, 350), fill=1)
    pen.rectangle((220, 300, 228, 308), fill=3)
    labels = np.asarray(picture).astype(np.int16)
    knot_map = KnotMap(labels[2::4, 2::4][::-1].astype(np.uint16), YARNS, RUG)
    workshop = Workshop(pattern=Pattern(side=side))  # type: ignore[arg-type]
    return knot_map, workshop, drawing_of(knot_map, workshop, labels)


def faults(data: bytes, knot_map: KnotMap, workshop: Workshop) -> list[str]:
    return list(projection_differences(data, expected_pattern(knot_map, workshop), knot_map.map_code))


@pytest.mark.parametrize(("side", "resolution"), [("back", (960, 540)), ("front", (720, 1280)), ("back", (640, 480))])
def test_a_true_picture_agrees_with_the_map(side: str, resolution: tuple[int, int]) -> None:
    knot_map, workshop, drawing = heron(side)
    assert faults(projector_picture(drawing, resolution), knot_map, workshop) == []


@pytest.mark.parametrize("number", [201, 250, 443, 95, 7])
def test_a_true_picture_raises_no_alarm_however_crowded_it_is(number: int) -> None:
    given, workshop = named_alike(number), Workshop()
    knot_map = KnotMap(given.knots, given.yarns, given.rug.model_copy(update={"technique": "tufted"}))
    data = projector_picture(drawing_of_map(MapFile(knot_map, workshop)), (1280, 800))
    assert faults(data, knot_map, workshop) == []


def retold(data: bytes, change: Callable[[dict[str, Any]], object], paint: Any = None) -> bytes:
    """Return a picture with other words in its file, and perhaps with something painted on it."""
    with Image.open(io.BytesIO(data)) as picture:
        record = json.loads(picture.info["pattern"])
        change(record)
        said, stream = PngInfo(), io.BytesIO()
        said.add_text("pattern", json.dumps(record))
        if paint is not None:
            paint(ImageDraw.Draw(picture), record["numbers"][0].split())
        picture.save(stream, "PNG", pnginfo=said)
    return stream.getvalue()


def nothing(_record: dict[str, Any]) -> None:
    """Leave the words as they are."""


def another_figure(pen: ImageDraw.ImageDraw, number: list[str]) -> None:
    words, (x, y, height) = number[0], map(float, number[1:4])
    font = ImageFont.truetype(io.BytesIO(base_font("Vera.ttf")), height / 0.73)
    pen.rectangle(pen.textbbox((x, y), words, font=font, anchor="mm"), fill=(0, 0, 0))
    pen.text((x - 0.5, y - 0.5), str(int(words) + 1), font=font, fill=NUMBERS, anchor="mm")


def dark(pen: ImageDraw.ImageDraw, number: list[str]) -> None:
    x, y, height = map(float, number[1:4])
    pen.rectangle((x - height, y - height, x + height, y + height), fill=(0, 0, 0))


def one_more(pen: ImageDraw.ImageDraw, number: list[str]) -> None:
    font = ImageFont.truetype(io.BytesIO(base_font("Vera.ttf")), 30)
    pen.text((float(number[1]) + 40, float(number[2]) + 30), "2", font=font, fill=NUMBERS, anchor="mm")


def no_frame(pen: ImageDraw.ImageDraw, _number: list[str]) -> None:
    pen.rectangle((0, 0, 2000, 36), fill=(0, 0, 0))


def renumbered(record: dict[str, Any]) -> None:
    record["numbers"][0] = "4" + record["numbers"][0][1:]


def fewer(record: dict[str, Any]) -> None:
    del record["numbers"][0]


def narrower(record: dict[str, Any]) -> None:
    record["rug"][2] -= 5


CHANGED: dict[str, tuple[Callable[[dict[str, Any]], object], Any, str]] = {
    "another figure": (nothing, another_figure, "the number 1 is not seen at "),
    "a number gone dark": (nothing, dark, "the number 1 is not seen at "),
    "a number more": (nothing, one_more, "a number or a line shines at "),
    "the frame left out": (nothing, no_frame, "its frame is not drawn where the rug ends"),
    "a number told otherwise": (renumbered, None, "the number 4 is not seen at "),
    "a number not told": (fewer, None, "a number or a line shines at "),
    "a field not told": (fewer, None, " mm2 has no number"),
    "another map": (lambda record: record.update(map="00000000"), None, "it is the picture of map 00000000, not "),
    "the other side": (lambda record: record.update(side="front"), None, "have another yarn than the map"),
    "another size": (narrower, None, "it shows a rug of other proportions"),
    "beyond the picture": (lambda r: r.update(rug=[each * 3 for each in r["rug"]]), None, "other proportions"),
}


@pytest.mark.parametrize(("blue", "shines"), [(109, True), (110, False)])
def test_what_shines_in_the_colour_of_numbers_must_be_named(blue: int, shines: bool) -> None:
    """Numbers are yellow, without blue; with more of it, a place belongs to an outline or to the middle of a line."""
    picture = np.zeros((80, 80, 3), dtype=np.uint8)
    picture[30:50, 30:50] = 220, 220, blue
    assert bool(list(projections._number_differences(picture, np.zeros((80, 80), bool), []))) == shines


@pytest.mark.parametrize("change", CHANGED)
def test_whatever_is_changed_in_a_picture_is_found(change: str) -> None:
    knot_map, workshop, drawing = heron()
    told, paint, said = CHANGED[change]
    found = faults(retold(projector_picture(drawing, (960, 540)), told, paint), knot_map, workshop)
    assert any(said in fault for fault in found), found


def other_number(drawing: Drawing) -> Drawing:
    """Give the beak's field the number of the body."""
    outlines = drawing.outlines
    rings = tuple((2 if label == 3 else label, ring) for label, ring in outlines.rings)
    return replace(drawing, outlines=replace(outlines, rings=rings))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda drawing: replace(drawing, outlines=turned_over(drawing.outlines)), "have another yarn than the map"),
        (other_number, "a field is Y2, and the map has Y3 there"),
    ],
)
def test_a_picture_that_was_drawn_otherwise_is_found(change: Callable[[Drawing], Drawing], said: str) -> None:
    knot_map, workshop, drawing = heron()
    found = faults(projector_picture(change(drawing), (960, 540)), knot_map, workshop)
    assert any(said in fault for fault in found), found


@pytest.mark.parametrize(
    "words",
    [
        *("", "{", "[" * 9000, '{"side": "back", "map": "1", "rug": [0, 0, 0, 0], "numbers": []}'),
        '{"side": "back", "map": "1", "rug": [1, 1, 90, 90], "numbers": ["1 nan 1 5 1 1"]}',
        '{"side": "back", "map": "1", "rug": [1, 1, 90, 90], "numbers": ["1 1 1 1e9 1 1"]}',
        '{"side": "back", "map": "1", "rug": [1, 1, 90, 90], "numbers": ["1 1 1"]}',
        '{"side": "back", "map": "1", "rug": [1, 1, 90, 90], "numbers": ["x 1 1 5 1 1"]}',
        '{"side": "back", "map": "1", "rug": [1e300, 1, 90, 90], "numbers": [5]}',
    ],
)
def test_a_picture_that_does_not_say_how_it_was_drawn_is_refused(words: str) -> None:
    knot_map, workshop, _ = heron()
    said, stream = PngInfo(), io.BytesIO()
    said.add_text("pattern", words)
    Image.new("RGB", (100, 100)).save(stream, "PNG", pnginfo=said)
    with pytest.raises(ValueError, match="does not say how it was drawn"):
        faults(stream.getvalue(), knot_map, workshop)


def test_a_picture_beside_a_set_is_read_as_its_sheets_are(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    rug = tufted()
    labels = rug.knots[::-1].repeat(4, axis=0).repeat(4, axis=1)
    colours = np.array([yarn.srgb for yarn in rug.yarns], np.uint8)
    Image.fromarray(colours[labels]).save(tmp_path / "art.png")
    lines = [f"{yarn.code},#{yarn.srgb[0]:02x}{yarn.srgb[1]:02x}{yarn.srgb[2]:02x}" for yarn in rug.yarns]
    (tmp_path / "card.csv").write_text("\n".join(["code,colour", *lines]) + "\n")
    size = f"{float(rug.rug.woven_width_mm)} x {float(rug.rug.woven_length_mm)} mm"
    (tmp_path / "rug.toml").write_text(
        f'[rug]\nname = "Tufts"\nsize = "{size}"\ndensity = "20x20 per dm"\ntechnique = "tufted"\n'
        '[design]\nartwork = "art.png"\n[yarns]\ncard = "card.csv"\n'
    )
    assert chartmaker("make", tmp_path / "rug.toml", "--out", tmp_path / "set", "--quiet").code == 0
    assert chartmaker("pattern", tmp_path / "rug.toml", "--out", tmp_path / "thrown.png", "--quiet").code == 0
    result = chartmaker("verify", tmp_path / "set", "--sheets", tmp_path / "thrown.png")
    assert result.code == 0, result.out
    (tmp_path / "plain.png").write_bytes((tmp_path / "art.png").read_bytes())
    result = chartmaker("verify", tmp_path / "set", "--sheets", tmp_path / "plain.png")
    assert (result.code, "it does not say how it was drawn" in result.out) == (9, True)
