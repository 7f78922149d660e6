"""The command line's entrance."""

from __future__ import annotations


def main() -> None:
    """Run the command line, then end the process with its exit code."""
    import sys

    from chartmaker.cli.faults import run

    sys.exit(run(sys.argv[1:]))
