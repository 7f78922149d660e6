"""Completion by the Tab key is tested by each shell's protocol and by a real bash at a real terminal."""

from __future__ import annotations

import os
import pty
import select
import sys
import time
from pathlib import Path

import pytest

from chartmaker.cli.app import LazyGroup
from chartmaker.cli.faults import run


def offered(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, typed: str, shell: str) -> list[str]:
    """Return the lines that the shell's script receives when Tab is pressed after `typed`."""
    words = typed.split(" ")
    monkeypatch.setenv("_CHARTMAKER_COMPLETE", f"{shell}_complete")
    monkeypatch.setenv("COMP_WORDS", typed)
    monkeypatch.setenv("COMP_CWORD", words[-1] if shell == "fish" else str(len(words) - 1))
    with pytest.raises(SystemExit) as end:
        run([])
    assert end.value.code == 0
    told = capsys.readouterr()
    assert told.err == ""
    return [line for line in told.out.splitlines() if line]


@pytest.mark.parametrize(
    ("typed", "lines"),
    [
        ("chartmaker ", [f"plain,{name}" for name in LazyGroup.summaries]),
        ("chartmaker ma", ["plain,make", "plain,manual"]),
        ("chartmaker make --pa", ["plain,--paper"]),
        ("chartmaker make --style ", ["plain,auto", "plain,flat", "plain,shaded"]),
        ("chartmaker make --turn 2", ["plain,270"]),
        ("chartmaker knot --knot S", ["plain,symmetric"]),
        ("chartmaker chart --paper l", ["plain,Letter", "plain,Legal"]),
        ("chartmaker rows --reading ", []),  # nothing is offered, because a shell would take such words apart
        ("chartmaker figures --sheet d", ["plain,dye"]),
        ("chartmaker make ru", ["file,ru"]),
        ("chartmaker make --card wo", ["file,wo"]),
        ("chartmaker chart --font wo", ["file,wo"]),
        ("chartmaker make --card wool.csv --keep r", ["plain,R1"]),
        ("chartmaker make rug.toml --skip ", ["plain,R1", "plain,B1", "plain,W1", "plain,G1"]),
        ("chartmaker make missing.toml --skip ", []),
        ("chartmaker make art.png --skip ", []),
    ],
)
def test_bash_is_offered(
    order: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, typed: str, lines: list[str]
) -> None:
    monkeypatch.chdir(order.parent)
    assert offered(capsys, monkeypatch, typed, "bash") == lines


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_zsh_and_fish_get_a_description_of_each_yarn(
    order: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, shell: str
) -> None:
    monkeypatch.chdir(order.parent)
    told = " ".join(offered(capsys, monkeypatch, "chartmaker make --card wool.csv --keep R", shell))
    assert "R1" in told
    assert "Madder" in told


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_has_its_script(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, shell: str
) -> None:
    monkeypatch.setenv("_CHARTMAKER_COMPLETE", f"{shell}_source")
    with pytest.raises(SystemExit):
        run([])
    assert f"_CHARTMAKER_COMPLETE={shell}_complete" in capsys.readouterr().out


def test_offering_the_names_of_commands_loads_none_of_them(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in [name for name in sys.modules if name.startswith("chartmaker.cli.card")]:
        monkeypatch.delitem(sys.modules, name)
    offered(capsys, monkeypatch, "chartmaker ", "bash")
    assert "chartmaker.cli.card" not in sys.modules


def type_in_bash(folder: Path, typed: list[tuple[str, str]]) -> None:
    """Type lines into an interactive bash, and check after each what then stands on the terminal."""
    environment = {"PATH": f"{folder}:{os.environ['PATH']}", "PS1": "ready> ", "TERM": "dumb", "HOME": str(folder)}
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.execvpe("bash", ["bash", "--norc", "--noprofile", "-i"], environment)
    try:
        for line, wanted in typed:
            os.write(terminal, line.encode())
            shown, end = "", time.monotonic() + 60
            while wanted not in shown and time.monotonic() < end:
                if select.select([terminal], [], [], 0.5)[0]:
                    shown += os.read(terminal, 4096).decode("utf-8", "replace")
            assert wanted in shown, f"{line!r} shows {shown!r}"
    finally:
        os.close(terminal)
        os.waitpid(child, 0)


def test_a_real_bash_completes(root: Path, order: Path) -> None:
    program = order.parent / "chartmaker"
    program.write_text(f'#!/bin/sh\nPYTHONPATH="{root}" exec "{sys.executable}" -m chartmaker "$@"\n')
    program.chmod(0o755)
    wipe = "\x15"  # Ctrl-U clears the line
    type_in_bash(
        order.parent,
        [
            (
                'eval "$(_CHARTMAKER_COMPLETE=bash_source chartmaker)"; complete -p chartmaker\n',
                "_completion chartmaker",
            ),
            ("chartmaker pl\t", "plan "),
            (wipe + "chartmaker make --colo\t", "--colours "),
            (wipe + "chartmaker make ru\t", "rug.toml "),
            (wipe + "chartmaker make --card wo\t", "wool.csv "),
            (wipe + "chartmaker make --card wool.csv --keep W\t", "W1 "),
        ],
    )
