"""The README as the tests read it: its blocks, and its lines typed at a shell."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    """Return the fenced code blocks of one kind, in order."""
    return re.findall(rf"^```{kind}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def guide() -> list[str]:
    """Return the blocks of the guide, which are typed once chartmaker is installed."""
    return blocks("sh")[2:]


def run(line: str, folder: Path) -> None:
    """Type a line at a shell in `folder`, where it must succeed."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        line, shell=True, cwd=folder, env=os.environ | {"PATH": path}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{line}\n{done.stderr}"


def copied(folder: Path, *names: str) -> None:
    """Copy files and folders of the project into `folder`."""
    for name in names:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
        else:
            shutil.copy(ROOT / name, folder / name)
