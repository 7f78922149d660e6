"""Which batches may be made at the same time within a limit of memory: by what such batches were measured to take."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from pathlib import Path

from chartmaker.collection.batches import Batch, BatchDone

#: What a process takes with the libraries loaded and a proof of the usual size, then for each knot and each pixel of
#: the artwork, in bytes: just above all that `tests/bench/bench_collection.py --needs` measured (flat or shaded, 30,000
#: to 1,920,000 knots, 0.3 to 31 million pixels: 405 to 792 MB).
BASE_BYTES, KNOT_BYTES, PIXEL_BYTES = 420_000_000, 40, 14
#: The share of what is free that is taken where no limit is given.
USUAL_SHARE = 0.8


class Memory:
    """Room in memory: batches are let in by their expected need, which what is measured corrects.

    Parameters
    ----------
    limit_bytes : int
        What all processes may take together.
    pixels : mapping of Batch to int
        The pixels of the artwork of each.
    """

    def __init__(self, limit_bytes: int) -> None:
        self._limit = limit_bytes
        self._taken: dict[int, float] = {}
        self._factor = 1.0
        self.pixels: dict[int, int] = {}

    def need_bytes(self, batch: Batch) -> float:
        """Return what a batch is expected to take."""
        pixels = self.pixels.get(id(batch), 0)
        return self._factor * (BASE_BYTES + KNOT_BYTES * batch.order.rug.knots + PIXEL_BYTES * pixels)

    def is_too_large(self, batch: Batch) -> bool:
        """Say whether a batch has no room even alone."""
        return self.need_bytes(batch) > self._limit

    def admit(self, task: Batch) -> bool:
        """Say whether there is room for a batch now; one that has nobody beside it is always let in."""
        need = self.need_bytes(task)
        if self._taken and sum(self._taken.values()) + need > self._limit:
            return False
        self._taken[id(task)] = need
        return True

    def leave(self, task: Batch, result: object) -> None:
        """Give its room back; where it took more than was expected, expect more of all that follow."""
        expected = self._taken.pop(id(task))
        self.pixels.pop(id(task), None)
        if isinstance(result, BatchDone) and result.peak_bytes > expected:
            self._factor *= result.peak_bytes / expected


def free_bytes(meminfo: Path = Path("/proc/meminfo"), group: Path = Path("/sys/fs/cgroup")) -> int | None:
    """Return the memory that may still be taken: what the machine has free, within its control group's limit.

    None where the system does not say. ``MemAvailable`` is the kernel's own estimate (Linux, proc.rst), ``memory.max``
    less ``memory.current`` what the group leaves (cgroup-v2.rst).
    """
    free: list[int] = []
    with contextlib.suppress(OSError, ValueError, KeyError):
        free.append(_fields(meminfo.read_text())["MemAvailable"] * 1024)
    with contextlib.suppress(OSError, ValueError):
        free.append(int((group / "memory.max").read_text()) - int((group / "memory.current").read_text()))
    return max(min(free), 0) if free else None


def _fields(text: str) -> Mapping[str, int]:
    return {line.split(":")[0]: int(line.split()[1]) for line in text.splitlines() if ":" in line}
