"""Wisconsin Food Code 3-501.14, 2024, and Food Code cooling as quoted (WI501_14, FOODCODE_COOL)."""

from __future__ import annotations

from decimal import Decimal

from collop.measures import Temperature
from collop.reference import keeping_rows, limit_rows


def test_two_readings_of_the_cooling_rule_agree():
    """Food Code 3-501.14, two reprints (seen): 2 h to 70 F, then 4 h to 41 F, 6 h in all."""
    stages = [row for row in keeping_rows("chill", cited_only=True) if "stage" in row.item]
    assert [row.high for row in stages] == [2, 4]
    times = [row.time_or_frequency for row in limit_rows("cooling")]
    assert times[:2] == ["within 2 h", "within 6 h total"]


def test_the_cooling_steps_are_falls_not_temperatures():
    """Food Code 3-501.14 (seen): 135 F to 70 F is a fall of 36.1 K, 70 F to 41 F of 16.1 K."""
    figures = [row.figure for row in limit_rows("cooling")][:2]
    hot, warm, cold = (Temperature.fahrenheit(amount) for amount in (135, *figures))
    assert (hot - warm).in_kelvin() == Decimal("36.1")
    assert (warm - cold).in_kelvin() == Decimal("16.1")
    assert cold.in_celsius() == Decimal("5.0")
