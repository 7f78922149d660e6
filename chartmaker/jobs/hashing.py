"""Files whose SHA-256 is put down as they are written."""

from __future__ import annotations

import hashlib
from typing import BinaryIO, cast

from chartmaker.ground.durable import Writer


class _Hashing:
    """A stream that passes everything on, with its SHA-256 kept."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self.digest = hashlib.sha256()

    def write(self, data: bytes) -> int:
        self.digest.update(data)
        return self._stream.write(data)

    def flush(self) -> None:
        self._stream.flush()


def hashing(name: str, writer: Writer, written: dict[str, str]) -> Writer:
    """Return `writer`, with the SHA-256 of what it writes put down under `name`."""

    def write(stream: BinaryIO) -> None:
        hashed = _Hashing(stream)
        writer(cast(BinaryIO, hashed))
        written[name] = hashed.digest.hexdigest()

    return write
