"""Wheels of libraries that are installed here, packed again, so that pip can install them without an index."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

#: What an installer adds to the files of a wheel, or writes itself.
_ADDED = {"INSTALLER", "REQUESTED", "RECORD", "direct_url.json"}


def pack_again(folder: Path, needed: list[str]) -> None:
    """Write a wheel into `folder` for each library in `needed`, and for all that these need in turn."""
    for library in _with_needs(needed):
        files = [
            file
            for file in library.files or ()
            if ".." not in file.parts and "__pycache__" not in file.parts and file.name not in _ADDED
        ]
        (told,) = (file for file in files if file.name == "WHEEL")
        with zipfile.ZipFile(folder / f"{_name_of(library)}-{_tags(told.read_text())}.whl", "w") as archive:
            for file in files:
                archive.write(str(file.locate()), str(file))
            record = told.with_name("RECORD")
            archive.writestr(str(record), "".join(f"{file},,\n" for file in [*files, record]))


def _with_needs(needed: list[str]) -> Iterator[Distribution]:
    known: set[str] = set()
    open_ = [Requirement(line) for line in needed]
    while open_:
        asked = open_.pop()
        if (asked.marker is None or asked.marker.evaluate({"extra": ""})) and canonicalize_name(
            asked.name
        ) not in known:
            known.add(canonicalize_name(asked.name))
            library = distribution(asked.name)
            open_ += [Requirement(line) for line in library.requires or ()]
            yield library


def _name_of(library: Distribution) -> str:
    return f"{canonicalize_name(library.metadata['Name']).replace('-', '_')}-{library.version}"


def _tags(told: str) -> str:
    """Return the tags of a wheel as they stand in its file name (Python packaging, "Binary distribution format")."""
    tags = [line.removeprefix("Tag: ").split("-") for line in told.splitlines() if line.startswith("Tag: ")]
    return "-".join(".".join(dict.fromkeys(part)) for part in zip(*tags, strict=True))
