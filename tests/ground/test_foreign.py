"""A file from outside is read once and whole, up to a limit, and anything that may have no end is refused."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from chartmaker.ground.errors import CardError
from chartmaker.ground.foreign import read_whole


def read(path: Path, most: int = 100) -> bytes:
    return read_whole(path, most, CardError, "yarn card")


@pytest.mark.parametrize("size", [0, 1, 99, 100])
def test_a_file_within_the_limit_is_read_whole(tmp_path: Path, size: int) -> None:
    (tmp_path / "file").write_bytes(bytes(range(size)))
    assert read(tmp_path / "file") == bytes(range(size))
    (tmp_path / "link").symlink_to("file")
    assert read(tmp_path / "link") == bytes(range(size))


def test_a_file_beyond_the_limit_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"x" * 101)
    with pytest.raises(CardError, match="this cannot be a yarn card: it is larger than"):
        read(tmp_path / "file")


def test_a_file_whose_size_is_not_known_beforehand_is_read_up_to_the_limit() -> None:
    """Files of /proc claim a size of nought (proc(5))."""
    status = Path("/proc/self/status")
    assert status.stat().st_size == 0
    assert read(status, 1_000_000).startswith(b"Name:")
    with pytest.raises(CardError, match="larger than"):
        read(status, 20)


def test_anything_but_a_regular_file_is_refused_at_once(tmp_path: Path) -> None:
    """A pipe, endless devices and a folder are each refused within seconds, and without being read into memory."""
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", Path("/dev/zero"), Path("/dev/tty"), tmp_path):
        refused: list[str] = []

        def attempt(path: Path = path, refused: list[str] = refused) -> None:
            with pytest.raises(CardError) as error:
                read(path, 10**12)
            refused.append(str(error.value))

        reader = threading.Thread(target=attempt, daemon=True)
        reader.start()
        reader.join(10)
        assert refused, f"{path} is still being read"
        assert "must be a file" in refused[0] or "cannot read" in refused[0]


def test_a_missing_file_is_reported_by_its_name(tmp_path: Path) -> None:
    with pytest.raises(CardError, match=r"nowhere\.csv: cannot read the yarn card: No such file"):
        read(tmp_path / "nowhere.csv")
