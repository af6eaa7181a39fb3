"""USDA FSIS, Basics for handling food safely (FSIS_STORE)."""

from __future__ import annotations

from decimal import Decimal

from collop.measures import Temperature
from collop.reference import keeping_rows

ROWS = {row.item: row for row in keeping_rows("store") if row.source.source_id == "FSIS_STORE"}


def test_the_refrigerator_is_the_same_on_both_scales():
    """Basics for handling food safely, storage (seen): 40 F or below is 4.4 C."""
    row = ROWS["refrigerator"]
    assert row.note == "4.4 C"
    assert Temperature.fahrenheit(row.high).in_celsius() == Decimal("4.4")


def test_the_freezer_is_printed_a_tenth_too_warm():
    """Basics for handling food safely, storage (seen): 0 F is -17.8 C, not -17.7 C."""
    row = ROWS["freezer"]
    assert row.note == "-17.7 C"
    assert Temperature.fahrenheit(row.high).in_celsius() == Decimal("-17.8")
