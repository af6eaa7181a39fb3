"""The heat model beside the published charts of steaks, chops and patties by thickness.

NCBA_GRILL: National Cattlemen's Beef Association, Grilling Guidelines (charcoal and gas), c.
2010-2015; NLSMB_GRILL: National Live Stock and Meat Board, Grilling timetable, 1990s; NPB_2020:
National Pork Board, Pork cooking times and temperatures; the others by their lines. All rows seen.
"""

from __future__ import annotations

from statistics import median

import pytest
from grill_charts import (
    cooks_by_thickness,
    documented,
    held_by_thickness,
    in_band,
    missed,
    root_mean_square,
    rows_by_thickness,
    told,
)

BEEF = "NCBA_GRILL"


@pytest.fixture(scope="module")
def beef():
    """Return the lines of the beef chart that give a thickness, beside the model."""
    return [held_by_thickness(row) for row in rows_by_thickness(BEEF)]


@pytest.fixture(scope="module")
def others():
    """Return the lines of all other charts that give a thickness."""
    rows = [row for row in rows_by_thickness() if row.source.source_id != BEEF]
    return [held_by_thickness(row) for row in rows]


def by_thickness(held):
    """Return the middle of the chart over its cuts on charcoal: thickness -> four middles [min].

    At 1.5 in the cuts that are pulled 5 degF under their end, as most are.
    """
    found = {}
    for inches in (0.5, 0.75, 1.0, 1.5):
        some = [
            one
            for one in held
            if one.row.size_low == one.row.size_high == inches
            and "charcoal" in one.row.heat
            and "remove at 135" not in one.row.note
        ]
        found[inches] = tuple(
            median(getattr(one, name) for one in some)
            for name in ("low", "high", "predicted_low", "predicted_high")
        )
    return found


def test_the_beef_chart_has_its_lines(beef):
    """NCBA_GRILL: 58 lines give a thickness; they are all predicted."""
    assert len(beef) == 58


def test_eight_points_of_the_beef_chart_are_met_within_fifteen_per_cent(beef):
    """NCBA_GRILL, four thicknesses x medium rare and medium, middle of the cuts: RMS 15 %.

    The flux of the fire was found for these points, so they are a fit; that the flux agrees with
    the one measured over charcoal (11 kW/m2, CHARCOAL2004) was not used.
    """
    middles = by_thickness(beef).values()
    off = [said / told_min - 1 for low, high, one, two in middles for told_min, said in
           ((low, one), (high, two))]  # fmt: skip
    printed = [one[:2] for one in by_thickness(beef).values()]
    assert printed == [(4, 7), (7, 10), (11, 14), (17.5, 22)]
    assert len(off) == 8
    assert root_mean_square(off) <= 0.15
    assert max(abs(share) for share in off) < 0.30


@pytest.mark.parametrize("inches", [0.5, 0.75, 1.0, 1.5])
def test_each_thickness_of_the_beef_chart_is_met_within_twenty_per_cent(beef, inches):
    """NCBA_GRILL, middle of medium rare to medium over the cuts of one thickness: within 20 %."""
    low, high, one, two = by_thickness(beef)[inches]
    assert (one + two) / (low + high) == pytest.approx(1, abs=0.20)


def test_most_lines_of_the_beef_chart_are_met_and_the_rest_are_listed(beef):
    """NCBA_GRILL, line by line within 20 % or inside the printed range; the misses as documented.

    The chart gives 9 to 19 minutes for cuts of one inch, so no one time meets every line.
    """
    off = missed(beef, 0.20)
    assert len(beef) - len(off) >= 43
    assert root_mean_square([one.off for one in beef]) <= 0.165
    assert [told(one) for one in off] == documented("Beef grill chart")


def test_the_other_charts_by_thickness_are_predicted_and_their_misses_listed(others):
    """Nine further charts (sources by line), 59 lines: the misses are as documented."""
    assert len(others) == 59
    off = missed(others, 0.20)
    assert [told(one) for one in off] == documented("Other charts by thickness")
    assert len(off) <= 28


@pytest.mark.parametrize("kind", ["bone-in", "boneless"])
@pytest.mark.parametrize(("thick", "thin"), [("0.75", "0.5"), ("1", "0.75")])
def test_oven_chops_grow_with_thickness_as_published(others, kind, thick, thin):
    """NPB_2020, chops baked at 350 degF, ratio of times from one thickness to the next: 30 %.

    The chart grows as thickness to the power 0.9, the model 1.3: a slab in air of which nothing
    else is known. The ratio is met within 30 %, not better.
    """
    rows = {
        f"{one.row.size_low:g}": one
        for one in others
        if one.row.method == "oven bake" and one.row.cut.endswith(kind)
    }
    longer, shorter = rows[thick], rows[thin]
    printed = (longer.low + longer.high) / (shorter.low + shorter.high)
    said = longer.predicted_high / shorter.predicted_high
    assert said / printed == pytest.approx(1, abs=0.30)
    assert said > 1


def test_an_open_grill_is_slower_than_a_covered_one(others):
    """NLSMB_GRILL: every pair of an open grill and a covered cooker, in print and in the model."""
    pairs = {}
    for one in others:
        if one.row.source.source_id == "NLSMB_GRILL":
            key = (one.row.cut, one.row.size_low, "open" in one.row.heat)
            pairs[key] = one
    opened = [key for key in pairs if key[2]]
    assert len(opened) >= 12
    for cut, size, _ in opened:
        open_one, covered = pairs[cut, size, True], pairs[cut, size, False]
        assert open_one.low + open_one.high > covered.low + covered.high
        assert open_one.predicted_high > covered.predicted_high


def test_the_printed_times_lie_in_the_bands(beef, others):
    """All charts by thickness: the printed middle lies in the 10 to 90 band of the piece.

    57 of 58 lines of the beef chart, which set the fire, and three in four of the others.
    """
    assert sum(in_band(one, cooks_by_thickness(one.row)) for one in beef) >= 57
    assert sum(in_band(one, cooks_by_thickness(one.row)) for one in others) >= 44
