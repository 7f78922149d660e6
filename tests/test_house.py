"""The rules of the house, checked from the code itself."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "chartmaker"
FILES = sorted(PACKAGE.rglob("*.py"))

#: From the top of the house to its foundations; a module imports only from its own storey or from lower ones.
STOREYS = (
    ("cli", "__main__"),
    ("job", "revision", "verifying"),
    ("outputs", "summary"),
    ("convert", "sheets", "screens", "figures", "checks", "plan", "editing"),
    ("artwork", "knotpng", "yarncard", "rowscript"),
    ("raster", "rugfile", "touchup", "pngcolour"),
    ("knotmap", "strips"),
    ("rug", "workshop", "design", "yarn", "picture"),
    ("fields", "density", "colour", "findings", "files", "textfile"),
    ("units", "rounding", "plural", "textsafe", "workmate", "pngchunks"),
    ("errors", "__init__"),
)
#: Libraries that only these places may import.
ONLY_IN = {
    "click": ("cli",),
    "rich": ("cli",),
    "reportlab": ("sheets",),
    "PIL": ("artwork", "raster", "knotpng", "screens"),
    "colormath": ("yarncard",),
    "pypdfium2": ("verifying",),
}
#: Places that may open paths.
OPENERS = ("textfile", "artwork", "raster", "knotpng", "files", "job", "verifying")


def place_of(path: Path) -> str:
    """Return the first part of a module's path below the package: a folder or a file."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def storey_of(place: str) -> int:
    for number, names in enumerate(STOREYS):
        if place in names:
            return number
    raise AssertionError(f"chartmaker/{place} is on no storey; give it one in this test and in DEVELOPERS.md")


def imports_of(path: Path) -> Iterator[str]:
    """Yield the full names of all modules that a file imports, TYPE_CHECKING included."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full"
            assert node.module is not None
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def own_modules() -> dict[str, Path]:
    names = {}
    for path in FILES:
        parts = ("chartmaker", *path.relative_to(PACKAGE).with_suffix("").parts)
        names[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_arrows_run_one_way(path: Path) -> None:
    here = storey_of(place_of(path))
    for name in imports_of(path):
        if name.startswith("chartmaker.") and name in own_modules():
            there = place_of(own_modules()[name])
            assert storey_of(there) >= here, f"{path} imports {name}, which is above it"


#: Folders that turn a knot map into something: they stand side by side and know nothing of each other, except
#: that the printed figures are figures.
WRITERS = ("convert", "sheets", "screens", "figures", "checks")
SIDEWAYS = {("sheets", "figures"), ("checks", "convert"), ("checks", "figures")}


def test_neighbours_do_not_know_each_other() -> None:
    for path in FILES:
        for name in imports_of(path):
            if path.parts and name in own_modules():
                pair = place_of(path), place_of(own_modules()[name])
                assert pair[0] == pair[1] or not set(pair) <= set(WRITERS) or pair in SIDEWAYS, f"{path}: {name}"


def test_there_is_no_import_cycle() -> None:
    modules = own_modules()
    edges = {
        name: {target for target in imports_of(path) if target in modules and target != name}
        for name, path in modules.items()
    }
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, f"cycle: {' -> '.join((*trail, name))}"
        if name in done:
            return
        for target in edges[name]:
            # a package's __init__ may gather its own modules
            if not (target.startswith(name + ".") or name.startswith(target + ".")):
                visit(target, (*trail, name))
        done.add(name)

    for name in edges:
        visit(name, ())


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_file_says_what_it_is_in_one_sentence(path: Path) -> None:
    docstring = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert docstring, f"{path} does not say what it is"
    sentence = docstring.split("\n\n")[0].replace("\n", " ")
    assert sentence.endswith("."), f"{path}: {sentence}"
    assert " and " not in sentence, f"{path} does two things: {sentence}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_libraries_stay_where_they_belong(path: Path) -> None:
    for name in imports_of(path):
        library = name.split(".")[0]
        if library in ONLY_IN:
            assert place_of(path) in ONLY_IN[library], f"{path} imports {library}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_files_are_opened_at_the_edge_only(path: Path) -> None:
    if place_of(path) in (*OPENERS, "cli") or path.name.startswith("build_"):
        return  # a build script is run by developers only
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            if "resources" in ast.unparse(node.func):
                continue  # a file of the package itself
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            assert called not in ("open", "read_bytes", "write_bytes", "write_text", "print"), (
                f"{path}, line {node.lineno}: {called}"
            )


def test_no_file_or_function_is_longer_than_it_should_be() -> None:
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= 420 or path.name.startswith("build_"), f"{path} has {text.count(chr(10))} lines"
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef) and not path.name.startswith("build_"):
                body = (node.end_lineno or 0) - node.body[0].lineno + 1
                limit = 27 if place_of(path) == "cli" and node.name == "command" else 70
                assert body <= limit, f"{path}: {node.name} has {body} lines"


def test_the_top_level_is_the_agreed_one() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml"}
    agreed |= {"chartmaker", "tests", "fixtures", "examples"}
    present = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    built = {"build", "dist", "chartmaker.egg-info", "PKG-INFO"}  # the last in a source distribution
    assert present - built == agreed
