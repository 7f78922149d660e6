"""Makes a copy of the project, into which faults may be put and in which tests may be shortened."""

from __future__ import annotations

import re
import shutil
import signal
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent

#: Each property takes fewer examples than in the tests themselves, which can only lower a score.
EXAMPLES = 15

_LEFT_OUT = (
    ".git",
    ".*_cache",
    ".hypothesis",
    ".coverage*",
    ".venv",
    "__pycache__",
    "*.egg-info",
    "build",
    "dist",
    "mutants",
)


def signals_as_at_a_terminal() -> None:
    """Let children take the signals that nohup or a background start would let them ignore; the tests need these."""
    signal.signal(signal.SIGHUP, lambda *_: None)
    signal.signal(signal.SIGINT, signal.default_int_handler)


def copy_of_project(folder: Path) -> None:
    """Copy the project to the new folder `folder`, with few examples for each property."""
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(*_LEFT_OUT))
    for tests in (folder / "tests").rglob("test_*.py"):
        tests.write_text(re.sub(r"max_examples=\d+", f"max_examples={EXAMPLES}", tests.read_text()))
    with (folder / "tests" / "conftest.py").open("a") as conftest:
        conftest.write(f"settings.register_profile('few', settings.get_profile('suite'), max_examples={EXAMPLES})\n")
        conftest.write("settings.load_profile('few')\n")
