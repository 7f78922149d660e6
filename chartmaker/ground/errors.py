"""All exceptions of the project; each class carries the exit code with which the command ends."""

from __future__ import annotations

from typing import ClassVar


class ChartmakerError(Exception):
    """A fault that the user can mend, told in one message.

    Parameters
    ----------
    message : str
        What is wrong and what to do.
    where : str, optional
        The file that the message is about, with the line or key if it is known.
    """

    exit_code: ClassVar[int] = 1
    meaning: ClassVar[str] = "something went wrong"

    def __init__(self, message: str, *, where: str | None = None) -> None:
        self.message = message
        self.where = where
        super().__init__(message if where is None else f"{where}: {message}")


class CallError(ChartmakerError):
    """What was asked for does not go together: an argument was given that the other one cannot use."""

    exit_code = 2
    meaning = "the command line is wrong"


class RugError(ChartmakerError):
    """The rug itself is wrongly described: size, density, a key of the rug file."""

    exit_code = 3
    meaning = "the rug file, or a size, density or setting, is wrong"


class CardError(ChartmakerError):
    """The yarn card cannot be used."""

    exit_code = 4
    meaning = "the yarn card is wrong"


class ArtworkError(ChartmakerError):
    """The artwork cannot be read, or does not fit the rug."""

    exit_code = 5
    meaning = "the artwork cannot be read or does not fit the rug"


class KnotFileError(ChartmakerError):
    """A knot map file cannot be read back."""

    exit_code = 6
    meaning = "the knot map file cannot be read"


class OutputError(ChartmakerError):
    """An output cannot be written, or would overwrite something."""

    exit_code = 7
    meaning = "the output exists already or cannot be written"


class SheetError(ChartmakerError):
    """The sheets cannot be laid out as asked: paper, cell size, letters missing from the font."""

    exit_code = 8
    meaning = "the sheets cannot be laid out or lettered as asked"


class DifferenceError(ChartmakerError):
    """What was compared differs, or a finding is severe enough to stop."""

    exit_code = 9
    meaning = "what was compared or checked differs"


class CollectionError(ChartmakerError):
    """Some sets of a collection could not be made."""

    exit_code = 10
    meaning = "some sets of a collection could not be made; its report says which, and why"


class RoomError(ChartmakerError):
    """The work would not fit into the memory of this machine."""

    exit_code = 12
    meaning = "this machine has too little memory free for the rug"


class ClusterError(ChartmakerError):
    """The machines that should do the work cannot be reached."""

    exit_code = 11
    meaning = "the scheduler of the cluster cannot be reached"
