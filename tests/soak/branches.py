"""Runs all tests in one process, then names every line and branch of the core that none of them came by.

    python tests/soak/branches.py                       # the whole suite
    python tests/soak/branches.py tests/sheets          # what these tests alone come by

What is measured, and what is left out with the reason, stands in pyproject.toml under [tool.coverage]. Work that a test
gives to another process does not count. The suite runs in a copy, with few examples of each property.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

from scratch import copy_of_project, signals_as_at_a_terminal


def main() -> int:
    """Print what no test came by, and fail below `--least` per cent."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("tests", nargs="*", default=["tests"])
    parser.add_argument("--least", type=float, default=100)
    parser.add_argument("--data", type=Path, help="where to keep the data for `coverage combine`")
    asked = parser.parse_args()
    signals_as_at_a_terminal()
    with tempfile.TemporaryDirectory(prefix="chartmaker-branches-") as temporary:
        folder = Path(temporary) / "chartmaker"
        copy_of_project(folder)
        coverage = [sys.executable, "-m", "coverage"]
        data = f"--data-file={(asked.data or folder / '.coverage').resolve()}"
        tests = ["-m", "pytest", "-p", "no:cacheprovider", "-p", "no:randomly", *asked.tests]
        failed = subprocess.run([*coverage, "run", data, *tests], cwd=folder).returncode
        short = subprocess.run([*coverage, "report", data, f"--fail-under={asked.least}"], cwd=folder).returncode
    return failed or short


if __name__ == "__main__":
    sys.exit(main())
