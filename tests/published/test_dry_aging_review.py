"""Dry aging of beef; Review, Table 1, Journal of Animal Science and Technology 58 (DRYREV)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.carcass import dry_aged, dry_aged_cuts

RIBEYE = [(14, "6.0", "70.5", "72.2", "88.4"), (21, "7.6", "66.7", "69.3", "88.4"),
          (28, "9.7", "63.5", "64.3", "86.9"), (35, "11.7", "61.7", "63.5", "88.1")]  # fmt: skip
STRIP = [(14, "8.2", "48.4", "62.1", "72.4"), (35, "11.9", "43.4", "54.7", "69.8")]
SIRLOIN = [(14, "8.9", "57.3", "61.4", "81.9"), (35, "15.0", "48.7", "52.0", "78.6")]


@pytest.mark.parametrize(
    ("cut", "line"),
    [*(("ribeye", line) for line in RIBEYE), *(("strip loin, bone-in", line) for line in STRIP),
     *(("top sirloin butt", line) for line in SIRLOIN)],
)  # fmt: skip
def test_each_line_of_the_table_is_given_back(cut, line):
    """Dry-ageing review, Table 1 (seen): shrink, steaks, saleable, paired wet-aged."""
    days, shrink, steaks, saleable, wet = line
    found = dry_aged(cut, days)
    assert [found.shrink, found.steaks, found.saleable, found.wet_saleable] == [
        Decimal(text) for text in (shrink, steaks, saleable, wet)
    ]
    assert found.basis.standing == "seen"


def test_three_cuts_at_four_times():
    """Dry-ageing review, Table 1 (seen): twelve lines."""
    assert len(dry_aged_cuts()) == 12


@pytest.mark.parametrize("cut", ["ribeye", "strip loin, bone-in", "top sirloin butt"])
def test_dry_ageing_always_shrinks_more_with_days_and_always_yields_less_than_wet(cut):
    """Dry-ageing review, Table 1 (seen): shrink rises; dry saleable is under wet."""
    lines = [dry_aged(cut, days) for days in (14, 21, 28, 35)]
    assert [line.shrink for line in lines] == sorted(line.shrink for line in lines)
    assert all(line.saleable < line.wet_saleable for line in lines)


@pytest.mark.parametrize("cut", ["ribeye", "strip loin, bone-in"])
def test_waste_trim_does_not_rise_steadily(cut):
    """Dry-ageing review, Table 1 (seen, oddity): the waste column is not monotonic."""
    waste = [dry_aged(cut, days).waste for days in (14, 21, 28, 35)]
    assert waste != sorted(waste)
