"""Verify raises no false alarm on whole sets whose names, codes and counts are drawn from each other's words."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.alike import alarms_of

SETS = [4, 8, 7009, 20628, 20951, 50003, 50011, 63646, 110654, 201110, 202479, 220814, 231279, 234581]


@pytest.mark.parametrize("number", SETS)
def test_words_like_one_another_raise_no_alarm(tmp_path: Path, number: int) -> None:
    """In set 7009 a column was printed into the bracket before it, on a row script that is read from the right.

    In set 20628 a range ends at half a unit, in set 20951 the rug at half a pixel of what verify renders. In set 50003
    a slope of a pale yarn is as light as white, in set 50011 the only yarn is carved. In set 110654, with a yarn for
    each tuft, a number took the room of a field that needed it. In set 201110 so many new lots begin on a sheet that
    their line was cut, in set 202479 a strong colour joins a sheet among pale ones. In set 220814 a field is one tuft
    wide at its waist, in set 231279 exactly 65.5 strands would fill a knot's place, and in set 234581 a wide code of
    the amounts ran into the number of the sheet.
    """
    assert alarms_of(tmp_path, number) == []
