"""How much memory this machine still has."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from pathlib import Path


def free_bytes(meminfo: Path = Path("/proc/meminfo"), group: Path = Path("/sys/fs/cgroup")) -> int | None:
    """Return the memory that may still be taken: what is free on the machine, within the limit of its control group.

    None if the system does not say. ``MemAvailable`` is the kernel's own estimate (Linux, proc.rst); ``memory.max``
    less ``memory.current`` is what the group leaves (cgroup-v2.rst).
    """
    free: list[int] = []
    with contextlib.suppress(OSError, ValueError, KeyError):
        free.append(_fields(meminfo.read_text())["MemAvailable"] * 1024)
    with contextlib.suppress(OSError, ValueError):
        free.append(int((group / "memory.max").read_text()) - int((group / "memory.current").read_text()))
    return max(min(free), 0) if free else None


def _fields(text: str) -> Mapping[str, int]:
    return {line.split(":")[0]: int(line.split()[1]) for line in text.splitlines() if ":" in line}
