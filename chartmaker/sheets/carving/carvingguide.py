"""The first sheets of the carver's guide: heights, grooves, lines, the order of work, what is left uncut."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import mode

from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import both_sizes
from chartmaker.paper import operators as op
from chartmaker.paper.drawing import BLACK, Book, Sheet, colour_of
from chartmaker.paper.papers import paper_of
from chartmaker.reports.pileheights import ASSUMED
from chartmaker.sheets.carving.carvedlines import (
    GROOVE,
    GROOVE_MM,
    QUIET,
    QUIET_MM,
    RING_MM,
    STEP,
    STEP_MM,
    TICK_MM,
    TICK_REACHES_MM,
    CarvedDrawing,
    dash_of,
    height_words,
)
from chartmaker.sheets.carving.testsquare import TEST_ROOM_MM, draw_test_square

#: The radius and the middle of a ring, as shares of its reach.
RING_SIZE, RING_AT = 0.3, 0.55
_MARGIN_MM, _LINE_MM, _FOOT_MM = 14.0, 5.6, 16.0
#: The air below a list.
_LIST_GAP_MM = 7.0
_ROOM_MM = 182.0
#: Where a line's sample begins and ends, and where the words beside it begin.
_SAMPLE_MM, _BESIDE_MM = (14.0, 48.0), 54.0

_GROUND = phrase(
    "NEVER CUT INTO THE GROUND. Leave pile standing everywhere: at least {left} mm here, under the grooves too. "
    "Where the ground shows, stop; a cut ground cannot be mended by carving."
)
#: Where the carver cuts, by whether the rug has grooves and edges of lowered fields.
_LINES = {
    (True, True): phrase("Cut along dashed lines, and on the ticked side of lines with ticks, and nowhere else."),
    (True, False): phrase("Cut along dashed lines and nowhere else."),
    (False, True): phrase("Cut on the ticked side of lines with ticks and nowhere else."),
}
_PLAIN = phrase("At a plain thin line nothing is cut.")
_TIED_SO = phrase(
    "At a plain thin line nothing is cut, even where the numbers on its two sides differ: there the pile was tied so."
)
_LOOPS = phrase(
    "LOOP PILE, L in its fields: {codes}. Never shear, lower or groove it; a loop that is cut pulls out. Along its "
    "edges the blade stays on the other side."
)
HALF = phrase("Beside the loops of {codes} slope the cut pile alone, so that it is half as wide there.")
_THIN = phrase("Thin and plain: two colours meet, and nothing is cut.")
_PALE = phrase("The pale frame, centre lines and crosses only help to lay the sheets: never cut along them.")
_RINGS = phrase("Rings stand on loop pile (L in its fields): the blade stays on the other side of the line.")
_RINGS_GROOVED = phrase(
    "Rings stand on loop pile (L in its fields): the blade stays on the other side of the line, and of a groove only "
    "that other side slopes."
)
CAUTION = phrase(
    "Shears and carving machines cut fingers as easily as pile: keep the guards on and both hands behind the blades, "
    "wear no loose sleeves, wear a mask and eye protection, and unplug before cleaning. The maker's instructions and "
    "trained people come first."
)


class _Flow:
    """The sheets of the guide, one begun after another as the room on each runs out."""

    def __init__(self, book: Book, carved: CarvedDrawing) -> None:
        self._book, self._carved = book, carved
        self.sheet, self.y = self._begun()

    def _begun(self) -> tuple[Sheet, float]:
        paper, first = paper_of("A4"), not self._book.document.pages
        outline = [(0, say("Guide"))] if first else []
        sheet = self._book.sheet(paper.width_mm, paper.height_mm, say("guide"), outline=outline)
        _paragraph(sheet, say(CAUTION), 11.0, 7.0, _ROOM_MM)
        return sheet, _head(sheet, self._carved)

    def room(self, needed_mm: float) -> bool:
        """Make room, on the next sheet if this one has none left; return whether a sheet was begun."""
        if self.y - needed_mm >= _FOOT_MM:
            return False
        self.sheet.done()
        self.sheet, self.y = self._begun()
        return True


def write_guide(book: Book, carved: CarvedDrawing) -> None:
    """Write the sheets of the guide, mostly one."""
    flow = _Flow(book, carved)
    _heights(flow, carved)
    _grooves(flow, carved)
    _lines(flow, carved)
    _listed(flow, say("Order of work"), list(_work(carved)))
    _listed(flow, say("What must NOT be cut"), list(_uncut(carved)))
    flow.room(TEST_ROOM_MM - _FOOT_MM - _LIST_GAP_MM)
    draw_test_square(flow.sheet, carved, _MARGIN_MM)
    flow.sheet.done()


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


#: Where the columns of the table of heights begin.
_COLUMNS_MM = (_MARGIN_MM, 27.0, 45.0, 88.0, 105.0, 128.0, 150.0, 173.0)


def _heights(flow: _Flow, carved: CarvedDrawing) -> None:
    """Set the table of heights, as they are tied, as they are shorn and as they are left."""
    carving = carved.carving
    _heights_head(flow)
    for number, yarn in enumerate(carved.drawing.yarns):
        if flow.room(_LINE_MM):
            _heights_head(flow)
        flow.y -= _LINE_MM
        sheet, y = flow.sheet, flow.y
        cut, shorn, after = carving.cut_mm[number], carving.shorn_mm[number], carving.finished_mm[number]
        loop, lower, assumed = carving.loops[number], carving.lowered[number], carving.assumed[number]
        with sheet.tagged("carve-height"):
            sheet.box(_COLUMNS_MM[0], y - 1.1, 10, 4.3, fill=colour_of(yarn.srgb), edge=BLACK)
            sheet.text(_COLUMNS_MM[1], y, yarn.code, 9, bold=True, tag="code")
            sheet.text(_COLUMNS_MM[2], y, yarn.name, 8, most_mm=41)
            kind = say("LOOP") if loop else say("cut")
            sheet.text(_COLUMNS_MM[3], y, kind, 9, bold=loop, tag="loop-pile" if loop else "cut-pile")
            _height(sheet, _COLUMNS_MM[4], y, cut, assumed.cut, "cut")
            if cut > shorn:
                _height(sheet, _COLUMNS_MM[5], y, shorn, assumed.shorn, "shorn")
            else:
                sheet.text(_COLUMNS_MM[5], y, say("not shorn"), 9, tag="unshorn")
            _height(sheet, _COLUMNS_MM[6], y, after, assumed.finished, "height", bold=lower)
            off = say("never cut") if loop else say("nothing")
            sheet.text(_COLUMNS_MM[7], y, height_words(shorn - after) if lower else off, 9, tag="off")
    flow.y = _paragraph(flow.sheet, carved.origins, flow.y - 4.6, 7.0, _ROOM_MM) - 7.5


def _height(
    sheet: Sheet, x_mm: float, y_mm: float, height_mm: float, assumed: bool, tag: str, *, bold: bool = False
) -> None:
    """Write a height, and behind it in small letters the mark of one that nobody gave."""
    taken_mm = sheet.text(x_mm, y_mm, height_words(height_mm), 10 if tag == "height" else 9, bold=bold, tag=tag)
    if assumed:
        sheet.text(x_mm + taken_mm + 1, y_mm, say(ASSUMED), 6.5, tag=f"assumed-{tag}")


def _heights_head(flow: _Flow) -> None:
    heads = (
        *(say("swatch"), say("yarn"), say("name"), say("pile"), say("mm cut"), say("mm shorn")),
        *(say("mm finished"), say("mm to carve")),
    )
    for x, head in zip(_COLUMNS_MM, heads, strict=True):
        flow.sheet.text(x, flow.y, head, 7.5, bold=True)


def _grooves(flow: _Flow, carved: CarvedDrawing) -> None:
    """Set the table of grooves, each with its line and its length in metres."""
    carving = carved.carving
    if not carving.grooves:
        return
    flow.room(3 * _LINE_MM)
    flow.sheet.text(_MARGIN_MM, flow.y, say("Grooves"), 10, bold=True)
    profile = say("both sides slope") if carving.profile == "vee" else say("the first yarn stands upright")
    words = say(
        "{depth:g} mm deep, {width:g} mm wide at the surface; {profile}",
        depth=carving.depth_mm,
        width=carving.width_mm,
        profile=profile,
    )
    flow.sheet.text(40, flow.y, words, 8.5)
    for number, groove in enumerate(carving.grooves):
        flow.room(_LINE_MM)
        flow.y -= _LINE_MM
        sheet, y = flow.sheet, flow.y
        _groove_sample(sheet, y + 1, number)
        with sheet.tagged("carve-groove"):
            sheet.text(_BESIDE_MM, y, groove.name, 9, bold=True, tag="groove")
            sheet.text(110, y, f"{carved.groove_m[number]:.2f}", 9, align="right", tag="metres")
            sheet.text(111.5, y, say("m"), 9)
    flow.y -= 7.5


def _groove_sample(sheet: Sheet, y: float, number: int = 0) -> None:
    sheet.add(op.dashes(dash_of(number)))
    sheet.line(_SAMPLE_MM[0], y, _SAMPLE_MM[1], y, GROOVE_MM, colour=GROOVE)
    sheet.add(op.dashes(()))


def _tick_samples(sheet: Sheet, y: float) -> None:
    begin, end = _SAMPLE_MM
    places = [begin + 3 + 6 * number for number in range(int((end - begin) // 6))]
    sheet.lines([(x, y, x, y - TICK_REACHES_MM[0]) for x in places], TICK_MM, colour=STEP)


def _dash_words(carved: CarvedDrawing) -> str:
    """Return what a line of dashes alone asks for."""
    if not carved.uneven_grooves:
        return say("Dashes alone: cut the groove along the line, as deep as it is said above.")
    return say(
        "Dashes alone: cut the groove along the line. Where the pile stands at two heights beside it, its depth counts "
        "from the lower side."
    )


def _lines(flow: _Flow, carved: CarvedDrawing) -> None:
    """Set the key of the lines in full size, those that the drawing has."""
    begin, end = _SAMPLE_MM
    grooved = bool(carved.grooved_steps)
    rows = (
        (
            bool(carved.bare_steps),
            (STEP, True, False, False),
            say(
                "Ticks: lower the pile on the side of the ticks down to the number in the field; what lies on the "
                "other side keeps its height."
            ),
        ),
        (
            grooved,
            (GROOVE, True, True, False),
            say(
                "Dashes and ticks on one line: first lower the side of the ticks, then cut the groove along the same "
                "line; its depth counts from the lower side."
            ),
        ),
        (
            bool(carved.carving.grooves),
            (GROOVE, False, True, False),
            _dash_words(carved),
        ),
        (
            bool(carved.rings),
            (
                GROOVE if carved.carving.grooves else STEP,
                not carved.carving.grooves,
                bool(carved.carving.grooves),
                True,
            ),
            say(_RINGS_GROOVED if carved.carving.grooves else _RINGS),
        ),
        (
            True,
            (QUIET, False, False, False),
            f"{say(_THIN)} {say(_PALE)}" if carved.quiet else say(_PALE),
        ),
    )
    flow.room(2 * _LINE_MM)
    flow.sheet.text(_MARGIN_MM, flow.y, say("Lines in full size"), 10, bold=True)
    for shown, (colour, ticks, dashed, rings), words in rows:
        if not shown:
            continue
        flow.room(_LINE_MM + 2)
        flow.y -= _LINE_MM
        sheet, y = flow.sheet, flow.y
        if dashed:
            _groove_sample(sheet, y + 1)
        else:
            sheet.line(begin, y + 1, end, y + 1, QUIET_MM if colour == QUIET else STEP_MM, colour=colour)
        if ticks:
            _tick_samples(sheet, y + 1)
        if rings:
            reach = mode(mark.reach_mm for mark in carved.rings)  # as on most of the sheets
            for x in (begin + 6, end - 6):
                ring(sheet, (x, y + 1 + reach * RING_AT), reach * RING_SIZE)
        flow.y = _paragraph(sheet, words, y, 8.0, _ROOM_MM - _BESIDE_MM + _MARGIN_MM, x=_BESIDE_MM)
    flow.y -= 7.5


def ring(sheet: Sheet, middle: tuple[float, float], radius_mm: float) -> None:
    """Draw the ring that stands on loop pile."""
    sheet.ring(*middle, radius_mm, colour=BLACK, line_mm=RING_MM)


def _work(carved: CarvedDrawing) -> Iterator[str]:
    """Yield the steps of the work in order (common practice)."""
    carving, yarns = carved.carving, carved.drawing.yarns
    yield say("Cut the test square below in a sample of this pile, or where it will not show, until it looks right.")
    yield _shearing(carved)
    steps = sorted(
        (number for number in range(len(yarns)) if carving.lowered[number]),
        key=lambda number: (-carving.finished_mm[number], yarns[number].code),
    )
    for number in steps:
        yield say(
            "Lower the fields of {code} from {before} to {height} mm, from their middle out to the lines with ticks.",
            code=yarns[number].code,
            before=height_words(carving.shorn_mm[number]),
            height=height_words(carving.finished_mm[number]),
        )
    longest = sorted(range(len(carving.grooves)), key=lambda number: -carved.groove_m[number])
    for number in longest:
        words = say("Cut the groove {groove}, in long strokes along its dashes.", groove=carving.grooves[number].name)
        loops = ", ".join(yarns[yarn].code for yarn in carved.groove_loops(number))
        if loops:
            words = f"{words} {say(HALF, codes=loops)}"
        yield words
    yield say("Brush out what is cut, look along the pile under light from one side, and even the edges.")


def _shearing(carved: CarvedDrawing) -> str:
    """Return how the pile is shorn before anything is carved: level, or each yarn to its own height."""
    carving, yarns = carved.carving, carved.drawing.yarns
    shorn: dict[float, list[str]] = {}
    low, loops = [], []
    for number, yarn in enumerate(yarns):
        if carving.loops[number]:
            loops.append(yarn.code)
        elif carving.cut_mm[number] > carving.shorn_mm[number]:
            shorn.setdefault(carving.shorn_mm[number], []).append(yarn.code)
        else:
            low.append(yarn.code)
    if len(shorn) == 1 and not low and not loops:
        return say(
            "Shear the whole pile level first, to {height} mm, and brush it up: every height here counts from the "
            "ground.",
            height=height_words(next(iter(shorn))),
        )
    if not shorn:
        return say("This pile is not shorn. Brush it up: every height here counts from the ground.")
    each = "; ".join(
        say("{codes} to {height} mm", codes=", ".join(codes), height=height_words(height))
        for height, codes in sorted(shorn.items(), reverse=True)
    )
    parts = [say("Shear first, each yarn to its own height and never level over the whole rug: {each}.", each=each)]
    if low:
        parts.append(say("The shears leave {codes} as it was tied.", codes=", ".join(low)))
    if loops:
        parts.append(say("Keep the shears off {codes}: LOOP PILE.", codes=", ".join(loops)))
    parts.append(say("Then brush the pile up: every height here counts from the ground."))
    return " ".join(parts)


def _uncut(carved: CarvedDrawing) -> Iterator[str]:
    """Yield what must stay as it is."""
    carving, yarns = carved.carving, carved.drawing.yarns
    lowest = min(carving.finished_mm)
    if carving.grooves:
        beside = [
            carving.finished_mm[yarn]
            for borders in carved.grooves
            for border in borders
            for yarn in (border.one, border.two)
        ]
        lowest = min(lowest, min(beside, default=lowest) - carving.depth_mm)
    yield say(_GROUND, left=height_words(round(lowest, 2)))
    asked = say(_LINES[bool(carving.grooves), bool(carved.steps)]) if carving.grooves or carved.steps else ""
    differing = any(carving.finished_mm[each.one] != carving.finished_mm[each.two] for each in carved.quiet)
    plain = say(_TIED_SO if differing else _PLAIN) if carved.quiet else ""
    if asked or plain:
        yield f"{asked} {plain}".strip()
    loops = [yarn.code for number, yarn in enumerate(yarns) if carving.loops[number]]
    if loops:
        yield say(_LOOPS, codes=", ".join(loops))
    grooved = {yarn for borders in carved.grooves for border in borders for yarn in (border.one, border.two)}
    whole = [
        number
        for number in range(len(yarns))
        if number not in grooved and not carving.loops[number] and not carving.lowered[number]
    ]
    if whole:
        words = say("Not carved, up to all edges: {codes}.", codes=", ".join(yarns[number].code for number in whole))
        if any(number in (border.one, border.two) for border in carved.steps for number in whole):
            words = (
                f"{words} {say('Where a lowered field lies beside it, the lowering stays on the side of the ticks.')}"
            )
        yield words


def _listed(flow: _Flow, title: str, items: list[str]) -> None:
    flow.room(18.0)
    flow.sheet.text(_MARGIN_MM, flow.y, title, 10, bold=True)
    for number, words in enumerate(items, start=1):
        parts = flow.sheet.wrapped(words, 8.0, _ROOM_MM - 8)
        flow.room(4.6 + 3.6 * len(parts))
        flow.y -= 4.4
        flow.sheet.text(_MARGIN_MM, flow.y, f"{number}", 8, bold=True)
        flow.y = _paragraph(flow.sheet, words, flow.y, 8.0, _ROOM_MM - 8, x=_MARGIN_MM + 6)
    flow.y -= _LIST_GAP_MM


def _paragraph(sheet: Sheet, words: str, y: float, size_pt: float, most_mm: float, x: float = _MARGIN_MM) -> float:
    """Set words in lines and return the base line of the last."""
    for number, part in enumerate(sheet.wrapped(words, size_pt, most_mm)):
        y -= (size_pt * 0.45) if number else 0.0
        sheet.text(x, y, part, size_pt)
    return y
