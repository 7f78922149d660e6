"""Where the value of a key came from: the rug file, or a command-line option that overrode it."""

from __future__ import annotations


class OptionKey(str):
    """A key of the rug file whose value came from `option`, so that a complaint can name it and not the file."""

    option: str

    def __new__(cls, key: str, option: str) -> OptionKey:
        made = super().__new__(cls, key)
        made.option = option
        return made
