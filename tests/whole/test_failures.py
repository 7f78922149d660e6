"""Whichever step of `make` with its files fails, the old set is there or the new one, and never a mixture."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from support.failing_make import CODES, KINDS, Bench

from chartmaker.jobs import outputs


def chosen(taken: list[tuple[str, str]]) -> list[int]:
    """Return the steps that are to fail: all but writes, and of the writes the first and the last of each file."""
    numbers = [number for number, (what, _) in enumerate(taken, start=1) if what != "write"]
    for name in {name for what, name in taken if what == "write"}:
        writes = [number for number, step in enumerate(taken, start=1) if step == ("write", name)]
        numbers += {writes[0], writes[-1]}
    return sorted(numbers)


def test_whatever_step_fails_the_set_is_the_old_or_the_new(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The long form, in which every step fails in every way, is tests/soak/failures.py."""
    # drawing the proof pictures would take most of the time
    monkeypatch.setattr(outputs, "proof_picture_bytes", lambda *_: b"a picture " * 10_000)
    bench = Bench.laid_out(tmp_path)
    assert {what for what, _ in bench.steps} == KINDS
    ways = itertools.cycle(itertools.product(CODES, [False, True], [True, False]))
    for number, (code, persistent, existing) in zip(chosen(bench.steps), ways, strict=False):
        assert bench.wrong(number, code, persistent=persistent, existing=existing) == []
