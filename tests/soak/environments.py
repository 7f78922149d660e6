"""Installs chartmaker into empty environments of each Python given, runs it there, or its tests at the bounds.

    python tests/soak/environments.py --python python3.11 --python python3.13
    python tests/soak/environments.py --step lowest -- tests/ground/test_units.py

Steps: `wheel` or `sdist` installs that file, then makes the example outside of any checkout, then reads the set back;
`lowest` runs the tests with exactly the oldest release of each library that pyproject.toml allows, `newest` with the
newest that pip finds. Old releases have wheels for old Pythons only: `lowest` is for the oldest. The tests are the
source distribution's, so that it is shown to be whole. What stands behind -- goes to pytest.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import time
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from scratch import signals_as_at_a_terminal

ROOT = Path(__file__).parent.parent.parent
STEPS = ("wheel", "sdist", "lowest", "newest")


@dataclass(frozen=True)
class Outcome:
    """The result of a step, whose `details` are empty if it failed."""

    python: str
    step: str
    seconds: float
    details: str


def run(words: Sequence[object], folder: Path, **variables: str) -> str:
    """Run a program in `folder`, show its output as it comes, and return it; raise an error if the program fails."""
    print("$", *words, flush=True)
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"} | variables
    with subprocess.Popen(
        [str(word) for word in words], cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as process:
        assert process.stdout is not None
        told = []
        for line in process.stdout:
            told.append(line.decode("utf-8", "replace"))
            print("   ", told[-1], end="", flush=True)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, process.args)
    return "".join(told)


def empty_environment(python: str, folder: Path) -> Path:
    """Make an environment with nothing but pip in it, and return its Python."""
    run([python, "-m", "venv", folder], folder.parent)
    inside = folder / "bin" / "python"
    run([inside, "-m", "pip", "install", "--quiet", "--upgrade", "pip"], folder)
    return inside


def lowest_pins() -> list[str]:
    """Return ``name==version`` for each direct dependency, including those of the tests, at its lower bound."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["tests"]]
    pins = []
    for requirement in wanted:
        found = re.fullmatch(r"([A-Za-z0-9_-]+)>=([0-9.]+)(;.*)?", requirement.replace(" ", ""))
        assert found is not None, f"{requirement}: write it as name>=version"
        pins.append(f"{found[1]}=={found[2]}{found[3] or ''}")
    return pins


def make_the_example(python: Path, folder: Path) -> str:
    """Make the example with the chartmaker beside `python` and verify it; return what was installed."""
    shutil.copytree(ROOT / "examples", folder / "examples")
    command = python.parent / "chartmaker"
    run([command, "make", "examples/quince_garden.toml", "--out", "set", "--quiet"], folder)
    run([command, "verify", "set"], folder)
    where = run([python, "-c", "import chartmaker; print(chartmaker.__file__)"], folder).strip()
    assert Path(where).is_relative_to(python.parent.parent), where
    return run([command, "--version"], folder).strip()


def run_the_tests(python: Path, folder: Path, sdist: Path, extra: Sequence[str]) -> str:
    """Run the tests of the source distribution there, and return pytest's last line."""
    with tarfile.open(sdist) as archive:
        archive.extractall(folder, filter="data")
    (source,) = folder.glob("chartmaker-*")
    told = run([python, "-m", "pytest", *extra], source, PATH=f"{python.parent}{os.pathsep}{os.environ['PATH']}")
    return told.strip().splitlines()[-1].strip("= ")


def step(name: str, python: str, wheel: Path, sdist: Path, extra: Sequence[str]) -> Outcome:
    """Carry out one step in an environment of its own."""
    start = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="chartmaker-environment-") as place:
        folder = Path(place)
        try:
            inside = empty_environment(python, folder / "environment")
            pip = [inside, "-m", "pip"]
            if name in ("wheel", "sdist"):
                run([*pip, "install", "--quiet", wheel if name == "wheel" else sdist], folder)
                run([*pip, "check"], folder)
                details = make_the_example(inside, folder)
            else:
                pins = folder / "pins.txt"
                pins.write_text("\n".join(lowest_pins() if name == "lowest" else []), encoding="utf-8")
                told = run([*pip, "install", "--quiet", "--constraint", pins, f"{sdist}[tests]"], folder)
                assert "yanked version" not in told, "a lower bound is a release that was taken back"
                run([*pip, "check"], folder)
                run([*pip, "list"], folder)
                details = run_the_tests(inside, folder, sdist, extra)
        except (subprocess.CalledProcessError, AssertionError) as error:
            print(f"FAILED: {error}")
            details = ""
    return Outcome(python, name, time.monotonic() - start, details)


def built(folder: Path) -> tuple[Path, Path]:
    """Build the wheel from the source distribution, and return both."""
    builder = empty_environment(sys.executable, folder / "builder")
    run([builder, "-m", "pip", "install", "--quiet", "build"], folder)
    run([builder, "-m", "build", "--outdir", folder, ROOT], folder)
    return next(folder.glob("*.whl")), next(folder.glob("*.tar.gz"))


def main() -> None:
    """Go through the steps and print a table; the exit code is 1 if one of them failed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--python", action="append", help="a Python to use; default this one; repeatable")
    parser.add_argument("--step", action="append", choices=STEPS, help="default all; repeatable")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest")
    asked = parser.parse_args()
    signals_as_at_a_terminal()
    with tempfile.TemporaryDirectory(prefix="chartmaker-dist-") as place:
        wheel, sdist = built(Path(place))
        outcomes = [
            step(name, python, wheel, sdist, asked.pytest)
            for python in asked.python or [sys.executable]
            for name in asked.step or STEPS
        ]
    for outcome in outcomes:
        print(f"{outcome.python}  {outcome.step:<7} {outcome.seconds:6.0f} s  {outcome.details or 'FAILED'}")
    sys.exit(not all(outcome.details for outcome in outcomes))


if __name__ == "__main__":
    main()
