"""USDA FSIS, Safe minimum internal temperatures, 2011-2020 (FSIS_MIN)."""

from __future__ import annotations

import pytest

from collop.measures import Temperature
from collop.reference import cook_minimum, minimum_rows


@pytest.mark.parametrize("row", minimum_rows(), ids=lambda row: row.product)
def test_fahrenheit_and_celsius_of_each_row_agree(row):
    """Safe minimum internal temperatures (seen): 145 F = 62.8 C, 160 = 71.1, 165 = 73.9."""
    assert row.is_cited
    assert row.temperature.in_celsius() == row.printed_celsius


@pytest.mark.parametrize(
    ("cook_as", "fahrenheit", "rest_min"),
    [("whole", 145, 3), ("ground", 160, 0), ("poultry", 165, 0)],
)
def test_the_minimum_is_the_published_one(cook_as, fahrenheit, rest_min):
    """Safe minimum internal temperatures (seen): 145 F and 3 min, 160 F, 165 F."""
    minimum = cook_minimum(cook_as)
    assert minimum.temperature == Temperature.fahrenheit(fahrenheit)
    assert minimum.rest_min == rest_min
    assert minimum.source.startswith("USDA FSIS, Safe minimum internal temperatures")
