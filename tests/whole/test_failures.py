"""The whole of `make` with each step of its work with files made to fail: the old set or the new, never another."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from support.failing_make import CODES, KINDS, Bench

from chartmaker.jobs import outputs


def chosen(taken: list[tuple[str, str]]) -> list[int]:
    """Return the numbers of the steps to fail: all but writes, of those the first and the last of each file."""
    numbers = [number for number, (what, _) in enumerate(taken, start=1) if what != "write"]
    for name in {name for what, name in taken if what == "write"}:
        writes = [number for number, step in enumerate(taken, start=1) if step == ("write", name)]
        numbers += {writes[0], writes[-1]}
    return sorted(numbers)


def test_whatever_step_fails_the_set_is_the_old_or_the_new(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The long form, every step with every failure, is tests/soak/failures.py."""
    monkeypatch.setattr(outputs, "proof_picture_bytes", lambda *_: b"a picture " * 10_000)  # painting takes its time
    bench = Bench.laid_out(tmp_path)
    assert {what for what, _ in bench.steps} == KINDS
    ways = itertools.cycle(itertools.product(CODES, [False, True], [True, False]))
    for number, (code, persistent, existing) in zip(chosen(bench.steps), ways, strict=False):
        assert bench.wrong(number, code, persistent=persistent, existing=existing) == []
