"""A rug that would not fit into memory is refused before work begins, and the message names what takes most."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from support.ordering import Result

from chartmaker.ground.errors import RoomError
from chartmaker.jobs import foreseeing
from chartmaker.jobs.foreseeing import BASE_BYTES, KNOT_BYTES, PIXEL_BYTES, YARN_BYTES, check_room


@pytest.mark.parametrize(
    ("knots", "pixels", "yarns", "words"),
    [
        (200_000_000, 1_000_000, 40, "the rug's 200,000,000 knots take the most"),
        (1_000_000, 150_000_000, 40, "the artwork's 150,000,000 pixels take the most"),
        (1_000_000, 1_000_000, 200_000, "the card's 200,000 yarns take the most"),
    ],
)
def test_the_message_names_what_takes_the_most_memory(knots: int, pixels: int, yarns: int, words: str) -> None:
    need = BASE_BYTES + KNOT_BYTES * knots + PIXEL_BYTES * pixels + YARN_BYTES * yarns
    check_room(knots, pixels, yarns, need)
    with pytest.raises(RoomError, match=words) as refused:
        check_room(knots, pixels, yarns, need - 1)
    assert f"takes about {need / 1e9:.1f} GB" in refused.value.message
    with pytest.raises(RoomError, match="close other programs"):
        check_room(knots, pixels, yarns, BASE_BYTES // 2)  # no smaller rug would fit


def test_a_card_of_20000_yarns_is_not_what_fills_a_memory_of_two_gigabytes() -> None:
    check_room(2_000_000, 40_000_000, 20_000, 2_000_000_000)


def test_a_command_refuses_before_it_reads_the_pixels(
    order: Path, chartmaker: Callable[..., Result], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # its pixels are missing, so that reading them would fail
    (tmp_path / "art.png").write_bytes((tmp_path / "art.png").read_bytes()[:200])
    monkeypatch.setattr(foreseeing, "free_bytes", lambda: 50_000_000)
    for command, out in (("make", "set"), ("knot", "one.png")):
        done = chartmaker(command, order, "--out", tmp_path / out)
        assert done.code == RoomError.exit_code and "0.1 GB are free" in done.err
        assert not (tmp_path / out).exists()
    # where the system does not say how much is free, nothing is refused
    monkeypatch.setattr(foreseeing, "free_bytes", lambda: None)
    assert chartmaker("knot", order, "--out", tmp_path / "one.png").code == 5
