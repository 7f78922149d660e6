"""The wheel and the source distribution hold all that a run needs, and nothing else."""

from __future__ import annotations

import base64
import hashlib
import os
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import Distribution, distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
#: Libraries that only the tests or a developer's scripts need.
TESTS_ONLY = ("colour", "fontTools", "hypothesis", "matplotlib", "playwright", "pytest")


@dataclass(frozen=True)
class Built:
    """The files of a release, with the wheel installed into a folder of its own."""

    wheel: Path
    sdist: Path
    installed: Path

    def run(self, code: Sequence[str], folder: Path) -> str:
        """Run Python on what is installed there, outside of the checkout."""
        environment = os.environ | {"PYTHONPATH": str(self.installed), "PYTHONDONTWRITEBYTECODE": "1"}
        words = [sys.executable, *code]
        done = subprocess.run(words, cwd=folder, env=environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout


def build(source: Path, out: Path, *targets: str) -> None:
    words = [sys.executable, "-m", "hatchling", "build", "--directory", str(out)]
    words += [word for target in targets for word in ("--target", target)]
    done = subprocess.run(words, cwd=source, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    out = tmp_path_factory.mktemp("release")
    build(ROOT, out, "wheel", "sdist")
    (wheel,), (sdist,) = out.glob("*.whl"), out.glob("*.tar.gz")
    words = ["install", "--quiet", "--no-deps", "--no-index", "--target", str(out / "installed"), str(wheel)]
    subprocess.run([sys.executable, "-m", "pip", *words], check=True)
    return Built(wheel, sdist, out / "installed")


def installed_distribution(built: Built) -> Distribution:
    (distribution,) = distributions(name="chartmaker", path=[str(built.installed)])
    return distribution


def test_the_wheel_holds_all_of_the_package(built: Built) -> None:
    with zipfile.ZipFile(built.wheel) as archive:
        held = {name for name in archive.namelist() if not name.startswith("chartmaker-")}
    kept = {path for path in (ROOT / "chartmaker").rglob("*") if path.is_file() and "__pycache__" not in path.parts}
    assert held == {str(path.relative_to(ROOT)) for path in kept if not path.name.startswith("build_")}
    assert {
        "chartmaker/py.typed",
        "chartmaker/paper/symbols/knots.ttf",
        "chartmaker/pages/web/proof/frame.html",
    } <= held


def test_the_wheel_has_the_metadata_of_the_project(built: Built) -> None:
    distribution = installed_distribution(built)
    metadata = distribution.metadata
    assert metadata["Requires-Python"] == PROJECT["requires-python"]
    assert metadata["License-Expression"] == "MIT"
    assert distribution.read_text("licenses/LICENSE") == (ROOT / "LICENSE").read_text(encoding="utf-8")
    needed = {line for line in metadata.get_all("Requires-Dist", []) if "extra ==" not in line}
    assert needed == set(PROJECT["dependencies"])
    assert [(entry.name, entry.value) for entry in distribution.entry_points] == [("chartmaker", "chartmaker.cli:main")]


def test_every_installed_file_agrees_with_the_record(built: Built) -> None:
    """RECORD lists each file with its SHA-256 (Python packaging, "Recording installed projects")."""
    checked = 0
    for file in installed_distribution(built).files or ():
        if file.hash is not None and file.parts[0] == "chartmaker":
            digest = hashlib.sha256(Path(str(file.locate())).read_bytes()).digest()
            assert base64.urlsafe_b64encode(digest).rstrip(b"=").decode() == file.hash.value
            checked += 1
    assert checked > 150


def test_every_module_imports_without_the_test_libraries(built: Built, tmp_path: Path) -> None:
    code = f"""
import sys, pkgutil, importlib
for name in {TESTS_ONLY}:
    sys.modules[name] = None
import chartmaker
modules = [m.name for m in pkgutil.walk_packages(chartmaker.__path__, "chartmaker.") if m.name != "chartmaker.__main__"]
for name in modules:
    importlib.import_module(name)
print(chartmaker.__file__, len(modules))
"""
    where, modules = built.run(["-c", code], tmp_path).split()
    assert Path(where) == built.installed / "chartmaker" / "__init__.py"
    assert int(modules) > 140


def test_the_installed_commands_run(built: Built, tmp_path: Path) -> None:
    assert "chartmaker make" in built.run(["-m", "chartmaker", "--help"], tmp_path)
    planned = built.run(["-m", "chartmaker", "plan", "--size", "120x180 cm", "--density", "100 kpsi"], tmp_path)
    assert "472 columns" in planned  # 120 cm / 2.54 mm = 472.4, which is rounded to whole knots (arithmetic).
    words = [str(built.installed / "bin" / "chartmaker"), "--version"]
    assert built.run(words, tmp_path).strip() == f"chartmaker {installed_distribution(built).version}"


def test_the_source_distribution_is_whole(built: Built, tmp_path: Path) -> None:
    """It holds the tests and all that they read, nothing left over, and gives the same wheel, byte for byte."""
    with tarfile.open(built.sdist) as archive:
        # Earlier releases of Python 3.11 have no filters.
        archive.extractall(tmp_path, **({"filter": "data"} if hasattr(tarfile, "data_filter") else {}))
    (source,) = tmp_path.iterdir()
    for folder in ("chartmaker", "tests", "fixtures", "examples"):
        kept = {path for path in (ROOT / folder).rglob("*") if path.is_file() and "__pycache__" not in path.parts}
        held = {path for path in (source / folder).rglob("*") if path.is_file()}
        assert {path.relative_to(source) for path in held} == {path.relative_to(ROOT) for path in kept}
    tops = {path.name for path in source.iterdir() if not path.is_dir()}
    assert tops == {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", "PKG-INFO", ".gitignore"}
    assert os.access(source / "tests" / "run", os.X_OK)
    build(source, tmp_path / "again", "wheel")
    (again,) = (tmp_path / "again").glob("*.whl")
    assert again.read_bytes() == built.wheel.read_bytes()
