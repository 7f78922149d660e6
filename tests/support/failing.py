"""Makes one step of the work with files fail: an open, a write, a sync or a rename."""

from __future__ import annotations

import builtins
import contextlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from unittest import mock

from chartmaker.ground import files


class Steps:
    """Counts steps with files within `folder`, and raises `code` at step `at`, or from there on if `persistent`.

    With `at` 0 nothing fails; `taken` lists the steps that there were, as (what, name of the file).
    """

    def __init__(self, folder: Path, at: int = 0, code: int = 0, *, persistent: bool = False) -> None:
        self.folder, self.at, self.code, self.persistent = os.fspath(folder), at, code, persistent
        self.taken: list[tuple[str, str]] = []

    @property
    def fired(self) -> bool:
        return 0 < self.at <= len(self.taken)

    def step(self, what: str, path: Any) -> None:
        name = path if isinstance(path, int) else os.fspath(path)
        if not isinstance(name, int) and not os.fsdecode(name).startswith(self.folder):
            return
        self.taken.append((what, "" if isinstance(name, int) else Path(os.fsdecode(name)).name))
        if len(self.taken) == self.at or (self.persistent and self.fired):
            raise OSError(self.code, os.strerror(self.code))

    def _wrapped(self, what: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(path: Any, *rest: Any, **more: Any) -> Any:
            self.step(what, path)
            return real(path, *rest, **more)

        return call

    def _opening(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(path: Any, mode: str = "r", *rest: Any, **more: Any) -> Any:
            self.step("open", path)
            stream = real(path, mode, *rest, **more)
            writes = set(mode) & set("wxa+") and not isinstance(path, int)
            return _Watched(self, path, stream) if writes and os.fspath(path).startswith(self.folder) else stream

        return call

    @contextlib.contextmanager
    def injected(self) -> Iterator[None]:
        """Let the steps fail while the block runs."""
        opening = self._opening(builtins.open)
        with contextlib.ExitStack() as stack:
            for owner, name in ((os, "fsync"), (os, "link"), (Path, "rename"), (Path, "replace"), (Path, "mkdir")):
                stack.enter_context(mock.patch.object(owner, name, self._wrapped(name, getattr(owner, name))))
            stack.enter_context(mock.patch.object(files, "_exchange", self._wrapped("exchange", files._exchange)))
            stack.enter_context(mock.patch.object(builtins, "open", opening))
            stack.enter_context(
                mock.patch.object(Path, "open", lambda path, *rest, **more: opening(path, *rest, **more))
            )
            yield


class _Watched:
    """A stream each of whose writes counts as a step."""

    def __init__(self, steps: Steps, path: Any, stream: Any) -> None:
        self._steps, self._path, self._stream = steps, path, stream

    def write(self, data: Any) -> Any:
        self._steps.step("write", self._path)
        return self._stream.write(data)

    def flush(self) -> None:
        self._steps.step("flush", self._path)
        self._stream.flush()

    def __enter__(self) -> _Watched:
        return self

    def __exit__(self, *_rest: object) -> None:
        self._stream.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)
