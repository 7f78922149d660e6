"""Faults of a run, turned into one message and an exit code."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import weakref
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Any, TextIO, cast

import click

from chartmaker.ground.errors import ChartmakerError, OutputError
from chartmaker.ground.language import phrase, say

#: The exit code for a fault in chartmaker itself.
OWN_FAULT = 70
#: Set to anything, this variable makes a fault in chartmaker itself show where it arose.
TRACEBACK_VARIABLE = "CHARTMAKER_TRACEBACK"
_STOPPED = phrase("stopped; no file was left half written")


class Stopped(BaseException):
    """A signal asked the run to end; raised so that unfinished files are cleared away."""

    def __init__(self, number: int) -> None:
        self.exit_code = 128 + number
        super().__init__(number)


class _Stopping:
    """Raises Stopped when a signal asks the run to end.

    While the exception is on its way, further signals do nothing, because they would cut the clearing away short. Some
    libraries have bare excepts, which swallow it or turn it into an error of their own; in that case the next signal
    raises it again, and so does `raise_again` at the end of the run.
    """

    def __init__(self) -> None:
        self._number: int | None = None
        self._on_its_way: Callable[[], Stopped | None] = lambda: None

    def __call__(self, number: int, _frame: FrameType | None) -> None:
        if self._on_its_way() is not None:
            return
        self._number = self._number or number
        stopped = Stopped(self._number)
        self._on_its_way = weakref.ref(stopped)
        try:
            raise stopped
        finally:
            del stopped  # its own traceback would keep it alive after it is lost

    def raise_again(self) -> None:
        """Raise Stopped if a signal came."""
        if self._number is not None:
            raise Stopped(self._number)


@contextlib.contextmanager
def _listening() -> Iterator[_Stopping]:
    """Raise Stopped at signals that ask the run to stop, while the context lasts."""
    stopping = _Stopping()
    before = {}
    try:
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
                before[number] = signal.getsignal(number)
                signal.signal(number, stopping)
        yield stopping
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Unheard:
    """A stderr that never fails: what cannot be written to it is dropped, and the run goes on."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        with contextlib.suppress(OSError):
            return self._stream.write(text)
        return len(text)

    def flush(self) -> None:
        with contextlib.suppress(OSError):
            self._stream.flush()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextlib.contextmanager
def _streams() -> Iterator[None]:
    """Give the run streams that it can write to: the null device for closed ones, and a stderr that never fails."""
    before = sys.stdout, sys.stderr
    if sys.stdout is None or sys.stderr is None:  # otherwise a file opened later would take their numbers
        while os.open(os.devnull, os.O_RDWR) < 2:
            pass
        sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
        sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = cast(TextIO, _Unheard(sys.stderr))
    try:
        yield
    finally:
        sys.stderr = before[1]
        try:
            if before[1] is not None:
                before[1].flush()
        except OSError:  # what waits for it would fail again when Python ends, which then has an exit code of its own
            _drop(before[1])
        if before[0] is not None:
            sys.stdout = before[0]


def _drop(stream: TextIO) -> None:
    """Drop what waits for a stream that takes no more, so that the end of the run does not fail on it."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _lost_output() -> int:
    _drop(sys.stdout)
    return 0


def _say(message: str) -> None:
    from chartmaker.ground.textsafe import inert

    for index, line in enumerate(message.splitlines() or [""]):
        click.echo(("chartmaker: " if index == 0 else "  ") + inert(line, longest=4000), err=True)


def _click_words(error: click.ClickException) -> str:
    """Return click's message; older versions put the name of an option into it as typed, line ends included."""
    from chartmaker.ground.textsafe import inert

    name = getattr(error, "option_name", None)
    return error.format_message().replace(name, inert(name)) if name else error.format_message()


def exit_codes() -> dict[int, str]:
    """Return every exit code with its meaning; the README's table is held to this."""
    codes = {0: "done"}  # click ends with 2 as CallError does
    waiting = ChartmakerError.__subclasses__()
    for error in waiting:
        codes[error.exit_code] = error.meaning
        waiting.extend(error.__subclasses__())
    codes |= {OWN_FAULT: "a fault of chartmaker itself; please report it"}
    codes |= {129: "the terminal was closed", 130: "stopped by Ctrl-C", 143: "ended by the system"}
    return dict(sorted(codes.items()))


def run(arguments: list[str]) -> int:
    """Run the command that `arguments` give and return its exit code; say any fault on stderr."""
    with _streams():
        try:
            with _listening() as stopping:
                return _outcome(arguments, stopping)
        except Stopped as stop:
            _say(say(_STOPPED))
            return stop.exit_code


def _outcome(arguments: list[str], stopping: _Stopping) -> int:
    from chartmaker.cli.app import app, help_width

    try:
        try:
            result = app.main(arguments, prog_name="chartmaker", standalone_mode=False, terminal_width=help_width())
            sys.stdout.flush()
        finally:
            stopping.raise_again()
        return result if isinstance(result, int) else 0
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.ClickException as error:
        context = getattr(error, "ctx", None)
        words = _click_words(error)
        if context is not None:
            words += "\n" + say("see: {command} --help", command=context.command_path)
        _say(words)
        return error.exit_code
    except ChartmakerError as error:
        _say(str(error))
        return error.exit_code
    except (KeyboardInterrupt, click.Abort):
        _say(say(_STOPPED))
        return 130
    except BrokenPipeError:
        return _lost_output()
    except SystemExit as leave:  # click and rich leave like this when a pipe was closed; our own code never does
        if not leave.code:
            raise  # and click leaves like this once it has answered the shell's Tab key
        return _lost_output()
    except OSError as error:
        if error.filename is not None:
            return _own_fault(error)
        _lost_output()  # files are opened by name and written in one place, which says what failed there
        _say(say("the output of the command cannot be written: {reason}", reason=error.strerror))
        return OutputError.exit_code
    except MemoryError:
        _say(say("this machine has too little memory for this rug"))
        return OWN_FAULT
    except Exception as error:
        return _own_fault(error)


def _own_fault(error: Exception) -> int:
    """Say that `error` is a fault in chartmaker itself; called where it was caught."""
    if os.environ.get(TRACEBACK_VARIABLE):
        raise error
    _say(
        say(
            "a fault of chartmaker itself ({kind}: {error}); no file was left half written. Run it again with "
            "{variable}=1 and report what it prints",
            kind=type(error).__name__,
            error=error,
            variable=TRACEBACK_VARIABLE,
        )
    )
    return OWN_FAULT
