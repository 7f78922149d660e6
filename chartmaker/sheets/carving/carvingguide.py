"""The first sheet of the carver's guide: heights, grooves, the order of work, a test square, and what is left uncut."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from chartmaker.figures.carving import Carving
from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import both_sizes
from chartmaker.paper import operators as op
from chartmaker.paper.drawing import BLACK, GREY, PALE, Book, Sheet, colour_of
from chartmaker.paper.papers import paper_of
from chartmaker.sheets.carving.carvedlines import CarvedDrawing, dash_of, height_words

#: Grooves are red and steps of height blue, on the guide and in full size.
GROOVE, STEP = (0.85, 0.05, 0.05), (0.0, 0.2, 1.0)
_MARGIN_MM, _LINE_MM = 14.0, 6.4
_TEST_MM = 50.0
_ROOM_MM = 182.0
#: Heights of more yarns than this go on a further sheet.
_FIRST_YARNS, _FURTHER_YARNS = 14, 36

_UNCUT = (
    phrase(
        "NEVER CUT INTO THE GROUND. Leave pile standing everywhere: at least {left} mm here, under the grooves too. "
        "Where the ground shows, stop; a cut ground cannot be mended by carving."
    ),
    phrase("Cut along red and blue lines only. Where two colours meet at a grey line, nothing is cut."),
)
CAUTION = phrase(
    "Shears and carving machines cut fingers as easily as pile: keep the guards on and both hands behind the blades, "
    "wear no loose sleeves, wear a mask and eye protection, and unplug before cleaning. The maker's instructions and "
    "trained people come first."
)


def write_guide(book: Book, carved: CarvedDrawing) -> None:
    """Write the first sheet, and further ones if there are many yarns."""
    paper = paper_of("A4")
    left = list(range(len(carved.drawing.yarns)))
    first = True
    while left or first:
        sheet = book.sheet(paper.width_mm, paper.height_mm, say("guide"), outline=[(0, say("Guide"))] if first else [])
        y = _head(sheet, carved)
        room = _FIRST_YARNS if first else _FURTHER_YARNS
        y = _heights(sheet, carved, left[:room], y)
        del left[:room]
        if first:
            y = _grooves(sheet, carved, y)
            y = _listed(sheet, say("Order of work"), list(_work(carved)), y)
            y = _listed(sheet, say("What must NOT be cut"), list(_uncut(carved)), y)
            _test_square(sheet, carved.carving, 62.0)
            _paragraph(sheet, say(CAUTION), 11.0, 7.0, _ROOM_MM)
        sheet.done()
        first = False


def _head(sheet: Sheet, carved: CarvedDrawing) -> float:
    y = sheet.height_mm - _MARGIN_MM - 4
    drawing, when = carved.drawing, carved.carving.when
    sheet.text(_MARGIN_MM, y, say("{name}: carving", name=drawing.name), 15, bold=True, most_mm=_ROOM_MM)
    washed = say(when) if when else say("[  ] before washing   [  ] after washing: tick which")
    words = say(
        "Carved {when}. Size then {size}; map {code}",
        when=washed,
        size=both_sizes(drawing.width_mm, drawing.height_mm),
        code=drawing.code,
    )
    sheet.text(_MARGIN_MM, y - 6, words, 8.5, most_mm=_ROOM_MM)
    return y - 12


def _heights(sheet: Sheet, carved: CarvedDrawing, yarns: list[int], y: float) -> float:
    """Set the table of heights, as they are shorn and as they are left."""
    carving = carved.carving
    columns = (_MARGIN_MM, 28.0, 50.0, 104.0, 130.0, 158.0)
    heads = (say("swatch"), say("yarn"), say("name"), say("mm as shorn"), say("mm finished"), say("mm to take off"))
    for x, head in zip(columns, heads, strict=True):
        sheet.text(x, y, head, 7.5, bold=True)
    for yarn in yarns:
        y -= _LINE_MM
        before, after = carving.shorn_mm[yarn], carving.finished_mm[yarn]
        lower = before - after > 1e-6
        one = carved.drawing.yarns[yarn]
        with sheet.tagged("carve-height"):
            sheet.box(columns[0], y - 1.2, 10, 4.6, fill=colour_of(one.srgb), edge=BLACK)
            sheet.text(columns[1], y, one.code, 9, bold=True, tag="code")
            sheet.text(columns[2], y, one.name, 8, most_mm=50)
            sheet.text(columns[3], y, height_words(before), 9)
            sheet.text(columns[4], y, height_words(after), 10, bold=lower, tag="height")
            sheet.text(columns[5], y, height_words(round(before - after, 2)) if lower else say("nothing"), 9)
    return y - 9


def _grooves(sheet: Sheet, carved: CarvedDrawing, y: float) -> float:
    """Set the table of grooves, each with its line and its length in metres."""
    carving = carved.carving
    if not carving.grooves:
        return y
    sheet.text(_MARGIN_MM, y, say("Grooves"), 10, bold=True)
    profile = say("both sides slope") if carving.profile == "vee" else say("the first yarn stands upright")
    words = say(
        "{depth:g} mm deep, {width:g} mm wide at the surface; {profile}",
        depth=carving.depth_mm,
        width=carving.width_mm,
        profile=profile,
    )
    sheet.text(40, y, words, 8.5)
    for number, groove in enumerate(carving.grooves):
        y -= _LINE_MM
        sheet.add(op.dashes(dash_of(number)))
        sheet.line(_MARGIN_MM, y + 1, 48, y + 1, 0.7, colour=GROOVE)
        sheet.add(op.dashes(()))
        with sheet.tagged("carve-groove"):
            sheet.text(54, y, groove.name, 9, bold=True, tag="groove")
            sheet.text(110, y, f"{carved.groove_m[number]:.2f}", 9, align="right", tag="metres")
            sheet.text(111.5, y, say("m"), 9)
    return y - 9


def _work(carved: CarvedDrawing) -> Iterator[str]:
    """Yield the steps of the work in order (common practice)."""
    carving = carved.carving
    yield say("Cut the test square below in a sample of this pile, or where it will not show, until it looks right.")
    yield say("Shear the whole pile level first, and brush it up: every height here counts from the ground.")
    steps = sorted(
        {
            (carving.finished_mm[yarn], one.code)
            for yarn, one in enumerate(carved.drawing.yarns)
            if carving.shorn_mm[yarn] - carving.finished_mm[yarn] > 1e-6
        },
        reverse=True,
    )
    for height, code in steps:
        yield say(
            "Lower the fields of {code} to {height} mm, from their middle out to the blue line.",
            code=code,
            height=height_words(height),
        )
    longest = sorted(range(len(carving.grooves)), key=lambda number: -carved.groove_m[number])
    for number in longest:
        yield say("Cut the groove {groove}, in long strokes along the red line.", groove=carving.grooves[number].name)
    yield say("Brush out what is cut, look along the pile under light from one side, and even the edges.")


def _uncut(carved: CarvedDrawing) -> Iterator[str]:
    """Yield what must stay as it is."""
    carving = carved.carving
    lowest = min(carving.finished_mm, default=0.0)
    if carving.grooves:
        beside = [
            carving.finished_mm[yarn]
            for borders in carved.grooves
            for border in borders
            for yarn in (border.one, border.two)
        ]
        lowest = min(lowest, min(beside, default=lowest) - carving.depth_mm)
    yield say(_UNCUT[0], left=height_words(round(lowest, 2)))
    yield say(_UNCUT[1])
    touched = {yarn for borders in carved.grooves for border in borders for yarn in (border.one, border.two)}
    whole = [
        one.code
        for yarn, one in enumerate(carved.drawing.yarns)
        if yarn not in touched and carving.shorn_mm[yarn] - carving.finished_mm[yarn] < 1e-6
    ]
    if whole:
        yield say("Untouched, at their edges too: {codes}.", codes=", ".join(whole))


def _listed(sheet: Sheet, title: str, items: list[str], y: float) -> float:
    sheet.text(_MARGIN_MM, y, title, 10, bold=True)
    for number, words in enumerate(items, start=1):
        y -= 4.6
        sheet.text(_MARGIN_MM, y, f"{number}", 8, bold=True)
        y = _paragraph(sheet, words, y, 8.0, _ROOM_MM - 8, x=_MARGIN_MM + 6)
    return y - 8


def _paragraph(sheet: Sheet, words: str, y: float, size_pt: float, most_mm: float, x: float = _MARGIN_MM) -> float:
    """Set words in lines and return the base line of the last."""
    for number, part in enumerate(sheet.wrapped(words, size_pt, most_mm)):
        y -= (size_pt * 0.45) if number else 0.0
        sheet.text(x, y, part, size_pt)
    return y


def _test_square(sheet: Sheet, carving: Carving, top_mm: float) -> None:
    """Draw a test square in full size, to be cut first, and the groove from the side."""
    low = top_mm - _TEST_MM + 6
    sheet.text(_MARGIN_MM, top_mm + 9, say("Test square, in full size"), 10, bold=True)
    sheet.box(_MARGIN_MM, low, _TEST_MM, _TEST_MM - 2, edge=GREY, edge_mm=0.3)
    sheet.box(_MARGIN_MM + 12, low + 12, _TEST_MM - 24, _TEST_MM - 26, edge=GROOVE, edge_mm=0.7)
    words = (
        say("Cut the red square, and lower what lies in it where fields are lowered."),
        say("Measured: depth ........ mm, width ........ mm, height left ........ mm"),
        say("Blade or machine: ............................... by: ..........................."),
    )
    for number, part in enumerate(words):
        sheet.text(_MARGIN_MM + _TEST_MM + 6, top_mm - 2 - 6 * number, part, 8)
    if carving.grooves:
        _section(sheet, carving, _MARGIN_MM + _TEST_MM + 8, low + 2)


def _section(sheet: Sheet, carving: Carving, x: float, y: float) -> None:
    """Draw a groove from the side, in full size or, where the pile is low, two or three times as large."""
    times = min(max(int(16 / max(carving.finished_mm)), 1), 3)
    pile = max(carving.finished_mm) * times
    deep, wide = carving.depth_mm * times, carving.width_mm * times
    middle = x + 22
    begin = middle - wide / 2 if carving.profile == "vee" else middle
    end = middle + wide / 2 if carving.profile == "vee" else middle + wide
    top = [(x, y), (x, y + pile), (begin, y + pile), (middle, y + pile - deep), (end, y + pile), (x + 44, y + pile)]
    sheet.polygon([*top, (x + 44, y)], fill=PALE)
    sheet.lines([(x, y, x + 44, y)], 0.8)
    sheet.lines([(*one, *two) for one, two in pairwise(top[1:])], 0.3, colour=GROOVE)
    words = (
        say("from the side, {times} times as large", times=times) if times > 1 else say("from the side, in full size")
    )
    sheet.text(x + 50, y + 4, words, 7)
