"""What a cover says of the rug, of its sheets and of warnings is asked for fact by fact, also where nothing is said."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug, settled

from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Fill, Picture, Text
from chartmaker.verify import covers
from chartmaker.verify.blocks import Cells
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.legends import Entry
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.sheets import Sheet


def expected(**more: Any) -> Expected:
    """Return a rug of 40 x 20 cm in two strips, of two yarns with 500 and 300 knots."""
    knots = np.repeat([0, 1], [500, 300]).reshape(20, 40)
    chart = {"chart": {"strips": 2, "cell": "3 mm", "reading": "left to right"}}
    made = make_map(knots, make_rug(40, 20, SQUARE, pile="9 mm", **more), Workshop.model_validate(chart))
    return expected_of(*settled(made), recount_of(*settled(made)))


def span(tag: str, **fields: str) -> Block:
    letters = Text("", 0.0, 0.0, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))
    told: list[Any] = [Block(name, {}, [replace(letters, words=words)]) for name, words in fields.items()]
    return Block(tag, {}, told)


def sheet(*items: Any) -> Sheet:
    return Sheet(1, 210.0, 297.0, Block("", {}, [*items]))


def facts(*spans: Block, known: Expected | None = None) -> list[str]:
    return list(covers._facts(sheet(*spans), known or expected(), 7, 2, {"n": 3}))


RUG = {
    "columns": "40",
    "rows": "20",
    "knots": "800",
    "yarns": "2",
    "sheets": "7",
    "front": "2",
    "strips": "2",
    "n": "3",
}
SIZES = {"width_cm": "40", "length_cm": "20", "across_per_dm": "10", "along_per_dm": "10"}
SIZES |= {"cell_width_mm": "3", "cell_height_mm": "3"}
WORDS = {"density": "10x10 per dm", "width_feet": "1'3 3/4\"", "length_feet": "0'7 7/8\"", "reading": "left to right"}
WORDS |= {"knot": "asymmetric", "knot_assumed": "(assumed)", "assumed_cut": "(assumed)"}
WORDS |= {"counted_run": "5", "counted_shown": "12", "counted_here": "12"}


def loom(known: Expected) -> dict[str, str]:
    told = {name: str(number) for name, number in known.loom_numbers.items()}
    return told | {name: f"{value:.4g}" for name, (value, _) in known.loom_measures.items()} | dict(known.loom_texts)


def test_each_fact_is_said_once() -> None:
    known = expected()
    told = RUG | SIZES | WORDS | loom(known)
    assert facts(span("fact", **told), known=known) == []
    for name, words in told.items():
        if name in ("counted_run", "counted_shown", "counted_here") and not known.chart.counts:
            continue
        rest = {key: value for key, value in told.items() if key != name}
        missing = facts(span("fact", **rest), known=known)
        assert len(missing) == 1, name
        assert f"the cover says '' for {name}, not " in missing[0] or "assumed" in missing[0], name
        digit = re.search(r"\d", words)
        other = words.replace(digit[0], str((int(digit[0]) + 3) % 10 or 4), 1) if digit else ""
        assert digit is None or len(facts(span("fact", **told | {name: other}), known=known)) == 1, name
        twice = facts(span("fact", **told), span("fact", **{name: words}), known=known)
        assert twice == [f"the cover says {name} twice"]


def test_what_is_assumed_is_said_and_nothing_else() -> None:
    known = expected()
    told = RUG | SIZES | WORDS | loom(known)
    heights = ["the cover does not say which heights of the pile are assumed"]
    knot = ["the cover does not say that the kind of knot is assumed, or says it of one that is given"]
    assert facts(span("fact", **told, assumed_pile="(assumed)")) == heights
    given = expected(knot="asymmetric")
    assert facts(span("fact", **told), known=given) == knot
    assert facts(span("fact", **told | {"knot_assumed": " "}), known=given) == []
    for name, other in (("reading", "right to left"), ("knot", "symmetric")):
        assert facts(span("fact", **told | {name: other})) == [f"the cover says '{other}' for {name}, not {told[name]}"]
        assert facts(span("fact", **told | {name: "in other words"})) == []


@pytest.mark.parametrize(
    ("strips", "mirrored", "places", "walks"),
    [
        ((10, 10), False, {2: 0, 3: 0, 4: 10}, "walk1_first 2 walk1_strip 1 walk1_last 3 walk2_first 4 walk2_strip 2"),
        ((10, 10), True, {2: 0, 3: 0}, "walk1_first 2 walk1_strip 1 walk1_last 3 walk1_other 2"),
        ((7, 6, 7), True, {2: 0, 3: 7}, "walk1_first 2 walk1_strip 1 walk1_other 3 walk2_first 3 walk2_strip 2"),
        ((5, 6, 5, 5), True, {2: 0}, "walk1_first 2 walk1_strip 1 walk1_other 4"),
        ((5, 7, 5, 5), True, {2: 0}, "walk1_first 2 walk1_strip 1"),
        ((6, 5, 5, 5), True, {2: 0}, "walk1_first 2 walk1_strip 1"),
        ((20,), True, {2: 0}, "walk1_first 2 walk1_strip 1"),
    ],
)
def test_each_strip_s_sheets_are_walked_from_the_first_to_the_last(
    strips: tuple[int, ...], mirrored: bool, places: dict[int, int], walks: str
) -> None:
    edges = [sum(strips[:n]) for n in range(len(strips) + 1)]
    row = np.minimum(np.arange(edges[-1]), np.arange(edges[-1])[::-1]) if mirrored else np.arange(edges[-1])
    known = replace(
        expected(),
        knots=np.array([row % 2, 1 - row % 2, row * 0] if not mirrored else [row // 2 % 2, row * 0, row * 0 + 1]),
        strips=tuple(range(a, b) for a, b in pairwise(edges)),
    )
    assert known.mirrored[0] == mirrored
    found = covers._walks(known, {n: (range(3), range(at, at + 1)) for n, at in places.items()})
    assert " ".join(f"{name} {number}" for name, number in found.items()).split() == walks.split()


def test_warnings_stand_whole_on_the_cover() -> None:
    lots = ({"lot_row": "5", "lot_section": "2", "lot_code": "Y000"},)
    known = replace(expected(), warnings=({"where": "[pile] yarn", "fill": "50"}, {"fill": "9"}), lots=lots)
    told = {"where": "[pile] yarn", "fill": "509", "lot_row": "5", "lot_section": "2", "lot_code": "Y000"}
    assert list(covers._warned([sheet(span("warned", **told))], known)) == []
    for name in told:
        rest = {key: words for key, words in told.items() if key != name}
        (words,) = covers._warned([sheet(span("warned", **rest))], known)
        assert words == f"the cover says '' for {name}, not {told[name]}"
    assert list(covers._warned([sheet(span("warned", **told, more="7"))], known)) == [
        "the cover says '7' for more, not "
    ]
    grey = replace(known, chart=known.chart.model_copy(update={"marks": "colour"}), warnings=(), lots=())
    alike = replace(grey, yarns=tuple(replace(each, lab=(50.0, 0.0, 0.0)) for each in grey.yarns))
    assert list(covers._warned([sheet()], alike)) == ["the cover says '' for one_grey, not Y000, Y001"]


def entry(code: str, share: str | None, grams: str | None) -> Entry:
    return Entry((), 0, code, None, "", share, grams)


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ([entry("Y000", "62.50 %", "40"), entry("Y001", "37.50", "60")], []),
        ([], ["the grams of the legend do not add up to 100"]),
        (
            [entry("Y000", "62.60", "40"), entry("Y001", "37.40", "60")],
            ["the legend gives Y000 a share of 62.60", "the legend gives Y001 a share of 37.40"],
        ),
        (
            [entry("Y000", None, "40"), entry("Y001", "37.50", "60")],
            ["the legend gives Y000 no share", "the shares of the legend do not add up to 100 %"],
        ),
        (
            [entry("Y000", "62.50", None), entry("Y001", "37.50", "60")],
            ["the legend gives Y000 – grams, not 40", "the grams of the legend do not add up to 100"],
        ),
        (
            [entry("Z9", "1", "1"), entry("Y000", "62.50", "42"), entry("Y001", "37.50", "58")],
            ["the legend gives Y000 42 grams, not 40", "the legend gives Y001 58 grams, not 60"],
        ),
        ([entry("Y000", "62.50", "41"), entry("Y001", "37.50", "59")], []),
    ],
)
def test_shares_and_masses_of_the_legend_add_up(entries: list[Entry], said: list[str]) -> None:
    known = replace(expected(), grams=(40.0, 60.0))
    assert list(covers._shares(entries, known)) == said
    assert not any("gram" in words for words in covers._shares(entries, replace(known, grams=())))


class _Paper:
    """A paper of which only the picture on its cover is looked at."""

    def __init__(self, picture: Any) -> None:
        self.seen = picture

    def picture(self, name: str) -> Any:
        assert name == "Rug"
        return self.seen


def test_the_small_picture_of_the_rug_shows_its_knots() -> None:
    """Each pixel is the mean light of its knots: here 2 x 2 of them, from the top row down."""
    known = expected()
    colours = np.array([each.srgb for each in known.yarns], dtype=np.uint8)
    whole = colours[known.knots[::-1]]

    def wrong(picture: Any, wide: float = 40.0, *, more: int = 1) -> list[str]:
        cover = sheet(Block("picture", {}, [Picture("Rug", 10.0, 10.0, wide, 20.0)] * more))
        paper: Any = _Paper(picture)
        return list(covers.map_differences(paper, cover, known))

    other = "the picture of the rug on the cover has other colours, the first about row {}"
    assert wrong(whole) == []
    assert wrong(whole[::-1]) == [other.format(20)]
    spoilt = whole.copy()
    spoilt[12, 7] = 255 - spoilt[12, 7]
    assert wrong(spoilt) == [other.format(8)]
    proportions = ["the picture of the rug on the cover has other proportions than the rug"]
    assert wrong(whole, 40.7) == wrong(whole, 39.5) == []
    assert wrong(whole, 40.9) == wrong(whole, 39.1) == proportions
    assert wrong(whole, more=0) == wrong(whole, more=2) == ["the cover does not show the rug"]
    assert list(covers.map_differences(_Paper(whole), None, known)) == []  # type: ignore[arg-type]
    few = ["the picture of the rug on the cover does not have as many pixels as it should"]
    assert wrong(np.repeat(whole, 2, axis=0)) == wrong(whole[:, :39]) == few
    even = replace(known, knots=np.repeat(np.repeat(known.knots[::2, ::2], 2, axis=0), 2, axis=1))
    half: Any = _Paper(colours[even.knots[::-1]][::2, ::2])
    cover = sheet(Block("picture", {}, [Picture("Rug", 10.0, 10.0, 40.0, 20.0)]))
    assert list(covers.map_differences(half, cover, even)) == []


def test_a_sheet_marks_its_place_on_the_rug() -> None:
    """The rug is drawn 40 x 20 mm large, so that a column and a row take a millimetre each."""
    known = expected()
    cells = Cells(Block("cells", {}), range(5, 15), range(10, 40), 0.0, 0.0, 90.0, 30.0)

    def wrong(
        mark: tuple[float, ...], *, ink: float = 0.0, rug: tuple[float, ...] = (5.0, 7.0, 40.0, 20.0)
    ) -> list[str]:
        boxes: list[Any] = [Fill(*rug, (1.0,), True), Fill(*mark, (ink,), False)]
        place = Block("place", {"Rug": (5.0, 7.0, 40.0, 20.0)}, boxes)
        return list(covers.place_differences(sheet(place), cells, known))

    right = (15.0, 12.0, 30.0, 10.0)
    elsewhere = ["it marks another place on the rug than its own"]
    assert wrong(right) == wrong((15.05, 12.0, 30.0, 9.95)) == []
    for n in range(4):
        assert wrong(tuple(each + 0.1 * (n == at) for at, each in enumerate(right))) == elsewhere
        rug = (5.0, 7.0, 40.0, 20.0)
        assert wrong(right, rug=tuple(each + 0.1 * (n == at) for at, each in enumerate(rug))) == elsewhere
    assert wrong(right, ink=0.95) == ["its place on the rug is marked too pale to be seen"]
    unshown = ["it does not show where it lies on the rug"]
    assert list(covers.place_differences(sheet(), cells, known)) == unshown
    bare = Block("place", {}, [Fill(*right, (0.0,), False)] * 2)
    assert list(covers.place_differences(sheet(bare), cells, known)) == unshown
    narrow = Cells(Block("cells", {}), range(5, 15), range(10, 11), 0.0, 0.0, 90.0, 30.0)
    wide = replace(known, knots=np.zeros((20, 400), dtype=np.uint16))
    slim = Block("place", {"Rug": (5.0, 7.0, 40.0, 20.0)}, [])
    slim.items += [Fill(5.0, 7.0, 40.0, 20.0, (1.0,), True), Fill(6.0, 12.0, 0.8, 10.0, (0.0,), False)]
    assert list(covers.place_differences(sheet(slim), narrow, wide)) == []
