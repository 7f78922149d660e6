"""Puts faults into the modules that everything rests on, one at a time, then counts how many their own tests notice.

    python -m pip install "mutmut==3.8.*"
    python tests/soak/mutation.py                  # every group; figures takes longest
    python tests/soak/mutation.py density units --show

mutmut alters what stands in plain functions. What it leaves out (properties, validators, tables, constants) is altered
by its operators too, one fresh import each. Everything runs in a copy in the temporary folder. A fault that nobody
could notice is told in equivalent_mutants.toml, with the reason; both scores are printed, with and without those.
"""

from __future__ import annotations

import argparse
import difflib
import importlib
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import libcst as cst
from mutmut.mutation.mutators import mutation_operators

ROOT = Path(__file__).parent.parent.parent
COPIED = ("chartmaker", "tests", "fixtures", "examples", "pyproject.toml", "README.md")

#: The modules of each group with the only tests that may notice a fault in them.
GROUPS = {
    "density": ("chartmaker/density.py", "tests/test_density.py"),
    "units": ("chartmaker/units.py", "tests/test_units.py"),
    "rug": ("chartmaker/rug.py", "tests/test_rug.py"),
    "knotmap": ("chartmaker/knotmap.py", "tests/test_knotmap.py"),
    "rowscript": ("chartmaker/rowscript.py", "tests/test_rowscript.py"),
    "figures": ("chartmaker/figures/*.py", "tests/figures"),
    "layout": ("chartmaker/sheets/layout.py", "tests/sheets/test_layout.py"),
}
PREPARED = ("pytest", "hypothesis", "numpy", "pydantic", "_pytest.assertion.rewrite", "hypothesis.extra.numpy")
CPU_SECONDS = 120

Change = tuple[str, str]


@dataclass
class Score:
    """The faults put into a module: how many, how many were noticed, those that were not."""

    mutants: int = 0
    survivors: list[Change] = field(default_factory=list)
    equivalent: int = 0

    def add(self, other: Score) -> None:
        self.mutants += other.mutants
        self.survivors += other.survivors
        self.equivalent += other.equivalent

    def line(self, name: str) -> str:
        killed = self.mutants - len(self.survivors)
        real = self.mutants - self.equivalent
        raw, true = (100 * killed / max(whole, 1) for whole in (self.mutants, real))
        return f"{name:32}{self.mutants:8,}{killed:8,}{raw:9.1f} %{self.equivalent:8}{true:9.1f} %"


def copy_of(folder: Path) -> None:
    """Copy what the tests need to `folder`."""
    folder.mkdir(parents=True)
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)


def change_of(was: list[str], becomes: list[str]) -> Change:
    """Return the lines that differ, before and after, each as one line of words."""
    lines = [line for line in difflib.unified_diff(was, becomes, n=0, lineterm="") if line[:3] not in ("---", "+++")]
    before, after = (" ".join(line[1:].strip() for line in lines if line[0] == sign) for sign in "-+")
    return before, after


def in_functions(folder: Path, modules: str, tests: str) -> dict[str, Score]:
    """Run mutmut on the plain functions of `modules`; return the score by module."""
    with (folder / "pyproject.toml").open("a") as settings:
        also = json.dumps([name for name in COPIED if name not in ("chartmaker", "tests", "pyproject.toml")])
        settings.write(
            f'\n[tool.mutmut]\nsource_paths = ["chartmaker"]\nonly_mutate = ["{modules}"]\n'
            f'pytest_add_cli_args_test_selection = ["{tests}"]\nalso_copy = {also}\n'
        )
    command = [sys.executable, "-m", "mutmut"]
    subprocess.run([*command, "run", "--max-children", "1"], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    scores = {}
    for module in sorted(folder.glob(modules)):
        name = str(module.relative_to(folder))
        meta = folder / "mutants" / f"{name}.meta"
        codes = json.loads(meta.read_text())["exit_code_by_key"] if meta.exists() else {}
        score = scores[name] = Score(mutants=len(codes))
        for key, code in codes.items():
            if code in (0, 5, 33, None):  # survived; no test comes by
                shown = subprocess.run([*command, "show", key], cwd=folder, check=True, capture_output=True, text=True)
                lines = [line for line in shown.stdout.splitlines() if line[:3] not in ("---", "+++")]
                was, becomes = ([line[1:] for line in lines if line[:1] in (" ", sign)] for sign in "-+")
                score.survivors.append(change_of(was, becomes))
    return scores


class _Outside(cst.CSTVisitor):
    """Collects the alterations of what stands outside of plain functions."""

    def __init__(self) -> None:
        self.changes: list[tuple[cst.CSTNode, cst.CSTNode]] = []

    def on_visit(self, node: cst.CSTNode) -> bool:
        if isinstance(node, cst.Annotation | cst.Decorator | cst.Import | cst.ImportFrom):
            return False
        if isinstance(node, cst.FunctionDef):
            plain = all(
                isinstance(d.decorator, cst.Name) and d.decorator.value in ("staticmethod", "classmethod")
                for d in node.decorators
            )
            if plain and len(node.decorators) < 2:
                return False
        for kind, operator in mutation_operators:
            if isinstance(node, kind):
                self.changes += [(node, altered) for altered in operator(node)]
        return True


def altered_sources(source: str) -> Iterator[str]:
    """Yield `source` with one alteration each, outside of plain functions."""
    tree = cst.parse_module(source)
    collected = _Outside()
    tree.visit(collected)
    for node, altered in collected.changes:
        code = tree.deep_replace(node, altered).code
        if code != source:
            yield code


def notices(folder: Path, tests: str) -> bool:
    """Return whether the tests of `folder` fail, in a process that has not imported chartmaker before."""
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
        os.chdir(folder)
        sys.path.insert(0, str(folder))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        os._exit(int(importlib.import_module("pytest").main(["-x", "-q", "-p", "no:cacheprovider", tests])))
    return os.waitpid(child, 0)[1] != 0


def outside_functions(folder: Path, modules: str, tests: str) -> dict[str, Score]:
    """Alter what mutmut leaves out; return the score by module."""
    sys.dont_write_bytecode = True
    if notices(folder, tests):
        raise SystemExit(f"{tests} fail as they are")
    scores = {}
    for module in sorted(folder.glob(modules)):
        score = scores[str(module.relative_to(folder))] = Score()
        source = module.read_text()
        for altered in altered_sources(source):
            module.write_text(altered)
            score.mutants += 1
            if not notices(folder, tests):
                score.survivors.append(change_of(source.splitlines(), altered.splitlines()))
        module.write_text(source)
    return scores


def known_equivalent() -> dict[tuple[str, str, str], str]:
    """Return why, by (module, was, becomes)."""
    told = tomllib.loads(Path(__file__).with_name("equivalent_mutants.toml").read_text())
    return {(m["module"], m["was"], m["becomes"]): m["why"] for m in told["mutant"]}


def main() -> int:
    """Print a line a module; fail if a group is below `--least`."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("groups", nargs="*", choices=[*GROUPS, []], help="all, unless named")
    parser.add_argument("--show", action="store_true", help="print each fault that no test noticed")
    parser.add_argument("--least", type=float, default=90, help="the score to reach, in per cent")
    asked = parser.parse_args()
    for name in PREPARED:
        importlib.import_module(name)
    equivalent, low = known_equivalent(), []
    print(f"{'module':32}{'mutants':>8}{'killed':>8}{'score':>11}{'equal':>8}{'score':>11}")
    for group in asked.groups or GROUPS:
        modules, tests = GROUPS[group]
        total = Score()
        with tempfile.TemporaryDirectory(prefix="chartmaker-mutation-") as temporary:
            plain, other = Path(temporary) / "plain", Path(temporary) / "other"
            copy_of(plain)
            copy_of(other)
            scores, more = in_functions(plain, modules, tests), outside_functions(other, modules, tests)
        for name, score in scores.items():
            score.add(more[name])
            score.equivalent = sum((name, *change) in equivalent for change in score.survivors)
            print(score.line(name), flush=True)
            for was, becomes in score.survivors if asked.show else ():
                why = equivalent.get((name, was, becomes))
                print(f"  - {was}\n  + {becomes}" + (f"\n    equal: {why}" if why else ""), flush=True)
            total.add(score)
        if len(scores) > 1:
            print(total.line(f"{group} in all"), flush=True)
        if total.mutants - len(total.survivors) < asked.least / 100 * total.mutants:
            low.append(group)
    print(f"below {asked.least:g} %: {', '.join(low) or 'none'}")
    return 1 if low else 0


if __name__ == "__main__":
    sys.exit(main())
