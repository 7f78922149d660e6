"""What a page prints: its texts and filled boxes with their places, under the tags that say what they mean.

Operators that no chart needs, such as those for clipping, transparency or invisible letters, are refused, because they
could hide what is printed. Places are in millimetres from the lower left corner of the page.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from chartmaker.ground.language import say
from chartmaker.readback.lettering import PrintedFont
from chartmaker.readback.operators import Drawing, State
from chartmaker.readback.pdffile import UnreadableError
from chartmaker.readback.printed import Block

POINTS_PER_MM = 72 / 25.4
_NO_NUMBER = re.compile(rb"(?i)(?<![/a-z])(?:nan|inf)|\d_\d")
#: Forms are nested no deeper than this.
_MOST_FORMS = 4


class Contents:
    """A reader of pages that use the fonts and the repeated drawings (forms) of one file.

    Parameters
    ----------
    fonts : dict of PrintedFont by key
    form : callable
        Returns the contents of a form by its name, and None for a picture.
    most_operators : int
        All pages together may have this many.
    """

    def __init__(self, fonts: dict[str, PrintedFont], form: Callable[[str], bytes | None], most_operators: int) -> None:
        self._fonts, self._form = fonts, form
        self._left = most_operators
        self._groups: dict[tuple[Any, ...], Block] = {}

    def page(self, content: bytes) -> Block:
        """Return what a page prints.

        Raises
        ------
        UnreadableError
            If it has operators that no chart has, or spans that are not closed in order.
        """
        scale = 1 / POINTS_PER_MM
        return self.drawing(content, State((scale, 0.0, 0.0, scale, 0.0, 0.0)), 0)

    def drawing(self, content: bytes, state: State, depth: int) -> Block:
        """Return what `content` draws, beginning in `state`."""
        small = content.lower()  # to look for letters that are seldom there takes a tenth of the time
        if (b"nan" in small or b"inf" in small or b"_" in small) and _NO_NUMBER.search(content):
            raise UnreadableError(say("one of its numbers is not a number"))
        run = Drawing(self, state, depth)
        try:
            run.read(content)
        except (IndexError, KeyError, TypeError, OverflowError, UnicodeDecodeError) as error:
            raise UnreadableError(say("what a page holds is damaged")) from error
        except ValueError as error:
            raise (
                error if isinstance(error, UnreadableError) else UnreadableError(say("what a page holds is damaged"))
            ) from error
        return run.root

    def spend(self, operators: int) -> None:
        """Count operators, and refuse them where they are too many.

        Raises
        ------
        UnreadableError
            If there are more than any chart of this rug has.
        """
        self._left -= operators
        if self._left < 0:
            raise UnreadableError(say("it holds more drawing than the chart of this rug can need"))

    def font(self, key: str) -> PrintedFont:
        if key not in self._fonts:
            raise UnreadableError(say("a text is set in a font that the file does not have"))
        return self._fonts[key]

    def group(self, name: str, content: bytes, state: State, depth: int) -> Block:
        """Return the drawing `content` about (0, 0), which is worked out once for all the places where it stands."""
        key = (content if name == "run" else name, state.key)
        if key not in self._groups:
            if depth > _MOST_FORMS:
                raise UnreadableError(say("its drawings are nested too deeply"))
            fresh = state.copy()
            fresh.matrix = (*state.matrix[:4], 0.0, 0.0)
            self._groups[key] = self.drawing(content, fresh, depth + 1)
        return self._groups[key]

    def form(self, name: str) -> bytes | None:
        return self._form(name)
