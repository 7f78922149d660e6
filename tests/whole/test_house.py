"""The rules of the house are checked in the code itself."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "chartmaker"
FILES = sorted(PACKAGE.rglob("*.py"))

#: The map of the house gives its storeys from the top, a line each with one sentence; folders on the same storey are
#: parted by a comma. A module imports only from its own folder or from lower storeys.
STOREY = re.compile(r"^    chartmaker/([a-z/, ]+?)  +(.+)$", re.MULTILINE)
STOREYS = [
    tuple(name.strip(" /") for name in line[1].split(","))
    for line in STOREY.finditer((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
]
#: Libraries that only the places beside them may import.
ONLY_IN = {
    "click": ("cli",),
    "rich": ("cli",),
    "reportlab": ("paper/pdfobjects",),
    "PIL": (
        "artwork",
        "knots/knotpng",
        "pages",
        "sheets/pattern/projector",
        "verify/projections",
        "verify/svgpatterns",
    ),
    "colormath": ("yarns/card",),
    "pypdfium2": ("verify",),
    "distributed": ("collection/cluster",),
    "shapely": ("outlines",),
    "platformdirs": ("ground/cachefolder",),
}
#: Places that may open files.
OPENERS = (
    "ground/foreign",
    "ground/durable",
    "ground/cachefolder",
    "artwork/reading",
    "artwork/raster",
    "artwork/lowbytes",
    "knots/knotpng",
    "jobs",
    "collection",
    "verify",
)


def is_in(path: Path, places: tuple[str, ...]) -> bool:
    """Return whether a file is one of `places` or stands below one."""
    here = path.relative_to(PACKAGE).with_suffix("").as_posix()
    return any(here == place or here.startswith(place + "/") for place in places)


def place_of(path: Path) -> str:
    """Return the first part of a module's path in the package, which is a folder or a file."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def storey_of(place: str) -> int:
    for number, names in enumerate(STOREYS):
        if place in names:
            return number
    assert place in ("__init__", "__main__"), f"chartmaker/{place} is on no storey; draw it in DEVELOPERS.md"
    return -1 if place == "__main__" else len(STOREYS)


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports_of(path: Path) -> tuple[str, ...]:
    """Return the full names of all modules that a file imports, including those for the type checker."""
    names: list[str] = []
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            names += (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full"
            assert node.module is not None
            names += (node.module, *(f"{node.module}.{alias.name}" for alias in node.names))
    return tuple(names)


@cache
def own_modules() -> dict[str, Path]:
    names = {}
    for path in FILES:
        parts = ("chartmaker", *path.relative_to(PACKAGE).with_suffix("").parts)
        names[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return names


def test_arrows_run_one_way() -> None:
    for path in FILES:
        here = storey_of(place_of(path))
        for name in imports_of(path):
            if name.startswith("chartmaker.") and name in own_modules():
                there = place_of(own_modules()[name])
                assert storey_of(there) >= here, f"{path} imports {name}, which is above it"


def test_the_package_is_folders_and_the_map_shows_each() -> None:
    found = {path.name for path in PACKAGE.iterdir() if path.name != "__pycache__"}
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert found - folders == {"__init__.py", "__main__.py", "py.typed"}
    assert sorted(folders) == sorted(name for names in STOREYS for name in names)


def lines_below(folder: Path) -> int:
    kept = [path for path in folder.rglob("*") if path.suffix in (".py", ".js", ".css", ".html")]
    return sum(path.read_text(encoding="utf-8").count("\n") for path in kept)


def test_no_folder_holds_more_than_its_share() -> None:
    in_all = lines_below(PACKAGE)
    for folder in PACKAGE.iterdir():
        if folder.is_dir():
            assert lines_below(folder) <= 0.15 * in_all, f"{folder.name}: {lines_below(folder)} of {in_all} lines"


def test_neighbours_do_not_know_each_other() -> None:
    for path in FILES:
        here = place_of(path)
        for name in imports_of(path):
            there = place_of(own_modules()[name]) if name in own_modules() else here
            if here != there and storey_of(here) == storey_of(there):
                raise AssertionError(f"{path} imports {name}, which is on the same storey")


READERS = sorted(path for room in ("verify", "readback") for path in (PACKAGE / room).rglob("*.py"))


def test_what_is_verified_is_read_by_code_of_its_own() -> None:
    """A fault in the layout, wording or gathering of what is printed must not be in the checker as well."""
    for path in READERS:
        for name in imports_of(path):
            writers = tuple(f"chartmaker.{room}" for room in ("sheets", "pages", "reports", "jobs", "outlines"))
            assert not name.startswith(writers), f"{path} imports {name}, whose work it is to check"


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
            # the __init__ of a package may gather its own modules
            if not (target.startswith(name + ".") or name.startswith(target + ".")):
                visit(target, (*trail, name))
        done.add(name)

    for name in edges:
        visit(name, ())


def test_a_file_says_what_it_is_in_one_sentence() -> None:
    for path in FILES:
        docstring = ast.get_docstring(tree_of(path))
        assert docstring, f"{path} does not say what it is"
        sentence = docstring.split("\n\n")[0].replace("\n", " ")
        assert sentence.endswith("."), f"{path}: {sentence}"


def test_libraries_stay_where_they_belong() -> None:
    for path in FILES:
        for name in imports_of(path):
            library = name.split(".")[0]
            if library in ONLY_IN:
                assert is_in(path, ONLY_IN[library]), f"{path} imports {library}"


def test_files_are_opened_at_the_edge_only() -> None:
    for path in FILES:
        if is_in(path, (*OPENERS, "cli")) or path.name.startswith("build_"):
            continue  # build scripts are run by developers only
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.Call):
                called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                if called in ("open", "read_bytes", "write_bytes", "write_text", "print"):
                    own = "resources" in ast.unparse(node.func)  # which opens a file of the package itself
                    assert own, f"{path}, line {node.lineno}: {called}"


#: Names that once stood for two or three things each; now whoever looks one up finds one.
ONE_EACH = {"read_map", "set_summary", "finding_dicts", "show_findings", "Frame", "Piece", "Progress", "Placement"}
ONE_EACH |= {"feet_inches", "cm_words", "both_sizes", "Finding", "Sentence"}


def test_a_name_stands_for_one_thing() -> None:
    found: dict[str, list[Path]] = {name: [] for name in ONE_EACH}
    for path in FILES:
        for node in tree_of(path).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and node.name in found:
                found[node.name].append(path)
    assert {name: places for name, places in found.items() if len(places) != 1} == {}


def test_only_the_crafts_know_which_craft_a_rug_has() -> None:
    """All others ask the craft itself (`techniques/craft.py`), so that a new craft is a module and a line."""
    for path in FILES:
        if place_of(path) == "techniques":
            continue
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.Compare | ast.Match | ast.Subscript):
                asked = node.subject if isinstance(node, ast.Match) else node
                assert "technique" not in ast.unparse(asked).replace("techniques", ""), f"{path}, line {asked.lineno}"


def test_no_file_or_function_is_longer_than_it_should_be() -> None:
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= 420 or path.name.startswith("build_"), f"{path} has {text.count(chr(10))} lines"
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.FunctionDef) and not path.name.startswith("build_"):
                body = (node.end_lineno or 0) - node.body[0].lineno + 1
                limit = 27 if place_of(path) == "cli" and node.name == "command" else 70
                assert body <= limit, f"{path}: {node.name} has {body} lines"


def test_the_top_level_is_the_agreed_one() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml"}
    agreed |= {"chartmaker", "tests", "fixtures", "examples"}
    present = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    built = {"build", "dist", "chartmaker.egg-info", "PKG-INFO"}  # the last one is found in a source distribution
    assert present - built == agreed
