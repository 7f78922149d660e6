"""Runs the whole of `make` while one of its steps with files fails, and looks at what is there afterwards."""

from __future__ import annotations

import contextlib
import errno
import io
import shutil
from dataclasses import dataclass
from pathlib import Path

from chartmaker.cli.faults import OWN_FAULT, run
from support.failing import Steps
from support.small_order import order, set_of

CODES = (errno.ENOSPC, errno.EIO, errno.EACCES)
#: All steps with files in a run, one after another.
KINDS = {"open", "write", "flush", "fsync", "mkdir", "rename", "exchange"}


@dataclass
class Bench:
    """Two orders for one folder, `old` and `new`, as whole sets, and the steps of making the new set over the old."""

    folder: Path
    old: dict[str, str]
    new: dict[str, str]
    steps: list[tuple[str, str]]

    @classmethod
    def laid_out(cls, folder: Path) -> Bench:
        """Make each order once, and keep the old set aside."""
        for seed, name in enumerate(("one", "two")):
            order(folder, name, seed, size="3x4 cm")
        out = folder / "out"
        assert _make(folder, "one") == (0, "")
        shutil.copytree(out, folder / "kept")
        old = set_of(out)
        steps = Steps(folder)
        with steps.injected():
            assert _make(folder, "two") == (0, "")
        new = set_of(out)
        assert old is not None and new is not None and old != new
        return cls(folder, old, new, steps.taken)

    def wrong(self, number: int, code: int, *, persistent: bool, existing: bool) -> list[str]:
        """Make the new set while its step `number` fails, and return what is not as it must be."""
        out = self.folder / "out"
        shutil.rmtree(out, ignore_errors=True)
        if existing:
            shutil.copytree(self.folder / "kept", out)
        present = set(self.folder.iterdir()) | {out}
        failing = Steps(self.folder, number, code, persistent=persistent)
        with failing.injected():
            ended, said = _make(self.folder, "two")
        before = self.old if existing else None
        put_in_place = (
            ended == 0 or "the new output is in place, but the disk did not confirm it" in said
        )  # nor could it be undone
        faults = {
            "no step failed": existing and not failing.fired,
            "ends as a fault of its own": ended == OWN_FAULT,
            "the folder is neither as it was nor the new set": set_of(out) not in (before, self.new),
            "the folder is not what the run says": set_of(out) != (self.new if put_in_place else before),
            "fails without a word, or speaks without failing": bool(said) == (ended == 0),
            "leaves files behind": not set(self.folder.iterdir()) <= present,
        }
        step = self.steps[number - 1] if number <= len(self.steps) else ("", "")
        return [f"{errno.errorcode[code]} at step {number} {step}: {what}; {said}" for what, so in faults.items() if so]


def _make(folder: Path, name: str) -> tuple[int, str]:
    with contextlib.redirect_stderr(io.StringIO()) as said:
        ended = run(["make", str(folder / f"{name}.toml"), "--out", str(folder / "out"), "--replace", "--quiet"])
    return ended, said.getvalue()
