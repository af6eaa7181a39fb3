"""News of USDA, Safe minimum internal temperatures restated, 2015 (USDATEMP)."""

from __future__ import annotations

import pytest

from collop.reference import cook_minimum, limit_rows

CHART = [row for row in limit_rows("home_cooking", cited_only=True) if row.figure is not None]


@pytest.mark.parametrize(("index", "cook_as"), [(0, "whole"), (1, "ground"), (2, "poultry")])
def test_the_restated_chart_agrees_with_the_minimum(index, cook_as):
    """USDA chart restated, 2015 (seen): 145 F and 3 min rest, 160 F, 165 F."""
    row = CHART[index]
    assert row.source.source_id == "USDATEMP"
    assert cook_minimum(cook_as).temperature.in_fahrenheit(0) == row.figure
    rest = f"rest {cook_minimum(cook_as).rest_min} min"
    assert row.time_or_frequency == (rest if cook_as == "whole" else "")
