"""The entry point of the command line."""

from __future__ import annotations


def main() -> None:
    """Run the command line, then end the process with its exit code."""
    import gc
    import signal
    import sys

    gc.set_threshold(100_000, 50, 50)  # a drawing has millions of points, which are not looked through so often

    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # until `run` listens, Ctrl-C ends it without a word

    from chartmaker.cli.faults import run

    sys.exit(run(sys.argv[1:]))
