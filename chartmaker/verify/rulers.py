"""The rulers of a sheet, by which the printed size is checked: each millimetre of them, and the figures beside them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from chartmaker.ground.language import say
from chartmaker.readback.printed import Block, Group, Line, Text, stands_out
from chartmaker.verify.sheets import Sheet

#: Printed places are rounded, so a tick and the middle of a figure may stand this far from their millimetre.
TICK_OFF_MM, FIGURE_OFF_MM = 0.02, 0.1
WHITE = (1.0,)
#: Every ruler is at least this long.
SHORTEST_MM = 50
#: The names of the repeated drawings that rulers are, by whether they run upward.
NAMES = {False: "Across", True: "Upward"}


def ruler_differences(sheet: Sheet) -> Iterator[str]:
    """Yield a fault unless a sheet has one true ruler across and one upward, all of it on the paper."""
    room = {False: sheet.width_mm, True: sheet.height_mm}
    for upward, name in NAMES.items():
        rulers = [each for each in sheet.root.items if isinstance(each, Group) and each.name.startswith(name)]
        if len(rulers) != 1:
            yield say("it does not have one ruler across and one upward")
            continue
        (ruler,) = rulers
        begin = ruler.y_mm if upward else ruler.x_mm
        length = ruler_mm(ruler.root, upward=upward)
        if length < SHORTEST_MM or begin < 0 or begin + length > room[upward]:
            yield say("its ruler is not true: its ticks are not a millimetre apart, or its figures are others")


def ruler_mm(drawn: Block, *, upward: bool) -> int:
    """Return how long a ruler is that begins at (0, 0), or 0 if it is not true to the millimetre."""
    lines = [each for each in drawn.items if isinstance(each, Line)]
    texts = [each for block in (drawn, *drawn.blocks()) for each in block.items if isinstance(each, Text)]
    along = [(line.y_mm, line.to_y_mm, line.x_mm, line.to_x_mm) for line in lines]
    if not upward:
        along = [(begin, end, low, high) for low, high, begin, end in along]
    length = round(max((abs(end - begin) for begin, end, _, _ in along), default=0.0))
    bases = [line for line in along if abs(line[1] - line[0]) > TICK_OFF_MM]
    ticks = sorted((begin, abs(high - low)) for begin, end, low, high in along if abs(end - begin) <= TICK_OFF_MM)
    on_base = all(abs(low) <= TICK_OFF_MM for _, _, low, _ in along)
    seen = all(stands_out(ink, WHITE) for ink in (*(line.colour for line in lines), *(text.colour for text in texts)))
    true = len(bases) == 1 and abs(bases[0][0]) <= TICK_OFF_MM >= abs(bases[0][1] - length)
    if not (true and on_base and seen and _ticked(ticks, length) and _figured(texts, length, upward=upward)):
        return 0
    return length


def _ticked(ticks: Sequence[tuple[float, float]], length: int) -> bool:
    """Return whether there is a tick at each millimetre, longer at every fifth and longest at every tenth."""
    if len(ticks) != length + 1 or max(abs(place - due) for due, (place, _) in enumerate(ticks)) > TICK_OFF_MM:
        return False
    ones = [long for place, (_, long) in enumerate(ticks) if place % 5]
    fives = [long for place, (_, long) in enumerate(ticks) if place % 10 == 5]
    tens = [long for place, (_, long) in enumerate(ticks) if place % 10 == 0]
    return bool(max(ones) < min(fives) and max(fives) < min(tens))


def _figured(texts: Sequence[Text], length: int, *, upward: bool) -> bool:
    """Return whether the figures stand at every tenth millimetre, and the last one has its unit."""
    wanted = {f"{place}": place for place in range(0, length - 9, 10)} | {f"{length} mm": length}
    middles = {
        text.words: (text.y_mm if upward else text.x_mm) + text.length_mm / 2
        for text in texts
        if text.upright != upward
    }
    return (
        len(texts) == len(wanted)
        and middles.keys() == wanted.keys()
        and all(abs(middle - wanted[words]) <= FIGURE_OFF_MM for words, middle in middles.items())
    )
