"""Recipe page, Turkey thawing chart with servings (TURKEYSERVE)."""

from __future__ import annotations

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import portion_rows, servings


@pytest.mark.parametrize(
    ("band", "pounds", "served"),
    [
        ("4-12 lb", 4, 3),
        ("4-12 lb", 12, 8),
        ("12-16 lb", 12, 8),
        ("12-16 lb", 16, 11),
        ("20-24 lb", 24, 16),
    ],
)
def test_each_end_of_a_band_serves_the_printed_number(band, pounds, served):
    """Turkey thawing chart with servings (seen): the number lies within the fewest and most."""
    row = portion_rows(f"whole turkey {band}", source_id="TURKEYSERVE")[0]
    fewest, most = servings(Weight.of(pounds, WeightUnit.LB), row)
    assert fewest <= served <= most
    assert most - fewest <= 1
