"""The notes on yarns that were asked for, and on colours that were missed, say what is true of the result."""

from __future__ import annotations

import numpy as np
import pytest
from support.making import card_in, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.convert.notes import border_findings
from chartmaker.convert.repeats.steady import SteadySide
from chartmaker.ground.colour import ciede2000, lab_from_srgb8
from chartmaker.ground.errors import ArtworkError, RugError
from chartmaker.order.design import Design, Repeat, YarnChoice
from chartmaker.yarns.yarn import Yarn

#: Red, green, blue and yellow quarters, each a little different from the yarn of its colour.
QUARTERS = np.array([[[200, 30, 40], [40, 140, 60]], [[40, 60, 150], [220, 190, 60]]], dtype=np.uint8)
LABS = lab_from_srgb8(QUARTERS.reshape(-1, 3))
CARD = card_in(np.array([[190, 30, 45], [45, 130, 60], [45, 60, 140], [210, 185, 70], [150, 20, 160], [120, 110, 100]]))


def converted(choice: dict[str, object], card: tuple[Yarn, ...] = CARD, quarters: np.ndarray = QUARTERS) -> Conversion:
    pixels = np.repeat(np.repeat(quarters, 30, axis=0), 20, axis=1)
    rug = make_rug(40, 60, "40x40 per dm")
    return convert(Artwork(pixels, None), rug, card, Design(fit="stretch"), YarnChoice.model_validate(choice))


def said(conversion: Conversion) -> str:
    return " / ".join(finding.what for finding in conversion.findings)


def test_a_kept_yarn_that_is_not_tied_is_reported_and_takes_no_place() -> None:
    """No knot is green, so that of four reds three are tied, as if green had not been kept."""
    reds = np.array([[[200, 30, 40], [150, 30, 50]], [[110, 20, 30], [220, 110, 90]]], dtype=np.uint8)
    card = card_in(np.array([*reds.reshape(-1, 3) + 5, [20, 230, 60]]))
    conversion = converted({"colours": 3, "keep": ["C5"]}, card, reds)
    assert len(conversion.knot_map.yarns) == 3
    assert {yarn.code for yarn in conversion.knot_map.yarns} < {"C1", "C2", "C3", "C4"}
    assert "C5 was to be kept, but every knot has a nearer yarn" in said(conversion)
    assert "left out:" not in said(conversion)


def test_a_yarn_that_gave_way_to_a_kept_one_is_reported() -> None:
    """One red was to be tied in place of another, and the note names the other as left out."""
    reds = card_in(np.array([[198, 30, 42], [170, 60, 60], [45, 130, 60], [45, 60, 140], [210, 185, 70]]))
    conversion = converted({"colours": 3, "keep": ["C2", "C3"]}, reds)
    codes = {yarn.code for yarn in conversion.knot_map.yarns}
    free = {yarn.code for yarn in converted({"colours": 3}, reds).knot_map.yarns}
    assert {"C2", "C3"} <= codes and free - codes
    for code in free - codes:
        assert f"left out: {', '.join(sorted(free - codes))}" in said(conversion), code


def test_fewer_colours_than_asked_for_are_reported() -> None:
    assert "6 yarns were asked for, and 4 are tied" in said(converted({"colours": 6}))
    assert "asked for" not in said(converted({"colours": 4}))


@pytest.mark.parametrize("colours", [2, 3, None])
def test_the_note_that_nothing_is_nearer_is_made_only_where_it_is_true(colours: int | None) -> None:
    """Where yarns were chosen, a stand-in names the nearer yarn that was left out; without a choice there is none."""
    choice = {} if colours is None else {"colours": colours}
    conversion = converted(choice, CARD if colours else CARD[:1] + CARD[4:])
    words = said(conversion)
    assert words.count("stand in for") + words.count("stands in for") == 1  # there is one note for all of them
    stand_ins = conversion.report.stand_ins
    assert stand_ins
    if colours is None:
        assert "No yarn that may be used is nearer" in words and "not among" not in words
        return
    assert "that may be used is nearer" not in words
    assert conversion.choosing is not None
    lab = {yarn.code: np.array(yarn.lab) for yarn in CARD}
    for code, nearer in conversion.choosing.nearer:
        assert f"{nearer} is nearer to some" in words or code not in {match.code for match in stand_ins}
        yarns = np.array([lab[each] for each in conversion.choosing.codes])
        owner = ciede2000(LABS[:, None], yarns[None]).argmin(axis=1)
        mine = LABS[owner == conversion.choosing.codes.index(code)]
        assert (ciede2000(mine, lab[nearer]) < ciede2000(mine, lab[code])).any()


def test_stipple_of_flat_artwork_is_refused() -> None:
    """It would do nothing there, and silence would be taken for success."""
    pixels = np.repeat(np.repeat(QUARTERS, 90, axis=0), 60, axis=1)
    with pytest.raises(RugError, match=r"stipple mixes shades .* this artwork is converted as flat"):
        convert(
            Artwork(pixels), make_rug(40, 60, "40x40 per dm"), CARD, Design(fit="stretch", stipple=0.5), YarnChoice()
        )


def test_for_shades_mixed_knot_by_knot_no_yarn_is_reported_as_lacking() -> None:
    """Greys of black and white wool look right from afar, though each knot is far from the artwork's grey."""
    greys = np.linspace(60, 200, 60 * 40).reshape(60, 40).astype(np.uint8)
    pixels = np.repeat(np.repeat(greys[..., None].repeat(3, axis=2), 4, axis=0), 4, axis=1)
    card = card_in(np.array([[20, 20, 20], [240, 240, 240]]))
    found = {}
    for stipple in (None, 1.0):
        design = Design(fit="stretch", style="shaded", stipple=stipple)
        found[stipple] = convert(Artwork(pixels, None), make_rug(40, 60, "40x40 per dm"), card, design, YarnChoice())
    assert min(each.mean_de00 for made in found.values() for each in made.report.yarns) > 5
    assert "No yarn that may be used is nearer" in said(found[None])
    assert "stand in for" not in said(found[1.0]) and found[1.0].report.stand_ins == ()


def test_what_sides_of_a_border_have_in_common_is_said_once() -> None:
    """The sides are drawn on 9 and on 10 knots, of which nothing is said, and stand alike but for one."""
    sides = (
        SteadySide(0, "top", 10.4, 9, 8, (10, 11)),
        SteadySide(0, "left", 10.4, 10, 9, (10, 11)),
        SteadySide(0, "right", 10.4, 10, 9, (10, 11, 12)),
    )
    told = [finding.what for finding in border_findings(sides)]
    assert told[0].startswith("The border repeats every 10.4 knots all round")
    assert told[1].startswith("The border repeats every 10.4 knots at the sides")
    assert "begin 10 or 11 knots apart" in told[0] and "begin 10 to 12 knots apart" in told[1] and len(told) == 2
    two = [*sides[:1], SteadySide(2, "left", 7.5, 7, 9, (7, 8))]
    told = [finding.what for finding in border_findings(tuple(two))]
    assert told[0].startswith("Border 1 from the rim repeats every 10.4 knots at top and foot")
    assert told[1].startswith("Border 3 from the rim repeats every 7.5 knots at the sides")


def test_a_box_of_a_repeat_beyond_the_artwork_is_refused() -> None:
    pixels = np.repeat(np.repeat(QUARTERS, 30, axis=0), 20, axis=1)
    repeats = (Repeat(box=(0, 0, 10, 10)), Repeat(box=(0, 0, 10, 63)))
    with pytest.raises(ArtworkError, match=r"\[\[repeat\]\] 2 reaches beyond the artwork, which has 40 x 60 pixels"):
        convert(
            Artwork(pixels, None),
            make_rug(40, 60, "40x40 per dm"),
            CARD,
            Design(fit="stretch"),
            YarnChoice(),
            repeats=repeats,
        )
