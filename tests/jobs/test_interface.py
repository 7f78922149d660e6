"""What `chartmaker.jobs` offers is whole and typed, has examples that run here, and is what the commands use."""

from __future__ import annotations

import ast
import doctest
import inspect
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from support.small_order import CARD, RUG, draw_art

from chartmaker import jobs

ROOT = Path(__file__).parents[2]
FUNCTIONS = [name for name in jobs.__all__ if inspect.isfunction(getattr(jobs, name))]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The examples find here an order, its set, its map, and the same map with two knots painted over."""
    folder = tmp_path_factory.mktemp("interface")
    (folder / "wool.csv").write_text(CARD)
    (folder / "rug.toml").write_text(RUG)
    draw_art(folder / "art.png")
    jobs.make(jobs.read_order(folder / "rug.toml"), folder / "rug-charts")
    (folder / "knots.png").write_bytes((folder / "rug-charts" / "knots.png").read_bytes())
    with Image.open(folder / "knots.png") as picture:
        pixels = np.asarray(picture.convert("RGB")).copy()
    pixels[-1, :2] = (160, 40, 32)  # These knots are in the row woven first; no text goes along, as with many editors.
    Image.fromarray(pixels).save(folder / "edited.png")
    return folder


@pytest.mark.parametrize("name", ["__init__", *FUNCTIONS])
def test_every_function_is_shown_by_an_example_that_holds(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    offered = {each: getattr(jobs, each) for each in jobs.__all__}
    said = jobs if name == "__init__" else offered[name]
    examples = doctest.DocTestParser().get_doctest(inspect.getdoc(said) or "", offered, name, None, None)
    assert examples.examples, f"{name} has no example"
    told: list[str] = []
    doctest.DocTestRunner().run(examples, out=told.append)
    assert not told, "".join(told)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_docstring_lists_what_the_function_takes_returns_and_raises(name: str) -> None:
    """The docstrings have the sections of the numpydoc style guide, with every parameter of the signature."""
    function: Callable[..., Any] = getattr(jobs, name)
    told = inspect.getdoc(function) or ""
    signature = inspect.signature(function)
    sections = re.findall(r"^(\w+)\n-+$", told, re.MULTILINE)
    wanted = ["Parameters", *(["Returns"] if signature.return_annotation != "None" else []), "Raises", "Examples"]
    assert sections == wanted
    named = re.findall(r"^(\w+(?:, \w+)*)(?: : .+)?$", told[told.index("Parameters\n---") :], re.MULTILINE)
    parameters = {each for line in named for each in line.split(", ")}
    assert set(signature.parameters) <= parameters
    assert all(each.annotation is not inspect.Parameter.empty for each in signature.parameters.values())


def test_names_for_the_type_checker_are_those_that_are_loaded() -> None:
    tree = ast.parse(Path(inspect.getfile(jobs)).read_text(encoding="utf-8"))
    checked = next(node for node in tree.body if isinstance(node, ast.If))
    told = {
        alias.name: f"{node.module}".removeprefix("chartmaker.")
        for node in checked.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert told == {name: home for home, names in jobs._HOMES.items() for name in names}
    assert sorted(told) == jobs.__all__ == dir(jobs)


def test_no_job_is_loaded_before_it_is_used() -> None:
    seen = "import sys, chartmaker.jobs; print([m for m in sys.modules if m.split('.')[0] in ('numpy', 'pydantic')])"
    done = subprocess.run([sys.executable, "-c", seen], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


#: Folders whose work only a job asks for.
BEHIND_THE_JOBS = {"artwork", "checks", "colours", "convert", "pages", "sheets", "verify"}


@pytest.mark.parametrize("path", sorted((ROOT / "chartmaker" / "cli").glob("*.py")), ids=lambda path: path.name)
def test_the_command_line_does_its_jobs_through_the_interface(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("chartmaker."):
            room = str(node.module).split(".")[1]
            assert room not in BEHIND_THE_JOBS, f"{path.name} does itself what a job does: {node.module}"
            if room == "jobs":
                assert node.module == "chartmaker.jobs", f"{path.name} reaches past the interface: {node.module}"
                assert {alias.name for alias in node.names} <= set(jobs.__all__)
