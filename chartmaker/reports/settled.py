"""What is to be settled before weaving: the remarks that are no notes, in as many lines as a sheet has room for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from chartmaker.ground.findings import Finding
from chartmaker.ground.language import field, told


def settle_words(remarks: Iterable[Finding]) -> tuple[str, ...]:
    """Return the remarks that are more than notes, each a numbered field of its own."""
    serious = [finding for finding in remarks if finding.severity != "note"]
    said = [told("{where}: {what}", where=finding.where, what=finding.what) for finding in serious]
    return tuple(field(f"settle{number}", str(words)) for number, words in enumerate(said, start=1))


def settled_lines(settle: Sequence[str], most: int, broken: Callable[[str], Sequence[str]]) -> list[str]:
    """Return remarks in at most `most` lines, the title counted; `broken` gives the lines of one.

    None is cut, and those that do not fit are counted.
    """
    each = [broken(words) for words in settle]
    shown, lines = 0, 1
    while shown < len(each) and lines + len(each[shown]) + (shown + 1 < len(each)) <= most:
        lines += len(each[shown])
        shown += 1
    printed = [line for remark in each[:shown] for line in remark]
    if shown < len(each):
        words = "{settle_more} more: chartmaker check tells them, and summary.json holds them"
        printed.append(told(words, settle_more=len(each) - shown))
    return printed
