"""The bundles for each weaver are enough at every moment, come in whole steps, and add up to what is issued."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, knot_maps, make_map, make_rug, settled

from chartmaker.figures.bundles import weighed
from chartmaker.figures.issuing import section_rows
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import RugError
from chartmaker.order.workshop import Chart, Dye, Loom, Pile, Workshop
from chartmaker.reports.issuetables import issue_tables, issue_total
from chartmaker.reports.records.figures import summary_of


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 4), st.sampled_from(["5 mm", "3 cm", "12 cm"]), st.sampled_from(["5 g", "0.1 g"]))
def test_no_weaver_is_ever_short_or_has_more_than_a_step_too_much(
    knot_map: SettledMap, weavers: int, section: str, weigh: str
) -> None:
    at_least_mm = {"5 mm": 5, "3 cm": 30, "12 cm": 120}[section]
    section = section if knot_map.rug.woven_length_mm >= at_least_mm else "5 mm"
    workshop = Workshop(loom=Loom(section=section, weavers=weavers, weigh=weigh, issue_margin="10%"))
    figures = figures_of(*settled(SettledMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop)))
    issue, step_g = figures.issue, float(weigh.removesuffix(" g"))
    assert (issue.knots.sum(axis=(0, 1)) == knot_map.counts).all()
    assert issue.need_g.sum() == pytest.approx(1.1 * figures.pile.mass_g.best)
    bundles_g = issue.bundles_g
    np.testing.assert_allclose(bundles_g / step_g, np.round(bundles_g / step_g), atol=1e-6)
    over_g = bundles_g.cumsum(axis=0) - issue.need_g.cumsum(axis=0)
    assert (bundles_g >= 0).all() and (over_g > -1e-6 * step_g).all() and (over_g < step_g).all()
    np.testing.assert_allclose(issue.issued_g, bundles_g.sum(axis=(0, 1)))


def test_bundles_by_hand() -> None:
    # Each of two weavers ties 1,000 knots a section, 20 mm of 500 tex a knot without waste: 10 g, and 11 g with the
    # margin. In steps of 5 g the first section takes 15 g, of which 4 are left over; for the second, 22 g in all, 10
    # more are needed.
    cells = np.zeros((100, 40), dtype=int)
    cells[:, 20:] = 1
    cells[50:, 20:] = 2
    pile = Pile(length_per_knot="20 mm", yarn="tex 500", cut="5 mm", waste=0)
    loom = Loom(section="10 cm", weavers=2, binding="0 mm")
    workshop = Workshop(pile=pile, loom=loom, chart=Chart(strips=4))
    issue = figures_of(*settled(make_map(cells, make_rug(40, 100, "40x50 per dm"), workshop))).issue
    assert issue.knots.tolist() == [[[1000, 0, 0], [0, 1000, 0]], [[1000, 0, 0], [0, 0, 1000]]]
    assert (issue.sections, issue.seats) == ((range(50), range(50, 100)), (range(20), range(20, 40)))
    assert issue.bundles_g.tolist() == [[[15, 0, 0], [0, 15, 0]], [[10, 0, 0], [0, 0, 15]]]
    assert issue.issued_g.tolist() == [25, 15, 15]
    assert {a.key: a.value for a in issue.assumptions} == {"[loom] weigh": "5 g", "[loom] issue_margin": "10 %"}


@pytest.mark.parametrize("technique", ["knotted", "tufted", "hand-loomed"])
@pytest.mark.parametrize("bound", [False, True])
def test_bundles_are_explained_by_what_they_hold(technique: str, bound: bool) -> None:
    """A tufter's bundles are for the whole rug, without binding, so nothing is left over for a next section."""
    shop = Workshop(loom=Loom(binding="2 cm" if bound else "0 cm", section="1 cm"))
    cells = np.arange(100).reshape(50, 2) // 4 % 2
    knot_map = make_map(cells, make_rug(2, 50, "20x20 per dm", technique=technique), shop)
    (how,) = (str(each.how) for each in figures_of(*settled(knot_map)).issue.reached)
    assert ("binding" in how) == (bound and technique == "knotted")
    assert ("left over" in how) == (technique != "tufted")


def test_a_new_lot_begins_with_bundles_of_its_own() -> None:
    """Of 22 g a section in steps of 5, 25 are issued first, then 20, since 3 are left; of another lot 25 are issued.

    Old yarn that is tied into the band of a new lot shows as a streak (common practice).
    """
    pile = Pile(length_per_knot="20 mm", yarn="tex 500", cut="5 mm", waste=0)
    shop = Workshop(pile=pile, loom=Loom(section="5 cm", weavers=1, binding="0 mm", weigh="5 g"), dye=Dye(hank="5 g"))
    made = make_map(np.zeros((100, 80), dtype=int), make_rug(80, 100, "40x50 per dm"), shop)
    for stock_g, bundles in ((1000.0, [25, 20, 25, 20]), (25.0, [25, 25, 20, 25])):
        yarns = tuple(replace(yarn, stock_g=stock_g) for yarn in made.yarns)
        issue = figures_of(*settled(replace(made, yarns=yarns))).issue
        assert issue.bundles_g[:, 0, 0].tolist() == bundles, stock_g
    (told,) = (each.what for each in issue.findings if "lot" in each.what)
    assert "section 2" in told and "goes back" in told
    last = figures_of(*settled(replace(made, yarns=yarns)))
    assert [table.rows[0][2] for table in (issue_total(last), *issue_tables(last))] == [
        "stock, new",
        "stock",
        "new",
        "new",
        "new",
    ]


@settings(max_examples=25)
@given(knot_maps(), st.integers(1, 3), st.floats(1, 400), st.sampled_from(["5 g", "20 g"]))
def test_a_new_lot_is_enough_for_every_section_that_is_tied_of_it(
    knot_map: SettledMap, weavers: int, stock_g: float, hank: str
) -> None:
    """One shade is one lot (common practice), so what is left of the stock helps no section of the new one."""
    workshop = Workshop(loom=Loom(section="5 mm", weavers=weavers), dye=Dye(hank=hank))
    yarns = tuple(replace(yarn, stock_g=stock_g) for yarn in knot_map.yarns)
    issue = figures_of(*settled(SettledMap(knot_map.knots, yarns, knot_map.rug, workshop))).issue
    for yarn, shade in enumerate(issue.dye.shades):
        most_g = issue.need_g[:, :, yarn].sum(axis=1) / (1 + issue.margin) * shade.need_g / shade.best_g
        if shade.change is None:
            assert shade.order_g < max(shade.wanted_g - stock_g, 0.0) + issue.dye.hank_g
            continue
        first = shade.change.section
        assert issue.bundles_g[:first, :, yarn].sum() <= stock_g + 1e-6
        assert shade.order_g >= issue.bundles_g[first:, :, yarn].sum() - 1e-6
        assert shade.order_g >= most_g[first:].sum() * (1 + issue.dye.allowance) - 1e-6


def test_the_binding_goes_to_the_weavers_at_the_sides() -> None:
    cells = np.zeros((100, 60), dtype=int)
    pile = Pile(length_per_knot="20 mm", yarn="tex 500", cut="5 mm", waste="20%")
    rug = make_rug(60, 100, "40x50 per dm")
    looms = [Loom(weavers=3, binding=width) for width in ("5 mm", "0 mm")]
    maps = [make_map(cells, rug, Workshop(pile=pile, loom=loom)) for loom in looms]
    bound, bare = (figures_of(*settled(each)).issue.need_g for each in maps)
    more_g = (bound - bare)[:, :, 0].sum(axis=0)
    assert more_g[1] == pytest.approx(0) and more_g[0] == pytest.approx(more_g[2]) and more_g[0] > 0


def test_a_few_knots_use_what_was_handed_out_before() -> None:
    need_g = np.array([0.2, 0.3, 4.6, 0.0, 9.0]).reshape(5, 1, 1)
    assert weighed(need_g, 5.0).ravel().tolist() == [5, 0, 5, 0, 5]


def test_weighing_out_more_than_is_ordered_is_remarked_on() -> None:
    cells = np.zeros((100, 40), dtype=int)
    workshop = Workshop(
        pile=Pile(length_per_knot="20 mm", yarn="tex 500", cut="5 mm", spread="1%"),
        loom=Loom(binding="0 mm", weigh="500 g"),
        dye=Dye(allowance=0, hank="50 g"),
    )
    # 4,000 knots of 10 mg are 42.1 g with 5 % waste: a hank of 50 g is ordered, but 500 g would be weighed out.
    [finding] = figures_of(*settled(make_map(cells, make_rug(40, 100, "30x30 per dm"), workshop))).issue.findings
    assert (finding.where, finding.severity) == ("yarn Y000", "warning")
    assert finding.what.startswith("The bundles come to 500 g, but only 50 g are ordered or in stock")


def test_a_section_is_whole_rows_within_the_rug_on_the_loom() -> None:
    rug = make_rug(40, 50, "40x50 per dm")  # the rug is 10 cm long
    assert section_rows(rug, Loom(section="5.1 cm")) == 25
    assert section_rows(rug, Loom(section="1 mm")) == 1
    assert section_rows(rug, Loom()) == 50  # the default section is longer than this rug
    assert section_rows(rug, Loom(section="10 cm")) == 50  # this section is just as long as the rug
    with pytest.raises(RugError, match=r"\[loom\] section: a section of 11 cm is longer than the rug, which has 10 cm"):
        section_rows(rug, Loom(section="11 cm"))
    # A fifth is lost from the loom to the rug: 50 rows are 12.5 cm there, so that 5 cm of them are 20 rows, not 25.
    assert section_rows(rug, Loom(section="5 cm", shrinkage_along="20%")) == 20
    assert section_rows(rug, Loom(section="12.5 cm", shrinkage_along="20%")) == 50


def test_the_older_name_of_a_section_still_reads() -> None:
    assert Loom(stretch="7 cm").section_mm == Loom(section="7 cm").section_mm == 70


def test_a_section_of_a_row_or_two_is_refused_on_a_long_rug() -> None:
    rug = make_rug(10, 5000, "40x50 per dm")
    with pytest.raises(
        RugError, match=r"^\[loom\] section: a section of 2 mm cuts the rug into 5,000, but the most is"
    ):
        section_rows(rug, Loom(section="2 mm"))
    assert section_rows(rug, Loom(section="6 mm")) == 3


@pytest.mark.parametrize("side", ["back", "front"])
def test_a_tufter_gets_the_yarn_of_the_half_that_the_pattern_shows_him(side: str) -> None:
    """A pattern from the back is the rug mirrored (common practice): at its left hang the rug's last columns."""
    cells = np.zeros((100, 200), dtype=int)
    cells[:, 100:] = 1
    loom, rug = Loom(section="10 cm", weavers=2), make_rug(200, 100, "20x20 per dm", technique="tufted")
    workshop = Workshop.model_validate({"loom": loom, "pattern": {"side": side}})
    figures = figures_of(*settled(make_map(cells, rug, workshop)))
    halves = [[10_000, 0], [0, 10_000]]
    assert figures.issue.knots.tolist() == [halves[::-1] if side == "back" else halves]
    assert figures.issue.sections == (range(100),), "who works colour by colour is handed no rows"
    (table,) = issue_tables(figures)
    assert [[bool(cell) for cell in row[2:4]] for row in table.rows] == [
        [side == "front", side == "back"],
        [side == "back", side == "front"],
    ]
    beside = "left of the pattern, as it hangs" if side == "back" else "left as seen from the pile side"
    assert beside in " ".join(table.notes)
    assert "row" not in table.title.lower().split()
    assert summary_of(figures)["issue"]["weavers"][0]["first_column"] == (101 if side == "back" else 1)
    alone = figures_of(*settled(make_map(cells, rug, Workshop(loom=Loom(weavers=1)))))
    assert issue_tables(alone)[0].notes == () and "numbered_from" not in summary_of(alone)["issue"]


def test_a_rug_handed_out_at_once_has_no_section_for_which_the_stock_is_short() -> None:
    rug = make_rug(200, 100, "20x20 per dm", technique="tufted")
    made = make_map(np.zeros((100, 200), dtype=int), rug, Workshop(loom=Loom(weavers=2)))
    yarns = tuple(replace(yarn, stock_g=200.0) for yarn in made.yarns)
    (found,) = figures_of(*settled(SettledMap(made.knots, yarns, made.rug, made.workshop))).issue.findings
    assert "does not last for the whole rug" in found.what and "section" not in found.what
