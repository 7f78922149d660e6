"""Makes the same order under other conditions, which must not change a single byte."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from support.small_order import order, set_of

ROOT = Path(__file__).parents[2]
#: A plain processor does without these: wide instructions in NumPy, in BLAS and in the C library.
PLAIN = {
    "NPY_DISABLE_CPU_FEATURES": " ".join(np.__config__.show(mode="dicts")["SIMD Extensions"]["found"]),
    "OPENBLAS_CORETYPE": "Nehalem",
    "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-AVX,-FMA4,-AVX512F",
}
#: The working folder: elsewhere with absolute paths, the order's own, the one above it, or the root.
FOLDERS = ("elsewhere", "own", "above", "root")


@dataclass(frozen=True)
class Setting:
    """Where and how a run is started."""

    variables: dict[str, str] = field(default_factory=dict)
    folder: str = "elsewhere"
    out: str = "set"
    umask: int = 0o022
    second_process: bool = False
    one_core: bool = False


def laid_out(folder: Path, size: str = "9x12 cm") -> Path:
    """Return the rug file of an order whose words are not all ASCII."""
    return order(folder, "one", 0, size, title="Größe İstanbul ½")


def made(rug_file: Path, setting: Setting) -> dict[str, str]:
    """Return the SHA-256 of each file of the set that a run in `setting` makes."""
    where = {"elsewhere": ROOT, "own": rug_file.parent, "above": rug_file.parent.parent, "root": Path("/")}[
        setting.folder
    ]
    out = rug_file.parent / setting.out
    paths = (
        [rug_file, out] if setting.folder == "elsewhere" else [os.path.relpath(path, where) for path in (rug_file, out)]
    )
    large = "0" if setting.second_process else "10**9"
    program = (
        f"import chartmaker.jobs.making as job; job.LARGE_KNOTS = {large}; from chartmaker.cli import main; main()"
    )
    subprocess.run(
        [
            *(["taskset", "1"] if setting.one_core else []),
            *(sys.executable, "-c", program),
            *("make", paths[0], "--out", paths[1], "--quiet", "--replace"),
        ],
        cwd=where,
        env=os.environ | {"PYTHONPATH": str(ROOT)} | setting.variables,
        umask=setting.umask,
        check=True,
    )
    digests = set_of(out)
    assert digests is not None
    return digests
