"""The memory that lasts: results kept in a folder of the system's cache, by the content of what they depend on.

An entry is a file named by a hash of everything that its result depends on, this program's code and its libraries
included, so that nothing in the folder can ever be out of date. It holds bare arrays behind a checksum. The folder may
be deleted at any time, by anybody; where it cannot be read or written, or an entry is damaged, the work is done again
without a word.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from functools import cache
from math import prod
from pathlib import Path
from typing import Any

import numpy as np

from chartmaker.ground.language import say
from chartmaker.ground.memory import Key, Memory, Values, feed

#: What all entries together may take, and a single one.
MOST_BYTES, MOST_ENTRY_BYTES = 500_000_000, 120_000_000
#: Set to anything, nothing is kept.
VARIABLE = "CHARTMAKER_NO_CACHE"
#: The rooms of the house whose code decides what a result is, and the libraries that do.
_ROOMS = ("artwork", "colours", "convert", "ground", "knots", "order", "yarns")
_LIBRARIES = ("numpy", "scipy", "scikit-image", "pillow")
#: How an entry begins; arrays begin at multiples of _ALIGNED.
_MAGIC, _ALIGNED = b"chartmaker cache 1\n", 64
#: Half-written files that are older than this, in seconds, belong to nobody any more.
_STALE_S = 3600


class CacheFolder(Memory):
    """Keeps results in `folder`; of more than `most_bytes` the least recently used go."""

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self._folder, self._most = folder, most_bytes

    def recall(self, work: str, of: Key, make: Callable[[], Values]) -> Values:
        name = _name(work, of)
        if name is None:
            return make()
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError, MemoryError):
            return self._read(name)
        values = make()
        with contextlib.suppress(OSError):
            self._write(name, values)
        return values

    def _read(self, name: str) -> Values:
        path = self._folder / name
        self._check_ours()
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as stream:
            data = bytearray(os.fstat(handle).st_size)
            stream.readinto(data)
        try:
            values = unpacked(data)
        except ValueError:
            path.unlink(missing_ok=True)
            raise
        os.utime(path)  # recently used
        return values

    def _write(self, name: str, values: Values) -> None:
        if sum(value.nbytes for value in values) > min(MOST_ENTRY_BYTES, self._most):
            return
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._check_ours()
        beside = self._folder / f".{name}.{os.getpid()}"
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        try:
            with os.fdopen(handle, "wb") as stream:
                for part in packed(values):
                    stream.write(part)
            beside.replace(self._folder / name)
        except BaseException:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
            raise
        self._sweep()

    def _check_ours(self) -> None:
        """Refuse a folder that somebody else could have put results into.

        Raises
        ------
        OSError
            If it is not there, too.
        """
        state = self._folder.stat()
        if hasattr(os, "geteuid") and (state.st_uid != os.geteuid() or state.st_mode & 0o022):
            raise PermissionError(self._folder)

    def _sweep(self) -> None:
        """Remove what is older than the newest entries that there is room for, and what was left half written."""
        entries, now = [], time.time()
        for entry in os.scandir(self._folder):
            with contextlib.suppress(OSError):
                state = entry.stat(follow_symlinks=False)
                if not entry.name.startswith("."):
                    entries.append((state.st_mtime_ns, state.st_size, Path(entry.path)))
                elif now - state.st_mtime > _STALE_S:
                    Path(entry.path).unlink()
        total = 0
        for _, size, path in sorted(entries, reverse=True):
            total += size
            if total > self._most:
                with contextlib.suppress(OSError):
                    path.unlink()


def lasting() -> Memory:
    """Return the memory in the system's cache folder; one that remembers nothing where none is wanted or known.

    The folder is $XDG_CACHE_HOME/chartmaker or ~/.cache/chartmaker, on Windows %LOCALAPPDATA%, on macOS
    ~/Library/Caches.
    """
    if os.environ.get(VARIABLE):
        return Memory()
    from platformdirs import user_cache_path

    try:
        folder = user_cache_path("chartmaker", appauthor=False)
    except (OSError, RuntimeError):  # nobody's home is known
        return Memory()
    return CacheFolder(folder) if folder.is_absolute() else Memory()


def packed(values: Values) -> Iterator[bytes]:
    """Yield the bytes of an entry: a line that says what it is, its checksum, its shapes, its arrays."""
    shapes = json.dumps([[value.dtype.str, list(value.shape)] for value in values]).encode() + b"\n"
    parts = [_padded(shapes)] + [_padded(np.ascontiguousarray(value).tobytes()) for value in values]
    digest = hashlib.blake2b(digest_size=32)
    for part in parts:
        digest.update(part)
    yield _padded(_MAGIC + digest.hexdigest().encode() + b"\n")
    yield from parts


def _padded(data: bytes) -> bytes:
    return data + bytes(-len(data) % _ALIGNED)


def unpacked(data: bytearray) -> Values:
    """Return the arrays that the bytes of an entry hold; they may be written to.

    Raises
    ------
    ValueError
        If a byte of it is not as it was written.
    """
    start = len(_padded(_MAGIC + bytes(65)))
    digest = hashlib.blake2b(memoryview(data)[start:], digest_size=32).hexdigest().encode()
    if data[:start] != _padded(_MAGIC + digest + b"\n"):
        raise ValueError(say("damaged"))
    end = data.index(b"\n", start) + 1
    values, at = [], start + len(_padded(bytes(end - start)))
    for kind, shape in json.loads(data[start:end]):
        dtype, count = np.dtype(kind), prod(shape)
        values.append(np.frombuffer(data, dtype, count, at).reshape(shape) if count else np.empty(shape, dtype))
        at += len(_padded(bytes(count * dtype.itemsize)))
    return tuple(values)


def _name(work: str, of: Key) -> str | None:
    """Return the name of the entry for some work, None if this program's code cannot be read."""
    program = _program()
    if program is None:
        return None
    digest = hashlib.blake2b(program, digest_size=20)
    feed(digest.update, (work, of))
    return digest.hexdigest()


@cache
def _program() -> bytes | None:
    """Return a hash of the code that decides what a result is, and of the libraries' versions."""
    from importlib.metadata import PackageNotFoundError, version

    house, digest = Path(__file__).parents[1], hashlib.blake2b(digest_size=20)
    try:
        paths = sorted(path for room in _ROOMS for path in (house / room).rglob("*.py"))
        sources: tuple[Any, ...] = tuple((path.relative_to(house).as_posix(), path.read_bytes()) for path in paths)
        versions = tuple(version(library) for library in _LIBRARIES)
    except (OSError, PackageNotFoundError):
        return None
    if not sources:  # in an archive
        return None
    feed(digest.update, (sys.version, sources, versions))
    return digest.digest()
