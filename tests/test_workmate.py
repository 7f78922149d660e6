"""The second process ends with the first, whatever it was being told."""

from __future__ import annotations

import pickle
import subprocess
import sys

import pytest

from chartmaker import workmate

LETTER = pickle.dumps((sum, ([1] * 10_000,)), pickle.HIGHEST_PROTOCOL)


@pytest.mark.parametrize("told", [b"", LETTER[:5_000], LETTER, LETTER + LETTER[:9]])
def test_it_ends_when_whoever_asks_is_gone(told: bytes) -> None:
    """Also after half a letter, of one who was killed while writing it."""
    mate = subprocess.Popen(
        [sys.executable, "-c", workmate._SERVE.format(path=sys.path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert mate.stdin is not None and mate.stdout is not None
    mate.stdin.write(told)
    mate.stdin.flush()
    if told.startswith(LETTER):
        assert pickle.load(mate.stdout) == (True, 10_000)
    mate.stdin.close()
    assert mate.wait(timeout=60) == 0
    mate.stdout.close()
