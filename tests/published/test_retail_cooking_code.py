"""Alaska Food Code 18 AAC 31.232, Food Code 3-401.11 as reprinted (AK31232, FL03C, MFFCOOK)."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from collop.measures import Temperature
from collop.reference import cook_minimum, limit_rows

ROASTS = [row for row in limit_rows("roast_table", cited_only=True) if "hold time" in row.limit]
RETAIL = {row.rule_id: row for row in limit_rows("cooking", cited_only=True)}


@pytest.mark.parametrize("row", ROASTS, ids=lambda row: row.rule_id)
def test_each_row_of_the_roast_table_agrees_on_both_scales(row):
    """18 AAC 31.232, roast table (seen): 130 F = 54.4 C to 158 F = 70.0 C."""
    celsius = re.search(r"(\d+\.\d) C", row.note)[1]
    assert Temperature.fahrenheit(row.figure).in_celsius() == Decimal(celsius)


def test_a_hotter_roast_is_held_for_less_time():
    """18 AAC 31.232, roast table (seen): from 112 min at 130 F down to nothing at 158 F."""
    seconds = []
    for row in ROASTS:
        amount, unit = row.time_or_frequency.split()
        seconds.append(int(amount) * {"min": 60, "s": 1}[unit])
    assert len(seconds) == 16
    assert seconds == sorted(seconds, reverse=True)
    assert (seconds[0], seconds[-1]) == (112 * 60, 0)


@pytest.mark.parametrize(
    ("rule_id", "cook_as"),
    [("SF023", "whole"), ("SF024", "ground"), ("SF027", "ground"), ("SF028", "poultry")],
)
def test_the_minimum_for_customers_is_never_under_the_retail_code(rule_id, cook_as):
    """Food Code 3-401.11 as reprinted (seen): 145 F 15 s; 155 F 17 s or 158 F; 165 F."""
    retail = Temperature.fahrenheit(RETAIL[rule_id].figure)
    assert cook_minimum(cook_as).temperature >= retail
