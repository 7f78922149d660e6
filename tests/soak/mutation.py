"""Puts faults into the modules that everything rests on, one at a time, then counts how many their own tests notice.

    python -m pip install "mutmut==3.8.*"
    python tests/soak/mutation.py                  # every group; figures takes longest
    python tests/soak/mutation.py density units --show
    python tests/soak/mutation.py sheets/rows verify/charts --sample 60 --seed 3 --show    # so many, drawn by lot

mutmut alters what stands in plain functions. What it leaves out (properties, validators, tables, constants) is altered
by its operators too, one fresh import each. Everything runs in a copy in the temporary folder. Two scores are printed:
of all faults, then without those that survive because nobody could notice them (listed in equivalent_mutants.toml with
the reason) or because they only misspell a sentence for people, whose wording no test should hold. A sample draws none
of either, tells each verdict at once, and runs the tests of the altered module's own name first.
"""

from __future__ import annotations

import argparse
import difflib
import functools
import importlib
import itertools
import json
import os
import random
import re
import resource
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import libcst as cst
from mutmut.mutation.mutators import mutation_operators
from scratch import copy_of_project

ALL_FIGURES = "tests/figures/test_reckoning.py tests/reports/test_records.py"
SHEETS = "tests/sheets/test_tablesheets.py tests/sheets/test_tablelayout.py"
TABLES = "tests/reports/test_tables.py"
#: The quick tests come first: a fault that they notice costs no more, and one that they miss costs all the others.
CHARTS = "tests/sheets/test_layout.py tests/sheets/test_revised.py"
ROWS = "tests/sheets/test_blocks.py tests/sheets/test_setting.py tests/sheets/test_revisedrows.py " + " ".join(
    f"tests/sheets/test_rowsheets.py::{test}"
    for test in (
        "test_a_bracket_stands_clear_of_the_longest_code_before_it",
        "test_small_paper_lies_on_its_side_where_that_saves_a_third_of_it",
    )
)
SCRIPTS = ("quarter", "octagon", "hands", "wide", "lots", "revised", "revised_long")
OTHER_PAPERS = (
    *(
        "bands",
        "bands_of_ends",
        "bands_inlaid",
        "card",
        "card_of_symbols",
        "card_of_sheets",
        "guide",
        "svg",
        "pattern",
        "carving",
        "carving_loops",
        "carving_level",
        "pattern_lined",
        "guide_lined",
    ),
)
OTHERS = (
    "tests/sheets/test_tiling.py tests/sheets/test_cardsheets.py tests/sheets/test_fieldnumbers.py "
    "tests/sheets/test_drawnareas.py "
    "tests/verify/test_svgpatterns.py "
    "tests/verify/test_bandtables.py tests/verify/test_guides.py tests/sheets/test_projector.py "
    "tests/verify/test_patterns.py tests/verify/test_projections.py"
)
READ_BACK = (
    "../readback/test_pdffile ../readback/test_content ../readback/test_letters_read ../readback/test_printed "
    "test_overlaps test_tolerances"
)
#: The modules by which verify reads, in groups that belong together, with the tests of each.
VERIFY = {
    "charts": (
        "charts covers grids numbering legends sheets overlaps expected fields bookmarks rulers counts plans remarked "
        "blocks",
        f"{READ_BACK} test_rulers test_printed_fields test_chart_remarks test_counts test_grids test_covers "
        "test_numbering test_charts test_sheets test_beside test_writers test_every_number test_every_mark",
    ),
    "figures": (
        "figuresheets figuretables ordertables tabletypes values",
        "test_values test_ordertables test_figuresheets",
    ),
    "rows": (
        "scripts scriptrows revisedscripts revisions papers twomaps",
        "test_scriptrows test_scripts test_papers test_revisedscripts test_revisions test_charts test_every_number",
    ),
    "sets": (
        "folder proofs records remarks tables looms ownpages difference",
        "test_difference test_remarks test_set_tables test_ownpages test_tolerances test_loom_read_back test_proofs "
        "test_folder test_tampered ../jobs/test_inlays ../cli/test_verify_command",
    ),
    "drawn": (
        "bandtables carvings carvedrugs patterns svgpatterns guides drawnyarns artworks fullsizes projections",
        "test_svgpatterns test_fullsizes test_guides test_carvedrugs test_drawnyarns test_artworks test_carvings "
        "test_patterns test_projections test_bandtables ../reports/test_lotwords",
    ),
    "recount": ("recount/*", "test_recount test_charts"),
}


def below_verify(names: str) -> str:
    """Return the test modules of these names."""
    return " ".join(f"tests/verify/{name}.py" for name in names.split())


def looks(*names: str) -> str:
    """Return the tests that compare the sheets of these names with their accounts."""
    seen, read = "test_sheets_are_drawn_as_they_were_looked_at", "test_what_is_drawn_is_tagged_as_verify_reads_it"
    tests = [f"{seen}[{name}]" for name in names]
    tests += [f"{read}[{name}]" for name in names if name.startswith(("chart", "rows")) and "revised" not in name]
    return " ".join(f"tests/sheets/test_standing.py::{test}" for test in tests)


#: The modules of each group, with the only tests that are to notice faults in them.
GROUPS = {
    "density": ("chartmaker/order/density.py", "tests/order/test_density.py"),
    "units": ("chartmaker/ground/units.py", "tests/ground/test_units.py"),
    "rug": ("chartmaker/order/rug.py", "tests/order/test_rug.py"),
    "knotmap": ("chartmaker/knots/knotmap.py", "tests/knots/test_knotmap.py"),
    "rowscript": ("chartmaker/knots/rowscript.py", "tests/knots/test_rowscript.py"),
    "basis": ("chartmaker/ground/basis.py", "tests/ground/test_basis.py"),
    "figures/calibration": ("chartmaker/figures/calibration.py", "tests/figures/test_calibration.py"),
    "figures/cost": ("chartmaker/figures/cost.py", f"tests/figures/test_cost.py {ALL_FIGURES}"),
    "figures/dyeing": ("chartmaker/figures/dyeing.py", f"tests/figures/test_dyeing.py {ALL_FIGURES}"),
    "techniques/foundation": (
        "chartmaker/techniques/foundation.py",
        f"tests/techniques/test_foundation.py {ALL_FIGURES}",
    ),
    "figures/reckoning": ("chartmaker/figures/reckoning.py", ALL_FIGURES),
    "figures/issuing": ("chartmaker/figures/issuing.py chartmaker/figures/bundles.py", "tests/figures/test_issuing.py"),
    "figures/labour": ("chartmaker/figures/labour.py", f"tests/figures/test_labour.py {ALL_FIGURES}"),
    "figures/measures": ("chartmaker/ground/measures.py", f"tests/ground/test_measures.py {TABLES}"),
    "figures/pile": ("chartmaker/figures/pile.py", f"tests/figures/test_pile.py {ALL_FIGURES}"),
    "rounding": ("chartmaker/ground/rounding.py", "tests/ground/test_rounding.py"),
    "reports/records": ("chartmaker/reports/records/figures.py", "tests/reports/test_records.py"),
    "figures/tables": ("chartmaker/reports/tables.py", TABLES),
    "figures/tally": ("chartmaker/figures/tally.py", "tests/figures/test_tally.py"),
    "techniques/tufted": ("chartmaker/techniques/tufted.py", f"tests/techniques/test_tufted.py {ALL_FIGURES}"),
    "techniques/yarnsize": ("chartmaker/techniques/yarnsize.py", "tests/techniques/test_yarnsize.py"),
    "sheets/tables": (
        "chartmaker/sheets/tables/*.py",
        f"{looks('figures', 'dye', 'issue', 'figures_tufted')} {SHEETS} tests/verify/test_figuresheets.py",
    ),
    "sheets/chart": (
        "chartmaker/sheets/chart/*.py",
        f"{looks(*(f'chart_{each}' for each in ('quarter', 'octagon', 'many', 'tufted', 'wide', 'revised')))} {CHARTS}",
    ),
    "sheets/rows": (
        "chartmaker/sheets/rows/*.py",
        f"{looks(*(f'rows_{each}' for each in SCRIPTS))} {ROWS}",
    ),
    "sheets/others": (
        " ".join(f"chartmaker/sheets/{room}/*.py" for room in ("pattern", "carving", "bands", "card")),
        f"{looks(*OTHER_PAPERS)} {OTHERS}",
    ),
    "readback": ("chartmaker/readback/*.py", below_verify(READ_BACK)),
    **{
        f"verify/{room}": (" ".join(f"chartmaker/verify/{name}.py" for name in names.split()), below_verify(tests))
        for room, (names, tests) in VERIFY.items()
    },
    "layout": ("chartmaker/sheets/chart/layout.py", "tests/sheets/test_layout.py"),
}
PREPARED = (
    *("pytest", "hypothesis", "numpy", "pydantic", "_pytest.assertion.rewrite", "hypothesis.extra.numpy", "click"),
    *("rich.table", "PIL.Image", "reportlab.pdfgen.canvas", "pypdfium2", "skimage.color", "shapely", "scipy.ndimage"),
)
CPU_SECONDS = 120

Change = tuple[str, str]


@dataclass
class Score:
    """The faults put into a module: how many there were, how many were noticed, and which were not."""

    mutants: int = 0
    survivors: list[Change] = field(default_factory=list)
    equal: int = 0
    words: int = 0

    def add(self, other: Score) -> None:
        self.mutants += other.mutants
        self.survivors += other.survivors
        self.equal += other.equal
        self.words += other.words

    @property
    def noticed(self) -> float:
        """The share, in per cent, of the faults that matter."""
        return 100 * (self.mutants - len(self.survivors)) / max(self.mutants - self.equal - self.words, 1)

    def line(self, name: str) -> str:
        killed = self.mutants - len(self.survivors)
        raw = 100 * killed / max(self.mutants, 1)
        return f"{name:32}{self.mutants:8,}{killed:8,}{raw:8.1f} %{self.equal:7}{self.words:7}{self.noticed:8.1f} %"


def change_of(was: list[str], becomes: list[str]) -> Change:
    """Return the lines that differ before and after, joined into one line of words each."""
    lines = [line for line in difflib.unified_diff(was, becomes, n=0, lineterm="") if line[:3] not in ("---", "+++")]
    before, after = (" ".join(line[1:].strip() for line in lines if line[0] == sign) for sign in "-+")
    return before, after


def only_words(was: str, becomes: str) -> bool:
    """Return whether nothing differs but letters of a sentence of three words or more."""
    literal = r'"((?:[^"\\]|\\.)*)"'
    if re.sub(literal, "", was) != re.sub(literal, "", becomes):
        return False
    pairs = zip(re.findall(literal, was), re.findall(literal, becomes), strict=False)
    differ = [(a, b) for a, b in pairs if a != b]
    if len(differ) != 1 or differ[0][0].count(" ") < 2:
        return False
    before, after = differ[0]
    return after == f"XX{before}XX" or after.casefold() == before.casefold()


#: This runs where mutmut has run, and prints for each fault named on standard input how it differs.
DIFFERENCES = """
import json, sys
from mutmut.mutation.diff_apply import get_diff_for_mutant
json.dump({name: get_diff_for_mutant(name) for name in json.load(sys.stdin)}, sys.stdout)
"""


def modules_of(folder: Path, modules: str) -> list[Path]:
    """Return the files of a group, which gives them by patterns."""
    return sorted(path for pattern in modules.split() for path in folder.glob(pattern) if path.stat().st_size > 200)


def named(folder: Path, module: Path) -> str:
    """Return the path of a module as the groups and the list of equivalent faults name it."""
    return str(module.relative_to(folder))


def in_functions(folder: Path, modules: str, tests: str, digits: str) -> dict[str, Score]:
    """Run mutmut on the plain functions of `modules`, for faults with these last digits; return the score by module."""
    also = [path.name for path in folder.iterdir() if path.name not in ("chartmaker", "tests", "pyproject.toml")]
    with (folder / "pyproject.toml").open("a") as settings:
        settings.write(
            f'\n[tool.mutmut]\nsource_paths = ["chartmaker"]\nonly_mutate = {json.dumps(modules.split())}\n'
            f"pytest_add_cli_args_test_selection = {json.dumps(tests.split())}\nalso_copy = {json.dumps(also)}\n"
            "track_dependencies = false\nuse_git_change_detection = false\n"
        )
    run = [sys.executable, "-m", "mutmut", "run", "--max-children", "1"]
    if len(digits) < 10:
        run += [f"*{digit}" for digit in digits]
    subprocess.run(run, cwd=folder, check=True, stdout=subprocess.DEVNULL)
    scores = {}
    for module in modules_of(folder, modules):
        name = named(folder, module)
        codes = json.loads((folder / "mutants" / f"{name}.meta").read_text())["exit_code_by_key"]
        codes = {key: code for key, code in codes.items() if key[-1] in digits}
        # no test noticed the fault, or none came by it
        survived = [key for key, code in codes.items() if code in (0, 5, 33, None)]
        command = [sys.executable, "-c", DIFFERENCES]
        told = subprocess.run(
            command, cwd=folder, check=True, input=json.dumps(survived), stdout=subprocess.PIPE, text=True
        )
        score = scores[name] = Score(mutants=len(codes))
        for difference in json.loads(told.stdout).values():
            lines = difference.splitlines()[2:]
            was, becomes = ([line[1:] for line in lines if line[:1] in (" ", sign)] for sign in "-+")
            score.survivors.append(change_of(was, becomes))
    return scores


class _Collected(cst.CSTVisitor):
    """Collects the alterations of a module, or only those of what stands `outside` of plain functions."""

    def __init__(self, *, outside: bool) -> None:
        self.changes: list[tuple[cst.CSTNode, cst.CSTNode]] = []
        self.outside = outside

    def on_visit(self, node: cst.CSTNode) -> bool:
        if isinstance(node, cst.Annotation | cst.Decorator | cst.Import | cst.ImportFrom):
            return False
        if self.outside and isinstance(node, cst.FunctionDef):
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
    """Yield `source` with one alteration at a time, outside of plain functions."""
    tree = cst.parse_module(source)
    tree.visit(collected := _Collected(outside=True))
    for node, altered in collected.changes:
        code = tree.deep_replace(node, altered).code
        if code != source:
            yield code


def drawn_by_lot(folder: Path, modules: str, number: int, seed: int) -> Iterator[tuple[Path, str, Change]]:
    """Yield `number` altered sources with their files, drawn by lot from those that matter in some modules."""
    every: list[tuple[Path, cst.Module, cst.CSTNode, cst.CSTNode]] = []
    for module in modules_of(folder, modules):
        tree = cst.parse_module(module.read_text())
        tree.visit(collected := _Collected(outside=False))
        every += [(module, tree, node, altered) for node, altered in collected.changes]
    print(f"{len(every):,} alterations of {modules}", flush=True)
    lot = random.Random(seed)
    lot.shuffle(every)
    codes = ((module, tree.code, tree.deep_replace(node, altered).code) for module, tree, node, altered in every)
    changes = ((module, code, change_of(was.splitlines(), code.splitlines())) for module, was, code in codes)
    matter = (
        (module, code, change)
        for module, code, change in changes
        if change != ("", "") and not only_words(*change) and not why_equivalent(named(folder, module), change)
    )
    yield from itertools.islice(matter, number)


def of_a_sample(folder: Path, modules: str, tests: str, number: int, seed: int) -> dict[str, Score]:
    """Alter modules in places that are drawn by lot, one at a time, and return the score by module.

    Each verdict is printed at once, so that a run that is stopped has told what it found.
    """
    if notices(folder, tests):
        raise SystemExit(f"{tests} fail as they are")
    sys.dont_write_bytecode = True
    scores: dict[str, Score] = {}
    for module, altered, change in drawn_by_lot(folder, modules, number, seed):
        source, name = module.read_text(), named(folder, module)
        module.write_text(altered)
        score = scores.setdefault(name, Score())
        score.mutants += 1
        own_first = sorted(tests.split(), key=lambda test: f"test_{module.stem}.py" not in test)
        if notices(folder, " ".join(own_first)):
            print(f"{name}: noticed", flush=True)
        else:
            score.survivors.append(change)
            print(f"{name}: survived\n{shown(name, change)}", flush=True)
        module.write_text(source)
    return scores


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
        os._exit(int(importlib.import_module("pytest").main(["-x", "-q", "-p", "no:cacheprovider", *tests.split()])))
    return os.waitpid(child, 0)[1] != 0


def outside_functions(folder: Path, modules: str, tests: str, digits: str) -> dict[str, Score]:
    """Alter what mutmut leaves out, for faults with these last digits, and return the score by module."""
    sys.dont_write_bytecode = True
    if notices(folder, tests):
        raise SystemExit(f"{tests} fail as they are")
    scores = {}
    for module in modules_of(folder, modules):
        score = scores[named(folder, module)] = Score()
        source = module.read_text()
        for number, altered in enumerate(altered_sources(source)):
            if str(number)[-1] not in digits:
                continue
            module.write_text(altered)
            score.mutants += 1
            if not notices(folder, tests):
                score.survivors.append(change_of(source.splitlines(), altered.splitlines()))
        module.write_text(source)
    return scores


@functools.cache
def known_equivalent() -> dict[tuple[str, str, str], str]:
    """Return the reasons why faults cannot be noticed, by (module, was, becomes)."""
    told = tomllib.loads(Path(__file__).with_name("equivalent_mutants.toml").read_text())
    return {(m["module"], m["was"], m["becomes"]): m["why"] for m in told["mutant"]}


def why_equivalent(name: str, change: Change) -> str:
    """Return why nobody could notice a fault in module `name`, and nothing if somebody could."""
    was, becomes = (re.sub(r",? *strict=\w+", "", each) for each in change)
    if was == becomes and "/readback/" not in name:  # files that are read may well give too few
        return "a guard against slips of whoever changes it: both are made equally long"
    return known_equivalent().get((name, *change), "")


def shown(name: str, change: Change) -> str:
    """Return the lines that show a fault in module `name`, with the reason why it does not matter, if it is known."""
    was, becomes = change
    why = why_equivalent(name, change) or ("words" if only_words(was, becomes) else "")
    return f"  - {was}\n  + {becomes}" + (f"\n    {why}" if why else "")


def main() -> int:
    """Print a line for each module, and fail if a group is below `--least`."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("groups", nargs="*", choices=[*GROUPS, []], help="all, unless named")
    parser.add_argument(
        "--show", action="store_true", help="print each fault that no test noticed, as a sample always does"
    )
    parser.add_argument("--least", type=float, default=90, help="the score to reach, in per cent")
    parser.add_argument(
        "--digits", default="0123456789", help="only faults whose number ends in one of these: a sample"
    )
    parser.add_argument("--sample", type=int, default=0, metavar="N", help="only N faults of each group, drawn by lot")
    parser.add_argument("--seed", type=int, default=1, help="of the lot")
    asked = parser.parse_args()
    for name in PREPARED:
        importlib.import_module(name)
    low = []
    print(f"{'module':32}{'mutants':>8}{'killed':>8}{'score':>10}{'equal':>7}{'words':>7}{'score':>10}")
    whole = Score()
    for group in asked.groups or GROUPS:
        modules, tests = GROUPS[group]
        with tempfile.TemporaryDirectory(prefix="chartmaker-mutation-") as temporary:
            plain, other = Path(temporary) / "plain", Path(temporary) / "other"
            copy_of_project(plain)
            if asked.sample:
                scores, more = of_a_sample(plain, modules, tests, asked.sample, asked.seed), {}
            else:
                copy_of_project(other)
                scores = in_functions(plain, modules, tests, asked.digits)
                more = outside_functions(other, modules, tests, asked.digits)
        in_all = Score()
        for name, score in sorted(scores.items()):
            score.add(more.get(name, Score()))
            score.equal = sum(bool(why_equivalent(name, change)) for change in score.survivors)
            score.words = sum(only_words(*change) for change in score.survivors)
            print(score.line(name), flush=True)
            for change in score.survivors if asked.show and not asked.sample else ():
                print(shown(name, change), flush=True)
            in_all.add(score)
            if not asked.sample and score.noticed < asked.least:
                low.append(name)
        if asked.sample and in_all.noticed < asked.least:
            low.append(group)
        print(in_all.line(group), flush=True)
        whole.add(in_all)
    print(whole.line("in all"))
    print(f"below {asked.least:g} %: {', '.join(low) or 'none'}")
    return 1 if low else 0


if __name__ == "__main__":
    sys.exit(main())
