"""The words of a chart say whose sheet it is, what the rug measures, what lies outside it, and which yarn is which."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pypdfium2 as pdfium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, coloured_map, make_map, make_rug, settled

from chartmaker.figures.pile import odd_fills
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.language import part_of
from chartmaker.ground.units import parse_yarn_count
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Loom, Pile, Workshop
from chartmaker.paper.drawing import Sheet
from chartmaker.paper.papers import paper_of
from chartmaker.reports import coverfacts
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.chart.cover import LEAST_LINES, PLAN_WORDS_MM, cover_of
from chartmaker.sheets.chart.coverremarks import LEAST_SETTLED, WARNED_MM
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.grids import cells_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.sheets import Paper

COLOURS = np.array([[132, 35, 42], [31, 56, 104], [240, 232, 216]])


def _settled(
    knots: np.ndarray, *, weavers: int = 1, carved: dict[str, int] | None = None, **chart: object
) -> SettledMap:
    plain = coloured_map(knots, COLOURS, density=(40, 50), paper="A4", **chart)
    loom, pile = Loom(weavers=weavers), Pile.model_validate({"cut": "12 mm", "carved": carved or {}})
    return replace(plain, workshop=plain.workshop.model_copy(update={"loom": loom, "pile": pile}))


def _chart(knot_map: SettledMap) -> tuple[bytes, Expected]:
    figures = figures_of(knot_map, knot_map.workshop)
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop, cover_facts(figures))
    return stream.getvalue(), expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))


def _words(data: bytes) -> list[str]:
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(data)]


def _thin_yarns(number: int = 14, **chart: object) -> SettledMap:
    """Return a rug of which all yarns but one are far too thin, and whose height of pile is odd."""
    knots = np.arange(400).reshape(20, 20) % number
    plain = coloured_map(knots, np.arange(number * 3).reshape(-1, 3) * 4, density=(12, 12), **chart)
    yarns = tuple(
        replace(yarn, count=parse_yarn_count("Nm 0.15" if i == 5 else "Nm 5 x2")) for i, yarn in enumerate(plain.yarns)
    )
    pile = Pile.model_validate({"cut": "55 mm"})
    return replace(plain, yarns=yarns, workshop=plain.workshop.model_copy(update={"pile": pile}))


@pytest.mark.parametrize("paper", ["A5", "A4", "A2"])
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_warnings_that_change_a_weight_stand_whole_on_the_cover(paper: str, orientation: str) -> None:
    """Whoever weighs out or dyes sees the cover, and not the sheets of figures."""
    knot_map = _thin_yarns(paper=paper, orientation=orientation, cell="5 mm")
    data, expected = _chart(knot_map)
    assert list(chart_differences(data, expected)) == []
    cover = _words(data)[0]
    codes = ", ".join(yarn.code for number, yarn in enumerate(knot_map.yarns) if number != 5)
    assert f"look at [pile] yarn: {codes}: Nm 5 x2 x 1 at 12x12 per dm fills 1.4 %" in cover
    assert "The ground would show: take 17 strands." in cover
    assert "look at [pile] cut: 5.5 cm is unusual" in cover or "look at [pile] cut: 55 mm is unusual" in cover
    assert len(expected.warnings) == 2


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_strip_of_one_sheet_is_walked_on_that_sheet(mirrored: bool) -> None:
    knots = np.random.default_rng(2).integers(0, 3, (21, 20))
    data, expected = _chart(_settled(np.maximum(knots, knots[::-1]) if mirrored else knots))
    assert list(chart_differences(data, expected)) == []
    assert ("sheet 2, and back" in _words(data)[0]) == mirrored and "sheets 2 to 2" not in _words(data)[0]


@pytest.mark.parametrize("fault", ["none", "cut", "number"])
def test_a_cover_that_leaves_out_or_cuts_a_warning_is_found(monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    knot_map, plain = _thin_yarns(paper="A4", cell="5 mm"), coverfacts._warnings
    changes: dict[str, Callable[[Figures], tuple[str, ...]]] = {
        "none": lambda _figures: (),
        "cut": lambda figures: tuple(part_of(words, 0, len(words) - 20) for words in plain(figures)),
        "number": lambda figures: plain(
            replace(
                figures,
                pile=replace(
                    figures.pile, findings=tuple(odd_fills(figures.pile.yarns[:3], make_rug(20, 20, "14x14 per dm")))
                ),
            )
        ),
    }
    monkeypatch.setattr(coverfacts, "_warnings", changes[fault])
    data, expected = _chart(knot_map)
    assert any(words.startswith("the cover says ") for words in chart_differences(data, expected))


@cache
def _three_weavers() -> tuple[SettledMap, bytes, Expected]:
    knots = np.random.default_rng(1).integers(0, 3, (60, 180))
    knot_map = _settled(knots, weavers=3, strips=6)
    return knot_map, *_chart(knot_map)


def test_every_sheet_names_its_weaver_and_strips_and_the_cover_shows_the_seats() -> None:
    _, data, expected = _three_weavers()
    cover, *sheets = _words(data)
    assert all(f"weaver {number}" in cover for number in (1, 2, 3))
    seen = [re.search(r"Strip (\d) of 6 · weaver (\d) of 3 \(strips (\d) to (\d)\)", words) for words in sheets]
    assert [tuple(map(int, found.groups())) for found in seen if found] == [
        (strip, (strip + 1) // 2, strip - 1 + strip % 2, strip + strip % 2) for strip in range(1, 7)
    ]
    assert list(chart_differences(data, expected)) == []


def test_verify_notices_sheets_that_are_given_to_other_weavers() -> None:
    _, data, expected = _three_weavers()
    moved = replace(expected, seats=(range(60), range(60, 90), range(90, 180)))
    faults = list(chart_differences(data, moved))
    assert any("whose columns" in fault for fault in faults)
    assert any("names weaver 2 in another place" in fault for fault in faults)


@pytest.mark.parametrize("places", [lambda every: every[:-1], lambda every: [*every[:-1], every[0]]])
def test_a_sheet_whose_number_is_missing_from_the_map_of_the_sheets_is_noticed(
    monkeypatch: pytest.MonkeyPatch, places: Callable[[list[object]], list[object]]
) -> None:
    knot_map, _, expected = _three_weavers()
    plain = Sheet.labels

    def labels(self: Sheet, found: list[object], *rest: object, **more: object) -> None:
        plain(self, places(list(found)) if more.get("tag") == "sheet" else found, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Sheet, "labels", labels)
    found = list(chart_differences(_chart(knot_map)[0], expected))
    assert found[-1:] == ["a sheet does not have its number on the map of the sheets on the cover"]


def test_a_mirrored_strip_names_both_weavers_and_the_heaviest_line_parts_the_seats() -> None:
    half = np.random.default_rng(2).integers(0, 3, (40, 40))
    knot_map = _settled(np.hstack([half, half[:, ::-1]]), weavers=2, strips=2, marks="colour", cell="4 mm")
    data, expected = _chart(knot_map)
    assert any(
        "(strip 2, weaver 2): leave the sheet as it hangs, and read each row the other way" in words
        for words in _words(data)
    )
    assert list(chart_differences(data, expected)) == []


def test_a_sheet_gives_the_width_the_rows_in_10_cm_and_where_lengths_begin() -> None:
    """180 columns at 40 per dm are 45 cm, and a dm has 50 rows (arithmetic)."""
    _, data, expected = _three_weavers()
    said = [
        re.search(r"on the loom ([\d.]+) cm wide, 10 cm along = ([\d.]+) rows; lengths count", w) for w in _words(data)
    ]
    assert {found.groups() for found in said[1:] if found} == {("45", "50.0")}
    assert all(said[1:])
    wider = replace(expected, loom_measures={**expected.loom_measures, "loom_width": (46.0, 0.05)})
    assert any("width on the loom" in fault for fault in chart_differences(data, wider))


def test_the_cover_gives_the_weft_in_rows_and_picks_and_one_warp_end() -> None:
    cover = _words(_three_weavers()[1])[0]
    assert "2 passes per row Rows with weft 60 rows, 120 picks" in cover
    assert re.search(r"length of one end \d+\.\d\d m", cover)


def test_a_knot_that_nobody_chose_is_said_to_be_assumed() -> None:
    """Two weavers who open an asymmetric knot to different sides make two shades of one pile (common practice)."""
    plain = _settled(np.zeros((80, 60), dtype=np.uint16))
    chosen = replace(plain, rug=plain.rug.model_copy(update={"knot": "asymmetric, open left"}))
    for knot_map, other, words in (
        (plain, chosen, "Knot asymmetric (assumed)"),
        (chosen, plain, "Knot asymmetric, open left Pile"),
    ):
        data, expected = _chart(knot_map)
        assert words in _words(data)[0]
        assert list(chart_differences(data, expected)) == []
        given = replace(expected, rug=other.rug.model_copy(update={"knot": knot_map.rug.knot}))
        if knot_map is plain:
            assert any("kind of knot is assumed" in fault for fault in chart_differences(data, given))


@cache
def _oval() -> tuple[SettledMap, bytes, Expected]:
    rows, columns = np.mgrid[-1:1:80j, -1:1:60j]
    knots = np.where(rows**2 + columns**2 < 1, 0, NO_KNOT).astype(np.uint16)
    knots[40:, knots[40] == 0] = np.where(knots[40:, knots[40] == 0] == NO_KNOT, NO_KNOT, 1)
    knots[20, 30] = 2
    plain = _settled(knots)
    knot_map = replace(plain, rug=plain.rug.model_copy(update={"shape": "ellipse"}))
    return knot_map, *_chart(knot_map)


def test_sheets_of_a_shaped_rug_name_the_shape_and_say_what_is_woven_outside() -> None:
    _, data, expected = _oval()
    cover, *sheets = _words(data)
    assert "ellipse" in cover
    assert "with enough extra picks to keep it level" in cover
    assert re.search(r"Rows with weft 80 rows, 160 picks Weft outside about \d passe?s? in the height", cover)
    assert all("Ellipse: plain ground without knots outside its outline" in words for words in sheets)
    assert list(chart_differences(data, expected)) == []
    whole = replace(expected, knots=np.where(expected.knots == NO_KNOT, 0, expected.knots))
    assert any("outside the rug's outline" in fault for fault in chart_differences(data, whole))


def test_only_the_heavy_lines_continue_outside_the_outline() -> None:
    """Seen by pdfium: without a line to count from nobody could place the first knot of a round rug."""
    knot_map, data, expected = _oval()
    sheet = list(Paper(data, knot_map.knots.size).sheets())[1]
    cells = cells_of(next(iter(sheet.root.find("cells"))), expected)
    scale = 300 / 72
    page = pdfium.PdfDocument(data)[1]
    picture = np.asarray(page.render(scale=scale, grayscale=True).to_numpy()).squeeze()
    mm = scale * 72 / 25.4
    width, height = cells.cell_mm

    def darkest(column: float) -> int:
        """The darkest pixel near the left edge of a column, half way up the third row, which has no knot there."""
        x, y = (cells.x_mm + column * width) * mm, len(picture) - (cells.y_mm + 2.5 * height) * mm
        return int(picture[int(y), int(x) - 1 : int(x) + 3].min())

    assert (knot_map.knots[2, :15] == NO_KNOT).all()
    assert darkest(10) < 160
    assert darkest(7) > 240


def test_the_legend_has_a_plain_word_for_each_colour_and_the_heights_where_the_pile_is_carved() -> None:
    knots = np.random.default_rng(3).integers(0, 3, (40, 40))
    data, expected = _chart(_settled(knots, carved={"C2": "6 mm"}))  # type: ignore[dict-item]
    cover, sheet = _words(data)
    for words in (cover, sheet):
        assert all(word in words for word in ("dark red", "dark blue", "cream"))
    assert "cut 12, finished 6 mm" in cover
    assert cover.count("cut 12, finished") == 3
    assert list(chart_differences(data, expected)) == []
    first, _, last = expected.heights_mm
    faults = list(chart_differences(data, replace(expected, heights_mm=(first, (12.0, 7.0), last))))
    assert any("pile of C2" in fault for fault in faults)
    faded = replace(expected.yarns[0], lab=(90.0, 0.0, 0.0))
    faults = list(chart_differences(data, replace(expected, yarns=(faded, *expected.yarns[1:]))))
    assert any("colour of C1 is called 'dark red'" in fault for fault in faults)


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(["A5", "A4", "A3", "A2", "Letter"]),
    st.sampled_from(["portrait", "landscape"]),
    st.integers(1, 255),
    st.integers(12, 30),
    st.floats(0.3, 3),
)
def test_no_sheet_of_the_front_has_a_few_lines_of_the_legend_alone(paper, way, yarns, lines, ratio) -> None:
    cover = cover_of(paper_of(paper, way), yarns, lines, ratio)
    here = min(yarns, cover.legend_rows * cover.legend_columns)
    room = cover.more_rows * cover.more_columns
    rest = yarns - here
    assert cover.sheets == 1 + -(-rest // room)
    if rest:
        assert min(rest, (rest - 1) % room + 1) >= min(LEAST_LINES, yarns) or cover.sheets > 2 or here == 0
    legend, picture = cover.legend, cover.picture
    assert legend.right_mm <= cover.data.right_mm + 1e-6
    assert legend.top_mm <= picture.y_mm or legend.x_mm >= cover.page_map.right_mm
    assert legend.y_mm >= cover.signs.top_mm


@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_the_plan_of_a_rug_much_wider_than_long_has_room_below_what_is_to_be_settled(paper: str) -> None:
    """A strip of 40 by 5.6 cm would have pictures 12 mm high on A4, which three remarks would fill."""
    cover = cover_of(paper_of(paper), 4, 25, 40 / 5.6)
    remarks = (LEAST_SETTLED + 1) * WARNED_MM * cover.scale
    assert cover.page_map.height_mm - remarks - PLAN_WORDS_MM * cover.scale > 10


@pytest.mark.parametrize("yarns", [12, 30])
def test_the_example_s_legend_stands_on_its_cover_however_the_paper_lies(yarns: int) -> None:
    assert [cover_of(paper_of("A3", way), yarns, 22, 2 / 3).sheets for way in ("portrait", "landscape")] == [1, 1]


def test_a_wide_code_is_whole_and_clear_of_the_name_beside_it() -> None:
    knots = np.random.default_rng(4).integers(0, 3, (30, 30))
    plain = _settled(knots)
    yarns = tuple(replace(yarn, code=code) for yarn, code in zip(plain.yarns, ("WWWWWW", "MMMM-1", "I-1"), strict=True))
    data, expected = _chart(replace(plain, yarns=yarns))
    assert "WWWWWW" in _words(data)[0]
    assert list(chart_differences(data, expected)) == []


@pytest.mark.parametrize(
    ("pile", "cut", "said", "told"),
    # The other height is estimated by 1.15, 9 x 1.15 = 10.35, up to the half millimetre.
    [
        (
            "9 mm",
            "12 mm",
            "Pile cut 12 mm Pile finished 9 mm",
            "is cut 12 mm high at the loom; shorn and finished",
        ),
        ("9 mm", None, "Pile cut 10.5 mm (assumed) Pile finished 9 mm", "is cut 10.5 mm (assumed) high"),
        (None, "12 mm", "Pile cut 12 mm Pile finished 10 mm (assumed)", "finished it is 10 mm (assumed)."),
        (None, None, "Pile cut 10 mm (assumed) Pile finished 8.5 mm (assumed)", "is cut 10 mm (assumed) high"),
    ],
)
def test_covers_say_at_which_height_the_knife_cuts(pile: str | None, cut: str | None, said: str, told: str) -> None:
    """A weaver cuts every knot, and the finished pile alone does not say where."""
    workshop = Workshop.model_validate({"pile": {} if cut is None else {"cut": cut}})
    rug = make_rug(20, 20, **({} if pile is None else {"pile": pile}))
    knot_map = make_map(np.zeros((20, 20), dtype=int), rug, workshop)
    script = io.BytesIO()
    write_rows_pdf(script, knot_map, workshop)
    chart = io.BytesIO()
    write_chart(chart, knot_map, workshop, cover_facts(figures_of(*settled(knot_map))))
    for data, words in ((chart.getvalue(), said), (script.getvalue(), told)):
        assert words in " ".join(pdfium.PdfDocument(data)[0].get_textpage().get_text_range().split())


def test_the_script_names_yarns_that_are_cut_at_heights_of_their_own() -> None:
    tables = {"pile": {"cut": "12 mm", "heights": {"Y001": "14 mm"}, "carved": {"Y002": "6 mm"}}}
    rug, workshop = make_rug(20, 20, pile="9 mm"), Workshop.model_validate(tables)
    knot_map = make_map(np.arange(400).reshape(20, 20) % 4, rug, workshop)
    script = io.BytesIO()
    write_rows_pdf(script, knot_map, knot_map.workshop)
    words = " ".join(pdfium.PdfDocument(script.getvalue())[0].get_textpage().get_text_range().split())
    assert "Y001 is cut 14, finished 11 mm. Y002 is cut 12, finished 6 mm." in words and "Y000 is cut" not in words


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_a_mirrored_chart_says_that_the_knot_itself_is_not_mirrored(reading: str) -> None:
    """An asymmetric knot stays open to one side over the whole rug (common practice); a symmetric one has no sides."""
    half = np.arange(1240).reshape(40, 31) % 3
    plain = _settled(np.hstack([half, half[:, ::-1]]), reading=reading)
    for knot, told in (("asymmetric, open left", True), ("symmetric", False)):
        data, expected = _chart(replace(plain, rug=plain.rug.model_copy(update={"knot": knot})))
        front, *sheets = _words(data)
        assert ("half, mirrored; the knot itself is not" in front) is told
        assert all(("The knot itself is not mirrored." in words) is told for words in sheets)
        assert list(chart_differences(data, expected)) == []
    whole, _ = _chart(_settled(half, reading=reading))
    assert not any("knot itself" in words for words in _words(whole))


def test_the_cover_says_where_weavers_have_too_little_room() -> None:
    """A weaver needs about 90 cm, and half of that at least (figures/labour.py says on what it rests)."""
    knots = np.arange(1240).reshape(40, 31) % 3  # 7.75 cm wide
    crowded, expected = _chart(_settled(knots, weavers=2))
    assert "Room for each 3.9 cm; usual 90, at least 45 cm" in _words(crowded)[0]
    assert list(chart_differences(crowded, expected)) == []
    alone, _ = _chart(_settled(knots))
    assert "Room for each" not in _words(alone)[0]
    assert any("for seat_cm" in fault for fault in chart_differences(alone, expected))
