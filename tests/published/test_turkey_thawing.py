"""Several reprints, Turkey thawing times, USDA based (THAW_TURKEY)."""

from __future__ import annotations

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import cold_water_hours, keeping_rows, thaw_hours

BANDS = [(4, 12), (12, 16), (16, 20), (20, 24)]
ROWS = {row.item: row for row in keeping_rows("thaw", cited_only=True)}


@pytest.mark.parametrize(("light", "heavy"), BANDS)
def test_the_planned_hours_are_the_printed_days_of_each_band(light, heavy):
    """Turkey thawing times, refrigerator (seen): days of a band, by the 4 lb of its rule."""
    row = ROWS[f"whole turkey {light}-{heavy} lb, refrigerator"]
    ends = [thaw_hours(Weight.of(pounds, WeightUnit.LB)) for pounds in (light, heavy)]
    assert [end.planned for end in ends] == [row.low * 24, row.high * 24]
    assert all(end.least < end.planned for end in ends)


@pytest.mark.parametrize(("light", "heavy"), BANDS)
def test_cold_water_takes_the_printed_hours_of_each_band(light, heavy):
    """Turkey thawing times, cold water (seen): hours of a band, by 30 min a pound."""
    row = ROWS[f"whole turkey {light}-{heavy} lb, cold water"]
    ends = [cold_water_hours(Weight.of(pounds, WeightUnit.LB)) for pounds in (light, heavy)]
    assert ends == [row.low, row.high]


def test_five_pounds_thaw_in_a_day_at_the_least():
    """Turkey thawing times, refrigerator (seen): 24 h for each 4-5 lb."""
    assert thaw_hours(Weight.of(5, WeightUnit.LB)).least == 24
    assert thaw_hours(Weight.of(4, WeightUnit.LB)).planned == 24
