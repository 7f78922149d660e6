"""A language that nobody speaks, which shows what depends on English words."""

from __future__ import annotations

import re


class Pseudo:
    """A language in which every word is different, only the fields stay, and each sentence is longer."""

    def sentence(self, template: str) -> str:
        pieces = re.split(r"(\{[^}]*\})", template)
        return "".join(piece if n % 2 else re.sub(r"[A-Za-z]+", "Zu", piece) for n, piece in enumerate(pieces))

    def plural(self, one: str, many: str, number: int) -> str:
        return self.sentence(one if number == 1 else many)
