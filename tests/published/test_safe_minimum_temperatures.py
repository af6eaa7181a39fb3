"""USDA FSIS, Safe minimum internal temperatures, 2011-2020 (FSIS_MIN)."""

from __future__ import annotations

from fractions import Fraction
from math import nan

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


@pytest.mark.parametrize(
    ("cook_as", "fahrenheit"), [("whole", 145), ("ground", 160), ("poultry", 165)]
)
def test_a_core_is_compared_without_rounding(cook_as, fahrenheit):
    """145, 160 and 165 F (seen) are at the rule, as typed in either scale; a hair less is under."""
    rule = cook_minimum(cook_as)
    for more, is_missed in (("-1", True), ("-0.1", True), ("-0.01", True), ("-0.0001", True),
                            ("-0.000001", True), ("0", False), ("0.0001", False),
                            ("1", False)):  # fmt: skip
        exact = (Fraction(fahrenheit) + Fraction(more) - 32) * Fraction(5, 9)
        assert rule.is_missed_by(float(exact)) is is_missed, more
        assert rule.is_missed_by((fahrenheit + float(more) - 32) / 1.8) is is_missed, more
    assert rule.is_missed_by(nan)


@pytest.mark.parametrize(
    ("cook_as", "celsius", "is_missed"),
    [("whole", 62.77, True), ("whole", 62.777, True), ("whole", 62.778, False),
     ("whole", 62.8, False), ("ground", 71.1, True), ("ground", 71.111, True),
     ("ground", 71.112, False), ("poultry", 73.88, True), ("poultry", 73.9, False)],
)  # fmt: skip
def test_a_core_in_celsius_is_held_against_the_fahrenheit_of_the_rule(cook_as, celsius, is_missed):
    """71.1 C as printed is 159.98 F: under the 160 F in which the rule is written."""
    assert cook_minimum(cook_as).is_missed_by(celsius) is is_missed
