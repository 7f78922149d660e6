"""The same order gives the same bytes, whatever the conditions."""

from __future__ import annotations

from pathlib import Path

from support.reproducing import PLAIN, Setting, laid_out, made

from chartmaker.jobs.outputs import SET_NAMES

SETTINGS = (
    Setting({"PYTHONHASHSEED": "0", "TZ": "UTC", "LC_ALL": "C.UTF-8", "SOURCE_DATE_EPOCH": "1700000000"}),
    Setting(
        {"PYTHONHASHSEED": "4242", "TZ": "Asia/Kathmandu", "LC_ALL": "POSIX", "PYTHONUTF8": "0", "LANG": "tr_TR.UTF-8"},
        folder="own",
        out="a set of another name",
        umask=0o077,
        second_process=True,
    ),
    Setting(
        {"PYTHONHASHSEED": "77", "TZ": "XYZ+11:30", "LC_ALL": "", "LANG": "de_DE.UTF-8", "OMP_NUM_THREADS": "3"}
        | PLAIN,
        folder="above",
        out="../b",
    ),
)


def test_the_conditions_of_a_run_do_not_show(tmp_path: Path) -> None:
    """The long form, with a hundred settings, is tests/soak/reproducible.py."""
    (tmp_path / "order").mkdir()
    rug_file = laid_out(tmp_path / "order", size="3x4 cm")
    sets = [made(rug_file, setting) for setting in SETTINGS]
    assert set(sets[0]) == set(SET_NAMES)
    assert sets[1:] == [sets[0]] * (len(sets) - 1)
